// SPDX-License-Identifier: GPL-3.0-or-later
// What a TrackView does with pointer and keyboard.
#include "Theme.h"
#include "TrackState.h"
#include "TrackView.h"

#include <QCoreApplication>
#include <QEvent>
#include <QHelpEvent>
#include <QKeyEvent>
#include <QLabel>
#include <QMouseEvent>
#include <QPainter>
#include <QScrollBar>
#include <QTimerEvent>
#include <QToolButton>
#include <QToolTip>
#include <QWheelEvent>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace fourbeat::ui {

namespace {

constexpr int edgeTimerMs = 25;     ///< between two steps of scrolling beyond the edge
constexpr double laneNotch = 40.0;  ///< pixels that the lanes scroll by a notch of the wheel

/// What a span is, in a word.
QString spanKindText(TrackSpan::Kind kind) {
  switch (kind) {
    case TrackSpan::Kind::beat:
      return TrackView::tr("Beat");
    case TrackSpan::Kind::mark:
      return TrackView::tr("Mark");
    case TrackSpan::Kind::unusable:
      return TrackView::tr("Unusable");
    case TrackSpan::Kind::segment:
      return TrackView::tr("Segment");
    case TrackSpan::Kind::chuff:
      return TrackView::tr("Chuff");
  }
  return {};
}

}  // namespace

// --- Gestures ----------------------------------------------------------------------------------

std::optional<TrackView::State::Grip> TrackView::State::gripAt(QPoint at) const {
  const bool in_band = band.contains(at);
  if (!in_band && !lanes.contains(at)) return std::nullopt;
  std::optional<Grip> best;
  double best_cost = std::numeric_limits<double>::infinity();
  const auto offer = [&](Drag kind, FrameIndex frame, double handicap, qint64 id = 0) {
    const double distance = std::fabs(at.x() - xOf(frame));
    if (distance > handleReach || distance + handicap >= best_cost) return;
    best = Grip{kind, frame, id};
    best_cost = distance + handicap;
  };
  const auto reach = static_cast<qint64>(std::ceil(handleReach * framesPerPixel)) + 1;
  const qint64 frame = frameAt(at.x()).value();
  const bool piece = in_band && pieceRow && (!markRow || at.y() >= band.top() + bandRow);
  visitSpans(frame - reach, frame + reach, [&](const TrackSpan& span) {
    if (!span.movable || (in_band && inPieceRow(span) != piece)) return;
    offer(Drag::spanStart, span.range.start, 20.0, span.id);
    if (!span.range.empty()) offer(Drag::spanEnd, span.range.end, 20.0, span.id);
  });
  if (in_band) return best;
  // Where edges meet, fades are taken at the top, crossfades at the bottom, trims in the upper
  // half, loops in the lower.
  const bool top = at.y() < lanes.top() + gripSize;
  const bool bottom = at.y() > lanes.bottom() - gripSize;
  const bool upper = at.y() < lanes.center().y();
  if (selection) {
    offer(Drag::selectionStart, selection->start, 30.0);
    offer(Drag::selectionEnd, selection->end, 30.0);
  }
  if (trim) {
    offer(Drag::trimStart, trim->range.start, upper ? 0.0 : 10.0);
    offer(Drag::trimEnd, trim->range.end, upper ? 0.0 : 10.0);
    if (top) {
      offer(Drag::fadeIn, trim->range.start + trim->fadeIn, -10.0);
      offer(Drag::fadeOut, trim->range.end - trim->fadeOut, -10.0);
    }
  }
  if (loop) {
    offer(Drag::loopStart, loop->range.start, upper ? 10.0 : 0.0);
    offer(Drag::loopEnd, loop->range.end, upper ? 10.0 : 0.0);
    if (bottom) {
      offer(Drag::crossfade,
            loop->crossfadeAtStart ? loop->range.start + loop->crossfade
                                   : loop->range.end - loop->crossfade,
            -10.0);
    }
  }
  return best;
}

