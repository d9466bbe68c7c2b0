// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

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
/// selects, drag of a handle moves it (alt: without snapping), double click selects the span
/// under the pointer, click places the playhead. Keys: left and right move the playhead (ctrl: to
/// the next mark, shift: selecting), home and end, up and down zoom, ctrl+A selects all, escape
/// drops the selection.
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

  [[nodiscard]] std::optional<FrameRange> selection() const;
  void setSelection(std::optional<FrameRange> selection);
  [[nodiscard]] FrameIndex playhead() const;
  void setPlayhead(FrameIndex frame);

  [[nodiscard]] FrameRange shownRange() const;
  /// Brings a range into view, with a little on either side.
  void showRange(FrameRange range);
  void showAll();
  void zoom(double factor);

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

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace fourbeat::ui
