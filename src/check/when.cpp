// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules/rules_list.h"

#include <algorithm>

namespace fourbeat::check {

bool differ_by_option(const model::When& a, const model::When& b) {
  return a.option.is_set() && a.option == b.option && a.option_value != b.option_value;
}

bool may_meet(const model::When& a, const model::When& b) {
  if (differ_by_option(a, b)) return false;
  // What a state of the set's own asks for may come with any other.
  if (!a.own_states.empty() || !b.own_states.empty()) return true;
  if (a.states.empty() || b.states.empty()) return true;
  return std::any_of(a.states.begin(), a.states.end(), [&](model::State state) {
    return std::find(b.states.begin(), b.states.end(), state) != b.states.end();
  });
}

}  // namespace fourbeat::check
