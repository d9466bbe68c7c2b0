// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/work/beat_edits.h"

#include <QHash>
#include <QString>
#include <QTimer>
#include <QWidget>
#include <functional>
#include <memory>
#include <optional>
#include <vector>

class QCheckBox;
class QComboBox;
class QLabel;
class QPushButton;

namespace fourbeat::ui {

class SpeedStrip;
class TrackView;
class Workspace;

/// The beats of one take with its speed and effort, found in a job, and every correction of them by
/// hand: by dragging a beat, and by buttons with keys. Corrections are marks of the project; the
/// beats are found anew after each, in the background.
class BeatEditor : public QWidget {
  Q_OBJECT
 public:
  explicit BeatEditor(Workspace& workspace, QWidget* parent = nullptr);

  /// Shows a take; its beats are looked for when the editor is in view.
  void setTake(Id<model::Take> take);
  [[nodiscard]] Id<model::Take> take() const { return take_; }
  /// The beats shown, or null.
  [[nodiscard]] std::shared_ptr<const work::TrackedTake> tracked() const { return tracked_; }
  [[nodiscard]] TrackView& track() const { return *track_; }
  [[nodiscard]] SpeedStrip& strip() const { return *strip_; }
  void play();

  void insertBeat();
  void deleteBeat();
  /// Moves the beat nearest the playhead, which goes along. Moves that follow one another within
  /// half a second are one step.
  void nudgeBeat(FrameCount by);
  void halveBeats();
  void doubleBeats();
  /// The beat at the playhead is the first of the revolution; of a selection, so is the one after
  /// its end.
  void setRevolution();
  void retrackBetween();
  void setEffort(model::Effort effort);
  void clearCorrections();

 protected:
  void showEvent(QShowEvent* event) override;
  void hideEvent(QHideEvent* event) override;

 private:
  using Tracked = std::shared_ptr<const work::TrackedTake>;
  using Act = std::function<work::BeatEdits(const work::TrackedTake&)>;
  void makeButtons();
  void makeKeys();
  void refresh();
  void refreshSpans();
  void refreshStrip();
  void refreshWords();
  void refreshButtons();
  void lookForBeats();
  void perform(const QString& what, const Act& act);
  void beatMoved(qint64 id, FrameRange range, bool finished);
  void endNudge();
  [[nodiscard]] bool isCurrent();
  void showSpeedAt(FrameIndex frame);
  [[nodiscard]] QString stateKey() const;
  [[nodiscard]] QString playKey() const;
  [[nodiscard]] double rateHz() const;
  [[nodiscard]] std::optional<FrameRange> selection() const;

  Workspace& workspace_;
  TrackView* track_;
  SpeedStrip* strip_;
  QLabel* summary_;
  QLabel* speed_;
  QCheckBox* source_;
  QComboBox* effort_;
  std::vector<QPushButton*> atPlayhead_;  ///< acts on the beat at the playhead
  std::vector<QPushButton*> onStretch_;   ///< acts on the selection
  QPushButton* revolution_ = nullptr;
  QPushButton* clear_ = nullptr;
  Id<model::Take> take_;
  Tracked tracked_;
  QHash<QString, Tracked> known_;
  std::optional<std::pair<qint64, FrameIndex>> moving_;  ///< a beat under the hand, and where
  QTimer nudged_;                                        ///< runs while moving_ is moved by keys
};

}  // namespace fourbeat::ui
