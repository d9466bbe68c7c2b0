// SPDX-License-Identifier: GPL-3.0-or-later
#include "chuff_rows.h"

#include "fourbeat/fit/budget.h"
#include "fourbeat/model/piece.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace fourbeat::work {

namespace {

/// The pieces of the set with so many revolutions in each row of the plan's condition.
std::vector<double> lengths_with(const model::Project& project,
                                 const std::vector<model::ChuffRow>& rows,
                                 model::Condition condition, int revolutions) {
  model::Project planned = project;
  planned.chuffs.rows = rows;
  for (model::ChuffRow& row : planned.chuffs.rows) {
    if (row.condition == condition && std::cmp_greater(row.revolutions.size(), revolutions)) {
      row.revolutions.resize(static_cast<std::size_t>(revolutions));
    }
  }
  std::vector<double> lengths_s;
  for (const model::Piece& piece : model::list_pieces(planned)) {
    const double rate = clock_rate_hz(project, piece.source);
    const FrameIndex end = piece.loop ? piece.loop->range.end : piece.range.end;
    if (rate > 0.0) {
      lengths_s.push_back(static_cast<double>((end - piece.range.start).value()) / rate);
    }
  }
  return lengths_s;
}

bool fits(const std::vector<double>& lengths_s, int rate_hz, int bits,
          const model::DecoderProfile& profile) {
  if (profile.max_sounds > 0 && std::cmp_greater(lengths_s.size(), profile.max_sounds))
    return false;
  std::vector<std::int64_t> bytes;
  bytes.reserve(lengths_s.size());
  for (const double length_s : lengths_s)
    bytes.push_back(fit::stored_bytes(std::llround(length_s * rate_hz), bits, profile));
  return fit::set_bytes(bytes, profile) <= profile.memory_bytes;
}

}  // namespace

int revolutions_a_row(const model::Project& project, const std::vector<model::ChuffRow>& rows,
                      const ChuffPlan& plan, const model::DecoderProfile* profile) {
  if (profile == nullptr) return plan.revolutions_least;
  const auto lengths_s = [&](int revolutions) {
    return lengths_with(project, rows, plan.condition, revolutions);
  };
  const std::vector<double> least_s = lengths_s(plan.revolutions_least);
  int best_rate_hz = 0;
  int best_bits = 0;
  for (const int rate_hz : profile->sample_rates_hz) {
    for (const int bits : profile->bits) {
      if (static_cast<std::int64_t>(rate_hz) * bits <=
              static_cast<std::int64_t>(best_rate_hz) * best_bits ||
          !fits(least_s, rate_hz, bits, *profile)) {
        continue;
      }
      best_rate_hz = rate_hz;
      best_bits = bits;
    }
  }
  if (best_rate_hz == 0) return plan.revolutions_least;
  int revolutions = plan.revolutions_least;
  while (revolutions < plan.revolutions_most &&
         fits(lengths_s(revolutions + 1), best_rate_hz, best_bits, *profile)) {
    ++revolutions;
  }
  return revolutions;
}

}  // namespace fourbeat::work