void TrackView::State::showCursor(QPoint at) {
  Qt::CursorShape shape = Qt::ArrowCursor;
  if (!hasSound()) {
    shape = Qt::ArrowCursor;
  } else if (overview.contains(at)) {
    shape = drag == Drag::overview ? Qt::ClosedHandCursor : Qt::OpenHandCursor;
  } else if (drag == Drag::pan) {
    shape = Qt::ClosedHandCursor;
  } else if (const auto grip = gripAt(at)) {
    shape =
        grip->drag == Drag::fadeIn || grip->drag == Drag::fadeOut || grip->drag == Drag::crossfade
            ? Qt::SizeHorCursor
            : Qt::SplitHCursor;
  } else if (lanes.contains(at) || ruler.contains(at)) {
    shape = Qt::IBeamCursor;
  } else if (band.contains(at) && spanAt(at) != nullptr) {
    shape = Qt::PointingHandCursor;
  }
  if (view.cursor().shape() != shape) view.setCursor(shape);
}

FrameIndex TrackView::State::snapped(FrameIndex frame, int y) const {
  if (unsnapped) return frame;
  const double reach = snapReach * framesPerPixel;
  qint64 best = -1;
  double best_distance = reach;
  const auto offer = [&](qint64 candidate) {
    if (candidate == grabbed.value()) return;
    const double distance = std::fabs(static_cast<double>(candidate - frame.value()));
    if (distance > best_distance || (distance == best_distance && best >= 0)) return;
    best = candidate;
    best_distance = distance;
  };
  const auto own = [this](qint64 id) { return id == spanId && spanId != 0; };
  visitSpans(frame.value() - static_cast<qint64>(reach) - 1,
             frame.value() + static_cast<qint64>(reach) + 1, [&](const TrackSpan& span) {
               // The span being dragged, or drawn after the edges being dragged, is no hold.
               if ((drag == Drag::spanStart || drag == Drag::spanEnd) && own(span.id)) return;
               const bool of_trim = trim && (span.range == trim->range) && inPieceRow(span);
               if (of_trim && (drag == Drag::trimStart || drag == Drag::trimEnd)) return;
               offer(span.range.start.value());
               offer(span.range.end.value());
             });
  offer(0);
  offer(frames());
  if (selection && drag != Drag::selectionStart && drag != Drag::selectionEnd) {
    offer(selection->start.value());
    offer(selection->end.value());
  }
  if (trim) {
    if (drag != Drag::trimStart) offer(trim->range.start.value());
    if (drag != Drag::trimEnd) offer(trim->range.end.value());
  }
  if (loop) {
    if (drag != Drag::loopStart) offer(loop->range.start.value());
    if (drag != Drag::loopEnd) offer(loop->range.end.value());
  }
  offer(playhead.value());
  if (best >= 0) return FrameIndex(best);
  if (framesPerPixel > 64.0) return frame;
  // Zero crossings of the lane under the pointer, where its samples are at hand.
  const qint64 first = std::max<qint64>(1, frame.value() - static_cast<qint64>(reach));
  const qint64 last = std::min<qint64>(frames() - 1, frame.value() + static_cast<qint64>(reach));
  if (first > last) return frame;
  const auto samples = take->samples().samples(channelAt(y), frame_range(first - 1, last + 1));
  if (!samples) return frame;
  for (qint64 at = first; at <= last; ++at) {
    const float before = (*samples)[static_cast<std::size_t>(at - first)];
    const float here = (*samples)[static_cast<std::size_t>(at - first) + 1];
    if ((before < 0.0F) != (here < 0.0F)) offer(at);
  }
  return best >= 0 ? FrameIndex(best) : frame;
}

void TrackView::State::updateBetween(FrameIndex a, FrameIndex b) {
  const double left = std::max<double>(xOf(std::min(a, b)) - 8.0, lanes.left());
  const double right = std::min<double>(xOf(std::max(a, b)) + 8.0, lanes.right() + 1);
  if (left >= right) return;
  view.update(QRect(static_cast<int>(left), lanes.top(), static_cast<int>(right - left) + 1,
                    lanes.height()));
}

void TrackView::State::select(std::optional<FrameRange> range) {
  if (range) {
    range->start = clampFrame(range->start, frames());
    range->end = clampFrame(range->end, frames());
    if (range->empty()) range.reset();
  }
  if (range == selection) return;
  const auto before = selection;
  selection = range;
  if (before && range) {
    if (before->start != range->start) updateBetween(before->start, range->start);
    if (before->end != range->end) updateBetween(before->end, range->end);
  } else if (const auto& one = before ? before : range) {
    updateBetween(one->start, one->end);
  }
  view.update(overview);
  view.update(readout);
  describe();
  Q_EMIT view.selectionChanged();
}

