// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace fourbeat::check {

namespace {

constexpr std::size_t most_named = 4;

/// " (a, b and 2 more)".
std::string named(const std::vector<std::string>& sounding) {
  if (sounding.empty()) return {};
  std::string text;
  for (std::size_t i = 0; i < std::min(most_named, sounding.size()); ++i)
    text += (i == 0 ? "" : ", ") + sounding[i];
  if (sounding.size() > most_named) {
    text += fmt::format(" and {} more", sounding.size() - most_named);
  }
  return " (" + text + ")";
}

}  // namespace

void no_head_room(const model::Project& project, const Facts& facts, Snags& out) {
  for (const auto& [place, peak] : facts.card_peaks) {
    if (place >= project.run_cards.size() || peak.true_peak_dbtp <= 0.0) continue;
    out.push_back(
        {"no_head_room", Severity::warning, fmt::format("/run_cards/{}", place),
         fmt::format("run card “{}”", project.run_cards[place]),
         fmt::format("at {:.1f} s the mix comes to {:+.2f} dBTP, over full scale: it is cut off",
                     peak.time_s, peak.true_peak_dbtp),
         fmt::format("lower by {:.1f} dB what sounds then{}, or the gain of the whole set by a CV",
                     std::ceil(peak.true_peak_dbtp * 10.0) / 10.0, named(peak.sounding))});
  }
}

}  // namespace fourbeat::check
