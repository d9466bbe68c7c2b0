// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "TimeAxis.h"

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/frame.h"

#include <QString>
#include <QWidget>
#include <memory>
#include <optional>
#include <vector>

namespace fourbeat::ui {

/// A named place of a clip.
struct ClipMark {
  FrameIndex frame;
  QString label;
  bool operator==(const ClipMark&) const = default;
};

/// One piece of sound in memory: waveform under a time ruler, its loop, marks and playhead. The
/// small sister of TrackView.
///
/// Gestures: click places the playhead, drag selects (beyond the edge: scrolling) or moves an edge
/// of the selection, double click selects what lies between two stops, wheel scrolls, ctrl+wheel
/// zooms about the pointer, shift+wheel the height. Keys: as AxisKey; stops are the marks, the ends
/// of the loop and of the selection. A playhead that leaves the range shown while it moves on turns
/// the page.
class ClipView : public QWidget {
  Q_OBJECT
 public:
  explicit ClipView(QWidget* parent = nullptr);
  ~ClipView() override;

  /// Null shows the empty text. Marks and selection go, the playhead goes to the start, all is
  /// shown.
  void setClip(std::shared_ptr<const audio::Clip> clip);
  [[nodiscard]] const std::shared_ptr<const audio::Clip>& clip() const;
  void setEmptyText(const QString& text);
  void setMarks(std::vector<ClipMark> marks);
  [[nodiscard]] const std::vector<ClipMark>& marks() const;

  /// From 0 to the clip's length.
  void setPlayhead(FrameIndex frame);
  [[nodiscard]] FrameIndex playhead() const;

  [[nodiscard]] std::optional<FrameRange> selection() const;
  void setSelection(std::optional<FrameRange> selection);

  void showAll();
  /// Over 1: closer, about the playhead where it is in view.
  void zoom(double factor);
  [[nodiscard]] FrameRange shownRange() const;

  /// Where the waveform is; the device pixel of a frame from its left edge.
  [[nodiscard]] QRect laneRect() const;
  [[nodiscard]] qint64 deviceXOf(FrameIndex frame) const;
  /// True when nothing that is shown is still being computed.
  [[nodiscard]] bool isSettled() const;

  [[nodiscard]] QSize sizeHint() const override;
  [[nodiscard]] QSize minimumSizeHint() const override;

 Q_SIGNALS:
  /// The playhead was placed by hand.
  void playheadPlaced(FrameIndex frame);

 protected:
  void paintEvent(QPaintEvent* event) override;
  void resizeEvent(QResizeEvent* event) override;
  void wheelEvent(QWheelEvent* event) override;
  void mousePressEvent(QMouseEvent* event) override;
  void mouseMoveEvent(QMouseEvent* event) override;
  void mouseReleaseEvent(QMouseEvent* event) override;
  void mouseDoubleClickEvent(QMouseEvent* event) override;
  void keyPressEvent(QKeyEvent* event) override;
  void focusInEvent(QFocusEvent* event) override;
  void focusOutEvent(QFocusEvent* event) override;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace fourbeat::ui
