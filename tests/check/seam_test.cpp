// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

TEST_CASE("seam: a clean one is no snag", "[check]") {
  CHECK(good_case().snags("seam").empty());
}

TEST_CASE("seam: a doubtful one is a hint, an unclean one a warning", "[check]") {
  Case bad = good_case();
  dsp::SeamReport& report = bad.facts.seams.begin()->second;
  report.state = dsp::SeamState::doubtful;
  report.rank = 97.26;
  report.measures = {{"sample_step", 0.1, 1.1}, {"rms_50ms", 2.0, 3.45}};
  auto snags = bad.snags("seam");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::hint);
  CHECK(snags[0].pointer == "/segments/1/loop");
  CHECK(snags[0].message.find("97.3") != std::string::npos);
  CHECK(snags[0].message.find("rms_50ms is 3.45 times") != std::string::npos);
  CHECK(snags[0].message.find("quarter") == std::string::npos);
  report.level_drift_db = -2.5;
  report.tone_drift_db = 1.26;
  report.octave_drift_db = -3.0;
  report.octave_hz = 1260.0;
  snags = bad.snags("seam");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].message.find("last quarter is 2.5 dB softer") != std::string::npos);
  CHECK(snags[0].message.find("last quarter is 1.3 dB brighter") != std::string::npos);
  CHECK(snags[0].message.find("octave about 1260 Hz falls by 3.0 dB") != std::string::npos);
  report.state = dsp::SeamState::unclean;
  report.whole_periods = false;
  snags = bad.snags("seam");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::warning);
  CHECK(snags[0].message.find("whole periods") != std::string::npos);
}

TEST_CASE("seam: that of a fused row is judged alike", "[check]") {
  Case bad = good_case();
  const Id<model::ChuffRow> row = bad.project.chuffs.rows[2].id;
  dsp::SeamReport& report = bad.facts.row_seams[row];
  report.state = dsp::SeamState::unclean;
  const auto snags = bad.snags("seam");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::warning);
  CHECK(snags[0].pointer == "/chuffs/rows/2/fused/loop");
  CHECK(snags[0].label == "chuff row hard, 0.0 to 60.0 km/h");
}
