// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include <fmt/format.h>

namespace fourbeat::check {

void run_card(const model::Project& project, const Facts& facts, Snags& out) {
  for (const auto& [place, error] : facts.card_errors) {
    if (place >= project.run_cards.size()) continue;
    const ErrorText text = error_text(error.code);
    std::string message(text.what);
    if (!error.place.empty()) message += fmt::format(" at {}", error.place);
    if (!error.detail.empty()) message += fmt::format(": {}", error.detail);
    out.push_back({"run_card", Severity::error, fmt::format("/run_cards/{}", place),
                   fmt::format("run card “{}”", project.run_cards[place]), std::move(message),
                   error.mend.empty() ? std::string(text.mend) : error.mend});
  }
}

}  // namespace fourbeat::check