void TrackView::State::updatePlayhead(FrameIndex frame) {
  const double x = xOf(frame);
  if (x < lanes.left() - 8 || x > lanes.right() + 8) return;
  const int left = static_cast<int>(std::floor(x));
  view.update(QRect(left - 1, lanes.top(), 3, lanes.height()));
  view.update(QRect(left - 7, ruler.top(), 15, ruler.height()));
}

void TrackView::State::placePlayhead(FrameIndex frame, bool selecting) {
  const FrameIndex to = clampFrame(frame, frames());
  if (selecting) {
    anchor.holdForKey(playhead, selection);
    select(anchor.to(to));
  } else {
    anchor.letGo();
  }
  if (to != playhead) {
    updatePlayhead(playhead);
    playhead = to;
    updatePlayhead(playhead);
    view.update(readout);
    view.update(overview);
  }
  describe();
  Q_EMIT view.playheadPlaced(playhead);
}

void TrackView::State::reveal(FrameIndex frame) {
  const double x = xOf(frame);
  if (x >= lanes.left() && x < lanes.right()) return;
  const double back = x < lanes.left() ? 0.9 : 0.1;
  showsAll = false;
  moveTo(static_cast<double>(frame.value()) - back * lanes.width() * framesPerPixel);
}

void TrackView::State::moveOverview(QPoint at) {
  const double scale = static_cast<double>(frames()) / std::max(1, overview.width());
  moveTo(originBefore + (at.x() - pressedAt.x()) * scale);
}

void TrackView::State::startEdgeScroll(QPoint at) {
  const bool outside = at.x() < lanes.left() || at.x() > lanes.right();
  const bool scrolls = drag != Drag::none && drag != Drag::pressed && drag != Drag::label &&
                       drag != Drag::overview && drag != Drag::pan;
  if (outside && scrolls) {
    if (!edgeTimer.isActive()) edgeTimer.start(edgeTimerMs, &view);
  } else {
    edgeTimer.stop();
  }
}

void TrackView::State::dragTo(QPoint at, bool finished) {
  const FrameIndex pointer = frameAt(std::clamp(at.x(), lanes.left(), lanes.right() + 1));
  const auto limit = [](qint64 value, qint64 least, qint64 most) {
    return std::clamp(value, least, std::max(least, most));
  };
  const qint64 total = frames();
  // A handle keeps its distance from the pointer that grabbed it.
  const FrameIndex place = snapped(clampFrame(grabbed + (pointer - pressFrame), total), at.y());
  const qint64 to = place.value();
  switch (drag) {
    case Drag::none:
    case Drag::pressed:
    case Drag::label:
      return;
    case Drag::overview:
      moveOverview(at);
      return;
    case Drag::pan:
      moveTo(originBefore - (at.x() - pressedAt.x()) * framesPerPixel);
      return;
    case Drag::select:
      select(anchor.to(pointer));
      return;
    case Drag::selectionStart:
    case Drag::selectionEnd:
      select(anchor.to(place));
      return;
    case Drag::spanStart:
    case Drag::spanEnd: {
      FrameRange range = spanBefore;
      if (range.start == range.end) {
        range = {place, place};
      } else if (drag == Drag::spanStart) {
        range.start = FrameIndex(limit(to, 0, range.end.value() - 1));
      } else {
        range.end = FrameIndex(limit(to, range.start.value() + 1, total));
      }
      Q_EMIT view.spanMoved(spanId, range, finished);
      return;
    }
    case Drag::trimStart:
    case Drag::trimEnd:
    case Drag::fadeIn:
    case Drag::fadeOut: {
      if (!trim || !trimBefore) return;
      TrackTrim moved = *trimBefore;
      const qint64 start = moved.range.start.value();
      const qint64 end = moved.range.end.value();
      const bool holds_loop = loopBefore && moved.range.contains(loopBefore->range);
      if (drag == Drag::trimStart) {
        const qint64 most = holds_loop ? loopBefore->range.start.value() : end - 1;
        moved.range.start = FrameIndex(limit(to, 0, most));
      } else if (drag == Drag::trimEnd) {
        const qint64 least = holds_loop ? loopBefore->range.end.value() : start + 1;
        moved.range.end = FrameIndex(limit(to, least, total));
      } else if (drag == Drag::fadeIn) {
        moved.fadeIn = FrameCount(limit(to - start, 0, end - start - moved.fadeOut.value()));
      } else {
        moved.fadeOut = FrameCount(limit(end - to, 0, end - start - moved.fadeIn.value()));
      }
      // Fades that no longer fit give way, the one at the moved edge first.
      qint64 over = moved.fadeIn.value() + moved.fadeOut.value() - moved.range.length().value();
      if (over > 0) {
        FrameCount& nearer = drag == Drag::trimStart ? moved.fadeIn : moved.fadeOut;
        FrameCount& other = drag == Drag::trimStart ? moved.fadeOut : moved.fadeIn;
        const qint64 given = std::min<qint64>(over, nearer.value());
        nearer = nearer - FrameCount(given);
        over -= given;
        other = other - FrameCount(over);
      }
      view.setTrim(moved);
      Q_EMIT view.trimMoved(moved, finished);
      return;
    }
    case Drag::loopStart:
    case Drag::loopEnd:
    case Drag::crossfade: {
      if (!loop || !loopBefore) return;
      TrackLoop moved = *loopBefore;
      const bool held = trimBefore && trimBefore->range.contains(moved.range);
      const qint64 least = held ? trimBefore->range.start.value() : 0;
      const qint64 most = held ? trimBefore->range.end.value() : total;
      if (drag == Drag::loopStart) {
        moved.range.start = FrameIndex(limit(to, least, moved.range.end.value() - 1));
      } else if (drag == Drag::loopEnd) {
        moved.range.end = FrameIndex(limit(to, moved.range.start.value() + 1, most));
      } else {
        moved.crossfade = FrameCount(moved.crossfadeAtStart ? to - moved.range.start.value()
                                                            : moved.range.end.value() - to);
      }
      // The blend needs as much of the take beside the loop as it is long.
      const qint64 beside =
          moved.crossfadeAtStart ? total - moved.range.end.value() : moved.range.start.value();
      moved.crossfade = FrameCount(limit(moved.crossfade.value(), 0,
                                         std::min<qint64>(moved.range.length().value(), beside)));
      view.setLoop(moved);
      Q_EMIT view.loopMoved(moved, finished);
      return;
    }
  }
}

