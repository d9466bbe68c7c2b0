// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Page.h"

#include "fourbeat/audio/pcm.h"
#include "fourbeat/work/trial.h"

#include <QFileSystemWatcher>
#include <functional>
#include <memory>

class QCheckBox;
class QComboBox;
class QLabel;
class QPushButton;
class QStackedWidget;
class QTableView;

namespace fourbeat::ui {

class DriveEventModel;
class DrivePanel;
class HandDrive;
class DriveTimeline;

/// The set driven by a run card: rendered, drawn along a time axis, heard, and written; or by hand,
/// heard at once, and what was done kept as a run card.
class TrialRunPage : public Page {
  Q_OBJECT
 public:
  /// Files to read and write; "" cancels. Replaced by tests.
  struct Questions {
    std::function<QString(const QString& title, const QString& folder)> openFile;
    std::function<QString(const QString& title, const QString& suggestion, const QString& filter)>
        saveFile;
  };

  explicit TrialRunPage(Workspace& workspace, QWidget* parent = nullptr);

  void reveal(const QString& pointer) override;
  [[nodiscard]] bool shows(const QString& pointer) const override;
  void playRequested() override;

  [[nodiscard]] Questions& questions() { return questions_; }
  /// The last run, or null.
  [[nodiscard]] const std::shared_ptr<const work::TrialRun>& run() const { return run_; }
  /// True when the project or the card has changed since the last run, or another card is chosen.
  [[nodiscard]] bool isStale() const;
  [[nodiscard]] HandDrive& hand() { return *hand_; }

 private:
  QWidget* makeBar();
  QWidget* makeEvents();
  QWidget* makeDriveBar();
  void setUpDriving();
  void beginDrive(const model::Project& project, int voices);
  void refreshDriving();
  void keepCard(model::RunCard card);
  void fillCards();
  void watchCards();
  void refresh();
  void addCard(const QString& file);
  void newCard();
  void removeCard();
  void setCards(const QString& what, std::vector<std::string> cards);
  void render();
  void showRun(work::TrialRun run, const QString& card, quint64 revision);
  void play(double from_s);
  void place(double time_s);
  void exportRun();
  [[nodiscard]] QString playKey() const;

  Questions questions_;
  QComboBox* card_ = nullptr;
  QPushButton* remove_ = nullptr;
  QPushButton* render_ = nullptr;
  QPushButton* play_ = nullptr;
  QPushButton* export_ = nullptr;
  QLabel* state_ = nullptr;
  QLabel* here_ = nullptr;
  QPushButton* drive_ = nullptr;
  QCheckBox* record_ = nullptr;
  QStackedWidget* stack_ = nullptr;  ///< the run along its axis, or the driver's place
  DrivePanel* panel_ = nullptr;
  HandDrive* hand_ = nullptr;
  DriveTimeline* timeline_ = nullptr;
  DriveEventModel* events_;
  QTableView* list_ = nullptr;

  std::shared_ptr<const work::TrialRun> run_;
  std::shared_ptr<const audio::Clip> mix_;
  QString runCard_;  ///< the card of run_
  quint64 runRevision_ = 0;
  QFileSystemWatcher cards_;  ///< the listed cards: they are edited elsewhere
  bool cardChanged_ = false;  ///< since run_
  bool rendering_ = false;
  bool playWhenReady_ = false;
};

}  // namespace fourbeat::ui
