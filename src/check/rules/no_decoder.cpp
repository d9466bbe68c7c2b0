// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

namespace fourbeat::check {

void no_decoder(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  if (!project.decoder.empty()) return;
  out.push_back({"no_decoder", Severity::hint, "/decoder", set_label,
                 "no decoder is chosen, so nothing is compared with one",
                 "choose a decoder, so that the set can be fitted"});
}

}  // namespace fourbeat::check
