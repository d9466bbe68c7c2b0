// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/beat_tracker.h"

#include "support/catch.h"
#include "support/onset_score.h"
#include "support/synthetic_steam.h"

#include "fourbeat/base/wheel.h"

#include <array>
#include <limits>
#include <numbers>
#include <string_view>

using namespace fourbeat;
using namespace fourbeat::dsp;
using namespace fourbeat::tests;

namespace {

BeatTrack track_of(const std::vector<float>& samples, double sample_rate_hz,
                   const BeatHints& hints = {}) {
  JobControl job;
  const Result<BeatTrack> result = track_beats(samples, sample_rate_hz, hints, job);
  REQUIRE(result);
  std::int64_t before = -1;
  for (const Beat& beat : result->beats) {
    REQUIRE(beat.frame.value() > before);
    REQUIRE(beat.frame.value() < static_cast<std::int64_t>(samples.size()));
    REQUIRE(beat.time_s ==
            Approx(static_cast<double>(beat.frame.value()) / sample_rate_hz).margin(1e-9));
    REQUIRE((beat.strength >= 0.0 && beat.strength <= 1.0));
    REQUIRE((beat.confidence >= 0.0 && beat.confidence <= 1.0));
    before = beat.frame.value();
  }
  return *result;
}

std::vector<double> times_of(const BeatTrack& track) {
  std::vector<double> times;
  for (const Beat& beat : track.beats)
    times.push_back(beat.time_s);
  return times;
}

double f_measure(const SteamParams& params, double window_s, const BeatHints& hints = {}) {
  const Steam steam = synthetic_steam(params);
  const std::vector<double> found = times_of(track_of(steam.samples, steam.sample_rate_hz, hints));
  return score_onsets(steam.beats_s, found, window_s).f_measure;
}

SteamParams steady(double rate_hz, std::uint64_t seed) {
  SteamParams params;
  params.sample_rate_hz = 24000.0;
  params.seconds = 12.0;
  params.seed = seed;
  params.rate_hz = [rate_hz](double) { return rate_hz; };
  return params;
}

}  // namespace

TEST_CASE("beat tracker: steady beats, from a crawl to a run, to 10 ms", "[dsp]") {
  for (const double rate_hz : {0.45, 1.0, 2.5, 4.0, 8.0, 14.0, 20.0}) {
    SteamParams params = steady(rate_hz, 11);
    if (rate_hz < 1.0) params.seconds = 30.0;
    if (rate_hz > 10.0) params.decay_s = 0.03;
    INFO("beats a second: " << rate_hz);
    CHECK(f_measure(params, 0.010) >= 0.98);
  }
}

TEST_CASE("beat tracker: other rates hear the same beats", "[dsp]") {
  for (const double rate : {8000.0, 22050.0, 44100.0, 96000.0, 192000.0}) {
    SteamParams params = steady(3.3, 5);
    params.sample_rate_hz = rate;
    params.seconds = 8.0;
    INFO("sample rate " << rate);
    CHECK(f_measure(params, 0.010) >= 0.98);
  }
}

TEST_CASE("beat tracker: a train that starts is followed from its first beats", "[dsp]") {
  SteamParams params = steady(0.0, 3);
  params.seconds = 30.0;
  params.rate_hz = [](double time_s) {
    return time_s < 1.5 ? 0.0 : std::min(9.0, std::max(0.4, 0.35 * (time_s - 1.5)));
  };
  params.room = 0.4;
  CHECK(f_measure(params, 0.025) >= 0.98);
}

TEST_CASE("beat tracker: uneven engines of four and six beats keep their limp", "[dsp]") {
  SteamParams four = steady(4.0, 7);
  four.angles_deg = {0.0, 86.0, 181.0, 274.0};
  four.levels_db = {0.0, -2.0, -1.0, -3.0};
  CHECK(f_measure(four, 0.010) >= 0.98);
  SteamParams six = steady(7.0, 8);
  six.beats_per_rev = 6;
  six.angles_deg = {0.0, 57.0, 122.0, 180.0, 237.0, 303.0};
  six.levels_db = {0.0, -1.0, -3.0, 0.0, -2.0, -1.0};
  CHECK(f_measure(six, 0.010) >= 0.98);
}

