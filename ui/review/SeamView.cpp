// SPDX-License-Identifier: GPL-3.0-or-later
#include "SeamView.h"

#include "Theme.h"

#include "fourbeat/dsp/crossfade.h"

#include <QLocale>
#include <QPainter>
#include <QPolygonF>
#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

namespace fourbeat::ui {

namespace {

constexpr int mostZoom = 7;
constexpr double closest_s = 0.002;
constexpr int gainHeight = 56;
constexpr double columnPx = 2.0;

/// Solid and broken: the two sides are told apart without colour too.
QPen penOf(bool arriving) {
  const Theme& theme = Theme::instance();
  QPen pen(theme.color(arriving ? Theme::Ink::loop : Theme::Ink::accent), arriving ? 1.8 : 1.4);
  if (arriving) pen.setDashPattern({3.0, 2.0});
  pen.setCapStyle(Qt::FlatCap);
  return pen;
}

/// Draws a curve. On one of many points Qt's dashes and wide strokes take tens of milliseconds: it
/// is drawn as thin as the screen can, a broken one piece by piece.
void drawCurve(QPainter& painter, const QPolygonF& points, bool arriving) {
  constexpr qsizetype few = 200;
  constexpr qsizetype piece = 4;  // points drawn of every `piece + 1`
  QPen pen = penOf(arriving);
  if (points.size() >= few) pen = QPen(pen.color(), 0.0);
  painter.setPen(pen);
  if (!arriving || points.size() < few) {
    painter.drawPolyline(points);
    return;
  }
  for (qsizetype from = 0; from + 1 < points.size(); from += piece + 1)
    painter.drawPolyline(points.constData() + from,
                         static_cast<int>(std::min(piece, points.size() - from)));
}

}  // namespace

SeamView::SeamView(QWidget* parent) : QWidget(parent) {
  setAccessibleName(tr("The seam, magnified"));
  setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Expanding);
  connect(&Theme::instance(), &Theme::changed, this, &SeamView::redraw);
  describe();
}

QSize SeamView::sizeHint() const {
  return {640, 260};
}

QSize SeamView::minimumSizeHint() const {
  return {320, 170};
}

void SeamView::show(std::shared_ptr<const work::SeamStudy> study) {
  if (study == study_) return;
  study_ = std::move(study);
  peak_ = 0.0F;
  if (study_) {
    const work::SeamPicture& picture = study_->picture;
    for (const std::vector<float>* side : {&picture.leaving, &picture.arriving, &picture.heard}) {
      for (const float sample : *side)
        peak_ = std::max(peak_, std::abs(sample));
    }
  }
  describe();
  redraw();
}

void SeamView::setPlace(std::optional<std::int64_t> frame) {
  if (frame == place_) return;
  const bool shown = study_ && frame && static_cast<double>(*frame) >= firstShown() &&
                     static_cast<double>(*frame) <= lastShown();
  const bool was = place_.has_value();
  place_ = shown ? frame : std::nullopt;
  if (was || place_) update();
}

void SeamView::zoom(bool in) {
  const int wanted = std::clamp(zoom_ + (in ? 1 : -1), 0, mostZoom);
  if (wanted == zoom_) return;
  zoom_ = wanted;
  describe();
  redraw();
}

double SeamView::firstShown() const {
  const work::SeamPicture& picture = study_->picture;
  return std::min(static_cast<double>(picture.first_frame) / std::exp2(zoom_),
                  -closest_s * picture.sample_rate_hz);
}

double SeamView::lastShown() const {
  const work::SeamPicture& picture = study_->picture;
  const auto last = static_cast<double>(picture.first_frame +
                                        static_cast<std::int64_t>(picture.heard.size()) - 1);
  return std::max(last / std::exp2(zoom_), closest_s * picture.sample_rate_hz);
}

double SeamView::halfSpanSeconds() const {
  return study_ ? std::max(-firstShown(), lastShown()) / study_->picture.sample_rate_hz : 0.0;
}

void SeamView::describe() {
  if (!study_) {
    setAccessibleDescription(tr("Nothing to show yet."));
    return;
  }
  const QLocale locale;
  const work::SeamPicture& picture = study_->picture;
  const double fade_ms =
      1000.0 * static_cast<double>(picture.fade.length().value()) / picture.sample_rate_hz;
  setAccessibleDescription(
      picture.fade.empty()
          ? tr("No crossfade. %1 ms to either side are shown.")
                .arg(locale.toString(1000.0 * halfSpanSeconds(), 'f', 1))
          : tr("Crossfade of %1 ms, its sides correlate by %2. %3 ms to either side are shown.")
                .arg(locale.toString(fade_ms, 'f', 1), locale.toString(picture.rho, 'f', 2),
                     locale.toString(1000.0 * halfSpanSeconds(), 'f', 1)));
}

double SeamView::xOf(double frame, const QRectF& area) const {
  return area.left() + area.width() * (frame - firstShown()) / (lastShown() - firstShown());
}

