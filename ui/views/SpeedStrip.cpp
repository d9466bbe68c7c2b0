// SPDX-License-Identifier: GPL-3.0-or-later
#include "SpeedStrip.h"

#include "Theme.h"
#include "TrackView.h"
#include "Wording.h"

#include <QMouseEvent>
#include <QPainter>
#include <QPainterPath>
#include <QPolygonF>
#include <algorithm>
#include <cmath>

namespace fourbeat::ui {

namespace {

constexpr int curveHeight = 66;
constexpr int effortHeight = 18;
constexpr double pointStep_s = 0.1;  ///< the curve is far smoother than this
constexpr double axisStep_kmh = 10.0;
constexpr double pixelStep = 2.0;

double roundedUp(double kmh) {
  return std::max(axisStep_kmh, std::ceil(kmh / axisStep_kmh) * axisStep_kmh);
}

}  // namespace

SpeedStrip::SpeedStrip(TrackView& track, QWidget* parent) : QWidget(parent), track_(track) {
  setAccessibleName(tr("Speed and effort along the take"));
  setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Fixed);
  connect(&track_, &TrackView::shownRangeChanged, this, qOverload<>(&QWidget::update));
  connect(&Theme::instance(), &Theme::changed, this, qOverload<>(&QWidget::update));
}

QSize SpeedStrip::sizeHint() const {
  return {480, curveHeight + effortHeight + Theme::tight};
}

QSize SpeedStrip::minimumSizeHint() const {
  return {200, sizeHint().height()};
}

void SpeedStrip::show(const dsp::SpeedCurve& curve, std::vector<EffortSpan> efforts,
                      double sampleRateHz) {
  curve_ = curve;
  efforts_ = std::move(efforts);
  sampleRateHz_ = sampleRateHz;
  double slowest = 0.0;
  double fastest = 0.0;
  for (const dsp::SpeedPoint& point : curve_.points(pointStep_s)) {
    if (!point.speed_kmh) continue;
    slowest = fastest > 0.0 ? std::min(slowest, *point.speed_kmh) : *point.speed_kmh;
    fastest = std::max(fastest, *point.speed_kmh);
  }
  topKmh_ = fastest > 0.0 ? roundedUp(fastest) : 0.0;
  setAccessibleDescription(topKmh_ > 0.0
                               ? tr("%1 to %2").arg(speedText(slowest), speedText(fastest))
                               : tr("No speed is known."));
  update();
}

QRectF SpeedStrip::chart() const {
  const QRect lanes = track_.lanesRect();
  return {static_cast<double>(lanes.left()), 2.0, static_cast<double>(lanes.width()),
          static_cast<double>(curveHeight)};
}

double SpeedStrip::xOf(double seconds) const {
  const double frames =
      seconds * sampleRateHz_ - static_cast<double>(track_.shownRange().start.value());
  return chart().left() + frames / std::max(1e-9, track_.framesPerPixel());
}

void SpeedStrip::paintCurve(QPainter& painter, const QRectF& area) const {
  const Theme& theme = Theme::instance();
  const auto yOf = [&](double kmh) {
    return area.bottom() - area.height() * std::clamp(kmh / topKmh_, 0.0, 1.0);
  };
  painter.setFont(theme.smallFont());
  for (const double kmh : {0.0, topKmh_ / 2, topKmh_}) {
    painter.setPen(theme.color(Theme::Ink::line));
    painter.drawLine(QPointF(area.left(), yOf(kmh)), QPointF(area.right(), yOf(kmh)));
  }
  painter.setPen(theme.color(Theme::Ink::mutedText));
  const QRectF left(0, area.top(), area.left() - Theme::gap, area.height());
  painter.drawText(left, Qt::AlignRight | Qt::AlignTop, speedText(topKmh_));
  painter.drawText(left, Qt::AlignRight | Qt::AlignBottom, QStringLiteral("0"));
  const double perPixel_s = track_.framesPerPixel() / sampleRateHz_;
  const double start_s = static_cast<double>(track_.shownRange().start.value()) / sampleRateHz_;
  painter.setClipRect(area);
  QPolygonF upper;
  QPolygonF lower;
  QPolygonF line;
  const auto finish = [&] {
    if (line.size() > 1) {
      QColor veil = theme.color(Theme::Ink::accent);
      veil.setAlphaF(0.22F);
      std::reverse(lower.begin(), lower.end());
      painter.setPen(Qt::NoPen);
      painter.setBrush(veil);
      painter.drawPolygon(upper + lower);
      painter.setPen(QPen(theme.color(Theme::Ink::accent), 1.6));
      painter.drawPolyline(line);
    }
    upper.clear();
    lower.clear();
    line.clear();
  };
  for (double x = 0.0; x <= area.width(); x += pixelStep) {
    const std::optional<dsp::SpeedPoint> point = curve_.at(start_s + x * perPixel_s);
    if (!point || !point->speed_kmh) {
      finish();
      continue;
    }
    const double sd = point->speed_sd_kmh.value_or(0.0);
    line << QPointF(area.left() + x, yOf(*point->speed_kmh));
    upper << QPointF(area.left() + x, yOf(*point->speed_kmh + sd));
    lower << QPointF(area.left() + x, yOf(*point->speed_kmh - sd));
  }
  finish();
  painter.setClipping(false);
}

