// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/chuff_quality.h"

#include "support/catch.h"
#include "work/steam_project.h"

#include <algorithm>
#include <numbers>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

/// The candidate whose first beat is the nth whole turn of the only take.
const work::RevolutionCandidate& candidate_at(const work::ChuffBuild& build, FrameIndex beat) {
  for (const work::RowCandidates& row : build.candidates) {
    for (const work::RevolutionCandidate& candidate : row.candidates) {
      if (candidate.first_beat == beat) return candidate;
    }
  }
  FAIL("no such candidate");
  return build.candidates.front().candidates.front();
}

/// A steady run, and the frames of the beats at place 0.
struct Steady {
  SteamProject made;
  std::vector<FrameIndex> turns;
  work::ChuffPlan plan;

  Steady() {
    made.add({.seconds = 16.0});
    for (const dsp::Beat& beat : made.takes[0].tracked.track.beats) {
      if (beat.position == 0) turns.push_back(beat.frame);
    }
    plan.candidates = 100;
    REQUIRE(turns.size() > 10);
  }
  std::vector<float>& samples() { return made.takes[0].steam.samples; }
  [[nodiscard]] work::ChuffBuild build() const {
    auto built = made.build(nullptr, plan);
    REQUIRE(built);
    return *built;
  }
  [[nodiscard]] bool chosen(const work::ChuffBuild& build, FrameIndex beat) const {
    const auto& revolutions = build.table.rows.at(0).revolutions;
    return std::any_of(revolutions.begin(), revolutions.end(), [&](const auto& revolution) {
      return revolution.chuffs[0].beat_frame == beat;
    });
  }
};

}  // namespace

TEST_CASE("chuff quality: clean turns have the figures they were made with", "[work]") {
  const Steady steady;
  const work::ChuffBuild build = steady.build();
  const work::RevolutionQuality& best = build.candidates.at(0).candidates.at(0).quality;
  CHECK(best.signal_db > 15.0);
  CHECK(best.end_db < -12.0);
  CHECK(best.accent_db < 0.8);
  CHECK(best.evenness_deg < 0.5);
  CHECK(best.flat_tops == 0);
  CHECK(best.marks.empty());
  CHECK(best.beat_confidence == 1.0);
  CHECK(best.total > 0.6);
  CHECK(best.total <= 1.0);
  const auto& list = build.candidates.at(0).candidates;
  CHECK(std::is_sorted(list.begin(), list.end(), [](const auto& a, const auto& b) {
    return a.quality.total > b.quality.total;
  }));
}

TEST_CASE("chuff quality: a mark over a turn puts it last and names the chuff", "[work]") {
  Steady steady;
  const FrameIndex best = steady.build().candidates.at(0).candidates.at(0).first_beat;
  const auto& beats = steady.made.takes[0].tracked.track.beats;
  const auto at = std::find_if(beats.begin(), beats.end(),
                               [&](const dsp::Beat& beat) { return beat.frame == best; });
  model::Mark mark;
  mark.take = steady.made.project.takes[0].id;
  mark.kind = model::MarkKind::pump;
  mark.range = {at[2].frame + FrameCount(10), at[2].frame + FrameCount(20)};
  steady.made.project.marks.push_back(mark);
  const work::ChuffBuild marked = steady.build();
  CHECK_FALSE(steady.chosen(marked, best));
  const work::RevolutionQuality& quality = candidate_at(marked, best).quality;
  CHECK(quality.reason == "pump mark over chuff 3");
  CHECK(quality.marks == std::vector<model::MarkKind>{model::MarkKind::pump});
  CHECK(quality.total < 0.11);

  // A mark that names no other sound changes nothing.
  steady.made.project.marks[0].kind = model::MarkKind::other;
  CHECK(steady.chosen(steady.build(), best));

  // What is unusable is not chosen, even when there is nothing else.
  steady.made.project.marks[0].kind = model::MarkKind::unusable;
  steady.made.project.marks[0].range = {FrameIndex(0), beats.back().frame};
  const auto nothing = steady.made.build();
  REQUIRE_FALSE(nothing);
  CHECK(nothing.error().code == ErrorCode::too_short);
}

TEST_CASE("chuff quality: a tone that nobody marked is found against the turns around", "[work]") {
  Steady steady;
  const FrameIndex best = steady.build().candidates.at(0).candidates.at(0).first_beat;
  // 1 kHz over the first chuff at the level of its peak, which is -18 dBFS.
  for (std::int64_t i = 0; i < 3000; ++i) {
    const double t = static_cast<double>(i) / SteamProject::rate_hz;
    steady.samples()[static_cast<std::size_t>(best.value() + i)] +=
        static_cast<float>(0.18 * std::sin(2.0 * std::numbers::pi * 1000.0 * t));
  }
  steady.made.rewrite(0);
  const work::ChuffBuild build = steady.build();
  const work::RevolutionQuality& quality = candidate_at(build, best).quality;
  CHECK(quality.oddity_db > 6.0);
  CHECK(quality.reason.find("chuff 1 is odd") == 0);
  CHECK(quality.reason.find("1000 Hz") != std::string::npos);
  CHECK_FALSE(steady.chosen(build, best));
}

TEST_CASE("chuff quality: flat tops are counted and told", "[work]") {
  Steady steady;
  const FrameIndex best = steady.build().candidates.at(0).candidates.at(0).first_beat;
  // A converter at its limit: 40 tops of four equal samples near full scale.
  for (std::int64_t top = 0; top < 40; ++top) {
    for (std::int64_t i = 0; i < 4; ++i)
      steady.samples()[static_cast<std::size_t>(best.value() + 40 * top + i)] = 0.999F;
  }
  steady.made.rewrite(0);
  const work::ChuffBuild build = steady.build();
  const work::RevolutionQuality& quality = candidate_at(build, best).quality;
  CHECK(quality.flat_tops == 40);
  CHECK(quality.reason == "40 flat tops");
  CHECK_FALSE(steady.chosen(build, best));
}

TEST_CASE("chuff quality: a limp of its own and a missing accent lower a turn", "[work]") {
  Steady steady;
  // The second beat of the sixth turn comes 12 degrees late, and its third is half as loud.
  auto& beats = steady.made.takes[0].tracked.track.beats;
  const auto at = std::find_if(beats.begin(), beats.end(), [&](const dsp::Beat& beat) {
    return beat.frame == steady.turns[5];
  });
  const double turn_s = at[4].time_s - at[0].time_s;
  at[1].time_s += turn_s * 12.0 / 360.0;
  at[1].frame = FrameIndex(std::llround(at[1].time_s * SteamProject::rate_hz));
  for (std::int64_t i = at[2].frame.value() - 40; i < at[3].frame.value() - 40; ++i)
    steady.samples()[static_cast<std::size_t>(i)] *= 0.3F;
  steady.made.rewrite(0);
  const work::ChuffBuild build = steady.build();
  const work::RevolutionQuality& quality = candidate_at(build, steady.turns[5]).quality;
  CHECK(quality.evenness_deg == Approx(6.0).margin(0.5));  // one of four: 12 / sqrt(4)
  // 10.5 dB less in one of four, its mean taken out: 10.5 × sqrt(3) / 4.
  CHECK(quality.accent_db == Approx(4.5).margin(1.0));
  CHECK_FALSE(quality.reason.empty());
  CHECK_FALSE(steady.chosen(build, steady.turns[5]));
}
