// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

namespace fourbeat::check {

void key_beyond_decoder(const model::Project& project, const Facts& facts, Snags& out) {
  if (!facts.profile) return;
  for (const model::Key& key : project.keys) {
    if (key.number <= facts.profile->highest_key) continue;
    out.push_back({"key_beyond_decoder", Severity::error, store::pointer_of(project, key.id),
                   label_of(key),
                   fmt::format("the decoder has keys up to F{}", facts.profile->highest_key),
                   "move it to a lower key, or choose another decoder"});
  }
}

}  // namespace fourbeat::check
