// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/project.h"

#include <QString>
#include <QStringList>

/// What the set's own CVs mean, in words.

namespace fourbeat::ui {

/// "Level of the whole set".
[[nodiscard]] QString word(model::CvTarget target);

/// How a figure of a target is shown.
struct TargetFigure {
  int decimals = 1;
  double step = 1.0;
  QString suffix;
};
[[nodiscard]] TargetFigure figureOf(model::CvTarget target);
/// "-12.5 dB"; of the duties "on" and "off".
[[nodiscard]] QString figureText(model::CvTarget target, double figure);

/// "Level of a sound: Bell".
[[nodiscard]] QString targetText(const model::Project& project, const model::CvEffect& effect);
/// "-60.0 dB at 0, 0.0 dB at 255".
[[nodiscard]] QString rangeText(const model::CvEffect& effect);
/// "Whistle: 0 the engine's own, 1 the shunting whistle".
[[nodiscard]] QString choicesText(const model::Option& option);
/// All that a CV of the set's own changes: its effect, and the options that it switches; "" for
/// nothing.
[[nodiscard]] QString meaningText(const model::Project& project, const model::Cv& cv);

/// A use of an option: its JSON Pointer, and "Key F11, Two peeps: serves while it is 1".
struct OptionUse {
  QString pointer;
  QString words;
};
[[nodiscard]] QList<OptionUse> usesOf(const model::Project& project, Id<model::Option> option);

}  // namespace fourbeat::ui
