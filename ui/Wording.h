// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/frame.h"
#include "fourbeat/base/result.h"
#include "fourbeat/check/snag.h"
#include "fourbeat/model/project.h"

#include <QString>
#include <filesystem>

/// Words, figures and paths as the window shows them, in the user's language and locale.

namespace fourbeat::ui {

[[nodiscard]] inline QString text(const std::string& utf8) {
  return QString::fromStdString(utf8);
}
[[nodiscard]] inline std::string utf8(const QString& text) {
  return text.toStdString();
}
[[nodiscard]] QString pathText(const std::filesystem::path& path);
[[nodiscard]] std::filesystem::path textPath(const QString& text);

/// One clear line: file, place, what, mend.
[[nodiscard]] QString errorLine(const Error& error);

[[nodiscard]] QString word(model::MarkKind kind);
[[nodiscard]] QString word(model::SoundKind kind);
[[nodiscard]] QString word(model::Category category);
[[nodiscard]] QString word(model::Effort effort);
[[nodiscard]] QString word(model::Condition condition);
[[nodiscard]] QString word(model::KeyMode mode);
[[nodiscard]] QString word(model::KeyDirection direction);
[[nodiscard]] QString word(model::State state);
[[nodiscard]] QString word(model::Chore chore);
[[nodiscard]] QString word(model::TriggerEvent event);
[[nodiscard]] QString word(model::TriggerAction action);
[[nodiscard]] QString word(model::LayerKind kind);
[[nodiscard]] QString word(check::Severity severity);
/// The kind of a task alone, "Brake", by its place in model::KeyTask.
[[nodiscard]] QString taskWord(std::size_t kind);
/// What a key does beside playing: "Brakes at 60 %"; "" for nothing.
[[nodiscard]] QString taskText(const model::Project& project,
                               const std::optional<model::KeyTask>& task);
/// When something is in force: "Standing, Coasting; Stock = 2"; "Always" without a condition.
[[nodiscard]] QString whenText(const model::Project& project, const model::When& when);

/// "1:02:03.4", hours only where there are any; `decimals` of the second, 0 to 3.
[[nodiscard]] QString timeText(double seconds, int decimals = 1);
/// "2.33", without the unit.
[[nodiscard]] QString mebibytes(qint64 bytes);
/// "2.33 MiB", "812 B".
[[nodiscard]] QString bytesText(qint64 bytes);
/// "-3.5 dB"; "—" for none.
[[nodiscard]] QString decibelText(std::optional<double> db, int decimals = 1);
/// A true peak, in dBTP; a dash where nothing sounds.
[[nodiscard]] QString truePeakText(std::optional<double> dbtp);
/// "48.3 km/h".
[[nodiscard]] QString speedText(double kmh);
/// "32.4 km/h (20.1 mph)".
[[nodiscard]] QString bothSpeedsText(double kmh);
/// "103 mm/s at 1:87": what a model of that scale runs to look as fast.
[[nodiscard]] QString scaleSpeedText(double kmh, double ratio);

}  // namespace fourbeat::ui
