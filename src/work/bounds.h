// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"

#include <initializer_list>

namespace fourbeat::work {

/// A figure that a caller gives, and what it may be.
struct Bound {
  const char* member = "";
  double value = 0.0;
  double least = 0.0;
  double most = 0.0;
};

/// The first that is outside its bounds, or NaN, is the error (bad_argument, place: the member).
[[nodiscard]] Status check_bounds(std::initializer_list<Bound> bounds);

}  // namespace fourbeat::work
