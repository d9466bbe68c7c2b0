// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/frame.h"

#include <QRect>
#include <QString>

class QPainter;

namespace fourbeat::ui {

/// How times are written along an axis and in readouts.
enum class TimeUnit { time, frames };

/// Where the frames of a sound stand on a row of device pixels. Positions are computed from frames
/// and rounded once: frame f stands in pixel floor(f / framesPerPixel), counted from the pixel of
/// frame 0, so that the columns of all zoom levels and all repaints agree.
struct TimeAxis {
  double rateHz = 48000.0;
  double framesPerPixel = 1.0;  ///< of one device pixel; over 0
  qint64 originPixel = 0;       ///< the absolute pixel that is shown at x = 0

  /// Counted from the pixel of frame 0.
  [[nodiscard]] qint64 pixelOf(FrameIndex frame) const;
  /// Device pixel, from the left edge shown.
  [[nodiscard]] qint64 xOf(FrameIndex frame) const { return pixelOf(frame) - originPixel; }
  /// The first frame that stands in pixel x (above one frame a pixel), else the nearest one.
  [[nodiscard]] FrameIndex frameAt(double x) const;
  /// The same without rounding.
  [[nodiscard]] double placeAt(double x) const {
    return (x + static_cast<double>(originPixel)) * framesPerPixel;
  }
};

/// A place: "1:02:03.400" or "178 560 000".
[[nodiscard]] QString placeText(FrameIndex frame, double rateHz, TimeUnit unit, int decimals = 3);
/// A length: "2.100 s" or "100 800 frames".
[[nodiscard]] QString lengthText(FrameCount length, double rateHz, TimeUnit unit, int decimals = 3);
/// Decimals of the second that tell one pixel from the next, 3 to 6.
[[nodiscard]] int timeDecimals(double framesPerPixel, double rateHz);

/// Draws a ruler over `area` (logical pixels): a line at every round time or frame number that has
/// room, with its label. The axis counts device pixels from the left edge of `area`. Draws in the
/// painter's clip only.
void drawTimeRuler(QPainter& painter, const QRect& area, const TimeAxis& axis, double pixelRatio,
                   TimeUnit unit);

}  // namespace fourbeat::ui
