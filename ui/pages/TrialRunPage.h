// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Page.h"

#include "fourbeat/audio/pcm.h"
#include "fourbeat/work/trial.h"

#include <QFileSystemWatcher>
#include <functional>
#include <memory>

class QComboBox;
class QLabel;
class QPushButton;
class QTableView;

namespace fourbeat::ui {

class DriveEventModel;
class DriveTimeline;

/// The set driven by a run card: rendered, drawn along a time axis, heard, and written.
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

 private:
  QWidget* makeBar();
  QWidget* makeEvents();
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
  [[nodiscard]] QStringList keyNames() const;

  Questions questions_;
  QComboBox* card_ = nullptr;
  QPushButton* remove_ = nullptr;
  QPushButton* render_ = nullptr;
  QPushButton* play_ = nullptr;
  QPushButton* export_ = nullptr;
  QLabel* state_ = nullptr;
  QLabel* here_ = nullptr;
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
