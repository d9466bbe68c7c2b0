// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Page.h"

#include "fourbeat/model/segment.h"

class QComboBox;
class QLineEdit;
class QPushButton;
class QTabWidget;

namespace fourbeat::ui {

class LoopPanel;
class SegmentListModel;
class SegmentPanel;
class SegmentTable;
class SoundPanel;
class TrackView;
struct TrackLoop;
struct TrackTrim;

/// Segments: cut from takes, trimmed, mixed, cleaned, looped, and made into sounds.
class SegmentsPage : public Page {
  Q_OBJECT
 public:
  explicit SegmentsPage(Workspace& workspace, QWidget* parent = nullptr);

  void reveal(const QString& pointer) override;
  [[nodiscard]] bool shows(const QString& pointer) const override;
  void entered() override;
  void playRequested() override;

  [[nodiscard]] Id<model::Segment> chosen() const { return segment_; }
  void choose(Id<model::Segment> segment);
  /// Shows a take to cut from; no segment is chosen then.
  void showTake(Id<model::Take> take);
  [[nodiscard]] TrackView& track() const { return *track_; }

 private:
  void makeLayout();
  void makeKeys();
  void segmentChosen();
  void putTakeOnTrack(Id<model::Take> take);
  void refresh();
  void refreshTakes();
  void refreshTrack();
  void refreshNeed();
  void cut();
  void removeSegment();
  void trimMoved(const TrackTrim& trim, bool finished);
  void loopMoved(const TrackLoop& loop, bool finished);
  void playTake();
  void playSegment();
  /// The key of the take's play, and of the segment's.
  [[nodiscard]] QString takeKey() const;
  [[nodiscard]] QString segmentKey() const;
  void follow(FrameIndex played);
  void seek(FrameIndex placed);
  [[nodiscard]] const model::Segment* segment() const;

  SegmentListModel* model_;
  SegmentTable* table_;
  QComboBox* takes_;
  QComboBox* channel_;
  QLineEdit* name_;
  QPushButton* cut_;
  QPushButton* remove_;
  TrackView* track_;
  QTabWidget* tabs_;
  SegmentPanel* panel_;
  LoopPanel* loops_;
  SoundPanel* sounds_;
  Id<model::Segment> segment_;
  Id<model::Take> take_;
};

}  // namespace fourbeat::ui
