// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace fourbeat::check {

namespace {

void tell(const dsp::SeamReport& report, LoopWords words, Snags& out) {
  if (report.state == dsp::SeamState::clean) return;
  const bool doubtful = report.state == dsp::SeamState::doubtful;
  std::string message = fmt::format("its seam is {}, rank {:.1f} of 100",
                                    doubtful ? "doubtful" : "unclean", report.rank);
  const auto worst =
      std::max_element(report.measures.begin(), report.measures.end(),
                       [](const auto& a, const auto& b) { return a.quotient < b.quotient; });
  if (worst != report.measures.end()) {
    message +=
        fmt::format("; {} is {:.2f} times what is usual in the loop", worst->name, worst->quotient);
  }
  if (const double db = report.level_drift_db; db != 0.0)
    message += fmt::format("; its last quarter is {:.1f} dB {} than its first", std::abs(db),
                           db > 0.0 ? "louder" : "softer");
  if (const double db = report.tone_drift_db; db != 0.0)
    message += fmt::format("; its last quarter is {:.1f} dB {} than its first", std::abs(db),
                           db > 0.0 ? "brighter" : "duller");
  if (const double db = report.octave_drift_db; db != 0.0)
    message += fmt::format("; its octave about {:.0f} Hz {} by {:.1f} dB against the others",
                           report.octave_hz, db > 0.0 ? "rises" : "falls", std::abs(db));
  if (!report.whole_periods) message += "; the loop does not span whole periods";
  out.push_back({"seam", doubtful ? Severity::hint : Severity::warning, std::move(words.pointer),
                 std::move(words.label), std::move(message),
                 doubtful ? "listen to it and sign it, or take another loop"
                          : "take another loop, or change its crossfade"});
}

}  // namespace

void seam(const model::Project& project, const Facts& facts, Snags& out) {
  for (const model::Segment& segment : project.segments) {
    const auto found = facts.seams.find(segment.id);
    if (found == facts.seams.end()) continue;
    tell(found->second, loop_words(project, segment), out);
  }
  for (const model::ChuffRow& row : project.chuffs.rows) {
    const auto found = facts.row_seams.find(row.id);
    if (found == facts.row_seams.end()) continue;
    tell(found->second, loop_words(project, row), out);
  }
}

}  // namespace fourbeat::check
