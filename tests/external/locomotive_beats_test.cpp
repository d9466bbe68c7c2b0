// SPDX-License-Identifier: GPL-3.0-or-later
#include "locomotive_beats.h"

#include "support/catch.h"
#include "support/onset_score.h"
#include "support/recordings.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/dsp/beat_tracker.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <vector>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

constexpr const char* locomotive = "steamLocomotive.ogg";

audio::Pcm read_whole(const std::filesystem::path& path) {
  auto reader = audio::SoundFileReader::open(path);
  REQUIRE(reader);
  auto pcm = reader->read({FrameIndex(0), FrameIndex(reader->info().frames.value())});
  REQUIRE(pcm);
  return *std::move(pcm);
}

dsp::BeatTrack track_of(const audio::Pcm& pcm, const dsp::BeatHints& hints) {
  JobControl job;
  auto track = dsp::track_beats(pcm.channels.front(), pcm.sample_rate_hz, hints, job);
  REQUIRE(track);
  return *std::move(track);
}

std::vector<double> sure_times(const dsp::BeatTrack& track) {
  std::vector<double> times;
  for (const dsp::Beat& beat : track.beats)
    times.push_back(beat.time_s);
  return within(times, locomotive_sure_from_s, locomotive_sure_to_s);
}

}  // namespace

TEST_CASE("locomotive recording: its beats are found, in their octave throughout", "[external]") {
  const auto path = recording(locomotive);
  if (!path) return;
  const audio::Pcm pcm = read_whole(*path);
  const std::vector<double> references =
      within(locomotive_beats_s, locomotive_sure_from_s, locomotive_sure_to_s);
  const std::array<dsp::BeatHints, 3> hints = {dsp::BeatHints{},
                                               dsp::BeatHints{std::nullopt, 4, std::nullopt},
                                               dsp::BeatHints{1500.0, 4, 100.0}};
  for (const dsp::BeatHints& hint : hints) {
    const std::vector<double> found = sure_times(track_of(pcm, hint));
    // Tolerances as in mir_eval; the list itself is sure to 10 to 20 ms.
    const double f_50ms = score_onsets(references, found, 0.050).f_measure;
    const double f_25ms = score_onsets(references, found, 0.025).f_measure;
    INFO("F at 50 ms " << f_50ms << ", at 25 ms " << f_25ms);
    CHECK(f_50ms >= 0.98);
    CHECK(f_25ms >= 0.95);
    // In every three seconds as many beats as the list has, give or take one: no octave jump.
    for (double from_s = 0.2; from_s + 3.0 <= 45.3; from_s += 1.0) {
      const auto wanted = within(references, from_s, from_s + 3.0).size();
      const auto got = within(found, from_s, from_s + 3.0).size();
      INFO("from " << from_s << " s: " << got << " of " << wanted);
      CHECK((got + 1 >= wanted && got <= wanted + 1));
    }
  }
}

TEST_CASE("locomotive recording: its limp is heard as the list has it", "[external]") {
  const auto path = recording(locomotive);
  if (!path) return;
  const dsp::BeatTrack track =
      track_of(read_whole(*path), dsp::BeatHints{std::nullopt, 4, std::nullopt});
  // Mean of each place's interval to the next beat over the revolution's mean, in percent,
  // where beats are strong (from 10 s).
  const auto limp_of = [](const std::vector<double>& times, const std::vector<int>& places) {
    std::array<double, 4> sum{};
    std::array<double, 4> count{};
    for (std::size_t i = 2; i + 3 < times.size(); ++i) {
      if (times[i] < 10.0) continue;
      const double mean = (times[i + 2] - times[i - 2]) / 8.0 + (times[i + 3] - times[i - 1]) / 8.0;
      const auto place = static_cast<std::size_t>(places[i]);
      sum[place] += 100.0 * ((times[i + 1] - times[i]) / mean - 1.0);
      count[place] += 1.0;
    }
    for (std::size_t p = 0; p < 4; ++p)
      sum[p] /= count[p];
    return sum;
  };
  std::vector<double> times;
  std::vector<int> places;
  for (const dsp::Beat& beat : track.beats) {
    REQUIRE(beat.position.has_value());
    if (!places.empty()) REQUIRE(*beat.position == (places.back() + 1) % 4);
    times.push_back(beat.time_s);
    places.push_back(*beat.position);
  }
  const std::array<double, 4> found = limp_of(times, places);
  // The list's beats, counted so that its places are the track's.
  const auto near = std::min_element(times.begin(), times.end(), [](double a, double b) {
    return std::fabs(a - locomotive_beats_s[50]) < std::fabs(b - locomotive_beats_s[50]);
  });
  const int at_50 = places[static_cast<std::size_t>(near - times.begin())];
  std::vector<int> listed;
  for (std::size_t i = 0; i < locomotive_beats_s.size(); ++i)
    listed.push_back(static_cast<int>((static_cast<std::size_t>(at_50) + i + 200 - 50) % 4));
  const std::array<double, 4> wanted =
      limp_of({locomotive_beats_s.begin(), locomotive_beats_s.end()}, listed);
  for (std::size_t p = 0; p < 4; ++p) {
    INFO("place " << p);  // the list is sure to 10 ms, 4 % of an interval, beat by beat
    CHECK(found[p] == Approx(wanted[p]).margin(2.5));
  }
}

