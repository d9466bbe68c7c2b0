// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "support/catch.h"

#include "fourbeat/check/rules.h"

namespace fourbeat::tests {

/// A project and the facts about it.
struct Case {
  model::Project project;
  check::Facts facts;

  /// What one rule says of it.
  [[nodiscard]] std::vector<check::Snag> snags(std::string_view rule) const;
};

inline constexpr int good_rate_hz = 48'000;

/// Rows of an engine of four beats: each chuff 60 ms at 48 kHz, two revolutions a row.
model::ChuffRow good_row(std::int64_t id, double from_kmh, double to_kmh, model::Effort effort);

/// A loop for a row's place above the speeds where its beats stand apart.
model::FusedLoop good_fused();

/// A project with nothing to complain of: one take, one pass, a whistle that is held (segment 10
/// begins, 11 holds, 12 lets go), a bell (13), chuffs, two keys, two CVs.
Case good_case();

}  // namespace fourbeat::tests
