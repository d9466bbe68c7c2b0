// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/catch.h"
#include "twin_set.h"

#include "fourbeat/base/random.h"
#include "fourbeat/drive/drive.h"
#include "fourbeat/dsp/loop_finder.h"

#include <algorithm>
#include <cmath>
#include <numbers>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

std::int64_t frames_of(double seconds) {
  return std::llround(seconds * twin_rate_hz);
}

/// A whistle of three notes with a little vibrato and steam, steady.
std::vector<float> whistle(double seconds, double hz) {
  Random random(17);
  std::vector<float> out(static_cast<std::size_t>(frames_of(seconds)));
  double phase = 0.0;
  double steam = 0.0;
  for (std::size_t i = 0; i < out.size(); ++i) {
    const double t = static_cast<double>(i) / twin_rate_hz;
    phase += hz * (1.0 + 0.002 * std::sin(2.0 * std::numbers::pi * 5.0 * t)) / twin_rate_hz;
    steam += 0.5 * (0.004 * random.normal() - steam);
    double x = steam;
    for (const double harmonic : {1.0, 2.0, 3.0})
      x += 0.2 / harmonic * std::sin(2.0 * std::numbers::pi * harmonic * phase);
    out[i] = static_cast<float>(x);
  }
  return out;
}

/// The whistle as a held sound: a begin that rises, a hold looped where the finder says, a release
/// that dies away.
TwinSet whistle_twin(double hz) {
  TwinSet twin;
  const std::vector<float> all = whistle(6.0, hz);
  const auto part = [&](double from_s, double to_s) {
    return std::vector<float>(all.begin() + frames_of(from_s), all.begin() + frames_of(to_s));
  };
  std::vector<float> begin = part(0.0, 0.5);
  for (std::size_t i = 0; i < begin.size(); ++i)
    begin[i] *= static_cast<float>(std::min(1.0, static_cast<double>(i) / 4410.0));
  audio::Pcm hold{twin_rate_hz, {part(0.5, 4.5)}};
  JobControl job;
  const Result<dsp::LoopSearch> search = dsp::find_loops(hold, {1.0, 3.0, 1, 1}, job);
  REQUIRE(search);
  REQUIRE_FALSE(search->candidates.empty());
  const dsp::LoopCandidate& best = search->candidates.front();
  CHECK(best.seam.state == dsp::SeamState::clean);
  REQUIRE(dsp::blend_loop(hold, best.loop));
  audio::Clip held = clip_of(hold.channels[0]);
  held.loop = best.loop.range;
  std::vector<float> release = part(4.5, 5.5);
  for (std::size_t i = 0; i < release.size(); ++i)
    release[i] *= static_cast<float>(std::exp(-static_cast<double>(i) / 8820.0));
  twin.add_key(1, twin.add_held(twin.add_segment(clip_of(begin)), twin.add_segment(held),
                                twin.add_segment(clip_of(release))));
  return twin;
}

double bend_at(const std::vector<float>& x, std::size_t i) {
  return std::abs(static_cast<double>(x[i + 1]) - 2.0 * x[i] + x[i - 1]);
}

double rms(const std::vector<float>& x, std::int64_t from, std::int64_t to) {
  double sum = 0.0;
  for (std::int64_t i = from; i < to; ++i)
    sum += static_cast<double>(x[static_cast<std::size_t>(i)]) * x[static_cast<std::size_t>(i)];
  return std::sqrt(sum / static_cast<double>(to - from));
}

}  // namespace

TEST_CASE("release: a whistle let go at any moment goes on without a click or a hole", "[drive]") {
  for (const double hz : {311.0, 523.0}) {
    const auto set = whistle_twin(hz).compile();
    Random random(4);
    for (int n = 0; n < 20; ++n) {
      const double let_go_s = random.uniform(0.8, 5.0);
      model::RunCard card;
      card.seconds = 6.0;
      card.moves = {key(0.0, 1, true), key(let_go_s, 1, false)};
      const drive::DriveOutput output = drive_well(set, card);
      const std::vector<float>& x = output.mix;
      // Inside: the steady sound before the release.
      const std::int64_t at = frames_of(let_go_s);
      std::vector<double> inside;
      for (std::int64_t i = frames_of(0.6); i < at - 100; ++i)
        inside.push_back(bend_at(x, static_cast<std::size_t>(i)));
      const auto nth = inside.begin() + static_cast<std::ptrdiff_t>(inside.size() * 999 / 1000);
      std::nth_element(inside.begin(), nth, inside.end());
      const double usual = *nth;
      const double largest = *std::max_element(inside.begin(), inside.end());
      CAPTURE(hz, let_go_s);
      // Where the crossfade begins and ends, and where the hold follows the begin.
      for (const std::int64_t join : {at, at + frames_of(0.010), frames_of(0.5)}) {
        for (std::int64_t i = join - 1; i <= join + 1; ++i)
          CHECK(bend_at(x, static_cast<std::size_t>(i)) <= usual);
      }
      for (std::int64_t i = at; i < at + frames_of(0.010); ++i)
        REQUIRE(bend_at(x, static_cast<std::size_t>(i)) <= 1.1 * largest);
      // No hole: the middle of the crossfade, where sides out of phase would cancel.
      const std::int64_t middle = at + frames_of(0.005);
      const double there = rms(x, middle - frames_of(0.0035), middle + frames_of(0.0035));
      CHECK(20.0 * std::log10(there / rms(x, at - frames_of(0.1), at)) > -2.0);
    }
  }
}
