// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include <fmt/format.h>

namespace fourbeat::check {

void too_few_voices(const model::Project& /*project*/, const Facts& facts, Snags& out) {
  if (!facts.profile || !facts.voices_peak || *facts.voices_peak <= facts.profile->voices) return;
  out.push_back({"too_few_voices", Severity::hint, "/decoder", set_label,
                 fmt::format("the run cards ask for {} voices at once, the decoder has {}: the "
                             "sounds of least priority give way",
                             *facts.voices_peak, facts.profile->voices),
                 "see that the priorities say which sounds matter"});
}

}  // namespace fourbeat::check