TEST_CASE("beat tracker: every other beat much weaker is no lower octave", "[dsp]") {
  SteamParams params = steady(4.5, 35);
  params.levels_db = {0.0, -8.0, 0.0, -8.0};
  params.angles_deg = {0.0, 93.0, 179.0, 272.0};
  params.depth_db = 24.0;
  params.decay_s = 0.15;
  CHECK(f_measure(params, 0.025) >= 0.98);
}

TEST_CASE("beat tracker: a beat that cannot be heard is filled in, with little confidence",
          "[dsp]") {
  SteamParams params = steady(4.0, 36);
  Steam steam = synthetic_steam(params);
  const double lost_s = steam.beats_s[20];
  const auto rate = steam.sample_rate_hz;
  // The 0.24 s from just before the beat are replaced by the background just before that.
  const auto from = static_cast<std::size_t>((lost_s - 0.02) * rate);
  const auto count = static_cast<std::size_t>(0.24 * rate);
  const auto quiet = static_cast<std::size_t>(0.03 * rate);
  for (std::size_t i = 0; i < count; ++i)
    steam.samples[from + i] = steam.samples[from - 1 - i % quiet];
  const BeatTrack track = track_of(steam.samples, rate);
  REQUIRE(track.stretches.size() == 1);
  CHECK(score_onsets(steam.beats_s, times_of(track), 0.025).f_measure >= 0.98);
  const auto filled =
      std::min_element(track.beats.begin(), track.beats.end(), [&](const Beat& a, const Beat& b) {
        return std::fabs(a.time_s - lost_s) < std::fabs(b.time_s - lost_s);
      });
  CHECK(filled->time_s == Approx(lost_s).margin(0.03));
  CHECK(filled->confidence < 0.3);
  CHECK(track.beats.front().confidence > 0.9);
}

TEST_CASE("beat tracker: hum and wind in the low bands do not drown beats in the high ones",
          "[dsp]") {
  SteamParams params = steady(3.7, 37);
  params.hum_db = -10.0;
  params.wind_db = -10.0;
  params.colour_hz = 4000.0;
  CHECK(f_measure(params, 0.050) >= 0.97);
}

TEST_CASE("beat tracker: places in the revolution repeat, and carry on after a stop", "[dsp]") {
  SteamParams params = steady(4.0, 9);
  params.seconds = 40.0;
  params.angles_deg = {0.0, 85.0, 183.0, 273.0};
  params.levels_db = {0.0, -3.0, -1.0, -4.0};
  params.rate_hz = [](double time_s) { return time_s < 15.0 ? 4.0 : (time_s < 22.0 ? 0.0 : 5.0); };
  const Steam steam = synthetic_steam(params);
  BeatHints hints;
  hints.beats_per_rev = 4;
  const BeatTrack track = track_of(steam.samples, steam.sample_rate_hz, hints);
  REQUIRE(track.stretches.size() == 2);
  std::size_t right = 0;
  for (const Beat& beat : track.beats) {
    REQUIRE(beat.position.has_value());
    const auto near =
        std::min_element(steam.beats_s.begin(), steam.beats_s.end(), [&](double a, double b) {
          return std::fabs(a - beat.time_s) < std::fabs(b - beat.time_s);
        });
    // Place 0 is the loudest, as the engine's own is here.
    if (steam.positions[static_cast<std::size_t>(near - steam.beats_s.begin())] == *beat.position)
      ++right;
  }
  CHECK(static_cast<double>(right) >= 0.98 * static_cast<double>(track.beats.size()));
  for (const Beat& beat : track_of(steam.samples, steam.sample_rate_hz).beats)
    REQUIRE_FALSE(beat.position.has_value());
}

