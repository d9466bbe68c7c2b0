// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"

#include <string>
#include <utility>

namespace fourbeat::drive {

/// The most voices of a profile, and of a limit set below it.
inline constexpr int most_voices = 256;

/// What was given cannot be driven: where, and why.
inline Error bad(std::string place, std::string detail) {
  return {ErrorCode::bad_argument, {}, std::move(place), std::move(detail), {}};
}

/// False for NaN.
inline bool within(double value, double low, double high) {
  return value >= low && value <= high;
}

}  // namespace fourbeat::drive
