// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Page.h"

#include "fourbeat/model/take.h"

#include <QStringList>
#include <functional>

class QComboBox;
class QPushButton;
class QStackedWidget;
class QTabWidget;
class QTableView;

namespace fourbeat::ui {

class BeatPanel;
class MarkPanel;
class PassPanel;
class TakeListModel;
class TakeReportPanel;
class TrackView;
struct PlayRequest;

/// The recordings: brought in, looked at, marked; the engine's beats found in them.
class TakesPage : public Page {
  Q_OBJECT
 public:
  /// Questions the page asks; replaced by tests.
  struct Questions {
    std::function<QStringList()> files;  ///< recordings to add; none cancels
    std::function<QString()> folder;     ///< where missing takes may be; "" cancels
  };

  explicit TakesPage(Workspace& workspace, QWidget* parent = nullptr);

  /// Adds recordings, and those in folders, to the project (a job).
  void addFiles(const QStringList& paths);
  [[nodiscard]] Questions& questions() { return questions_; }

  void reveal(const QString& pointer) override;
  [[nodiscard]] bool shows(const QString& pointer) const override;
  void entered() override;
  void playRequested() override;

  [[nodiscard]] Id<model::Take> chosen() const { return take_; }
  void choose(Id<model::Take> take);
  [[nodiscard]] TrackView& track() const { return *track_; }

 protected:
  void dragEnterEvent(QDragEnterEvent* event) override;
  void dropEvent(QDropEvent* event) override;

 private:
  void makeLayout();
  void takeChosen();
  void refresh();
  void refreshSpans();
  void refreshNeed();
  void removeTake();
  void relink();
  void spanMoved(qint64 id, FrameRange range, bool finished);
  void spanActivated(qint64 id);
  [[nodiscard]] QString playKey() const;

  Questions questions_;
  TakeListModel* model_;
  QStackedWidget* stack_ = nullptr;
  QTableView* table_;
  TrackView* track_;
  QTabWidget* tabs_;
  TakeReportPanel* report_;
  MarkPanel* marks_;
  BeatPanel* beats_;
  PassPanel* pass_;
  QPushButton* remove_ = nullptr;
  QPushButton* relink_ = nullptr;
  Id<model::Take> take_;
};

}  // namespace fourbeat::ui
