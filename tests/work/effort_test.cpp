// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/effort.h"

#include "support/catch.h"

#include "fourbeat/base/random.h"

#include <algorithm>

using namespace fourbeat;
using namespace fourbeat::work;
using model::Effort;

namespace {

std::vector<EffortSign> accelerating(double m_s2, double sd_m_s2, std::size_t count) {
  std::vector<EffortSign> beats(count);
  for (std::size_t i = 0; i < count; ++i) {
    beats[i].frame = FrameIndex(static_cast<std::int64_t>(1000 * i));
    beats[i].acceleration_m_s2 = m_s2;
    beats[i].acceleration_sd_m_s2 = sd_m_s2;
  }
  return beats;
}

/// Beats in heaps about loudness and length, each of a standard deviation.
std::vector<EffortSign> heaps(const std::vector<std::pair<double, double>>& centres, double sd_db,
                              double sd_share, std::size_t each) {
  Random random(5);
  std::vector<EffortSign> beats;
  for (const auto& [loudness_db, share] : centres) {
    for (std::size_t i = 0; i < each; ++i) {
      EffortSign sign;
      sign.frame = FrameIndex(static_cast<std::int64_t>(1000 * beats.size()));
      sign.sound = dsp::BeatSound{loudness_db + sd_db * random.normal(),
                                  std::clamp(share + sd_share * random.normal(), 0.0, 1.0)};
      beats.push_back(sign);
    }
  }
  return beats;
}

std::size_t count_of(const std::vector<Effort>& efforts, Effort effort) {
  return static_cast<std::size_t>(std::count(efforts.begin(), efforts.end(), effort));
}

}  // namespace

TEST_CASE("effort: acceleration alone parts the three where nothing else is calibrated", "[work]") {
  const model::EffortCalibration usual;
  const auto judged = [&](double m_s2, double sd_m_s2) {
    const std::vector<Effort> efforts =
        judge_efforts(accelerating(m_s2, sd_m_s2, 12), 4, usual, {});
    REQUIRE(efforts.size() == 12);
    CHECK(count_of(efforts, efforts.front()) == 12);
    return efforts.front();
  };
  CHECK(judged(0.05, 0.0) == Effort::hard);
  CHECK(judged(0.03, 0.0) == Effort::hard);
  CHECK(judged(0.02, 0.01) == Effort::easy);
  CHECK(judged(-0.02, 0.01) == Effort::easy);
  CHECK(judged(-0.04, 0.0) == Effort::drifting);
  CHECK(judge_efforts(std::vector<EffortSign>(3), 4, usual, {}) ==
        std::vector<Effort>(3, Effort::easy));
}

TEST_CASE("effort: loudness and length speak once they are calibrated, an unsure acceleration less",
          "[work]") {
  model::EffortCalibration measured;
  measured.drifting_below_db = 8.0;
  measured.hard_from_db = 16.0;
  std::vector<EffortSign> beats = accelerating(0.0, 0.6, 9);
  for (EffortSign& sign : beats)
    sign.sound = dsp::BeatSound{20.0, 0.5};
  // Steadily uphill: no acceleration that can be told, and loud.
  CHECK(judge_efforts(beats, 4, measured, {})[4] == Effort::hard);
  for (EffortSign& sign : beats)
    sign.sound = dsp::BeatSound{3.0, 0.5};
  CHECK(judge_efforts(beats, 4, measured, {})[4] == Effort::drifting);
  CHECK(judge_efforts(beats, 4, {}, {})[4] == Effort::easy);
  // Soft, and surely gaining speed (downhill, say): neither has it alone.
  for (EffortSign& sign : beats) {
    sign.acceleration_m_s2 = 0.1;
    sign.acceleration_sd_m_s2 = 0.0;
  }
  CHECK(judge_efforts(beats, 4, measured, {})[4] == Effort::easy);
  measured.drifting_below_share = 0.6;
  measured.hard_from_share = 0.8;
  CHECK(judge_efforts(beats, 4, measured, {})[4] == Effort::easy);
}

TEST_CASE("effort: what is set by hand wins, the last of several", "[work]") {
  const std::vector<EffortSign> beats = accelerating(0.2, 0.0, 10);
  model::Mark mark;
  mark.kind = model::MarkKind::effort;
  mark.range = frame_range(2000, 5000);
  mark.effort = Effort::drifting;
  model::Mark later = mark;
  later.range = frame_range(4000, 6001);
  later.effort = Effort::easy;
  model::Mark other = mark;
  other.kind = model::MarkKind::whistle;
  other.range = frame_range(0, 9000);
  const std::vector<Effort> efforts =
      judge_efforts(beats, 4, {}, std::vector<model::Mark>{mark, later, other});
  CHECK(efforts == std::vector<Effort>{Effort::hard, Effort::hard, Effort::drifting,
                                       Effort::drifting, Effort::easy, Effort::easy, Effort::easy,
                                       Effort::hard, Effort::hard, Effort::hard});
}

TEST_CASE("effort: three heaps of beats give their own figures, one heap gives none", "[work]") {
  const model::EffortCalibration three =
      measure_calibration(heaps({{5.0, 0.2}, {13.0, 0.45}, {21.0, 0.8}}, 1.0, 0.03, 120));
  REQUIRE(three.drifting_below_db);
  CHECK(*three.drifting_below_db == Approx(9.0).margin(0.6));
  CHECK(*three.hard_from_db == Approx(17.0).margin(0.6));
  REQUIRE(three.hard_from_share);
  CHECK(*three.drifting_below_share == Approx(0.325).margin(0.03));
  CHECK(*three.hard_from_share == Approx(0.625).margin(0.03));
  for (const double sd_db : {0.5, 3.0, 8.0}) {
    const model::EffortCalibration one = measure_calibration(heaps({{20.0, 0.5}}, sd_db, 0.1, 900));
    CHECK_FALSE(one.drifting_below_db);
    CHECK_FALSE(one.hard_from_share);
    CHECK(one == model::EffortCalibration{});
  }
  CHECK(measure_calibration({}) == model::EffortCalibration{});
  CHECK(measure_calibration(heaps({{5.0, 0.2}, {13.0, 0.4}, {21.0, 0.8}}, 0.5, 0.01, 12)) ==
        model::EffortCalibration{});
  // What is not measured is kept.
  model::EffortCalibration from;
  from.hard_from_m_s2 = 0.07;
  CHECK(measure_calibration({}, from) == from);
}
