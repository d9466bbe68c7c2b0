// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/drive/compiled_set.h"

#include "support/catch.h"
#include "twin_set.h"

#include <limits>
#include <numbers>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

ErrorCode code_of(const TwinSet& twin) {
  const auto set = drive::compile(twin.project, twin.profile, twin.sounds);
  REQUIRE_FALSE(set.has_value());
  return set.error().code;
}

/// Silence up to `start`, then a 200 Hz sine at another rate, looped over whole periods.
audio::Clip looped_at(int rate_hz, std::int64_t start, std::int64_t end) {
  audio::Clip clip;
  clip.sample_rate_hz = rate_hz;
  clip.samples.reserve(static_cast<std::size_t>(end));
  for (std::int64_t i = 0; i < end; ++i) {
    const double turns = twin_sine_hz * static_cast<double>(i) / rate_hz;
    clip.samples.push_back(
        i < start ? 0.0F
                  : static_cast<float>(twin_amplitude * std::sin(2.0 * std::numbers::pi * turns)));
  }
  clip.loop = frame_range(start, end);
  return clip;
}

}  // namespace

TEST_CASE("compile: a bad engine, profile or clip is refused", "[drive]") {
  TwinSet twin;
  twin.add_row(0, 50, model::Effort::easy, 1, {0.5F});
  REQUIRE(drive::compile(twin.project, twin.profile, twin.sounds).has_value());
  const auto with = [&](auto&& spoil) {
    TwinSet made = twin;
    spoil(made);
    return code_of(made);
  };
  using Set = TwinSet;
  CHECK(with([](Set& s) { s.profile.output_rate_hz = 0; }) == ErrorCode::bad_argument);
  CHECK(with([](Set& s) { s.profile.voices = 0; }) == ErrorCode::bad_argument);
  CHECK(with([](Set& s) { s.profile.voices = 257; }) == ErrorCode::bad_argument);
  CHECK(with([](Set& s) { s.project.engine.driver_diameter_mm = 0; }) == ErrorCode::bad_argument);
  CHECK(with([](Set& s) { s.project.engine.beats_per_rev = 0; }) == ErrorCode::bad_argument);
  CHECK(with([](Set& s) {
          s.project.engine.top_speed_kmh = std::numeric_limits<double>::quiet_NaN();
        }) == ErrorCode::bad_argument);
  CHECK(with([](Set& s) {
          s.project.engine.beat_angles_deg = {0, 90};
        }) == ErrorCode::bad_argument);
  CHECK(with([](Set& s) {
          s.project.engine.beat_angles_deg = {0, 90, 90, 180};
        }) == ErrorCode::bad_argument);
  CHECK(with([](Set& s) {
          s.project.engine.beat_angles_deg = {0, 90, 180, 360};
        }) == ErrorCode::bad_argument);
  CHECK(with([](Set& s) { s.sounds[0].clip.sample_rate_hz = 0; }) == ErrorCode::bad_argument);
  CHECK(with([](Set& s) { s.sounds[0].playback_gain_db = 200; }) == ErrorCode::bad_argument);
  CHECK(with([](Set& s) { s.sounds[0].clip.loop = frame_range(0, 2); }) == ErrorCode::bad_argument);
  CHECK(with([](Set& s) {
          s.sounds[0].clip.samples = {std::numeric_limits<float>::quiet_NaN()};
        }) == ErrorCode::not_finite);
}

TEST_CASE("compile: an empty project gives a silent set", "[drive]") {
  const TwinSet twin;
  model::RunCard card;
  card.seconds = 0.5;
  card.moves = {key(0.1, 0, true)};
  const auto output = drive_well(twin.compile(), card);
  CHECK(output.mix.size() == twin_rate_hz / 2);
  CHECK(output.largest_sample == 0.0);
}

TEST_CASE("compile: clips are brought to the output rate", "[drive]") {
  TwinSet twin;
  audio::Clip clip = looped_at(22050, 0, 11025);
  clip.loop.reset();
  twin.add_key(1, twin.add_shot(clip));
  model::RunCard card;
  card.seconds = 1.0;
  card.moves = {key(0.0, 1, true)};
  const auto output = drive_well(twin.compile(), card);
  REQUIRE(output.events.size() > 2);
  for (std::size_t i = 2000; i < 20000; ++i) {
    const double expected = twin_amplitude * std::sin(2.0 * std::numbers::pi * 200.0 *
                                                      static_cast<double>(i) / 44100.0);
    REQUIRE(output.mix[i] == Approx(expected).margin(1e-4));
  }
  CHECK(output.sounding_s.begin()->second == Approx(0.5));
}

TEST_CASE("compile: a loop stays whole and seamless at another rate", "[drive]") {
  TwinSet twin;
  // At 11025 Hz 441 frames are 8 periods, at 16000 Hz 80 are one (220.5 frames of the output: bent
  // to 221, by 0.2 %), at 22050 Hz 441 are 4.
  const std::vector<std::pair<int, std::int64_t>> loops = {{11025, 441}, {16000, 80}, {22050, 441}};
  int number = 0;
  for (const auto& [rate_hz, length] : loops) {
    twin.add_key(number++,
                 twin.add_held({}, twin.add_segment(looped_at(rate_hz, 160, 160 + length)), {}));
  }
  for (int pressed = 0; pressed < number; ++pressed) {
    model::RunCard card;
    card.seconds = 3.0;
    card.moves = {key(0.0, pressed, true)};
    const auto output = drive_well(twin.compile(), card);
    // Past the first samples, where the sine starts at once, it runs on without a bend.
    const std::vector<float> later(output.mix.begin() + 4000, output.mix.end());
    CHECK(largest_bend(later) < 1.05 * steady_bend());
    float peak = 0.0F;
    for (const float sample : later)
      peak = std::max(peak, std::abs(sample));
    CHECK(peak == Approx(twin_amplitude).epsilon(0.02));
  }
}
