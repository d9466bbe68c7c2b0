// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/speaker.h"

#include <QDialog>
#include <QPointer>
#include <functional>
#include <memory>
#include <vector>

class QCheckBox;
class QComboBox;
class QGridLayout;
class QKeySequence;
class QLabel;
class QLineEdit;
class QProgressBar;
class QPushButton;
class QTableView;
class QTableWidget;

namespace fourbeat::work {
struct SeamStudy;
}

namespace fourbeat::ui {

class ReviewDesk;
class SeamView;
class SpeakerForm;
class Workspace;

/// The review of seams: every loop of the set in turn, heard through its seam and decided on, by
/// single keys.
class SeamReview : public QDialog {
  Q_OBJECT
 public:
  /// segment: the one to begin with; 0: the first that nobody has decided on.
  SeamReview(Workspace& workspace, qint64 segment, QWidget* parent = nullptr);

  [[nodiscard]] ReviewDesk& desk() { return *desk_; }
  /// Goes to a segment's seam.
  void goTo(qint64 segment);

 private:
  void makeLayout();
  [[nodiscard]] QWidget* makeSwitches();
  void makeButtons(QGridLayout* grid);
  QPushButton* command(const QString& icon, const QString& words, const QString& tip,
                       const QKeySequence& key, const std::function<void()>& run);
  void makeKeys();
  void refresh();
  void refreshSwitches();
  void refreshMeasures();
  void chooseSpeaker(int index);
  void showFigures();

  Workspace& workspace_;
  ReviewDesk* desk_;
  std::vector<model::Speaker> speakers_;  ///< those that come with the program
  QTableView* queue_;
  QLabel* progress_;
  QProgressBar* bar_;
  QLabel* title_;
  SeamView* view_;
  QCheckBox* stored_;
  QComboBox* encoding_;
  QCheckBox* through_;
  QComboBox* speaker_;
  QPushButton* figures_;
  QPointer<SpeakerForm> form_;
  QCheckBox* repeat_;
  QLabel* summary_;
  QTableWidget* measures_;
  QLabel* told_;
  QLineEdit* note_;
  QPushButton* again_ = nullptr;
  QPushButton* sign_ = nullptr;
  QPushButton* work_ = nullptr;
  QPushButton* next_ = nullptr;
  QPushButton* compare_ = nullptr;
  QPushButton* first_ = nullptr;
  QPushButton* second_ = nullptr;
  QPushButton* take_ = nullptr;
  QPushButton* back_ = nullptr;
  QPushButton* on_ = nullptr;
  std::shared_ptr<const work::SeamStudy> measured_;  ///< whose measures the table shows
};

}  // namespace fourbeat::ui
