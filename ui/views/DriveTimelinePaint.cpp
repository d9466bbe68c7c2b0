// SPDX-License-Identifier: GPL-3.0-or-later
// How a run is drawn.
#include "AxisPaint.h"
#include "DriveTimeline.h"
#include "Theme.h"
#include "Wording.h"

#include <QLocale>
#include <QPaintEvent>
#include <QPainter>
#include <QPainterPath>
#include <algorithm>
#include <cmath>
#include <span>

namespace fourbeat::ui {

namespace {

constexpr double effortLevels = 3.0;
constexpr double labelLeast = 18.0;
constexpr double spanEdge = 1.0;
/// Narrower spans are drawn as one column of pixels, the first of each column alone.
constexpr double columnBelow = 1.0;

using Spans = std::vector<DriveChart::Span>;
using Points = std::vector<DriveChart::Point>;

/// The spans that reach into a stretch of time.
std::span<const DriveChart::Span> seen(const Spans& spans, double from_s, double to_s) {
  const auto first = std::partition_point(spans.begin(), spans.end(),
                                          [&](const auto& span) { return span.to_s < from_s; });
  const auto last = std::partition_point(first, spans.end(),
                                         [&](const auto& span) { return span.from_s <= to_s; });
  return {first, last};
}

/// The points of a stretch of time, with two on either side that its lines and their joints need.
std::span<const DriveChart::Point> seen(const Points& points, double from_s, double to_s) {
  constexpr std::ptrdiff_t more = 2;
  const auto first = std::partition_point(points.begin(), points.end(),
                                          [&](const auto& point) { return point.time_s < from_s; });
  const auto last = std::partition_point(first, points.end(),
                                         [&](const auto& point) { return point.time_s <= to_s; });
  return {first - std::min(more, first - points.begin()),
          last + std::min(more, points.end() - last)};
}

}  // namespace

const Spans& DriveTimeline::spansOf(const Row& row) const {
  switch (row.kind) {
    case Row::Kind::effort:
      return chart_->efforts;
    case Row::Kind::key:
      return chart_->keys[row.index].spans;
    case Row::Kind::cv:
      return chart_->cvs[row.index].spans;
    case Row::Kind::voice:
      return chart_->voices[row.index].spans;
    case Row::Kind::state:
    case Row::Kind::regulator:
    case Row::Kind::speed:
      break;
  }
  return chart_->states;
}

double DriveTimeline::dirtyFrom(double since_s) const {
  const QFontMetricsF metrics(Theme::instance().smallFont());
  const QRectF area = plot();
  const double since = xOf(since_s) - 2.0;
  double left = since;
  for (const Row& row : rows_) {
    if (isCurve(row)) continue;
    for (const DriveChart::Span& span : seen(spansOf(row), since_s, chart_->seconds)) {
      const double start = std::max(area.left(), xOf(span.from_s));
      // Its words may not have had room.
      if (since - start < metrics.horizontalAdvance(span.label) + 4.0 * Theme::tight)
        left = std::min(left, start - 1.0);
    }
  }
  return left;
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
    const QString words = timeText(time, step < 1.0 ? 1 : 0);
    if (x + 2 + painter.fontMetrics().horizontalAdvance(words) > width()) continue;
    painter.setPen(theme.color(Theme::Ink::mutedText));
    painter.drawText(QPointF(x + 2, area.top() - Theme::tight), words);
  }
}

void DriveTimeline::drawCurve(QPainter& painter, const Row& row, const Points& points, double left,
                              double right) const {
  const Theme& theme = Theme::instance();
  const bool steps = row.kind == Row::Kind::regulator;
  const double most = steps ? chart_->regulatorMost : chart_->speedMost;
  const double tall = row.bottom - row.top - 2.0;
  const auto y = [&](double value) { return row.bottom - tall * value / std::max(1e-9, most); };
  QPainterPath path;
  if (steps) path.moveTo(xOf(chart_->from_s), y(0.0));
  for (const DriveChart::Point& point : seen(points, timeAt(left), timeAt(right))) {
    const QPointF place(xOf(point.time_s), y(point.value));
    if (path.elementCount() == 0) {
      path.moveTo(place);
      continue;
    }
    if (steps) path.lineTo(place.x(), path.currentPosition().y());
    path.lineTo(place);
  }
  if (steps) path.lineTo(xOf(chart_->seconds), path.currentPosition().y());
  painter.setPen(QPen(theme.color(steps ? Theme::Ink::trim : Theme::Ink::accent), 1.5,
                      Qt::SolidLine, Qt::FlatCap, Qt::MiterJoin));
  painter.setBrush(Qt::NoBrush);
  painter.drawPath(path);
  painter.setPen(theme.color(Theme::Ink::mutedText));
  const QString top = steps ? QLocale().toString(most) : speedText(most);
  painter.drawText(QRectF(plot().left() + 2, row.top, plot().width() - 4, tall),
                   Qt::AlignRight | Qt::AlignTop, top);
}

