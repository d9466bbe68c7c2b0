// SPDX-License-Identifier: GPL-3.0-or-later
#include "sections.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string>

namespace fourbeat::dsp {

/// Sample by sample through all sections, not section by section through all samples: while one
/// section waits for its own last value, the others have theirs to work on.
void run_sections(const std::vector<Section>& sections, std::span<float> samples) {
  constexpr double vanishing = 1e-60;
  struct Stage {
    Section section;
    double s1 = 0.0;
    double s2 = 0.0;
  };
  std::vector<Stage> stages;
  stages.reserve(sections.size());
  for (const Section& section : sections)
    stages.push_back({section});
  for (float& sample : samples) {
    double x = static_cast<double>(sample);
    for (Stage& stage : stages) {
      const Section& section = stage.section;
      const double y = section.b0 * x + stage.s1;
      stage.s1 = section.b1 * x - section.a1 * y + stage.s2;
      stage.s2 = section.b2 * x - section.a2 * y;
      if (std::abs(stage.s1) < vanishing && std::abs(stage.s2) < vanishing)
        stage.s1 = stage.s2 = 0.0;
      x = y;
    }
    sample = static_cast<float>(x);
  }
}

Status check_filter(std::span<const float> samples, double rate_hz, std::string_view name,
                    double hz) {
  if (!std::isfinite(rate_hz) || rate_hz <= 0.0)
    return Error{ErrorCode::bad_argument, "", "sample_rate_hz",
                 "the sample rate is not a positive number", ""};
  if (!(hz > 0.0 && hz < highest_share_of_rate * rate_hz)) {
    return Error{ErrorCode::bad_argument, "", std::string(name),
                 fmt::format("{:.6g} Hz at a rate of {:.6g} Hz", hz, rate_hz),
                 fmt::format("choose a frequency above 0 and below {:.6g} Hz",
                             highest_share_of_rate * rate_hz)};
  }
  const auto broken =
      std::find_if(samples.begin(), samples.end(), [](float x) { return !std::isfinite(x); });
  if (broken != samples.end()) {
    return Error{ErrorCode::not_finite, "", fmt::format("frame {}", broken - samples.begin()), "",
                 ""};
  }
  return ok();
}

}  // namespace fourbeat::dsp
