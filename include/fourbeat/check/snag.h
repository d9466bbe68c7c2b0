// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

namespace fourbeat::check {

enum class Severity { error, warning, hint };

/// One problem that a check found: where it is, how to mend it. A finding, not an error.
struct Snag {
  std::string rule;  ///< e.g. "missing_take"
  Severity severity = Severity::warning;
  std::string pointer;  ///< JSON Pointer into the project file
  std::string label;    ///< the place in words: "segment “Whistle long”"
  std::string message;
  std::string mend;
  bool operator==(const Snag&) const = default;
};

}  // namespace fourbeat::check
