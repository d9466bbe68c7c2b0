// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/id.h"
#include "fourbeat/model/extra.h"

#include <string>
#include <vector>

namespace fourbeat::model {

/// One alternative of an option: in force while the option's CV has this value.
struct OptionChoice {
  int value = 0;  ///< 0 to 255
  std::string name;
  Extra extra;
  bool operator==(const OptionChoice&) const = default;
};

/// An alternative of the set that one CV switches.
struct Option {
  Id<Option> id;
  std::string name;
  int cv = 0;  ///< number of its CV, 1 to 1024
  std::vector<OptionChoice> choices;
  Extra extra;
  bool operator==(const Option&) const = default;
};

}  // namespace fourbeat::model
