// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

namespace fourbeat::check {

namespace {

bool overlap(model::KeyDirection a, model::KeyDirection b) {
  return a == b || a == model::KeyDirection::any || b == model::KeyDirection::any;
}

const char* contradiction(const model::Key& a, const model::Key& b) {
  if (a.number != b.number || !overlap(a.direction, b.direction)) return nullptr;
  if (a.mode != b.mode) return "is latching in one use and momentary in another";
  if (a.sound != b.sound) return "plays different sounds in the same direction";
  return nullptr;
}

}  // namespace

void key_contradiction(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  for (std::size_t later = 0; later < project.keys.size(); ++later) {
    for (std::size_t earlier = 0; earlier < later; ++earlier) {
      const model::Key& key = project.keys[later];
      const model::Key& other = project.keys[earlier];
      const char* what = contradiction(other, key);
      if (what == nullptr) continue;
      out.push_back({"key_contradiction", Severity::error, store::pointer_of(project, key.id),
                     label_of(key),
                     fmt::format("the key {}: see also {} at {}", what, label_of(other),
                                 store::pointer_of(project, other.id)),
                     "move one use to another key, or give each its own direction"});
    }
  }
}

}  // namespace fourbeat::check
