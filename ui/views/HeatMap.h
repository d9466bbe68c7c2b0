// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QColor>
#include <array>

namespace fourbeat::ui {

/// Colours of levels in a spectrogram, from quiet (0) to loud (255): blue to yellow, which every
/// kind of colour vision tells apart, at even perceptual steps (Oklab) with lightness rising
/// throughout on dark, and falling throughout on light. Quiet is the paper it is drawn on.
using HeatMap = std::array<QRgb, 256>;

[[nodiscard]] const HeatMap& heatMap(bool dark);

/// Oklab lightness, a and b of a colour (B. Ottosson, "A perceptual color space").
struct Oklab {
  double l = 0.0;
  double a = 0.0;
  double b = 0.0;
};
[[nodiscard]] Oklab oklab(QRgb color);

}  // namespace fourbeat::ui
