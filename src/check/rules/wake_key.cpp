// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

#include <variant>

namespace fourbeat::check {

void wake_key(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  const model::Key* first = nullptr;
  for (const model::Key& key : project.keys) {
    if (!key.task || !std::holds_alternative<model::WakeKey>(*key.task)) continue;
    if (first == nullptr) first = &key;
    if (key.number == first->number) continue;
    out.push_back({"wake_key", Severity::warning, store::pointer_of(project, key.id) + "/task",
                   label_of(key),
                   fmt::format("{} puts the engine's sound on too: either shuts down what the "
                               "other has put on",
                               label_of(*first)),
                   "leave the task to one key"});
  }
}

}  // namespace fourbeat::check
