// SPDX-License-Identifier: GPL-3.0-or-later
#include "WavePaint.h"

#include "Theme.h"

#include <QPainter>
#include <QPolygonF>
#include <algorithm>
#include <cmath>

namespace fourbeat::ui {

namespace {

void drawRow(QImage& image, int y, QRgb color) {
  if (y < 0 || y >= image.height()) return;
  auto* row = reinterpret_cast<QRgb*>(image.scanLine(y));
  std::fill(row, row + image.width(), color);
}

}  // namespace

void drawPeaks(QImage& image, std::span<const audio::Peak> peaks, const WaveScale& scale) {
  const Theme& theme = Theme::instance();
  const QRgb surface = theme.color(Theme::Ink::surface).rgb();
  const QRgb wave = theme.color(Theme::Ink::wave).rgb();
  const QRgb body = theme.color(Theme::Ink::waveBody).rgb();
  image.fill(surface);
  const int height = image.height();
  drawRow(image, height / 2, theme.color(Theme::Ink::line).rgb());
  const auto stride = static_cast<std::size_t>(image.bytesPerLine()) / sizeof(QRgb);
  auto* pixels = reinterpret_cast<QRgb*>(image.bits());
  const auto fill = [&](int x, double top, double bottom, QRgb color) {
    const int first = std::clamp(static_cast<int>(std::floor(top)), 0, height - 1);
    const int end = std::clamp(std::max(first + 1, static_cast<int>(std::ceil(bottom))), 1, height);
    QRgb* at = pixels + static_cast<std::size_t>(first) * stride + static_cast<std::size_t>(x);
    for (int y = first; y < end; ++y, at += stride)
      *at = color;
  };
  const int columns = std::min(image.width(), static_cast<int>(peaks.size()) - 1);
  for (int x = 0; x < columns; ++x) {
    const audio::Peak& before = peaks[static_cast<std::size_t>(x)];
    const audio::Peak& peak = peaks[static_cast<std::size_t>(x) + 1];
    if (peak == audio::Peak{}) continue;
    float high = peak.max;
    float least = peak.min;
    if (before != audio::Peak{}) {
      high = std::max(high, before.min);
      least = std::min(least, before.max);
    }
    fill(x, scale.yOf(high), scale.yOf(least), wave);
    const double rms =
        std::min<double>(peak.rms, std::max(std::fabs(peak.min), std::fabs(peak.max)));
    const double top = std::min<double>(rms, peak.max);
    const double bottom = std::max<double>(-rms, peak.min);
    if (top > bottom) fill(x, scale.yOf(top), scale.yOf(bottom), body);
  }
}

void drawSamples(QImage& image, std::span<const float> samples, double firstX, double step,
                 const WaveScale& scale, double pixelRatio) {
  const Theme& theme = Theme::instance();
  image.fill(theme.color(Theme::Ink::surface));
  drawRow(image, image.height() / 2, theme.color(Theme::Ink::line).rgb());
  if (samples.empty()) return;
  QPainter painter(&image);
  painter.setRenderHint(QPainter::Antialiasing);
  const QColor ink = theme.color(Theme::Ink::waveBody);
  QPolygonF line;
  line.reserve(static_cast<qsizetype>(samples.size()));
  for (std::size_t i = 0; i < samples.size(); ++i) {
    line.append(QPointF(firstX + static_cast<double>(i) * step, scale.yOf(samples[i])));
  }
  painter.setPen(QPen(ink, 1.2 * pixelRatio, Qt::SolidLine, Qt::RoundCap, Qt::RoundJoin));
  painter.drawPolyline(line);
  if (step < 5.0 * pixelRatio) return;
  painter.setPen(Qt::NoPen);
  painter.setBrush(ink);
  const double radius = std::min(3.0, 1.0 + step / pixelRatio / 8.0) * pixelRatio;
  for (const QPointF& dot : line)
    painter.drawEllipse(dot, radius, radius);
}

}  // namespace fourbeat::ui