// --- Events ------------------------------------------------------------------------------------

void TrackView::State::zoomHeight(double factor) {
  heightZoom = std::clamp(heightZoom * factor, 1.0, 256.0);
  view.update();
}

bool TrackView::event(QEvent* event) {
  State& s = *state_;
  switch (event->type()) {
    case QEvent::Timer:
      if (static_cast<QTimerEvent*>(event)->timerId() == s.edgeTimer.timerId()) {
        const int over = s.movedTo.x() < s.lanes.left() ? s.movedTo.x() - s.lanes.left()
                                                        : s.movedTo.x() - s.lanes.right();
        s.showsAll = false;
        s.moveTo(s.originFrame + std::clamp(over, -60, 60) * 0.5 * s.framesPerPixel);
        s.dragTo(s.movedTo, false);
        return true;
      }
      break;
    case QEvent::ToolTip: {
      const auto* help = static_cast<QHelpEvent*>(event);
      if (const TrackSpan* span = s.hasSound() ? s.spanAt(help->pos()) : nullptr) {
        QString text = spanKindText(span->kind);
        if (!span->label.isEmpty()) text += QStringLiteral(": ") + span->label;
        text += QLatin1Char('\n') + placeText(span->range.start, s.rate(), s.unit);
        if (!span->range.empty())
          text += QStringLiteral(" – ") + placeText(span->range.end, s.rate(), s.unit) +
                  QStringLiteral(" (") + lengthText(span->range.length(), s.rate(), s.unit) +
                  QLatin1Char(')');
        QToolTip::showText(help->globalPos(), text.toHtmlEscaped(), this);
      } else {
        QToolTip::hideText();
      }
      return true;
    }
    case QEvent::ScreenChangeInternal:
    case QEvent::FontChange:
      s.forgetTiles();
      s.layOut();
      break;
    default:
      break;
  }
  return QWidget::event(event);
}

void TrackView::paintEvent(QPaintEvent* event) {
  QPainter painter(this);
  State& s = *state_;
  for (const QRect& rect : event->region()) {
    painter.save();
    painter.setClipRect(rect);
    s.paint(painter, rect);
    painter.restore();
  }
  s.wantMore();
}

