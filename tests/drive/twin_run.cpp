// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/catch.h"
#include "twin_set.h"

#include <utility>

namespace fourbeat::tests {

std::shared_ptr<const drive::CompiledSet> TwinSet::compile() const {
  auto set = drive::compile(project, profile, sounds);
  REQUIRE(set.has_value());
  return *set;
}

drive::DriveOutput drive_well(const std::shared_ptr<const drive::CompiledSet>& set,
                              const model::RunCard& card, const drive::DriveOptions& options) {
  JobControl job;
  auto output = drive::drive(set, card, options, job);
  if (!output) FAIL(to_line(output.error()));
  return *std::move(output);
}

}  // namespace fourbeat::tests
