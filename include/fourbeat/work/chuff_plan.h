// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"
#include "fourbeat/model/chuff_table.h"

namespace fourbeat::work {

/// How the rows of a chuff table are proposed. The defaults are common practice, no source.
struct ChuffPlan {
  /// Upper over lower speed of a row, 1.05 to 2. Rows are counted down from the top speed, so that
  /// the rows of all efforts meet at the same speeds.
  double band_ratio = 1.25;
  /// How many rows from the slowest speed recorded to the top speed, 1 to 40; 0: by band_ratio.
  int rows = 0;
  /// Revolutions a row has where the takes hold as many, 1 to 16: two, so that the ear hears no
  /// machine gun.
  int revolutions_least = 2;
  /// Up to so many, revolutions_least to 16, where the decoder's memory holds them without a
  /// lower rate or depth for the set.
  int revolutions_most = 4;
  /// How far beyond the speeds recorded a row serves, as a ratio, 1 to 1.5.
  double tolerance_ratio = 1.06;
  /// How many candidates are kept for each row, best first, 1 to 100.
  int candidates = 8;
  /// Whether rows are derived for the speeds that no recording serves. Only normal rows are.
  bool derive = true;
  /// Highest over lowest of the mean course of a band's beats, 0 to 12 dB: below this they no
  /// longer stand apart, and a band above all that do becomes a fused row. The ear just hears noise
  /// beat by 1 dB (its modulation by 5.6 %: Viemeister, JASA 66, 1979; from memory).
  double fuse_below_db = 1.5;
  /// The condition that the takes were recorded in. Rows of other conditions are left alone.
  model::Condition condition = model::Condition::normal;

  bool operator==(const ChuffPlan&) const = default;
};

/// Errors: bad_argument (place: the member).
[[nodiscard]] Status check_plan(const ChuffPlan& plan);

}  // namespace fourbeat::work
