// SPDX-License-Identifier: GPL-3.0-or-later
#include "bounds.h"

#include <fmt/format.h>

namespace fourbeat::work {

Status check_bounds(std::initializer_list<Bound> bounds) {
  for (const Bound& bound : bounds) {
    if (bound.value >= bound.least && bound.value <= bound.most) continue;  // false for NaN
    return Error{ErrorCode::bad_argument,
                 {},
                 bound.member,
                 fmt::format("is {}", bound.value),
                 fmt::format("give {} to {}", bound.least, bound.most)};
  }
  return ok();
}

}  // namespace fourbeat::work
