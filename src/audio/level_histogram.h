// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/decibels.h"

#include <cmath>
#include <cstdint>
#include <map>
#include <optional>

namespace fourbeat::audio {

/// Counts powers in steps of 0.01 dB, so that a percentile of any number of them needs bounded
/// memory. Zero counts as lower than all.
class LevelHistogram {
 public:
  void add(double power) {
    ++count_;
    if (const std::optional<double> level_db = db_of_power(power)) {
      ++steps_[std::lround(*level_db * 100.0)];
    } else {
      ++zeros_;
    }
  }
  [[nodiscard]] std::int64_t count() const { return count_; }
  /// The least level in dB that `share` (0 to 1) of all powers do not exceed; nothing when that
  /// power is zero or none was added.
  [[nodiscard]] std::optional<double> percentile_db(double share) const {
    const auto wanted = static_cast<std::int64_t>(std::ceil(share * static_cast<double>(count_)));
    std::int64_t seen = zeros_;
    if (count_ == 0 || seen >= wanted) return std::nullopt;
    for (const auto& [step, count] : steps_) {
      seen += count;
      if (seen >= wanted) return static_cast<double>(step) / 100.0;
    }
    return std::nullopt;
  }

 private:
  std::map<long, std::int64_t> steps_;
  std::int64_t zeros_ = 0;
  std::int64_t count_ = 0;
};

}  // namespace fourbeat::audio
