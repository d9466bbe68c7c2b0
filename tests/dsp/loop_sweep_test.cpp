// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop_materials.h"
#include "support/catch.h"

#include "fourbeat/dsp/loop_finder.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <iostream>
#include <string_view>

using namespace fourbeat;
using namespace fourbeat::dsp;
using namespace fourbeat::loop_materials;

namespace {

constexpr std::array<std::string_view, 8> measures = {"sample_step",  "slope_step", "spectrum_fine",
                                                      "spectrum_low", "rms_50ms",   "rms_500ms",
                                                      "colour_500ms", "rhythm"};

LoopSearch found(const audio::Pcm& pcm) {
  JobControl job;
  LoopParams params;
  params.min_s = 1.0;  // over less, even steam that dies away hardly falls
  Result<LoopSearch> search = find_loops(pcm, params, job);
  REQUIRE(search);
  return *search;
}

double length_s(const LoopCandidate& candidate) {
  return static_cast<double>(candidate.loop.range.length().value()) / rate_hz;
}

std::string_view word(SeamState state) {
  return state == SeamState::clean      ? "clean"
         : state == SeamState::doubtful ? "doubtful"
                                        : "unclean";
}

std::string quotient(const SeamReport& seam, std::string_view name) {
  for (const SeamMeasure& measure : seam.measures) {
    if (measure.name == name) return fmt::format("{:.2f}", measure.quotient);
  }
  return "-";
}

bool good(const Material& made, const LoopSearch& search) {
  if (search.candidates.empty()) return !made.loops;
  const SeamReport& seam = search.candidates.front().seam;
  if (made.loops) return seam.state == SeamState::clean && seam.whole_periods;
  const bool any_clean =
      std::any_of(search.candidates.begin(), search.candidates.end(),
                  [](const LoopCandidate& c) { return c.seam.state == SeamState::clean; });
  return !any_clean && !search.reason.empty();
}

/// One line of the table of docs/loops.md for the best loop of each kind and seed.
int print_table(std::uint64_t first_seed, std::uint64_t last_seed) {
  int bad = 0;
  for (const std::string& kind : kinds()) {
    for (std::uint64_t seed = first_seed; seed <= last_seed; ++seed) {
      const Material made = material(kind, 12.0, seed);
      const LoopSearch search = found(made.pcm);
      REQUIRE_FALSE(search.candidates.empty());
      const LoopCandidate& best = search.candidates.front();
      std::string row = fmt::format("| {} | {} | {} | {:.1f} |", kind, seed, word(best.seam.state),
                                    best.seam.rank);
      for (const std::string_view name : measures)
        row += fmt::format(" {} |", quotient(best.seam, name));
      row += fmt::format(
          " {:.1f} | {:.2f} | {:+.2f} | {:+.1f} | {:+.1f} | {} | {} | {} |", best.seam.tell_db,
          length_s(best), best.loop.drift_db, best.seam.level_drift_db, best.seam.tone_drift_db,
          made.period_s ? fmt::format("{:.2f}", 1000.0 * *made.period_s) : std::string("-"),
          best.period_s ? fmt::format("{:.2f}", 1000.0 * *best.period_s) : std::string("-"),
          best.seam.whole_periods ? "yes" : "no");
      const bool as_it_should = good(made, search);
      bad += as_it_should ? 0 : 1;
      std::cout << row << (as_it_should ? "" : "  <- " + search.reason) << '\n';
    }
  }
  return bad;
}

}  // namespace

TEST_CASE("loop sweep: the table of docs/loops.md", "[.sweep]") {
  CHECK(print_table(1, 6) == 0);
}

TEST_CASE("loop sweep: seeds kept aside", "[.sweep][aside]") {
  CHECK(print_table(201, 206) == 0);
}

TEST_CASE("loop sweep: seeds never looked at before", "[.sweep][fresh]") {
  CHECK(print_table(401, 412) == 0);
}

TEST_CASE("loop finder: steam that dies away is not called clean, however smooth a seam", "[dsp]") {
  // Seeds whose best seam ranks well: only the drift that is left tells.
  for (const std::uint64_t seed : {4U, 5U, 201U, 204U}) {
    CAPTURE(seed);
    const LoopSearch search = found(material("dying_steam", 12.0, seed).pcm);
    REQUIRE_FALSE(search.candidates.empty());
    for (const LoopCandidate& one : search.candidates)
      CHECK(one.seam.state != SeamState::clean);
    CHECK(search.reason.find("the sound falls by") != std::string::npos);
  }
}

TEST_CASE("loop finder: every kind of sound that can be looped has a clean loop", "[dsp]") {
  for (const std::string& kind : kinds()) {
    CAPTURE(kind);
    const Material made = material(kind, 6.0, 1);
    const LoopSearch search = found(made.pcm);
    CHECK(good(made, search));
    REQUIRE_FALSE(search.candidates.empty());
    const LoopCandidate& best = search.candidates.front();
    if (!made.loops || !made.period_s) continue;
    // The loop spans whole periods of the truth, as far as that has any to hold to.
    REQUIRE(best.period_s);
    CHECK(*best.period_s == Approx(*made.period_s).epsilon(0.01 + made.period_share));
  }
}
