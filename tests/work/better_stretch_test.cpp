// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/catch.h"
#include "support/figures.h"
#include "support/temp_folder.h"
#include "work/one_take_project.h"

#include "fourbeat/base/random.h"
#include "fourbeat/model/edit.h"
#include "fourbeat/work/segments.h"

#include <cmath>
#include <functional>

using namespace fourbeat;
using fourbeat::tests::TempFolder;

namespace {

constexpr double rate_hz = 8000.0;

/// A take of 20 s of noise with a gain in dB over time; a one-pole low-pass (1: none) by time.
/// It enters its pass a second late.
model::Project take_of(const TempFolder& folder, const std::function<double(double)>& gain_db,
                       const std::function<double(double)>& share) {
  Random random(11);
  audio::Pcm pcm{rate_hz, {std::vector<float>(160'000)}};
  double y = 0.0;
  for (std::size_t i = 0; i < pcm.channels[0].size(); ++i) {
    const double t = static_cast<double>(i) / rate_hz;
    y += share(t) * (0.05 * random.normal() - y);
    pcm.channels[0][i] = static_cast<float>(y * std::pow(10.0, gain_db(t) / 20.0));
  }
  return tests::one_take_project(folder.path(), pcm, audio::WavDepth::f32, 8000);
}

/// Loops of the take's stretch from 3 s to 5 s, a second long or longer.
dsp::LoopSearch loops_of(const TempFolder& folder, model::Project& project) {
  const auto segment =
      work::cut_segment(project, Id<model::Take>(1), 1, frame_range(24'000, 40'000), "hiss");
  REQUIRE(segment);
  REQUIRE(model::apply(project, model::Add<model::Segment>{*segment, std::nullopt}));
  JobControl job;
  Result<dsp::LoopSearch> search = work::find_segment_loops(
      project, folder.path(), project.segments[0].id, {1.0, 8.0, 3, 1}, job);
  REQUIRE(search);
  return *search;
}

/// 20 dB down within the segment, even elsewhere.
double falling(double t) {
  return t >= 3.0 && t < 5.0 ? -10.0 * (t - 4.0) : 0.0;
}

}  // namespace

TEST_CASE("segments: where no loop is clean, the reason says where the take is steadier",
          "[work]") {
  const TempFolder folder;
  model::Project project = take_of(folder, falling, [](double) { return 0.5; });
  const dsp::LoopSearch search = loops_of(folder, project);
  REQUIRE_FALSE(search.reason.empty());
  CHECK(search.reason.find("falls by") != std::string::npos);
  const std::size_t at = search.reason.find("alike from ");
  REQUIRE(at != std::string::npos);
  const double from_s = tests::figure_at(search.reason, at + 11);
  const std::size_t to = search.reason.find(" s to ", at);
  REQUIRE(to != std::string::npos);
  const double to_s = tests::figure_at(search.reason, to + 6);
  CHECK(from_s > 4.0);
  CHECK(from_s < 7.0);
  CHECK(to_s == Approx(20.0).margin(0.2));
}

TEST_CASE("segments: another sound is no steadier stretch of the same", "[work]") {
  const TempFolder folder;
  // Around the segment the take is dull, and much softer.
  model::Project project = take_of(
      folder, [](double t) { return t >= 3.0 && t < 5.0 ? falling(t) : -20.0; },
      [](double t) { return t >= 3.0 && t < 5.0 ? 0.9 : 0.1; });
  const dsp::LoopSearch search = loops_of(folder, project);
  REQUIRE_FALSE(search.reason.empty());
  CHECK(search.reason.find("alike from ") == std::string::npos);
}