TEST_CASE("beat tracker: timbre alone tells the places of the revolution", "[dsp]") {
  SteamParams params = steady(4.0, 19);
  params.seconds = 20.0;
  params.colours_hz = {900.0, 2400.0, 1500.0, 3200.0};
  params.levels_db = {1.5, -1.0, 0.3, -1.5};  // as loud over the bands as each other
  const Steam steam = synthetic_steam(params);
  BeatHints hints;
  hints.beats_per_rev = 4;
  const BeatTrack track = track_of(steam.samples, steam.sample_rate_hz, hints);
  REQUIRE(track.beats.size() > 60);
  std::array<std::array<int, 4>, 4> heard{};  // [true place][told place]
  for (const Beat& beat : track.beats) {
    REQUIRE(beat.position.has_value());
    const auto near =
        std::lower_bound(steam.beats_s.begin(), steam.beats_s.end(), beat.time_s - 0.05) -
        steam.beats_s.begin();
    ++heard[static_cast<std::size_t>(steam.positions[static_cast<std::size_t>(near)])]
           [static_cast<std::size_t>(*beat.position)];
  }
  for (const auto& row : heard) {
    const int all = row[0] + row[1] + row[2] + row[3];
    CHECK(*std::max_element(row.begin(), row.end()) >= all - 1);
  }
  // Brighter steam, brighter beat.
  double dull_db = 0.0;
  double bright_db = 0.0;
  for (const Beat& beat : track.beats) {
    const auto near =
        std::lower_bound(steam.beats_s.begin(), steam.beats_s.end(), beat.time_s - 0.05) -
        steam.beats_s.begin();
    const int place = steam.positions[static_cast<std::size_t>(near)];
    if (place == 0) dull_db = beat.tilt_db.value();
    if (place == 3) bright_db = beat.tilt_db.value();
  }
  CHECK(bright_db > dull_db + 3.0);
}

TEST_CASE("beat tracker: an engine that runs even has no places to tell", "[dsp]") {
  SteamParams params = steady(4.0, 31);
  params.level_jitter_db = 1.0;
  params.jitter_deg = 1.0;
  const Steam steam = synthetic_steam(params);
  BeatHints hints;
  hints.beats_per_rev = 4;
  const BeatTrack track = track_of(steam.samples, steam.sample_rate_hz, hints);
  REQUIRE(track.beats.size() > 40);
  for (const Beat& beat : track.beats)
    REQUIRE_FALSE(beat.position.has_value());
}

TEST_CASE("beat tracker: a stop parts two stretches and has no beats", "[dsp]") {
  SteamParams params = steady(4.0, 12);
  params.seconds = 30.0;
  params.rate_hz = [](double time_s) { return time_s < 10.0 ? 4.0 : (time_s < 18.0 ? 0.0 : 2.5); };
  const Steam steam = synthetic_steam(params);
  const BeatTrack track = track_of(steam.samples, steam.sample_rate_hz);
  REQUIRE(track.stretches.size() == 2);
  CHECK(track.stretches[0].median_interval_s == Approx(0.25).margin(0.003));
  CHECK(track.stretches[1].median_interval_s == Approx(0.4).margin(0.004));
  CHECK(track.stretches[0].range.start == track.beats.front().frame);
  CHECK(track.stretches[1].range.end == track.beats.back().frame + FrameCount(1));
  CHECK(within(times_of(track), 10.2, 17.9).empty());
  CHECK(score_onsets(steam.beats_s, times_of(track), 0.025).f_measure >= 0.98);
}

TEST_CASE("beat tracker: wheels that slip are followed, and the few beats after it", "[dsp]") {
  // Within 0.3 s four times as fast, for a second; the take ends six beats after.
  for (const std::uint64_t seed : {21U, 22U, 23U}) {
    SteamParams params = steady(2.0, seed);
    params.rate_hz = [](double time_s) {
      const double part = std::min((time_s - 7.0) / 0.3, (8.6 - time_s) / 0.3);
      return 2.0 * (1.0 + 3.0 * std::clamp(part, 0.0, 1.0));
    };
    INFO("seed " << seed);
    CHECK(f_measure(params, 0.025) >= 0.97);
  }
}

