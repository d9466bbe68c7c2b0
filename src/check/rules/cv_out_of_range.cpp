// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

namespace fourbeat::check {

namespace {

struct Finding {
  Severity severity = Severity::error;
  std::string message;
  std::string mend;
};

std::optional<Finding> against(const model::Cv& cv, const store::CvDefinition& definition) {
  if (definition.reserved) {
    return Finding{Severity::warning, "the standard keeps this CV for later use",
                   "leave it out of the table"};
  }
  if (definition.read_only) {
    return Finding{Severity::warning, "this CV can be read, not set", "leave it out of the table"};
  }
  if (cv.value < definition.min || cv.value > definition.max) {
    return Finding{
        Severity::error,
        fmt::format("its value {} is outside {} to {}", cv.value, definition.min, definition.max),
        "give it a value inside that range"};
  }
  if (const int bits = cv.value & definition.reserved_bits; bits != 0) {
    return Finding{
        Severity::error,
        fmt::format("its value {} sets bits that must stay 0 (together {})", cv.value, bits),
        fmt::format("take {} from it", bits)};
  }
  return std::nullopt;
}

std::optional<Finding> look_at(const model::Cv& cv, const Facts& facts) {
  if (cv.number < 1 || cv.number > 1024) {
    return Finding{Severity::error, "CV numbers run from 1 to 1024", "correct the number"};
  }
  if (cv.value < 0 || cv.value > 255) {
    return Finding{Severity::error, fmt::format("its value {} is outside 0 to 255", cv.value),
                   "give it a value inside that range"};
  }
  for (const store::CvDefinition& definition : facts.cv_definitions) {
    if (definition.number == cv.number) return against(cv, definition);
  }
  return std::nullopt;
}

}  // namespace

void cv_out_of_range(const model::Project& project, const Facts& facts, Snags& out) {
  for (const model::Cv& cv : project.cvs) {
    std::optional<Finding> found = look_at(cv, facts);
    if (!found) continue;
    out.push_back({"cv_out_of_range", found->severity, store::pointer_of(project, cv.id),
                   label_of(cv), std::move(found->message), std::move(found->mend)});
  }
}

}  // namespace fourbeat::check
