// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/model/segment.h"

#include <QWidget>
#include <functional>
#include <memory>
#include <optional>

class QComboBox;
class QDoubleSpinBox;
class QLabel;
class QPushButton;
class QTableView;

namespace fourbeat::ui {

class LoopCandidateModel;
class TrackView;
class Workspace;

/// The loop of the chosen segment: looked for, heard, set, moved by figures, removed.
class LoopPanel : public QWidget {
  Q_OBJECT
 public:
  LoopPanel(Workspace& workspace, TrackView& track, QWidget* parent = nullptr);

  void setSegment(Id<model::Segment> segment);
  void findLoops();
  /// Plays the chosen candidate's loop, or else the segment's own, again and again.
  void hearLoop();
  /// The same loop once through its seam, two seconds on either side.
  void hearSeam();
  void setChosenLoop();
  void removeLoop();
  [[nodiscard]] QTableView* table() const { return table_; }

 private:
  void refresh();
  void loopSelection();
  void change(const char* key, const std::function<void(model::Loop&, double rateHz)>& how);
  void hear(const std::function<void(std::shared_ptr<const audio::Clip>)>& play);
  [[nodiscard]] const model::Segment* segment() const;
  [[nodiscard]] double rateHz() const;
  [[nodiscard]] std::optional<model::Loop> chosenLoop() const;

  Workspace& workspace_;
  TrackView& track_;
  LoopCandidateModel* model_;
  QDoubleSpinBox* shortest_;
  QDoubleSpinBox* longest_;
  QPushButton* find_;
  QTableView* table_;
  QLabel* note_;
  QPushButton* hear_;
  QPushButton* seam_;
  QPushButton* set_;
  QPushButton* select_;
  QPushButton* remove_;
  QDoubleSpinBox* start_;
  QDoubleSpinBox* length_;
  QDoubleSpinBox* crossfade_;
  QComboBox* at_;
  Id<model::Segment> segment_;
  std::optional<model::Segment> foundIn_;  ///< the segment as it was searched, without its loop
};

}  // namespace fourbeat::ui
