// SPDX-License-Identifier: GPL-3.0-or-later
#include "DriveTimeline.h"

#include "Theme.h"
#include "Wording.h"

#include <QAccessible>
#include <QHelpEvent>
#include <QKeyEvent>
#include <QLocale>
#include <QMouseEvent>
#include <QPainter>
#include <QPainterPath>
#include <QScrollBar>
#include <QToolTip>
#include <QWheelEvent>
#include <algorithm>
#include <cmath>

namespace fourbeat::ui {

namespace {

constexpr double leastShown_s = 0.5;
constexpr double zoomStep = 1.25;
constexpr double curveShare = 3.0;  ///< a curve's height in lanes
constexpr double effortLevels = 3.0;
constexpr double labelLeast = 18.0;
constexpr double mergedBelow = 1.0;  ///< spans narrower than this join, in pixels

/// The spans that reach into a stretch of time.
std::pair<std::size_t, std::size_t> seen(const std::vector<DriveChart::Span>& spans, double from_s,
                                         double to_s) {
  const auto first = std::partition_point(spans.begin(), spans.end(),
                                          [&](const auto& span) { return span.to_s < from_s; });
  const auto last = std::partition_point(first, spans.end(),
                                         [&](const auto& span) { return span.from_s <= to_s; });
  return {static_cast<std::size_t>(first - spans.begin()),
          static_cast<std::size_t>(last - spans.begin())};
}

const DriveChart::Span* at(const std::vector<DriveChart::Span>& spans, double time_s) {
  const auto next = std::partition_point(spans.begin(), spans.end(),
                                         [&](const auto& span) { return span.from_s <= time_s; });
  if (next == spans.begin()) return nullptr;
  const DriveChart::Span& span = *(next - 1);
  return time_s < span.to_s ? &span : nullptr;
}

double heldValue(const std::vector<DriveChart::Point>& points, double time_s) {
  const auto next = std::partition_point(points.begin(), points.end(),
                                         [&](const auto& point) { return point.time_s <= time_s; });
  return next == points.begin() ? 0.0 : (next - 1)->value;
}

}  // namespace

QString DriveChart::line(double time_s) const {
  QStringList parts{timeText(time_s),
                    DriveTimeline::tr("regulator %1").arg(heldValue(regulator, time_s)),
                    speedText(heldValue(speed, time_s))};
  if (const Span* state = at(states, time_s)) parts << state->label;
  if (const Span* effort = at(efforts, time_s)) parts << effort->label;
  QStringList sounding;
  for (const Lane& voice : voices) {
    if (const Span* span = at(voice.spans, time_s)) sounding << span->label;
  }
  if (!sounding.isEmpty())
    parts << DriveTimeline::tr("sounding: %1").arg(sounding.join(QStringLiteral(", ")));
  return parts.join(QStringLiteral(" · "));
}

DriveTimeline::DriveTimeline(QWidget* parent)
    : QWidget(parent), bar_(new QScrollBar(Qt::Horizontal, this)) {
  setFocusPolicy(Qt::StrongFocus);
  setMouseTracking(false);
  setAccessibleName(tr("The run along its time axis"));
  bar_->setAccessibleName(tr("Scroll in time"));
  bar_->setFocusPolicy(Qt::NoFocus);
  bar_->hide();
  connect(bar_, &QScrollBar::valueChanged, this,
          [this](int value) { setShown(value / 1000.0, span_s_); });
  connect(&Theme::instance(), &Theme::changed, this, [this] {
    layOut();
    redraw();
  });
}

QSize DriveTimeline::sizeHint() const {
  const int letter = fontMetrics().averageCharWidth();
  return {letter * 100, letter * 50};
}

void DriveTimeline::setEmptyText(const QString& text) {
  empty_ = text;
  update();
}

void DriveTimeline::setChart(std::shared_ptr<const DriveChart> chart) {
  const bool fresh = !chart_ || !chart || chart->seconds != chart_->seconds;
  chart_ = std::move(chart);
  playhead_s_ = chart_ ? std::min(playhead_s_, chart_->seconds) : 0.0;
  layOut();
  if (fresh) {
    showAll();
  } else {
    redraw();
  }
}

void DriveTimeline::layOut() {
  rows_.clear();
  drawn_ = QPixmap();
  if (!chart_) return;
  const QFontMetricsF metrics(Theme::instance().smallFont());
  using Kind = Row::Kind;
  rows_.push_back({Kind::regulator, 0, tr("Regulator"), 0, 0});
  rows_.push_back({Kind::speed, 0, tr("Speed"), 0, 0});
  rows_.push_back({Kind::effort, 0, tr("Effort"), 0, 0});
  rows_.push_back({Kind::state, 0, tr("State"), 0, 0});
  for (std::size_t i = 0; i < chart_->keys.size(); ++i)
    rows_.push_back({Kind::key, i, chart_->keys[i].name, 0, 0});
  for (std::size_t i = 0; i < chart_->voices.size(); ++i)
    rows_.push_back({Kind::voice, i, chart_->voices[i].name, 0, 0});
  double lanes = 0.0;
  names_ = 0.0;
  for (const Row& row : rows_) {
    lanes += row.kind == Kind::regulator || row.kind == Kind::speed ? curveShare : 1.0;
    names_ = std::max(names_, metrics.horizontalAdvance(row.name));
  }
  names_ = std::min(names_ + 2.0 * Theme::gap, width() / 3.0);
  const double top = metrics.height() + Theme::tight;
  const double room = height() - top - bar_->sizeHint().height();
  const double lane =
      std::clamp(room / lanes, metrics.height() + 2.0, metrics.height() * 2.0 + Theme::gap);
  double y = top;
  for (Row& row : rows_) {
    const double share = row.kind == Kind::regulator || row.kind == Kind::speed ? curveShare : 1.0;
    row.top = y;
    y += lane * share;
    row.bottom = y - Theme::tight;
  }
  setMinimumHeight(static_cast<int>(top + lanes * (metrics.height() + 2.0)) +
                   bar_->sizeHint().height());
  updateBar();
}

QRectF DriveTimeline::plot() const {
  const double bottom = rows_.empty() ? height() : rows_.back().bottom;
  const double top = rows_.empty() ? 0.0 : rows_.front().top;
  return {names_, top, std::max(1.0, width() - names_ - Theme::tight), bottom - top};
}

double DriveTimeline::xOf(double time_s) const {
  const QRectF area = plot();
  return area.left() + (time_s - from_s_) / span_s_ * area.width();
}

double DriveTimeline::timeAt(double x) const {
  const QRectF area = plot();
  return from_s_ + (x - area.left()) / area.width() * span_s_;
}

void DriveTimeline::setShown(double from_s, double span_s) {
  if (!chart_) return;
  const double whole = std::max(leastShown_s, chart_->seconds);
  span_s = std::clamp(span_s, leastShown_s, whole);
  from_s = std::clamp(from_s, 0.0, whole - span_s);
  if (from_s == from_s_ && span_s == span_s_ && !drawn_.isNull()) return;
  from_s_ = from_s;
  span_s_ = span_s;
  updateBar();
  redraw();
  Q_EMIT shownChanged();
}

void DriveTimeline::updateBar() {
  const QSignalBlocker quiet(bar_);
  const double whole = chart_ ? chart_->seconds : 0.0;
  const int most = static_cast<int>(std::max(0.0, whole - span_s_) * 1000.0);
  bar_->setVisible(chart_ && most > 0);
  bar_->setRange(0, most);
  bar_->setPageStep(static_cast<int>(span_s_ * 1000.0));
  bar_->setSingleStep(std::max(1, bar_->pageStep() / 10));
  bar_->setValue(static_cast<int>(from_s_ * 1000.0));
  const int tall = bar_->sizeHint().height();
  bar_->setGeometry(static_cast<int>(names_), height() - tall, width() - static_cast<int>(names_),
                    tall);
}

void DriveTimeline::showAll() {
  setShown(0.0, chart_ ? chart_->seconds : 1.0);
  redraw();
}

void DriveTimeline::zoom(double factor, double about_s) {
  const double span = std::clamp(span_s_ / factor, leastShown_s,
                                 chart_ ? std::max(leastShown_s, chart_->seconds) : leastShown_s);
  setShown(about_s - (about_s - from_s_) * span / span_s_, span);
}

void DriveTimeline::setPlayhead(double time_s, bool follow) {
  if (!chart_) return;
  time_s = std::clamp(time_s, 0.0, chart_->seconds);
  const QRectF area = plot();
  const auto strip = [&](double at_s) {
    return QRectF(xOf(at_s) - 3, 0, 6, area.bottom() + 1).toAlignedRect();
  };
  const QRect before = strip(playhead_s_);
  playhead_s_ = time_s;
  setAccessibleDescription(chart_->line(time_s));
  if (follow && (time_s < from_s_ || time_s > from_s_ + span_s_)) setShown(time_s, span_s_);
  update(before);
  update(strip(time_s));
}

void DriveTimeline::place(double time_s) {
  if (!chart_) return;
  setPlayhead(time_s, true);
  QAccessibleEvent told(this, QAccessible::DescriptionChanged);
  QAccessible::updateAccessibility(&told);
  Q_EMIT playheadPlaced(playhead_s_);
}

double DriveTimeline::nextChange(bool ahead) const {
  double best = ahead ? chart_->seconds : 0.0;
  const auto consider = [&](double time_s) {
    constexpr double apart_s = 1e-6;
    if (ahead && time_s > playhead_s_ + apart_s) best = std::min(best, time_s);
    if (!ahead && time_s < playhead_s_ - apart_s) best = std::max(best, time_s);
  };
  for (const DriveChart::Point& point : chart_->regulator)
    consider(point.time_s);
  for (const DriveChart::Span& span : chart_->states)
    consider(span.from_s);
  for (const DriveChart::Lane& lane : chart_->keys) {
    for (const DriveChart::Span& span : lane.spans) {
      consider(span.from_s);
      consider(span.to_s);
    }
  }
  return best;
}

void DriveTimeline::redraw() {
  drawn_ = QPixmap();
  update();
}

void DriveTimeline::resizeEvent(QResizeEvent* event) {
  QWidget::resizeEvent(event);
  layOut();
}

void DriveTimeline::wheelEvent(QWheelEvent* event) {
  if (!chart_) return;
  const QPoint turn = event->angleDelta();
  const double steps = (turn.y() != 0 ? turn.y() : turn.x()) / 120.0;
  if (event->modifiers().testFlag(Qt::ControlModifier)) {
    zoom(std::pow(zoomStep, steps), timeAt(event->position().x()));
  } else {
    setShown(from_s_ - steps * span_s_ / 8.0, span_s_);
  }
  event->accept();
}

void DriveTimeline::mousePressEvent(QMouseEvent* event) {
  if (event->button() == Qt::LeftButton) place(timeAt(event->position().x()));
}

void DriveTimeline::mouseMoveEvent(QMouseEvent* event) {
  if (event->buttons().testFlag(Qt::LeftButton)) place(timeAt(event->position().x()));
}

void DriveTimeline::keyPressEvent(QKeyEvent* event) {
  if (!chart_) return QWidget::keyPressEvent(event);
  const bool far = event->modifiers().testFlag(Qt::ControlModifier);
  switch (event->key()) {
    case Qt::Key_Left:
      return place(far ? nextChange(false) : playhead_s_ - 1.0);
    case Qt::Key_Right:
      return place(far ? nextChange(true) : playhead_s_ + 1.0);
    case Qt::Key_Home:
      return place(0.0);
    case Qt::Key_End:
      return place(chart_->seconds);
    case Qt::Key_Up:
    case Qt::Key_Plus:
      return zoom(zoomStep, playhead_s_);
    case Qt::Key_Down:
    case Qt::Key_Minus:
      return zoom(1.0 / zoomStep, playhead_s_);
    case Qt::Key_0:
      return showAll();
    default:
      QWidget::keyPressEvent(event);
  }
}

const DriveChart::Span* DriveTimeline::spanAt(const QPointF& place) const {
  if (!chart_ || place.x() < names_) return nullptr;
  for (const Row& row : rows_) {
    if (place.y() < row.top || place.y() > row.bottom) continue;
    const double time_s = timeAt(place.x());
    switch (row.kind) {
      case Row::Kind::effort:
        return at(chart_->efforts, time_s);
      case Row::Kind::state:
        return at(chart_->states, time_s);
      case Row::Kind::key:
        return at(chart_->keys[row.index].spans, time_s);
      case Row::Kind::voice:
        return at(chart_->voices[row.index].spans, time_s);
      default:
        return nullptr;
    }
  }
  return nullptr;
}

bool DriveTimeline::event(QEvent* event) {
  if (event->type() == QEvent::ToolTip && chart_) {
    const auto* help = static_cast<QHelpEvent*>(event);  // NOLINT: the type says so
    const DriveChart::Span* span = spanAt(help->pos());
    QString words = chart_->line(std::clamp(timeAt(help->pos().x()), 0.0, chart_->seconds));
    if (span != nullptr) {
      words = tr("%1, %2 to %3%4")
                  .arg(span->label, timeText(span->from_s), timeText(span->to_s),
                       span->detail.isEmpty() ? QString() : QStringLiteral("\n") + span->detail);
    }
    QToolTip::showText(help->globalPos(), words, this);
    return true;
  }
  return QWidget::event(event);
}

void DriveTimeline::drawRuler(QPainter& painter) const {
  const Theme& theme = Theme::instance();
  const QRectF area = plot();
  double step = 0.1;
  for (const double each :
       {0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1800.0}) {
    step = each;
    if (each / span_s_ * area.width() > painter.fontMetrics().averageCharWidth() * 12) break;
  }
  for (double time = std::ceil(from_s_ / step) * step; time <= from_s_ + span_s_; time += step) {
    const double x = xOf(time);
    painter.setPen(theme.color(Theme::Ink::line));
    painter.drawLine(QPointF(x, area.top() - Theme::tight), QPointF(x, area.bottom()));
    painter.setPen(theme.color(Theme::Ink::mutedText));
    painter.drawText(QPointF(x + 2, area.top() - Theme::tight), timeText(time, step < 1.0 ? 1 : 0));
  }
}

void DriveTimeline::drawCurve(QPainter& painter, const Row& row,
                              const std::vector<DriveChart::Point>& points, double most,
                              bool steps) const {
  const Theme& theme = Theme::instance();
  const double tall = row.bottom - row.top - 2.0;
  const auto y = [&](double value) { return row.bottom - tall * value / std::max(1e-9, most); };
  QPainterPath path;
  bool begun = false;
  double last = 0.0;
  for (const DriveChart::Point& point : points) {
    const QPointF place(xOf(point.time_s), y(point.value));
    if (!begun) {
      path.moveTo(steps ? QPointF(xOf(0.0), y(0.0)) : place);
      if (steps) path.lineTo(place.x(), y(0.0));
    } else if (steps) {
      path.lineTo(place.x(), y(last));
    }
    path.lineTo(place);
    begun = true;
    last = point.value;
  }
  if (!begun) return;
  if (steps) path.lineTo(xOf(chart_->seconds), y(last));
  painter.setPen(QPen(theme.color(steps ? Theme::Ink::trim : Theme::Ink::accent), 1.5,
                      Qt::SolidLine, Qt::FlatCap, Qt::MiterJoin));
  painter.setBrush(Qt::NoBrush);
  painter.drawPath(path);
  painter.setPen(theme.color(Theme::Ink::mutedText));
  const QString top = steps ? QLocale().toString(most) : speedText(most);
  painter.drawText(QRectF(plot().left() + 2, row.top, plot().width() - 4, tall),
                   Qt::AlignRight | Qt::AlignTop, top);
}

void DriveTimeline::drawSpans(QPainter& painter, const Row& row,
                              const std::vector<DriveChart::Span>& spans,
                              const std::vector<int>* levels) const {
  const Theme& theme = Theme::instance();
  const QRectF area = plot();
  const Theme::Ink ink = row.kind == Row::Kind::key      ? Theme::Ink::loop
                         : row.kind == Row::Kind::effort ? Theme::Ink::beat
                         : row.kind == Row::Kind::state  ? Theme::Ink::trim
                                                         : Theme::Ink::accent;
  QColor fill = theme.color(ink);
  fill.setAlphaF(0.28F);
  const auto [first, last] = seen(spans, from_s_, from_s_ + span_s_);
  double drawnTo = -1.0;
  for (std::size_t i = first; i < last; ++i) {
    const DriveChart::Span& span = spans[i];
    const double left = std::max(area.left(), xOf(span.from_s));
    const double right = std::min(area.right(), xOf(span.to_s));
    if (right < drawnTo + mergedBelow && right - left < mergedBelow) continue;  // already inked
    drawnTo = right;
    QRectF box(left, row.top, std::max(mergedBelow, right - left), row.bottom - row.top);
    if (levels != nullptr) {
      const double share = ((*levels)[i] + 1) / effortLevels;
      box.setTop(row.bottom - (row.bottom - row.top) * share);
    }
    painter.fillRect(box, fill);
    painter.fillRect(QRectF(box.left(), box.top(), 1.0, box.height()), theme.color(ink));
    const double room = right - left - 2.0 * Theme::tight;
    if (room < labelLeast) continue;
    painter.setPen(theme.color(Theme::Ink::text));
    const QString words =
        painter.fontMetrics().elidedText(span.label, Qt::ElideRight, static_cast<int>(room));
    painter.drawText(QRectF(left + Theme::tight, row.top, room, row.bottom - row.top),
                     Qt::AlignLeft | Qt::AlignVCenter, words);
  }
}

void DriveTimeline::paintEvent(QPaintEvent* event) {
  const Theme& theme = Theme::instance();
  QPainter painter(this);
  if (!chart_) {
    painter.fillRect(rect(), theme.color(Theme::Ink::surface));
    painter.setPen(theme.color(Theme::Ink::mutedText));
    painter.drawText(rect().adjusted(Theme::section, 0, -Theme::section, 0),
                     static_cast<int>(Qt::AlignCenter) | Qt::TextWordWrap, empty_);
    return;
  }
  if (drawn_.isNull()) {
    drawn_ = QPixmap(size() * devicePixelRatioF());
    drawn_.setDevicePixelRatio(devicePixelRatioF());
    drawn_.fill(theme.color(Theme::Ink::surface));
    QPainter inner(&drawn_);
    inner.setFont(theme.smallFont());
    drawRuler(inner);
    inner.setRenderHint(QPainter::Antialiasing);
    const QRectF area = plot();
    for (const Row& row : rows_) {
      inner.setClipping(false);
      inner.setPen(theme.color(Theme::Ink::line));
      inner.drawLine(QPointF(0, row.bottom + 2), QPointF(area.right(), row.bottom + 2));
      inner.setPen(theme.color(Theme::Ink::text));
      inner.drawText(QRectF(Theme::tight, row.top, names_ - Theme::gap, row.bottom - row.top),
                     Qt::AlignLeft | Qt::AlignVCenter,
                     inner.fontMetrics().elidedText(row.name, Qt::ElideRight,
                                                    static_cast<int>(names_ - Theme::gap)));
      inner.setClipRect(QRectF(area.left(), row.top, area.width(), row.bottom - row.top + 1));
      switch (row.kind) {
        case Row::Kind::regulator:
          drawCurve(inner, row, chart_->regulator, chart_->regulatorMost, true);
          break;
        case Row::Kind::speed:
          drawCurve(inner, row, chart_->speed, chart_->speedMost, false);
          break;
        case Row::Kind::effort:
          drawSpans(inner, row, chart_->efforts, &chart_->effortLevels);
          break;
        case Row::Kind::state:
          drawSpans(inner, row, chart_->states, nullptr);
          break;
        case Row::Kind::key:
          drawSpans(inner, row, chart_->keys[row.index].spans, nullptr);
          break;
        case Row::Kind::voice:
          drawSpans(inner, row, chart_->voices[row.index].spans, nullptr);
          break;
      }
    }
  }
  painter.setClipRegion(event->region());
  painter.drawPixmap(0, 0, drawn_);
  const QRectF area = plot();
  const double x = xOf(playhead_s_);
  if (x >= area.left() - 1 && x <= area.right() + 1) {
    painter.setPen(QPen(theme.color(Theme::Ink::playhead), 2));
    painter.drawLine(QPointF(x, 0), QPointF(x, area.bottom()));
  }
  if (hasFocus()) {
    painter.setPen(QPen(theme.color(Theme::Ink::focus), 2));
    painter.drawRect(rect().adjusted(1, 1, -1, -1));
  }
}

}  // namespace fourbeat::ui
