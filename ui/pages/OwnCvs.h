// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Fields.h"

#include "fourbeat/model/project.h"

#include <optional>

namespace fourbeat::ui {

/// The CVs to choose from: those that are free and left to makers, and `own` in its place.
[[nodiscard]] ChoiceDelegate::Choices ownCvChoices(const model::Project& project,
                                                   std::optional<int> own);
/// The number of a new CV of the set's own.
[[nodiscard]] int newOwnCv(const model::Project& project);
/// The set's entry of an option's CV when it is that option's alone: no effect of its own, and no
/// other option on it; else null.
[[nodiscard]] const model::Cv* optionCv(const model::Project& project, const model::Option& option);

}  // namespace fourbeat::ui
