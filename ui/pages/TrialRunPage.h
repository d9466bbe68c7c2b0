// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Page.h"

#include "fourbeat/audio/pcm.h"
#include "fourbeat/work/card_files.h"
#include "fourbeat/work/trial.h"

#include <QFileSystemWatcher>
#include <functional>
#include <memory>

class QCheckBox;
class QComboBox;
class QLabel;
class QPushButton;
class QSplitter;
class QStackedWidget;
class QTableView;

namespace fourbeat::ui {

class ChartMaker;
class DriveEventModel;
class DrivePanel;
class DriveTimeline;
class HandDrive;

/// The set driven by a run card: rendered, drawn along a time axis, heard, and written; or by hand,
/// heard and drawn at once, and what was done kept as a run card.
class TrialRunPage : public Page {
  Q_OBJECT
 public:
  /// Files to read and write; "" cancels. Replaced by tests.
  struct Questions {
    std::function<QString(const QString& title, const QString& folder)> openFile;
    std::function<QString(const QString& title, const QString& suggestion, const QString& filter)>
        saveFile;
    /// Other files have the names of standard cards; refuse cancels.
    std::function<work::CardInTheWay(const QStringList& files)> cardsInTheWay;
  };

  explicit TrialRunPage(Workspace& workspace, QWidget* parent = nullptr);
  ~TrialRunPage() override;

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
  QWidget* makeDrawing();
  QWidget* makeEvents();
  QWidget* makeDriveBar();
  void setUpDriving();
  void beginDrive(const model::Project& project, int voices);
  void follow(double seconds);
  void endDrive();
  /// The driver's place beside the axis with the list below; or the list beside the axis.
  void arrange(bool driving);
  void refreshDriving();
  [[nodiscard]] QString drivenLine() const;
  [[nodiscard]] QString runLine(const char*& role) const;
  void keepCard(model::RunCard card);
  void fillCards();
  void watchCards();
  void refresh();
  void addCard(const QString& file);
  void newCard();
  void removeCard();
  [[nodiscard]] work::CardInTheWay askAboutCards(const QStringList& files);
  void addStandardCards(work::CardInTheWay others = work::CardInTheWay::refuse);
  void listStandardCards(const work::StandardCardFiles& files);
  void setCards(const QString& what, std::vector<std::string> cards);
  void render();
  void showRun(work::TrialRun run, const QString& card, quint64 revision);
  /// Puts the run on the axis and in the list.
  void drawRun();
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
  QSplitter* split_ = nullptr;       ///< the driver's place, and the rest
  QSplitter* shown_ = nullptr;       ///< the axis, and the list
  QStackedWidget* stack_ = nullptr;  ///< the axis, or what a set without cards needs
  DrivePanel* panel_ = nullptr;
  HandDrive* hand_ = nullptr;
  std::unique_ptr<ChartMaker> drawn_;  ///< of the drive by hand
  DriveTimeline* timeline_ = nullptr;
  DriveEventModel* events_;
  QTableView* list_ = nullptr;

  /// The card that is no file: the sweep over the chuff table.
  static inline const QString sweep = QStringLiteral("\x01sweep");

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
