// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/dsp/seam.h"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace fourbeat::dsp {

struct LoopParams {
  double min_s = 0.5;  ///< shortest loop; over 0.02
  double max_s = 8.0;  ///< longest loop
  int count = 5;       ///< candidates wanted, 1 to 50
  std::uint64_t seed = 1;
};

struct LoopCandidate {
  LoopSpec loop;  ///< frames of the material
  std::optional<double> period_s;
  SeamReport seam;     ///< of the loop as rendered
  double score = 0.0;  ///< 0 to 1, best first
};

struct LoopSearch {
  std::vector<LoopCandidate> candidates;  ///< best first, truly different from one another
  std::string reason;                     ///< why there is none, when there is none
};

/// Finds loops whose seam nobody hears. All channels are looped as one.
/// Errors: bad_argument, not_finite, cancelled. No loop is an answer, not an error.
[[nodiscard]] Result<LoopSearch> find_loops(const audio::Pcm& material, const LoopParams& params,
                                            JobControl& job);

}  // namespace fourbeat::dsp