void TrackView::resizeEvent(QResizeEvent*) {
  state_->layOut();
}

void TrackView::wheelEvent(QWheelEvent* event) {
  State& s = *state_;
  if (!s.hasSound()) {
    event->ignore();
    return;
  }
  const QPoint pixels = event->pixelDelta();
  const AxisWheel turned = axisWheel(*event);
  switch (turned.ask) {
    case AxisWheel::Ask::zoom: {
      const double x = std::clamp<double>(event->position().x(), s.lanes.left(), s.lanes.right());
      s.zoomTo(s.framesPerPixel * std::pow(zoomNotch, -turned.notches), x);
      break;
    }
    case AxisWheel::Ask::height:
      s.zoomHeight(std::pow(zoomNotch, turned.notches));
      break;
    case AxisWheel::Ask::scroll:
      if (s.laneBar->isVisible() && event->position().x() < s.lanes.left()) {
        s.laneBar->setValue(s.laneBar->value() - static_cast<int>(turned.notches * laneNotch));
      } else if (!pixels.isNull()) {
        scrollBy(-(pixels.x() != 0 ? pixels.x() : pixels.y()));
      } else {
        scrollBy(static_cast<int>(std::lround(-wheelPixels * turned.notches)));
      }
      break;
  }
  s.showCursor(event->position().toPoint());
  event->accept();
}

void TrackView::mousePressEvent(QMouseEvent* event) {
  State& s = *state_;
  const QPoint at = event->position().toPoint();
  if (!s.hasSound() || s.drag != State::Drag::none) return;
  s.pressedAt = at;
  s.movedTo = at;
  s.originBefore = s.originFrame;
  s.selectionBefore = s.selection;
  s.trimBefore = s.trim;
  s.loopBefore = s.loop;
  s.pressFrame = s.frameAt(at.x());
  s.grabbed = s.pressFrame;
  s.spanId = 0;
  s.dragMoved = false;
  s.unsnapped = event->modifiers().testFlag(Qt::AltModifier);
  if (event->button() == Qt::MiddleButton && s.lanes.contains(at)) {
    s.drag = State::Drag::pan;
    s.showCursor(at);
    return;
  }
  if (event->button() != Qt::LeftButton) {
    QWidget::mousePressEvent(event);
    return;
  }
  if (s.overview.contains(at)) {
    s.drag = State::Drag::overview;
    const double frame = static_cast<double>(at.x() - s.overview.left()) *
                         static_cast<double>(s.frames()) / s.overview.width();
    const double width = s.lanes.width() * s.framesPerPixel;
    if (frame < s.originFrame || frame >= s.originFrame + width) {
      s.showsAll = false;
      s.moveTo(frame - 0.5 * width);
      s.originBefore = s.originFrame;
    }
    s.showCursor(at);
    return;
  }
  const bool shift = event->modifiers().testFlag(Qt::ShiftModifier);
  if (const auto grip = s.gripAt(at); grip && !shift) {
    s.drag = grip->drag;
    s.grabbed = grip->frame;
    s.spanId = grip->spanId;
    if (grip->drag == State::Drag::selectionStart) s.anchor.hold(s.selection->end);
    if (grip->drag == State::Drag::selectionEnd) s.anchor.hold(s.selection->start);
    if (s.spanId != 0 || grip->drag == State::Drag::spanStart ||
        grip->drag == State::Drag::spanEnd) {
      for (const TrackSpan& span : s.spans) {
        if (span.id == s.spanId && span.movable) s.spanBefore = span.range;
      }
    }
    return;
  }
  if (s.band.contains(at)) {
    s.drag = State::Drag::label;
    return;
  }
  if (!s.lanes.contains(at) && !s.ruler.contains(at)) return;
  s.drag = State::Drag::pressed;
  s.anchor.hold(s.pressFrame);
  if (shift) {
    s.anchor.holdFarther(s.pressFrame, s.playhead, s.selection);
    s.drag = State::Drag::select;
    s.dragTo(at, false);
  }
}

void TrackView::mouseMoveEvent(QMouseEvent* event) {
  State& s = *state_;
  const QPoint at = event->position().toPoint();
  s.movedTo = at;
  s.unsnapped = event->modifiers().testFlag(Qt::AltModifier);
  if (s.drag == State::Drag::none) {
    s.showCursor(at);
    return;
  }
  const bool far = std::abs(at.x() - s.pressedAt.x()) >= dragFrom;
  if (s.drag == State::Drag::pressed && far) s.drag = State::Drag::select;
  if (!s.dragMoved && !far && s.drag != State::Drag::select) return;
  s.dragMoved = true;
  s.dragTo(at, false);
  s.startEdgeScroll(at);
}

