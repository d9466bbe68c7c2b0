// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"

#include <span>
#include <string_view>
#include <vector>

/// Second-order sections in cascade: what the cleaning steps and the speaker model are made of.

namespace fourbeat::dsp {

/// A value of the mathematical library, rounded to 24 bits: libraries and processors differ in
/// the last of a double's 53.
[[nodiscard]] inline double settled(double value) {
  return static_cast<double>(static_cast<float>(value));
}

/// One second-order section, normalised to a0 = 1 (transposed direct form II).
struct Section {
  double b0 = 1.0;
  double b1 = 0.0;
  double b2 = 0.0;
  double a1 = 0.0;
  double a2 = 0.0;
};

/// Runs samples through all sections in place, from a state at rest.
void run_sections(const std::vector<Section>& sections, std::span<float> samples);

/// The samples finite, the rate positive and 0 < hz < 0.45 × rate. `name`: the place of an error.
[[nodiscard]] Status check_filter(std::span<const float> samples, double rate_hz,
                                  std::string_view name, double hz);

inline constexpr double highest_share_of_rate = 0.45;

}  // namespace fourbeat::dsp