void SeamView::paintSide(QPainter& painter, const QRectF& area, Side side) const {
  const work::SeamPicture& picture = study_->picture;
  const std::vector<float>& samples = side == Side::leaving    ? picture.leaving
                                      : side == Side::arriving ? picture.arriving
                                                               : picture.heard;
  const auto from = static_cast<std::int64_t>(std::floor(firstShown())) - picture.first_frame;
  const auto to = static_cast<std::int64_t>(std::ceil(lastShown())) - picture.first_frame;
  const std::int64_t first = std::max<std::int64_t>(from, 0);
  const std::int64_t last =
      std::min<std::int64_t>(to, static_cast<std::int64_t>(samples.size()) - 1);
  const double scale = peak_ > 0.0F ? 0.48 * area.height() / static_cast<double>(peak_) : 0.0;
  const auto yOf = [&](float value) {
    return area.center().y() - scale * static_cast<double>(value);
  };
  const auto frameAt = [&](std::int64_t place) {
    return static_cast<double>(place + picture.first_frame);
  };
  const double perPixel = (lastShown() - firstShown()) / area.width();
  QPolygonF upper;
  QPolygonF lower;
  if (perPixel < 1.0) {
    for (std::int64_t i = first; i <= last; ++i)
      upper << QPointF(xOf(frameAt(i), area), yOf(samples[static_cast<std::size_t>(i)]));
  } else {
    // What lies in one column, as its highest and its lowest sample.
    const auto step = static_cast<std::int64_t>(std::ceil(columnPx * perPixel));
    for (std::int64_t i = first; i <= last; i += step) {
      const auto begin = samples.begin() + i;
      const auto end = samples.begin() + std::min(i + step, last + 1);
      const auto [low, high] = std::minmax_element(begin, end);
      upper << QPointF(xOf(frameAt(i), area), yOf(*high));
      lower << QPointF(xOf(frameAt(i), area), yOf(*low));
    }
  }
  if (side == Side::heard) {
    QPolygonF body = upper;
    if (lower.isEmpty()) {
      body << QPointF(upper.last().x(), area.center().y())
           << QPointF(upper.first().x(), area.center().y());
    } else {
      for (auto point = lower.crbegin(); point != lower.crend(); ++point)
        body << *point;
    }
    QColor veil = Theme::instance().color(Theme::Ink::wave);
    veil.setAlphaF(0.28F);
    painter.setPen(Qt::NoPen);
    painter.setBrush(veil);
    painter.drawPolygon(body);
    return;
  }
  painter.setBrush(Qt::NoBrush);
  drawCurve(painter, upper, side == Side::arriving);
  if (!lower.isEmpty()) drawCurve(painter, lower, side == Side::arriving);
}

void SeamView::paintGains(QPainter& painter, const QRectF& area) const {
  const Theme& theme = Theme::instance();
  const work::SeamPicture& picture = study_->picture;
  painter.setPen(theme.color(Theme::Ink::line));
  painter.drawLine(area.topLeft(), area.topRight());
  painter.drawLine(area.bottomLeft(), area.bottomRight());
  QPolygonF leaving;
  QPolygonF arriving;
  const auto from = static_cast<double>(picture.fade.start.value());
  const auto frames = static_cast<double>(picture.fade.length().value());
  constexpr double gainPx = 4.0;  // smooth enough, and few points
  for (double x = 0.0; x <= area.width(); x += gainPx) {
    const double frame = firstShown() + (lastShown() - firstShown()) * x / area.width();
    // Frame i of n stands at place (i + 1) / (n + 1): dsp::blend_loop().
    const double at = frames > 0.0  ? (frame - from + 1.0) / (frames + 1.0)
                      : frame < 0.0 ? 0.0
                                    : 1.0;
    const dsp::FadeGains gains =
        dsp::fade_gains(std::clamp(at, 0.0, 1.0), std::max(0.0, picture.rho));
    leaving << QPointF(area.left() + x, area.bottom() - gains.out * area.height());
    arriving << QPointF(area.left() + x, area.bottom() - gains.in * area.height());
  }
  painter.setBrush(Qt::NoBrush);
  drawCurve(painter, leaving, false);
  drawCurve(painter, arriving, true);
}

void SeamView::paintLegend(QPainter& painter, const QRectF& area) const {
  const Theme& theme = Theme::instance();
  painter.setFont(theme.smallFont());
  double x = area.left();
  const auto entry = [&](const QString& words, int kind) {
    const double middle = area.center().y();
    const QRectF sample(x, middle - 4.0, 24.0, 8.0);
    if (kind == 2) {
      QColor veil = theme.color(Theme::Ink::wave);
      veil.setAlphaF(0.4F);
      painter.fillRect(sample, veil);
    } else {
      painter.setPen(penOf(kind == 1));
      painter.drawLine(QPointF(sample.left(), middle), QPointF(sample.right(), middle));
    }
    x = sample.right() + Theme::tight;
    painter.setPen(theme.color(Theme::Ink::text));
    const double width = painter.fontMetrics().horizontalAdvance(words) + 2.0;
    painter.drawText(QRectF(x, area.top(), width, area.height()), Qt::AlignVCenter, words);
    x += width + Theme::margin;
  };
  entry(tr("leaving"), 0);
  entry(tr("arriving"), 1);
  entry(tr("heard"), 2);
}

