// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/dsp/loop_finder.h"
#include "fourbeat/model/segment.h"
#include "fourbeat/model/sound.h"

#include <QWidget>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>

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
  /// Signs the seam of the segment's own loop off, once it has been heard as it is.
  void signSeam();
  /// Where on the pass clock the seam that plays has come to; frame: of what hearSeam() plays.
  [[nodiscard]] std::optional<FrameIndex> placeAboutSeam(FrameIndex frame) const;
  /// Notes what was decided on the seam of the segment's own loop.
  void judge(model::VerdictKind kind);
  [[nodiscard]] QTableView* table() const { return table_; }

 private:
  void refresh();
  /// Shows the shortest loop of the segment's kind, once that is another.
  void refreshShortest();
  void loopSelection();
  void change(const char* key, const std::function<void(model::Loop&, double rateHz)>& how);
  void refreshSeam();
  void markLoopInUse();
  void showFound();
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
  QLabel* seamState_;
  QPushButton* sign_;
  QPushButton* reject_;
  QPushButton* review_;
  Id<model::Segment> segment_;
  /// What a search found, and the segment as it was searched, without its loop.
  struct Found {
    model::Segment in;
    dsp::LoopSearch search;
  };
  std::optional<model::Category> kind_;  ///< whose shortest loop was shown last
  std::map<Id<model::Segment>, Found> found_;
  std::optional<Id<model::Segment>> listed_;  ///< whose loops the list shows
  std::string heardRecipe_;                   ///< of the seam heard last
  FrameRange heardLoop_;                      ///< its loop, on the pass clock
  FrameIndex heardWrap_;                      ///< where the wrap lies in what plays
};

}  // namespace fourbeat::ui
