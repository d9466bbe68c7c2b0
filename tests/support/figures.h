// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/text.h"

#include <cstddef>
#include <string>
#include <string_view>

namespace fourbeat::tests {

/// The figure of a sentence that begins at a place and ends before a blank, whatever the locale.
inline double figure_at(const std::string& text, std::size_t at) {
  return parse_number(std::string_view(text).substr(at, text.find(' ', at) - at)).value();
}

}  // namespace fourbeat::tests
