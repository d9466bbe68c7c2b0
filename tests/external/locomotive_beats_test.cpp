// SPDX-License-Identifier: GPL-3.0-or-later
#include "locomotive_beats.h"

#include "support/catch.h"
#include "support/onset_score.h"
#include "support/recordings.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/dsp/beat_tracker.h"

#include <array>
#include <map>

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