void SeamView::paintTimes(QPainter& painter, const QRectF& area) const {
  const Theme& theme = Theme::instance();
  painter.setFont(theme.smallFont());
  painter.setPen(theme.color(Theme::Ink::mutedText));
  const QLocale locale;
  const auto ms = [&](double frame) {
    return tr("%1 ms").arg(
        locale.toString(1000.0 * frame / study_->picture.sample_rate_hz, 'f', 1));
  };
  painter.drawText(area, Qt::AlignLeft | Qt::AlignVCenter, ms(firstShown()));
  painter.drawText(area, Qt::AlignRight | Qt::AlignVCenter, tr("+%1").arg(ms(lastShown())));
  const QString wrap = tr("wrap");
  const double width = painter.fontMetrics().horizontalAdvance(wrap) + 4.0;
  const double x = std::clamp(xOf(0.0, area) - width / 2, area.left(), area.right() - width);
  painter.setPen(theme.color(Theme::Ink::text));
  // The ends' own figures come first where there is no room beside them.
  const double end = painter.fontMetrics().horizontalAdvance(tr("+%1").arg(ms(lastShown()))) + 8.0;
  if (x > area.left() + end && x + width < area.right() - end)
    painter.drawText(QRectF(x, area.top(), width, area.height()), Qt::AlignCenter, wrap);
}

void SeamView::redraw() {
  still_ = QPixmap();
  update();
}

void SeamView::paintEvent(QPaintEvent* /*event*/) {
  const qreal ratio = devicePixelRatioF();
  const QSize pixels = (QSizeF(size()) * ratio).toSize();
  if (still_.size() != pixels || still_.devicePixelRatio() != ratio) {
    still_ = QPixmap(pixels);
    still_.setDevicePixelRatio(ratio);
    paintStill();
  }
  QPainter painter(this);
  painter.drawPixmap(0, 0, still_);
  if (!place_ || !study_ || study_->picture.heard.empty()) return;
  const QRectF inner = innerArea();
  const double x = xOf(static_cast<double>(*place_), inner);
  painter.setPen(QPen(Theme::instance().color(Theme::Ink::playhead), 1.5));
  painter.drawLine(QPointF(x, inner.top()), QPointF(x, inner.bottom()));
}

QRectF SeamView::innerArea() const {
  return QRectF(rect()).adjusted(Theme::gap, Theme::tight, -Theme::gap, -Theme::tight);
}

void SeamView::paintStill() {
  const Theme& theme = Theme::instance();
  QPainter painter(&still_);
  painter.setRenderHint(QPainter::Antialiasing);
  painter.fillRect(rect(), theme.color(Theme::Ink::surface));
  const QRectF inner = innerArea();
  if (!study_ || study_->picture.heard.empty()) {
    painter.setPen(theme.color(Theme::Ink::mutedText));
    painter.drawText(inner, Qt::AlignCenter, tr("The seam is being rendered …"));
    return;
  }
  painter.setFont(theme.smallFont());
  const double line = painter.fontMetrics().height() + 4.0;
  const QRectF legend(inner.left(), inner.top(), inner.width(), line);
  const QRectF gains(inner.left(), inner.bottom() - line - gainHeight, inner.width(), gainHeight);
  const QRectF wave(inner.left(), legend.bottom(), inner.width(),
                    gains.top() - Theme::tight - legend.bottom());
  const QRectF times(inner.left(), inner.bottom() - line, inner.width(), line);
  const double whole = gains.bottom() - wave.top();

  const work::SeamPicture& picture = study_->picture;
  if (!picture.fade.empty()) {
    QColor veil = theme.color(Theme::Ink::selectionVeil);
    const double left =
        std::max(inner.left(), xOf(static_cast<double>(picture.fade.start.value()), inner));
    const double right =
        std::min(inner.right(), xOf(static_cast<double>(picture.fade.end.value()), inner));
    painter.fillRect(QRectF(left, wave.top(), right - left, whole), veil);
  }
  painter.setPen(theme.color(Theme::Ink::line));
  painter.drawLine(QPointF(wave.left(), wave.center().y()),
                   QPointF(wave.right(), wave.center().y()));
  painter.setClipRect(inner);
  paintSide(painter, wave, Side::heard);
  paintSide(painter, wave, Side::leaving);
  paintSide(painter, wave, Side::arriving);
  paintGains(painter, gains);
  painter.setPen(QPen(theme.color(Theme::Ink::text), 1.0));
  const double wrap = xOf(0.0, inner);
  painter.drawLine(QPointF(wrap, wave.top()), QPointF(wrap, wave.top() + whole));
  painter.setClipping(false);
  paintLegend(painter, legend);
  paintTimes(painter, times);
}

}  // namespace fourbeat::ui
