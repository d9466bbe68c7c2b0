// SPDX-License-Identifier: GPL-3.0-or-later
#include "WavePaint.h"

#include "Theme.h"

#include <QPainter>
#include <QPolygonF>
#include <algorithm>
#include <array>
#include <cmath>

namespace fourbeat::ui {

namespace {

void drawRow(QImage& image, int y, QRgb color) {
  if (y < 0 || y >= image.height()) return;
  auto* row = reinterpret_cast<QRgb*>(image.scanLine(y));
  std::fill(row, row + image.width(), color);
}

}  // namespace

namespace {

/// Columns are drawn this many at a time, row by row: a number the compiler knows makes the rows
/// quick, and what is written lies side by side.
constexpr int chunk = 64;

/// Where the wave and its body begin and end in each column; rows, the end not in it.
struct Spans {
  std::array<int, chunk> top{};
  std::array<int, chunk> bottom{};
  std::array<int, chunk> bodyTop{};
  std::array<int, chunk> bodyBottom{};
};

void drawChunk(QImage& image, int left, const Spans& given) {
  const Theme& theme = Theme::instance();
  const QRgb surface = theme.color(Theme::Ink::surface).rgb();
  const QRgb line = theme.color(Theme::Ink::line).rgb();
  const QRgb wave = theme.color(Theme::Ink::wave).rgb();
  const QRgb body = theme.color(Theme::Ink::waveBody).rgb();
  const Spans spans = given;  // nothing else writes to it: the loop below may be unrolled
  const int width = std::min(chunk, image.width() - left);
  std::array<QRgb, chunk> row{};
  for (int y = 0; y < image.height(); ++y) {
    const QRgb paper = y == image.height() / 2 ? line : surface;
    for (std::size_t x = 0; x < chunk; ++x) {
      const QRgb outer = y >= spans.top[x] && y < spans.bottom[x] ? wave : paper;
      row[x] = y >= spans.bodyTop[x] && y < spans.bodyBottom[x] ? body : outer;
    }
    std::copy_n(row.data(), width, reinterpret_cast<QRgb*>(image.scanLine(y)) + left);
  }
}

}  // namespace

void drawPeaks(QImage& image, std::span<const audio::Peak> peaks, const WaveScale& scale) {
  const int height = image.height();
  const auto rows = [&](double top, double bottom, int& first, int& end) {
    first = std::clamp(static_cast<int>(std::floor(top)), 0, height - 1);
    end = std::clamp(std::max(first + 1, static_cast<int>(std::ceil(bottom))), 1, height);
  };
  for (int left = 0; left < image.width(); left += chunk) {
    Spans spans;
    for (int i = 0; i < chunk; ++i) {
      const auto column = static_cast<std::size_t>(left) + static_cast<std::size_t>(i);
      if (column + 1 >= peaks.size()) break;
      const audio::Peak& before = peaks[column];
      const audio::Peak& peak = peaks[column + 1];
      if (peak == audio::Peak{}) continue;
      float high = peak.max;
      float least = peak.min;
      if (before != audio::Peak{}) {
        high = std::max(high, before.min);
        least = std::min(least, before.max);
      }
      const auto at = static_cast<std::size_t>(i);
      rows(scale.yOf(high), scale.yOf(least), spans.top[at], spans.bottom[at]);
      const float rms = std::min(peak.rms, std::max(std::fabs(peak.min), std::fabs(peak.max)));
      const float top = std::min(rms, peak.max);
      const float bottom = std::max(-rms, peak.min);
      if (top > bottom) {
        rows(scale.yOf(top), scale.yOf(bottom), spans.bodyTop[at], spans.bodyBottom[at]);
      }
    }
    drawChunk(image, left, spans);
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