TEST_CASE("locomotive recording: each beat of the revolution stands within 1 % of an interval",
          "[external]") {
  const auto path = recording(locomotive);
  if (!path) return;
  const dsp::BeatTrack track =
      track_of(read_whole(*path), dsp::BeatHints{std::nullopt, 4, std::nullopt});
  // From 10 s on, where beats are strong: how far each beat found is off the list's, by its place.
  // Single marks of the list are sure to 10 ms; each place has some thirty.
  std::array<std::vector<double>, 4> off_ms;
  for (const dsp::Beat& beat : track.beats) {
    if (beat.time_s < 10.0) continue;
    REQUIRE(beat.position.has_value());
    const auto near = std::min_element(
        locomotive_beats_s.begin(), locomotive_beats_s.end(), [&](double a, double b) {
          return std::fabs(a - beat.time_s) < std::fabs(b - beat.time_s);
        });
    off_ms[static_cast<std::size_t>(*beat.position)].push_back(1000.0 * (beat.time_s - *near));
  }
  std::array<double, 4> place_ms{};
  double mean_ms = 0.0;
  for (std::size_t place = 0; place < 4; ++place) {
    std::vector<double>& values = off_ms[place];
    REQUIRE(values.size() > 25);
    std::sort(values.begin(), values.end());
    place_ms[place] = values[values.size() / 2];
    mean_ms += place_ms[place] / 4.0;
  }
  constexpr double mean_interval_ms = 245.0;
  for (std::size_t place = 0; place < 4; ++place) {
    INFO("place " << place << ": " << place_ms[place] - mean_ms << " ms");
    CHECK(std::fabs(place_ms[place] - mean_ms) <= 0.01 * mean_interval_ms);
  }
}

TEST_CASE("locomotive recording: its rhythm is the list's", "[external]") {
  const auto path = recording(locomotive);
  if (!path) return;
  const dsp::BeatTrack track =
      track_of(read_whole(*path), dsp::BeatHints{std::nullopt, 4, std::nullopt});
  // Each place's interval to the next beat, off the mean of the revolution around it, in percent of
  // the mean: medians, from 10 s on.
  std::array<std::vector<double>, 4> strays;
  for (std::size_t i = 2; i + 3 < track.beats.size(); ++i) {
    const auto at_s = [&](std::size_t k) { return track.beats[k].time_s; };
    if (at_s(i) < 10.0) continue;
    const double mean_s = (at_s(i + 2) - at_s(i - 2)) / 8.0 + (at_s(i + 3) - at_s(i - 1)) / 8.0;
    REQUIRE(track.beats[i].position.has_value());
    strays[static_cast<std::size_t>(*track.beats[i].position)].push_back(
        100.0 * ((at_s(i + 1) - at_s(i)) / mean_s - 1.0));
  }
  std::array<double, 4> found{};
  for (std::size_t place = 0; place < 4; ++place) {
    std::vector<double>& values = strays[place];
    REQUIRE(values.size() > 20);
    std::sort(values.begin(), values.end());
    found[place] = values[values.size() / 2];
  }
  // The same of the list made by hand; the wheel's zero is anyone's.
  constexpr std::array<double, 4> rhythm = {-1.2, -4.2, 3.0, 2.4};
  double nearest = 1e9;
  for (std::size_t turn = 0; turn < 4; ++turn) {
    double worst = 0.0;
    for (std::size_t place = 0; place < 4; ++place)
      worst = std::max(worst, std::fabs(found[place] - rhythm[(place + turn) % 4]));
    nearest = std::min(nearest, worst);
  }
  INFO("found " << found[0] << ", " << found[1] << ", " << found[2] << ", " << found[3] << " %");
  // An interval carries the marks' errors of two places: twice the 1 % of one.
  CHECK(nearest <= 2.0);
}
