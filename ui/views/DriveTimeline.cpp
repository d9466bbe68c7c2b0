// SPDX-License-Identifier: GPL-3.0-or-later
#include "DriveTimeline.h"

#include "Theme.h"
#include "Wording.h"

#include <QAccessible>
#include <QHelpEvent>
#include <QKeyEvent>
#include <QLocale>
#include <QMouseEvent>
#include <QScrollBar>
#include <QToolTip>
#include <QWheelEvent>
#include <algorithm>
#include <cmath>

namespace fourbeat::ui {

namespace {

constexpr double leastShown_s = 0.5;
constexpr double keyStep_s = 1.0;
constexpr double notchShare = 1.0 / 8.0;  ///< of what is shown, scrolled by a notch of the wheel
constexpr double curveShare = 3.0;        ///< a curve's height in lanes
constexpr double grownShown_s = 30.0;     ///< of what grows, unless one zooms
constexpr double keptShare = 1.0 / 3.0;   ///< of a page that was full, on the next
/// Strips begin here and no nearer, so that they fit device pixels at quarters of a scale.
constexpr double stripGrid = 4.0;

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
  if (fresh || chart_->grows) setSelection(std::nullopt);
  following_ = true;
  layOut();
  if (chart_ && chart_->grows) {
    from_s_ = chart_->from_s;
    span_s_ = grownShown_s;
    updateBar();
    redraw();
  } else if (fresh) {
    showAll();
  } else {
    redraw();
  }
}

double DriveTimeline::axisEnd() const {
  if (!chart_) return 0.0;
  // What grows has room for a page ahead.
  return std::max(chart_->from_s + leastShown_s, chart_->seconds + (chart_->grows ? span_s_ : 0.0));
}

void DriveTimeline::grown(double since_s) {
  if (!chart_) return;
  const QRect before = playheadStrip();
  playhead_s_ = chart_->seconds;
  const bool relaid =
      rows_.size() != 4 + chart_->keys.size() + chart_->cvs.size() + chart_->voices.size();
  if (relaid) layOut();
  if (following_ && chart_->seconds > from_s_ + span_s_) {
    setShown(chart_->seconds - keptShare * span_s_, span_s_);
    following_ = true;
  } else if (from_s_ < chart_->from_s) {
    setShown(from_s_, span_s_);
  }
  updateBar();
  if (drawn_.isNull()) return update();
  const QRectF area = plot();
  double left = dirtyFrom(since_s);
  left = std::max(area.left(), std::floor(left / stripGrid) * stripGrid);
  double right = std::ceil((xOf(chart_->seconds) + 1.0) / stripGrid) * stripGrid;
  right = std::min(area.right(), right);
  if (left < right) {
    draw(left, right);
    update(QRectF(left, 0, right - left, height()).toAlignedRect());
  }
  update(before);
  update(playheadStrip());
}

void DriveTimeline::rest() {
  layOut();
  setShown(from_s_, span_s_);
  redraw();
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
  for (std::size_t i = 0; i < chart_->cvs.size(); ++i)
    rows_.push_back({Kind::cv, i, chart_->cvs[i].name, 0, 0});
  for (std::size_t i = 0; i < chart_->voices.size(); ++i)
    rows_.push_back({Kind::voice, i, chart_->voices[i].name, 0, 0});
  double lanes = 0.0;
  names_ = 0.0;
  for (const Row& row : rows_) {
    lanes += isCurve(row) ? curveShare : 1.0;
    names_ = std::max(names_, metrics.horizontalAdvance(row.name));
  }
  names_ = std::min(names_ + 2.0 * Theme::gap, width() / 3.0);
  names_ = std::ceil(names_ / stripGrid) * stripGrid;
  const double top = metrics.height() + Theme::tight;
  const double room = height() - top - bar_->sizeHint().height();
  const double lane =
      std::clamp(room / lanes, metrics.height() + 2.0, metrics.height() * 2.0 + Theme::gap);
  double y = top;
  for (Row& row : rows_) {
    const double share = isCurve(row) ? curveShare : 1.0;
    row.top = y;
    y += lane * share;
    row.bottom = y - Theme::tight;
  }
  setMinimumHeight(static_cast<int>(top + lanes * (metrics.height() + 2.0)) +
                   bar_->sizeHint().height());
  updateBar();
}

bool DriveTimeline::isCurve(const Row& row) {
  return row.kind == Row::Kind::regulator || row.kind == Row::Kind::speed;
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
  const double end = axisEnd();
  span_s = std::clamp(span_s, leastShown_s, std::max(leastShown_s, end - chart_->from_s));
  from_s = std::clamp(from_s, chart_->from_s, std::max(chart_->from_s, end - span_s));
  following_ = chart_->seconds <= from_s + span_s;
  if (from_s == from_s_ && span_s == span_s_ && !drawn_.isNull()) return;
  from_s_ = from_s;
  span_s_ = span_s;
  updateBar();
  redraw();
}

void DriveTimeline::updateBar() {
  const QSignalBlocker quiet(bar_);
  const double first = chart_ ? chart_->from_s : 0.0;
  // In whole seconds where it grows, so that the bar is not painted at every step.
  const double last = !chart_ ? 0.0 : chart_->grows ? std::floor(chart_->seconds) : chart_->seconds;
  const double most = std::max(first, last - span_s_);
  bar_->setVisible(chart_ && (most > first || from_s_ > first));
  bar_->setRange(static_cast<int>(first * 1000.0),
                 static_cast<int>(std::max(most, from_s_) * 1000.0));
  bar_->setPageStep(static_cast<int>(span_s_ * 1000.0));
  bar_->setSingleStep(std::max(1, bar_->pageStep() / 10));
  bar_->setValue(static_cast<int>(from_s_ * 1000.0));
  const int tall = bar_->sizeHint().height();
  bar_->setGeometry(static_cast<int>(names_), height() - tall, width() - static_cast<int>(names_),
                    tall);
}

void DriveTimeline::showAll() {
  if (chart_) setShown(chart_->from_s, std::max(leastShown_s, chart_->seconds - chart_->from_s));
  redraw();
}

void DriveTimeline::zoom(double factor, double about_s) {
  if (!chart_) return;
  const double span = std::clamp(span_s_ / factor, leastShown_s,
                                 std::max(leastShown_s, axisEnd() - chart_->from_s));
  setShown(about_s - (about_s - from_s_) * span / span_s_, span);
}

void DriveTimeline::setPlayhead(double time_s, bool follow) {
  if (!chart_) return;
  time_s = std::clamp(time_s, chart_->from_s, chart_->seconds);
  const QRect before = playheadStrip();
  playhead_s_ = time_s;
  describe();
  if (follow && (time_s < from_s_ || time_s > from_s_ + span_s_)) setShown(time_s, span_s_);
  update(before);
  update(playheadStrip());
}

QRect DriveTimeline::playheadStrip() const {
  constexpr int wide = 3;
  return QRectF(xOf(playhead_s_) - wide, 0, 2 * wide, plot().bottom() + 1).toAlignedRect();
}

void DriveTimeline::describe() {
  QString told = chart_ ? chart_->line(playhead_s_) : QString();
  if (selection_)
    told += tr("; selection %1 to %2").arg(timeText(selection_->start), timeText(selection_->end));
  setAccessibleDescription(told);
}

void DriveTimeline::setSelection(std::optional<Stretch> selection) {
  anchor_.letGo();
  select(selection);
}

void DriveTimeline::select(std::optional<Stretch> range) {
  if (range && chart_) {
    range->start = std::clamp(range->start, chart_->from_s, chart_->seconds);
    range->end = std::clamp(range->end, chart_->from_s, chart_->seconds);
  }
  if (!chart_ || chart_->grows || (range && range->end <= range->start)) range.reset();
  if (range == selection_) return;
  selection_ = range;
  describe();
  update();
}

void DriveTimeline::selectAt(const QPointF& place) {
  const DriveChart::Span* span = spanAt(place);
  if (span == nullptr) span = at(chart_->states, timeAt(place.x()));
  if (span != nullptr) setSelection(Stretch{span->from_s, std::min(span->to_s, chart_->seconds)});
}

void DriveTimeline::place(double time_s, bool selecting) {
  if (!chart_) return;
  if (selecting) {
    anchor_.holdForKey(playhead_s_, selection_);
    select(anchor_.to(std::clamp(time_s, chart_->from_s, chart_->seconds)));
  } else {
    anchor_.letGo();
  }
  setPlayhead(time_s, true);
  QAccessibleEvent told(this, QAccessible::DescriptionChanged);
  QAccessible::updateAccessibility(&told);
  Q_EMIT playheadPlaced(playhead_s_);
}

double DriveTimeline::nextChange(bool ahead) const {
  double best = ahead ? chart_->seconds : chart_->from_s;
  const auto consider = [&](double time_s) {
    constexpr double apart_s = 1e-6;
    if (ahead && time_s > playhead_s_ + apart_s) best = std::min(best, time_s);
    if (!ahead && time_s < playhead_s_ - apart_s) best = std::max(best, time_s);
  };
  if (selection_) {
    consider(selection_->start);
    consider(selection_->end);
  }
  for (const DriveChart::Point& point : chart_->regulator)
    consider(point.time_s);
  for (const DriveChart::Span& span : chart_->states)
    consider(span.from_s);
  for (const auto* lanes : {&chart_->keys, &chart_->cvs}) {
    for (const DriveChart::Lane& lane : *lanes) {
      for (const DriveChart::Span& span : lane.spans) {
        consider(span.from_s);
        consider(span.to_s);
      }
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
  const AxisWheel turned = axisWheel(*event);
  if (turned.ask == AxisWheel::Ask::zoom) {
    zoom(std::pow(zoomNotch, turned.notches), timeAt(event->position().x()));
  } else {
    setShown(from_s_ - turned.notches * notchShare * span_s_, span_s_);
  }
  event->accept();
}

void DriveTimeline::mousePressEvent(QMouseEvent* event) {
  if (event->button() != Qt::LeftButton || !chart_) return;
  const double x = event->position().x();
  if (event->modifiers().testFlag(Qt::ShiftModifier)) {
    drag_.pressToSelect(timeAt(x), playhead_s_, selection_);
    return mouseMoveEvent(event);
  }
  const Stretch edges = selection_.value_or(Stretch{});
  drag_.press(x, timeAt(x), selection_, {xOf(edges.start), xOf(edges.end)});
}

void DriveTimeline::mouseMoveEvent(QMouseEvent* event) {
  if (!chart_ || !drag_.isOn()) return;
  const double x = event->position().x();
  const double inside = std::clamp(x, plot().left(), plot().right());
  if (const auto range = drag_.moveTo(x, timeAt(inside))) {
    select(range);
    if (x != inside) setShown(from_s_ + timeAt(x) - timeAt(inside), span_s_);
  }
}

void DriveTimeline::mouseReleaseEvent(QMouseEvent* event) {
  if (event->button() != Qt::LeftButton || !drag_.isOn()) return;
  if (drag_.release()) place(timeAt(event->position().x()));
}

void DriveTimeline::mouseDoubleClickEvent(QMouseEvent* event) {
  if (event->button() == Qt::LeftButton && chart_) selectAt(event->position());
}

void DriveTimeline::keyPressEvent(QKeyEvent* event) {
  if (!chart_) return QWidget::keyPressEvent(event);
  const AxisKey key = axisKey(*event);
  using Ask = AxisKey::Ask;
  switch (key.ask) {
    case Ask::back:
      return place(playhead_s_ - keyStep_s, key.selecting);
    case Ask::on:
      return place(playhead_s_ + keyStep_s, key.selecting);
    case Ask::stopBack:
      return place(nextChange(false), key.selecting);
    case Ask::stopOn:
      return place(nextChange(true), key.selecting);
    case Ask::start:
      return place(chart_->from_s, key.selecting);
    case Ask::end:
      return place(chart_->seconds, key.selecting);
    case Ask::pageBack:
      return setShown(from_s_ - pageShare * span_s_, span_s_);
    case Ask::pageOn:
      return setShown(from_s_ + pageShare * span_s_, span_s_);
    case Ask::closer:
      return zoom(zoomKey, playhead_s_);
    case Ask::farther:
      return zoom(1.0 / zoomKey, playhead_s_);
    case Ask::whole:
      return showAll();
    case Ask::selectAll:
      return setSelection(Stretch{chart_->from_s, chart_->seconds});
    case Ask::activate:
      return selectAt(QPointF(xOf(playhead_s_), 0.0));
    case Ask::drop:
      if (!drag_.isOn() && !selection_) break;
      return select(drag_.isOn() ? drag_.giveUp() : std::nullopt);
    case Ask::taller:
    case Ask::lower:
    case Ask::nothing:
      break;
  }
  QWidget::keyPressEvent(event);
}

const DriveChart::Span* DriveTimeline::spanAt(const QPointF& place) const {
  if (!chart_ || place.x() < names_) return nullptr;
  for (const Row& row : rows_) {
    if (place.y() < row.top || place.y() > row.bottom) continue;
    const double time_s = timeAt(place.x());
    return isCurve(row) ? nullptr : at(spansOf(row), time_s);
  }
  return nullptr;
}

bool DriveTimeline::event(QEvent* event) {
  if (event->type() == QEvent::ToolTip && chart_) {
    const auto* help = static_cast<QHelpEvent*>(event);  // NOLINT: the type says so
    const DriveChart::Span* span = spanAt(help->pos());
    QString words =
        chart_->line(std::clamp(timeAt(help->pos().x()), chart_->from_s, chart_->seconds));
    if (span != nullptr) {
      words = tr("%1, %2 to %3")
                  .arg(span->label, timeText(span->from_s),
                       timeText(std::min(span->to_s, chart_->seconds)));
      if (!span->starts.isEmpty()) words += tr("\nStarts: %1").arg(span->starts);
      if (!span->ends.isEmpty()) words += tr("; ends: %1").arg(span->ends);
    }
    QToolTip::showText(help->globalPos(), words, this);
    return true;
  }
  return QWidget::event(event);
}

}  // namespace fourbeat::ui
