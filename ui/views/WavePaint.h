// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/peak_pyramid.h"

#include <QImage>
#include <span>

namespace fourbeat::ui {

/// Where an amplitude of full scale 1 stands in a lane, in device pixels.
struct WaveScale {
  int height = 1;
  double zoom = 1.0;
  /// From the lane's top.
  [[nodiscard]] double yOf(double amplitude) const {
    return 0.5 * height - amplitude * zoom * (0.5 * height - 1.0);
  }
};

/// Draws one column a device pixel into `image` (RGB32), whose height is the lane's: from least to
/// largest sample in the wave ink, plus and minus RMS in the body ink, over the surface. Columns
/// are joined to the one before; `peaks` therefore holds one column more, in front.
void drawPeaks(QImage& image, std::span<const audio::Peak> peaks, const WaveScale& scale);

/// Draws samples joined by lines over the surface, with dots where they stand at least five logical
/// pixels apart. Sample i stands at x = firstX + i × step (device pixels).
void drawSamples(QImage& image, std::span<const float> samples, double firstX, double step,
                 const WaveScale& scale, double pixelRatio);

}  // namespace fourbeat::ui
