// SPDX-License-Identifier: GPL-3.0-or-later
#include "Wording.h"

#include "fourbeat/base/speed_units.h"
#include "fourbeat/base/text.h"

#include <QCoreApplication>
#include <QLocale>
#include <array>

namespace fourbeat::ui {

namespace {
QString tr(const char* source) {
  return QCoreApplication::translate("Wording", source);
}
}  // namespace

QString pathText(const std::filesystem::path& path) {
  return text(path_text(path));
}

std::filesystem::path textPath(const QString& text) {
  return text_path(utf8(text));
}

QString errorLine(const Error& error) {
  return text(to_line(error));
}

QString word(model::MarkKind kind) {
  switch (kind) {
    case model::MarkKind::beat:
      return tr("Beat");
    case model::MarkKind::whistle:
      return tr("Whistle");
    case model::MarkKind::safety_valve:
      return tr("Safety valve");
    case model::MarkKind::pump:
      return tr("Pump");
    case model::MarkKind::injector:
      return tr("Injector");
    case model::MarkKind::standing:
      return tr("Standing");
    case model::MarkKind::unusable:
      return tr("Unusable");
    case model::MarkKind::other:
      return tr("Other");
    case model::MarkKind::effort:
      return tr("Effort");
    case model::MarkKind::beat_added:
      return tr("Beat added");
    case model::MarkKind::beat_removed:
      return tr("Beat removed");
    case model::MarkKind::beat_moved:
      return tr("Beat moved");
    case model::MarkKind::beats_halved:
      return tr("Beats halved");
    case model::MarkKind::beats_doubled:
      return tr("Beats doubled");
    case model::MarkKind::revolution:
      return tr("Revolution");
    case model::MarkKind::retracked:
      return tr("Tracked anew");
  }
  return {};
}

QString word(model::SoundKind kind) {
  switch (kind) {
    case model::SoundKind::one_shot:
      return tr("One-shot");
    case model::SoundKind::held:
      return tr("Begin, hold, release");
  }
  return {};
}

QString word(model::Category category) {
  switch (category) {
    case model::Category::exhaust:
      return tr("Exhaust");
    case model::Category::whistle:
      return tr("Whistle");
    case model::Category::bell:
      return tr("Bell");
    case model::Category::safety_valve:
      return tr("Safety valve");
    case model::Category::pump:
      return tr("Pump");
    case model::Category::injector:
      return tr("Injector");
    case model::Category::motion:
      return tr("Motion");
    case model::Category::ambience:
      return tr("Ambience");
    case model::Category::voice:
      return tr("Voice");
    case model::Category::other:
      return tr("Other");
  }
  return {};
}

QString word(model::Condition condition) {
  switch (condition) {
    case model::Condition::normal:
      return tr("Normal running");
    case model::Condition::cocks_open:
      return tr("Cylinder cocks open");
    case model::Condition::heavy_start:
      return tr("Heavy start");
    case model::Condition::slip:
      return tr("Slip");
  }
  return {};
}

QString word(model::Effort effort) {
  switch (effort) {
    case model::Effort::drifting:
      return tr("Drifting");
    case model::Effort::easy:
      return tr("Easy");
    case model::Effort::hard:
      return tr("Hard");
  }
  return {};
}

QString word(model::KeyMode mode) {
  switch (mode) {
    case model::KeyMode::latching:
      return tr("Latching");
    case model::KeyMode::momentary:
      return tr("Momentary");
  }
  return {};
}

QString word(model::KeyDirection direction) {
  switch (direction) {
    case model::KeyDirection::any:
      return tr("Both ways");
    case model::KeyDirection::forward:
      return tr("Forward");
    case model::KeyDirection::reverse:
      return tr("Reverse");
  }
  return {};
}

QString word(check::Severity severity) {
  switch (severity) {
    case check::Severity::error:
      return tr("Error");
    case check::Severity::warning:
      return tr("Warning");
    case check::Severity::hint:
      return tr("Hint");
  }
  return {};
}

QString timeText(double seconds, int decimals) {
  const QLocale locale;
  const double scale = std::pow(10.0, decimals);
  const double rounded = std::round(std::abs(seconds) * scale) / scale;
  const auto whole = static_cast<qint64>(rounded);
  const qint64 hours = whole / 3600;
  const qint64 minutes = whole / 60 % 60;
  const double rest = rounded - static_cast<double>(whole - whole % 60);
  const QString sign = seconds < 0 && rounded > 0 ? QStringLiteral("-") : QString();
  QString tail = locale.toString(rest, 'f', decimals);
  if (rest < 10.0 && tail.size() < (decimals > 0 ? decimals + 3 : 2)) tail.prepend(u'0');
  if (hours > 0) {
    return sign +
           QStringLiteral("%1:%2:%3").arg(hours).arg(minutes, 2, 10, QLatin1Char('0')).arg(tail);
  }
  return sign + QStringLiteral("%1:%2").arg(minutes).arg(tail);
}

QString bytesText(qint64 bytes) {
  return QLocale().formattedDataSize(bytes, 2, QLocale::DataSizeIecFormat);
}

QString mebibytes(qint64 bytes) {
  constexpr double mebibyte = 1024.0 * 1024.0;
  return QLocale().toString(static_cast<double>(bytes) / mebibyte, 'f', 2);
}

QString decibelText(std::optional<double> db, int decimals) {
  if (!db) return QStringLiteral("—");
  return tr("%1 dB").arg(QLocale().toString(*db, 'f', decimals));
}

QString speedText(double kmh) {
  return tr("%1 km/h").arg(QLocale().toString(kmh, 'f', 1));
}

QString bothSpeedsText(double kmh) {
  return tr("%1 (%2 mph)").arg(speedText(kmh), QLocale().toString(mph_of_kmh(kmh), 'f', 1));
}

QString scaleSpeedText(double kmh, double ratio) {
  return tr("%1 mm/s at 1:%2")
      .arg(QLocale().toString(model_speed_mm_s(kmh, ratio), 'f', 0),
           QLocale().toString(ratio, 'g', 4));
}

}  // namespace fourbeat::ui
