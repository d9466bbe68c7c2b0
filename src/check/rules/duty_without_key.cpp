// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/store/project_file.h"

#include <algorithm>
#include <variant>

namespace fourbeat::check {

namespace {

const model::ChoreKey* chore_of(const model::Key& key) {
  return key.task ? std::get_if<model::ChoreKey>(&*key.task) : nullptr;
}

/// Whether duties are on, or a CV may put them on.
bool may_run(const model::Project& project) {
  if (!project.duties) return false;
  return project.duties->on ||
         std::any_of(project.cvs.begin(), project.cvs.end(), [](const model::Cv& cv) {
           return cv.effect && cv.effect->target == model::CvTarget::duties;
         });
}

struct ChoreWords {
  model::Chore chore;
  const char* message;
  const char* mend;
};
constexpr ChoreWords chores[] = {
    {model::Chore::fire, "no key puts coal on: the fire burns down and the engine comes to a stand",
     "give a key the task of firing, or leave the duties out"},
    {model::Chore::feed, "no key feeds water: the glass falls until the fire must be dropped",
     "give a key the task of feeding, or leave the duties out"}};

}  // namespace

void duty_without_key(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  const bool runs = may_run(project);
  for (const ChoreWords& words : chores) {
    const bool has_key =
        std::any_of(project.keys.begin(), project.keys.end(), [&](const model::Key& key) {
          const model::ChoreKey* task = chore_of(key);
          return task != nullptr && task->chore == words.chore;
        });
    if (!runs || has_key) continue;
    out.push_back(
        {"duty_without_key", Severity::error, "/duties", set_label, words.message, words.mend});
  }
  for (const model::Key& key : project.keys) {
    if (runs || chore_of(key) == nullptr) continue;
    out.push_back({"duty_without_key", Severity::warning,
                   store::pointer_of(project, key.id) + "/task", label_of(key),
                   project.duties ? "it does a chore, but the duties are off and no CV puts them on"
                                  : "it does a chore, but the set has no duties",
                   project.duties ? "put the duties on, or take the task from the key"
                                  : "give the set duties, or take the task from the key"});
  }
}

}  // namespace fourbeat::check