TEST_CASE("beat tracker: says nothing where nothing beats", "[dsp]") {
  for (const Unbeaten kind :
       {Unbeaten::hiss, Unbeaten::hum, Unbeaten::wind, Unbeaten::speech, Unbeaten::clicks}) {
    for (const std::uint64_t seed : {1U, 2U, 3U}) {
      const std::vector<float> samples = unbeaten_sound(kind, 15.0, 24000.0, seed);
      INFO("kind " << static_cast<int>(kind) << " seed " << seed);
      CHECK(track_of(samples, 24000.0).beats.empty());
    }
  }
}

TEST_CASE("beat tracker: nothing, one frame, silence, DC and a sine have no beats", "[dsp]") {
  CHECK(track_of({}, 48000.0).beats.empty());
  CHECK(track_of({1.0F}, 48000.0).beats.empty());
  CHECK(track_of(std::vector<float>(96000, 0.0F), 48000.0).beats.empty());
  CHECK(track_of(std::vector<float>(96000, 1.0F), 48000.0).beats.empty());
  std::vector<float> sine(480000);
  for (std::size_t i = 0; i < sine.size(); ++i)
    sine[i] = static_cast<float>(
        std::sin(2.0 * std::numbers::pi * 440.0 * static_cast<double>(i) / 48000.0));
  CHECK(track_of(sine, 48000.0).beats.empty());
}

TEST_CASE("beat tracker: full scale, clipped, still beats", "[dsp]") {
  SteamParams params = steady(4.0, 14);
  params.peak_db = 6.0;
  Steam steam = synthetic_steam(params);
  for (float& value : steam.samples)
    value = std::clamp(value, -1.0F, 1.0F);
  const std::vector<double> found = times_of(track_of(steam.samples, steam.sample_rate_hz));
  CHECK(score_onsets(steam.beats_s, found, 0.025).f_measure >= 0.98);
}

TEST_CASE("beat tracker: wrong arguments are refused by name", "[dsp]") {
  JobControl job;
  const std::vector<float> samples(48000, 0.1F);
  const auto code_of = [&](double rate, const BeatHints& hints) {
    const Result<BeatTrack> result = track_beats(samples, rate, hints, job);
    REQUIRE_FALSE(result);
    return result.error();
  };
  CHECK(code_of(4000.0, {}).code == ErrorCode::bad_argument);
  BeatHints hints;
  hints.driver_diameter_mm = 20.0;
  CHECK(code_of(48000.0, hints).place == "driver diameter");
  hints = {};
  hints.driver_diameter_mm = std::nan("");
  CHECK(code_of(48000.0, hints).code == ErrorCode::bad_argument);
  hints = {};
  hints.beats_per_rev = 0;
  CHECK(code_of(48000.0, hints).place == "beats per revolution");
  hints = {};
  hints.top_speed_kmh = -5.0;
  CHECK(code_of(48000.0, hints).place == "top speed");
}

TEST_CASE("beat tracker: what is not finite is refused with its frame", "[dsp]") {
  std::vector<float> samples(48000, 0.1F);
  samples[123] = std::numeric_limits<float>::quiet_NaN();
  JobControl job;
  const Result<BeatTrack> result = track_beats(samples, 48000.0, {}, job);
  REQUIRE_FALSE(result);
  CHECK(result.error().code == ErrorCode::not_finite);
  CHECK(result.error().place == "frame 123");
}