void TrackView::mouseReleaseEvent(QMouseEvent* event) {
  State& s = *state_;
  const QPoint at = event->position().toPoint();
  const State::Drag was = s.drag;
  if (was == State::Drag::none) return;
  if ((was == State::Drag::pan) != (event->button() == Qt::MiddleButton)) return;
  s.edgeTimer.stop();
  if (was == State::Drag::pressed) {
    s.placePlayhead(s.pressFrame, false);
  } else if (was == State::Drag::label) {
    if (const TrackSpan* span = s.spanAt(at)) Q_EMIT spanActivated(span->id);
  } else if (s.dragMoved || was == State::Drag::select) {
    s.dragTo(at, true);
  }
  s.drag = State::Drag::none;
  s.anchor.letGo();
  s.showCursor(at);
}

void TrackView::mouseDoubleClickEvent(QMouseEvent* event) {
  State& s = *state_;
  const QPoint at = event->position().toPoint();
  if (!s.hasSound() || event->button() != Qt::LeftButton) return;
  if (s.overview.contains(at)) {
    showAll();
    return;
  }
  const TrackSpan* span = s.spanAt(at);
  if (span == nullptr) return;
  const qint64 id = span->id;
  if (!span->range.empty()) setSelection(span->range);
  Q_EMIT spanActivated(id);
}

void TrackView::leaveEvent(QEvent*) {
  if (state_->drag == State::Drag::none) unsetCursor();
}

void TrackView::keyPressEvent(QKeyEvent* event) {
  State& s = *state_;
  if (!s.hasSound()) {
    event->ignore();
    return;
  }
  const AxisKey key = axisKey(*event);
  const auto go = [&](FrameIndex frame) {
    s.placePlayhead(frame, key.selecting);
    s.reveal(s.playhead);
  };
  const FrameCount step(static_cast<qint64>(std::max(1.0, std::round(s.framesPerPixel))));
  const int page = static_cast<int>(pageShare * s.lanes.width());
  using Ask = AxisKey::Ask;
  switch (key.ask) {
    case Ask::back:
      go(s.playhead - step);
      break;
    case Ask::on:
      go(s.playhead + step);
      break;
    case Ask::stopBack:
      go(s.nextStop(s.playhead, false).value_or(FrameIndex(0)));
      break;
    case Ask::stopOn:
      go(s.nextStop(s.playhead, true).value_or(FrameIndex(s.frames())));
      break;
    case Ask::start:
      go(FrameIndex(0));
      break;
    case Ask::end:
      go(FrameIndex(s.frames()));
      break;
    case Ask::pageBack:
      scrollBy(-page);
      break;
    case Ask::pageOn:
      scrollBy(page);
      break;
    case Ask::closer:
      zoom(zoomKey);
      break;
    case Ask::farther:
      zoom(1.0 / zoomKey);
      break;
    case Ask::taller:
      s.zoomHeight(zoomKey);
      break;
    case Ask::lower:
      s.zoomHeight(1.0 / zoomKey);
      break;
    case Ask::whole:
      showAll();
      break;
    case Ask::selectAll:
      setSelection(frame_range(0, s.frames()));
      break;
    case Ask::activate:
      if (const TrackSpan* span = s.smallestSpanAt(s.playhead)) {
        const qint64 id = span->id;
        setSelection(span->range);
        Q_EMIT spanActivated(id);
      }
      break;
    case Ask::drop:
      if (s.drag != State::Drag::none) {
        s.giveUpDrag();
      } else if (s.selection) {
        setSelection(std::nullopt);
      } else {
        event->ignore();
        return;
      }
      break;
    case Ask::nothing:
      QWidget::keyPressEvent(event);
      return;
  }
  event->accept();
}

void TrackView::focusInEvent(QFocusEvent* event) {
  state_->describe();
  QWidget::focusInEvent(event);
  update();
}

void TrackView::focusOutEvent(QFocusEvent* event) {
  QWidget::focusOutEvent(event);
  update();
}

}  // namespace fourbeat::ui