void SpeedStrip::paintEfforts(QPainter& painter, const QRectF& area) const {
  const Theme& theme = Theme::instance();
  painter.setPen(theme.color(Theme::Ink::mutedText));
  painter.drawText(QRectF(0, area.top(), area.left() - Theme::gap, area.height()),
                   Qt::AlignRight | Qt::AlignVCenter, tr("Effort"));
  painter.setClipRect(area);
  QColor fill = theme.color(Theme::Ink::beat);
  fill.setAlphaF(0.3F);
  for (const EffortSpan& span : efforts_) {
    const double left = xOf(span.from_s);
    const double right = xOf(span.to_s);
    if (right < area.left() || left > area.right()) continue;
    const double height = area.height() * (static_cast<int>(span.effort) + 1) / 3.0;
    const QRectF bar(left, area.bottom() - height, std::max(1.0, right - left), height);
    painter.fillRect(bar, fill);
    const QString name = word(span.effort);
    const QRectF seen = QRectF(bar.left(), area.top(), bar.width(), area.height()) & area;
    if (seen.width() > painter.fontMetrics().horizontalAdvance(name) + Theme::tight) {
      painter.setPen(theme.color(Theme::Ink::text));
      painter.drawText(seen.adjusted(Theme::tight, 0, 0, 0), Qt::AlignLeft | Qt::AlignVCenter,
                       name);
    }
  }
  painter.setClipping(false);
}

void SpeedStrip::paintEvent(QPaintEvent* event) {
  (void)event;
  QPainter painter(this);
  painter.setRenderHint(QPainter::Antialiasing);
  const Theme& theme = Theme::instance();
  const QRectF area = chart();
  painter.fillRect(area, theme.color(Theme::Ink::surface));
  if (topKmh_ <= 0.0 || sampleRateHz_ <= 0.0) {
    painter.setPen(theme.color(Theme::Ink::mutedText));
    painter.drawText(area, Qt::AlignCenter, tr("The speed is drawn here once beats are found."));
    return;
  }
  paintCurve(painter, area);
  paintEfforts(painter, {area.left(), area.bottom() + 2, area.width(), effortHeight});
  const double x = xOf(static_cast<double>(track_.playhead().value()) / sampleRateHz_);
  if (x >= area.left() && x <= area.right()) {
    painter.setPen(theme.color(Theme::Ink::playhead));
    painter.drawLine(QPointF(x, area.top()), QPointF(x, area.bottom() + 2 + effortHeight));
  }
}

void SpeedStrip::mousePressEvent(QMouseEvent* event) {
  const QRectF area = chart();
  if (sampleRateHz_ <= 0.0 || event->position().x() < area.left()) return;
  const double frames = (event->position().x() - area.left()) * track_.framesPerPixel();
  const FrameIndex frame = track_.shownRange().start + FrameCount(std::llround(frames));
  track_.setPlayhead(frame);
  Q_EMIT track_.playheadPlaced(frame);
}

}  // namespace fourbeat::ui