TEST_CASE("beat tracker: the same input twice gives the same beats", "[dsp]") {
  SteamParams params = steady(5.0, 21);
  params.room = 0.8;
  const Steam steam = synthetic_steam(params);
  const BeatTrack once = track_of(steam.samples, steam.sample_rate_hz);
  const BeatTrack again = track_of(steam.samples, steam.sample_rate_hz);
  REQUIRE(once.beats.size() > 40);
  REQUIRE(once.beats.size() == again.beats.size());
  for (std::size_t i = 0; i < once.beats.size(); ++i) {
    CHECK(once.beats[i].frame == again.beats[i].frame);
    CHECK(once.beats[i].strength == again.beats[i].strength);
    CHECK(once.beats[i].confidence == again.beats[i].confidence);
  }
}

TEST_CASE("beat tracker: speed is the wheel's law over one revolution, smooth over a limp",
          "[dsp]") {
  SteamParams params = steady(4.0, 22);
  params.angles_deg = {0.0, 84.0, 183.0, 272.0};
  const Steam steam = synthetic_steam(params);
  BeatHints hints;
  hints.driver_diameter_mm = 1500.0;
  hints.beats_per_rev = 4;
  const BeatTrack track = track_of(steam.samples, steam.sample_rate_hz, hints);
  REQUIRE(track.beats.size() > 40);
  const double truth_kmh = beat_speed_kmh(0.25, 1500.0, 4.0);
  for (const Beat& beat : track.beats) {
    REQUIRE(beat.speed_kmh.has_value());
    CHECK(*beat.speed_kmh == Approx(truth_kmh).epsilon(0.02));
  }
  for (const Beat& beat : track_of(steam.samples, steam.sample_rate_hz).beats)
    REQUIRE_FALSE(beat.speed_kmh.has_value());
  // Beats per revolution not given: four, as two simple cylinders make.
  hints.beats_per_rev.reset();
  for (const Beat& beat : track_of(steam.samples, steam.sample_rate_hz, hints).beats)
    CHECK(beat.speed_kmh.value_or(0.0) == Approx(truth_kmh).epsilon(0.02));
}

TEST_CASE("beat tracker: hints that are true leave the octave, a lower top speed lowers it",
          "[dsp]") {
  const SteamParams params = steady(8.0, 23);
  const Steam steam = synthetic_steam(params);
  BeatHints hints;
  hints.driver_diameter_mm = 1500.0;
  hints.beats_per_rev = 4;
  hints.top_speed_kmh = 60.0;  // 8 beats a second are 33.9 km/h
  const auto found = [&] { return track_of(steam.samples, steam.sample_rate_hz, hints).stretches; };
  REQUIRE(found().size() == 1);
  CHECK(found()[0].median_interval_s == Approx(0.125).margin(0.002));
  hints.top_speed_kmh = 20.0;
  for (const BeatStretch& stretch : found())
    CHECK(stretch.median_interval_s > 0.2);
}

TEST_CASE("beat tracker: a cancel at any moment is obeyed, and progress rises in each stage",
          "[dsp]") {
  class Watch : public JobControl {
   public:
    bool cancelled() const override { return calls_++ >= limit; }
    void progress(double fraction, std::string_view stage) override {
      if (stage == stage_) falls += fraction < fraction_ ? 1 : 0;
      stage_ = stage;
      fraction_ = fraction;
    }
    int limit = 1'000'000;
    int falls = 0;
    [[nodiscard]] int calls() const { return calls_; }

   private:
    mutable int calls_ = 0;
    std::string stage_;
    double fraction_ = 0.0;
  };
  const Steam steam = synthetic_steam(steady(4.0, 24));
  Watch whole;
  REQUIRE(track_beats(steam.samples, steam.sample_rate_hz, {}, whole));
  CHECK(whole.falls == 0);
  REQUIRE(whole.calls() > 5);
  for (int limit = 0; limit < whole.calls(); ++limit) {
    Watch watch;
    watch.limit = limit;
    const Result<BeatTrack> result = track_beats(steam.samples, steam.sample_rate_hz, {}, watch);
    REQUIRE_FALSE(result);
    CHECK(result.error().code == ErrorCode::cancelled);
  }
}
