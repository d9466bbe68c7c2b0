// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

namespace fourbeat::check {

namespace {

const char* what_of(store::TakeState state) {
  switch (state) {
    case store::TakeState::missing:
      return "the recording is not there";
    case store::TakeState::changed:
      return "the recording is not the one that was taken in";
    case store::TakeState::unreadable:
      return "the recording cannot be read";
    case store::TakeState::outside:
      return "the recording lies outside the project's folder";
    case store::TakeState::present:
      break;
  }
  return nullptr;
}

const char* mend_of(store::TakeState state) {
  return state == store::TakeState::outside
             ? "move it into the project's folder and relink it"
             : "bring the recording back, or relink the take to where it is";
}

}  // namespace

void missing_take(const model::Project& project, const Facts& facts, Snags& out) {
  for (const model::Take& take : project.takes) {
    for (const store::TakeStatus& status : facts.takes) {
      const char* what = what_of(status.state);
      if (status.take != take.id || what == nullptr) continue;
      out.push_back(
          {"missing_take", Severity::error, store::pointer_of(project, take.id), label_of(take),
           status.detail.empty() ? std::string(what) : fmt::format("{}: {}", what, status.detail),
           mend_of(status.state)});
    }
  }
}

}  // namespace fourbeat::check
