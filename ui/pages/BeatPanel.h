// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/dsp/beat_tracker.h"
#include "fourbeat/model/engine.h"
#include "fourbeat/model/take.h"

#include <QHash>
#include <QWidget>
#include <functional>
#include <memory>

class QComboBox;
class QDoubleSpinBox;
class QLabel;
class QLineEdit;
class QPushButton;

namespace fourbeat::ui {

class Workspace;

/// The engine, as far as beats need it, and the beats of the chosen take, found in a job and kept
/// by the take's hash, channel and engine.
class BeatPanel : public QWidget {
  Q_OBJECT
 public:
  explicit BeatPanel(Workspace& workspace, QWidget* parent = nullptr);

  void setTake(Id<model::Take> take);
  /// The beats shown, or null.
  [[nodiscard]] std::shared_ptr<const dsp::BeatTrack> track() const { return track_; }
  /// Tells the speed at a place of the take.
  void showSpeedAt(FrameIndex frame);
  void findBeats();

 Q_SIGNALS:
  /// track() is another one.
  void trackChanged();

 private:
  using Track = std::shared_ptr<const dsp::BeatTrack>;
  void refresh();
  void changeEngine(const char* what, const std::function<void(model::Engine&)>& how);
  [[nodiscard]] QString key() const;
  [[nodiscard]] dsp::BeatHints hints() const;
  [[nodiscard]] QString summaryOf(const dsp::BeatTrack& track) const;

  Workspace& workspace_;
  QLineEdit* name_;
  QDoubleSpinBox* diameter_;
  QDoubleSpinBox* beats_;
  QDoubleSpinBox* top_;
  QDoubleSpinBox* scale_;
  QLineEdit* angles_;
  QComboBox* channel_;
  QPushButton* find_;
  QLabel* summary_;
  QLabel* speed_;
  Id<model::Take> take_;
  FrameIndex place_;
  Track track_;
  QHash<QString, Track> known_;
};

}  // namespace fourbeat::ui
