// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "TimeAxis.h"

#include "fourbeat/base/frame.h"
#include "fourbeat/model/take.h"

#include <QColor>
#include <QString>
#include <QVector>
#include <QWidget>
#include <memory>
#include <optional>
#include <vector>

namespace fourbeat::ui {

class TakeMedia;

/// A mark, beat or segment drawn over a take; frames of the take.
struct TrackSpan {
  enum class Kind { beat, mark, unusable, segment, chuff };
  Kind kind = Kind::mark;
  FrameRange range;  ///< start == end: a point
  QString label;
  qint64 id = 0;         ///< the caller's own
  bool movable = false;  ///< its ends (or the point) can be dragged
};

/// The edges and fades of the segment being worked on; frames of the take.
struct TrackTrim {
  FrameRange range;
  FrameCount fadeIn;
  FrameCount fadeOut;
  bool operator==(const TrackTrim&) const = default;
};

/// A loop with its handles.
struct TrackLoop {
  FrameRange range;
  FrameCount crossfade;
  bool crossfadeAtStart = false;
  bool operator==(const TrackLoop&) const = default;
};

/// One take from overview to single samples: overview strip, time ruler, one lane a channel as
/// waveform, spectrogram or both, with marks, handles, selection and playhead. The same widget on
/// every page. Nothing is read from disk while painting, except below one frame a pixel.
///
/// Gestures: wheel scrolls, ctrl+wheel zooms about the pointer, shift+wheel zooms the height; drag
/// selects (beyond the edge: scrolling), drag of a handle moves it (alt: without snapping), double
/// click selects and activates the span under the pointer, click on a label activates its span,
/// click places the playhead (shift: selects up to there), middle drag scrolls. In the overview a
/// drag moves the window shown. Keys: as AxisKey; stops are the ends of spans and of the selection,
/// return activates the span at the playhead, escape gives up a drag or drops the selection.
///
/// Handles snap to ends of spans, edges, loop, selection and playhead, and to zero crossings,
/// within 6 pixels. A playhead that leaves the range shown while it moves on (playing) turns the
/// page.
class TrackView : public QWidget {
  Q_OBJECT
 public:
  enum class Look { waveform, spectrogram, both };

  explicit TrackView(QWidget* parent = nullptr);
  ~TrackView() override;

  /// The take shown; null shows `empty` instead (setEmptyText).
  void setTake(std::shared_ptr<TakeMedia> take);
  [[nodiscard]] const std::shared_ptr<TakeMedia>& take() const;
  void setEmptyText(const QString& text);
  /// Names of the channels (microphone positions), from the first.
  void setChannelNames(const QStringList& names);

  void setSpans(std::vector<TrackSpan> spans);
  void setTrim(std::optional<TrackTrim> trim);
  void setLoop(std::optional<TrackLoop> loop);
  [[nodiscard]] std::optional<TrackTrim> trim() const;
  [[nodiscard]] std::optional<TrackLoop> loop() const;

  void setLook(Look look);
  [[nodiscard]] Look look() const;
  /// Spectrograms with frequencies from 0 to 12 kHz at even steps, else (at first) logarithmic.
  void setLinearFrequencies(bool linear);
  [[nodiscard]] bool linearFrequencies() const;

  [[nodiscard]] std::optional<FrameRange> selection() const;
  void setSelection(std::optional<FrameRange> selection);
  [[nodiscard]] FrameIndex playhead() const;
  void setPlayhead(FrameIndex frame);

  [[nodiscard]] FrameRange shownRange() const;
  /// Brings a range into view, with a little on either side.
  void showRange(FrameRange range);
  void showAll();
  /// Over 1: closer, about the playhead where it is in view, else about the middle.
  void zoom(double factor);
  void scrollBy(int pixels);
  /// Frames of one logical pixel.
  [[nodiscard]] double framesPerPixel() const;
  /// Brings the left edge to a frame at a zoom, both within what is possible.
  void setZoom(double framesPerPixel, FrameIndex start);

  /// How the ruler and readouts write places; times until told otherwise.
  void setUnit(TimeUnit unit);
  [[nodiscard]] TimeUnit unit() const;

  /// Where the lanes are, and a lane of a channel (from 0); logical pixels.
  [[nodiscard]] QRect lanesRect() const;
  [[nodiscard]] QRect laneRect(int channel) const;
  /// The part of a lane that shows a spectrogram; empty where none is shown.
  [[nodiscard]] QRect spectrumRect(int channel) const;
  /// The device pixel of a frame, from the left edge of the lanes.
  [[nodiscard]] qint64 deviceXOf(FrameIndex frame) const;
  /// True when nothing that is shown is still being read or computed.
  [[nodiscard]] bool isSettled() const;

  [[nodiscard]] QSize sizeHint() const override;
  [[nodiscard]] QSize minimumSizeHint() const override;

  /// One gain a channel, 0 where muted or another is solo.
  [[nodiscard]] std::vector<float> gains() const;

 Q_SIGNALS:
  void selectionChanged();
  /// The playhead was placed by hand.
  void playheadPlaced(FrameIndex frame);
  /// Edges, fades or loop handles were dragged; `finished` at the release.
  void trimMoved(const TrackTrim& trim, bool finished);
  void loopMoved(const TrackLoop& loop, bool finished);
  void spanMoved(qint64 id, FrameRange range, bool finished);
  void spanActivated(qint64 id);
  void gainsChanged();
  void shownRangeChanged();

 protected:
  bool event(QEvent* event) override;
  void paintEvent(QPaintEvent* event) override;
  void resizeEvent(QResizeEvent* event) override;
  void wheelEvent(QWheelEvent* event) override;
  void mousePressEvent(QMouseEvent* event) override;
  void mouseMoveEvent(QMouseEvent* event) override;
  void mouseReleaseEvent(QMouseEvent* event) override;
  void mouseDoubleClickEvent(QMouseEvent* event) override;
  void leaveEvent(QEvent* event) override;
  void keyPressEvent(QKeyEvent* event) override;
  void focusInEvent(QFocusEvent* event) override;
  void focusOutEvent(QFocusEvent* event) override;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace fourbeat::ui
