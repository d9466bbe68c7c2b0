// SPDX-License-Identifier: GPL-3.0-or-later
#include "TimeAxis.h"

#include "Theme.h"
#include "Wording.h"

#include <QCoreApplication>
#include <QFontMetrics>
#include <QLocale>
#include <QPainter>
#include <algorithm>
#include <array>
#include <cmath>

namespace fourbeat::ui {

namespace {

/// What is lost to binary fractions of a pixel.
constexpr double slack = 1e-6;

/// A step between labelled lines and how many parts it is divided into.
struct Step {
  double length = 1.0;  ///< seconds or frames
  int parts = 5;
  int decimals = 0;  ///< of the second
};

Step timeStep(double least_s) {
  static constexpr std::array<Step, 13> long_steps{{{1.0, 5, 0},
                                                    {2.0, 4, 0},
                                                    {5.0, 5, 0},
                                                    {10.0, 5, 0},
                                                    {15.0, 3, 0},
                                                    {30.0, 6, 0},
                                                    {60.0, 6, 0},
                                                    {120.0, 4, 0},
                                                    {300.0, 5, 0},
                                                    {600.0, 5, 0},
                                                    {900.0, 3, 0},
                                                    {1800.0, 6, 0},
                                                    {3600.0, 6, 0}}};
  if (least_s > 0.5) {
    for (const Step& step : long_steps) {
      if (step.length >= least_s) return step;
    }
    return {3600.0 * std::ceil(least_s / 3600.0), 4, 0};
  }
  double unit = 1.0;
  int decimals = 0;
  while (unit / 10.0 >= least_s && decimals < 6) {
    unit /= 10.0;
    ++decimals;
  }
  // `unit` is the least power of ten with room, a half and a fifth of it may have room too.
  if (unit / 5.0 >= least_s) return {unit / 5.0, 4, decimals + 1};
  if (unit / 2.0 >= least_s) return {unit / 2.0, 5, decimals + 1};
  return {unit, 5, decimals};
}

Step frameStep(double least_frames) {
  double unit = 1.0;
  while (unit < least_frames)
    unit *= 10.0;
  if (unit >= 10.0 && unit / 5.0 >= least_frames) return {unit / 5.0, unit >= 20.0 ? 4 : 2, 0};
  if (unit >= 10.0 && unit / 2.0 >= least_frames) return {unit / 2.0, 5, 0};
  return {unit, unit >= 10.0 ? 5 : 1, 0};
}

}  // namespace

qint64 TimeAxis::pixelOf(FrameIndex frame) const {
  return static_cast<qint64>(
      std::floor(static_cast<double>(frame.value()) / framesPerPixel + slack));
}

FrameIndex TimeAxis::frameAt(double x) const {
  const double place = placeAt(x);
  if (framesPerPixel < 1.0) return FrameIndex(std::llround(place));
  return FrameIndex(static_cast<std::int64_t>(std::ceil(place - slack)));
}

QString placeText(FrameIndex frame, double rateHz, TimeUnit unit, int decimals) {
  if (unit == TimeUnit::frames) return QLocale().toString(static_cast<qlonglong>(frame.value()));
  return timeText(static_cast<double>(frame.value()) / rateHz, decimals);
}

int timeDecimals(double framesPerPixel, double rateHz) {
  const double seconds = std::max(framesPerPixel, 1.0) / rateHz;
  return std::clamp(static_cast<int>(std::ceil(-std::log10(seconds))), 3, 6);
}

QString lengthText(FrameCount length, double rateHz, TimeUnit unit, int decimals) {
  if (unit == TimeUnit::frames) {
    return QCoreApplication::translate("TimeAxis", "%1 frames")
        .arg(QLocale().toString(static_cast<qlonglong>(length.value())));
  }
  const double seconds = static_cast<double>(length.value()) / rateHz;
  if (std::fabs(seconds) >= 60.0) return timeText(seconds, decimals);
  return QCoreApplication::translate("TimeAxis", "%1 s")
      .arg(QLocale().toString(seconds, 'f', decimals));
}

void drawTimeRuler(QPainter& painter, const QRect& area, const TimeAxis& axis, double pixelRatio,
                   TimeUnit unit) {
  const Theme& theme = Theme::instance();
  painter.save();
  painter.setClipRect(area, Qt::IntersectClip);
  painter.fillRect(area, theme.color(Theme::Ink::raised));
  const QFont font = theme.smallFont();
  painter.setFont(font);
  const QFontMetrics metrics(font);
  const double frames_per_logical = axis.framesPerPixel * pixelRatio;
  const double units = unit == TimeUnit::time ? axis.rateHz : 1.0;
  const int digits =
      unit == TimeUnit::frames ? 15 : (frames_per_logical < axis.rateHz / 500 ? 13 : 9);
  const double room = metrics.horizontalAdvance(QString(digits, u'0')) + 2.0 * Theme::tight;
  const double least = room * frames_per_logical / units;
  const Step step = unit == TimeUnit::time ? timeStep(least) : frameStep(std::max(1.0, least));
  const double part = step.length / step.parts;
  const double first = std::floor(axis.placeAt(0.0) / units / step.length) * step.parts;
  const double last = std::ceil(axis.placeAt(area.width() * pixelRatio) / units / part);
  const QColor line = theme.color(Theme::Ink::mutedText);
  const double hair = 1.0 / pixelRatio;
  painter.setPen(theme.color(Theme::Ink::text));
  for (double i = first; i <= last; i += 1.0) {
    const double frame = i * part * units;
    const auto pixel = static_cast<qint64>(std::floor(frame / axis.framesPerPixel + slack));
    const double x = area.left() + static_cast<double>(pixel - axis.originPixel) / pixelRatio;
    const bool labelled = std::fmod(i, step.parts) == 0.0;
    const int height = labelled ? area.height() - 2 : 4;
    painter.fillRect(QRectF(x, area.bottom() + 1 - height, hair, height), line);
    if (!labelled) continue;
    const QString label = unit == TimeUnit::time
                              ? timeText(i * part, step.decimals)
                              : QLocale().toString(static_cast<qlonglong>(std::llround(frame)));
    painter.drawText(QPointF(x + Theme::tight, area.top() + metrics.ascent() + 2.0), label);
  }
  painter.fillRect(QRectF(area.left(), area.bottom() + 1 - hair, area.width(), hair),
                   theme.color(Theme::Ink::line));
  painter.restore();
}

}  // namespace fourbeat::ui
