// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"
#include "fourbeat/model/check_value.h"
#include "fourbeat/model/project.h"

#include <span>

namespace fourbeat::model {

/// Whether a project holds what apply() keeps true: every number in its range and finite, every
/// text UTF-8, ids set, unique in their list and below next_id, every set reference leads
/// somewhere, no range reversed and none empty but a mark's, a take in one pass at most, the takes
/// of a pass at one sample rate, mixes of channels that the takes of their pass have. What only a
/// check may say (a loop outside its segment, a row gap, a CV number beyond 1024) is no matter
/// here. Errors: bad_argument or not_finite; place: the JSON Pointer. Cost: O(n log n).
[[nodiscard]] Status validate(const Project& project);

/// Whether every step of a clean chain holds; `place`: the list's.
[[nodiscard]] Fault check_clean_chain(std::span<const CleanStep> steps, const Place& place);

/// Whether a speaker model holds; `place`: its own.
[[nodiscard]] Fault check_speaker(const Speaker& speaker, const Place& place);

}  // namespace fourbeat::model
