// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include <algorithm>
#include <variant>

namespace fourbeat::check {

void brake_without_key(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  if (!project.driving.coasts_until_braked) return;
  if (std::any_of(project.keys.begin(), project.keys.end(), [](const model::Key& key) {
        return key.task && std::holds_alternative<model::BrakeKey>(*key.task);
      })) {
    return;
  }
  out.push_back({"brake_without_key", Severity::error, "/driving/coasts_until_braked", set_label,
                 "the engine coasts until it is braked, and no key brakes it",
                 "give a key the task of braking, or let the throttle slow the engine"});
}

}  // namespace fourbeat::check