void DriveTimeline::drawSpans(QPainter& painter, const Row& row, double left, double right) const {
  const Theme& theme = Theme::instance();
  const QRectF area = plot();
  const Theme::Ink ink = row.kind == Row::Kind::key || row.kind == Row::Kind::cv ? Theme::Ink::loop
                         : row.kind == Row::Kind::effort                         ? Theme::Ink::beat
                         : row.kind == Row::Kind::state                          ? Theme::Ink::trim
                                                        : Theme::Ink::accent;
  QColor fill = theme.color(ink);
  fill.setAlphaF(0.28F);
  double drawnColumn = -1.0;
  for (const DriveChart::Span& span : seen(spansOf(row), timeAt(left), timeAt(right))) {
    const double start = std::max(area.left(), xOf(span.from_s));
    const double end = std::min(area.right(), xOf(std::min(span.to_s, chart_->seconds)));
    QRectF box(start, row.top, end - start, row.bottom - row.top);
    if (end - start < columnBelow) {
      box.setRect(std::floor(start), row.top, columnBelow, row.bottom - row.top);
      if (box.left() == drawnColumn) continue;
      drawnColumn = box.left();
    }
    if (row.kind == Row::Kind::effort)
      box.setTop(row.bottom - box.height() * (span.level + 1) / effortLevels);
    painter.fillRect(box, fill);
    painter.fillRect(QRectF(box.left(), box.top(), spanEdge, box.height()), theme.color(ink));
    const double room = end - start - 2.0 * Theme::tight;
    if (room < labelLeast) continue;
    painter.setPen(theme.color(Theme::Ink::text));
    const QString words =
        painter.fontMetrics().elidedText(span.label, Qt::ElideRight, static_cast<int>(room));
    painter.drawText(QRectF(start + Theme::tight, row.top, room, row.bottom - row.top),
                     Qt::AlignLeft | Qt::AlignVCenter, words);
  }
}

void DriveTimeline::drawRow(QPainter& painter, const Row& row, double left, double right) const {
  if (row.kind == Row::Kind::regulator)
    return drawCurve(painter, row, chart_->regulator, left, right);
  if (row.kind == Row::Kind::speed) return drawCurve(painter, row, chart_->speed, left, right);
  drawSpans(painter, row, left, right);
}

void DriveTimeline::draw(double left, double right) {
  const Theme& theme = Theme::instance();
  const QRectF area = plot();
  const QRectF strip(left, 0, right - left, height());
  QPainter painter(&drawn_);
  painter.setClipRect(strip);
  painter.fillRect(strip, theme.color(Theme::Ink::surface));
  painter.setFont(theme.smallFont());
  drawRuler(painter);
  for (const Row& row : rows_) {
    painter.setClipRect(strip);
    painter.setPen(theme.color(Theme::Ink::line));
    painter.drawLine(QPointF(0, row.bottom + 2), QPointF(area.right(), row.bottom + 2));
    if (left < area.left()) {
      const QRectF name(Theme::tight, row.top, names_ - Theme::gap, row.bottom - row.top);
      painter.setPen(theme.color(Theme::Ink::text));
      painter.drawText(name, Qt::AlignLeft | Qt::AlignVCenter,
                       painter.fontMetrics().elidedText(row.name, Qt::ElideRight,
                                                        static_cast<int>(name.width())));
    }
    painter.setClipRect(
        strip.intersected(QRectF(area.left(), row.top, area.width(), row.bottom - row.top + 1)));
    painter.setRenderHint(QPainter::Antialiasing);
    drawRow(painter, row, std::max(left, area.left()), std::min(right, area.right()));
    painter.setRenderHint(QPainter::Antialiasing, false);
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
    draw(0, width());
  }
  painter.setClipRegion(event->region());
  painter.drawPixmap(0, 0, drawn_);
  const QRectF area = plot();
  if (selection_) {
    const double from = std::max(area.left(), xOf(selection_->start));
    const double to = std::min(area.right(), xOf(selection_->end));
    if (from < to) drawSelected(painter, QRectF(from, 0, to - from, area.bottom()), 1.0);
  }
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
