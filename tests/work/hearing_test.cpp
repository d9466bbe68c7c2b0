// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/hearing.h"

#include "support/catch.h"
#include "support/temp_folder.h"
#include "work/one_take_project.h"

#include "fourbeat/base/random.h"
#include "fourbeat/store/data_files.h"
#include "fourbeat/work/segments.h"

#include <cmath>
#include <numbers>

using namespace fourbeat;
using fourbeat::tests::TempFolder;

namespace {

constexpr double rate_hz = 44100.0;

/// A second of a tone of 441 Hz under some noise, looped over 40 whole periods.
audio::Clip toned(double noise) {
  Random random(3);
  audio::Clip clip;
  clip.sample_rate_hz = rate_hz;
  for (int i = 0; i < 44100; ++i) {
    const double tone = 0.3 * std::sin(2.0 * std::numbers::pi * 441.0 * i / rate_hz);
    clip.samples.push_back(static_cast<float>(tone + random.uniform(-noise, noise)));
  }
  clip.loop = frame_range(10'000, 14'000);
  return clip;
}

work::HearingPlan plan_of(const std::string& decoder, fit::Encoding encoding) {
  work::HearingPlan plan;
  const auto profile = store::load_decoder_profile(decoder);
  REQUIRE(profile);
  plan.profile = *profile;
  plan.encoding = encoding;
  return plan;
}

model::Speaker small_speaker() {
  model::Speaker speaker;
  speaker.name = "Small";
  speaker.high_pass_hz = 600.0;
  return speaker;
}

/// The power of a stretch of samples.
double power(const std::vector<float>& samples) {
  double sum = 0.0;
  for (const float sample : samples)
    sum += static_cast<double>(sample) * static_cast<double>(sample);
  return sum / static_cast<double>(samples.size());
}

}  // namespace

TEST_CASE("hearing: every way goes through the seam, as long and as loud as the others", "[work]") {
  work::HearingPlan plan = plan_of("class-a", {11'025, 8});
  plan.speaker = small_speaker();
  const auto heard = work::hear(toned(0.05), "piece", plan, 2.0);
  REQUIRE(heard);
  CHECK(heard->wrap == FrameIndex(88'200));
  CHECK(heard->encoding == fit::Encoding{11'025, 8});
  CHECK(heard->speaker == "Small");
  REQUIRE(heard->matched_db);
  for (const work::Way way : {work::Way{false, false}, work::Way{true, false},
                              work::Way{false, true}, work::Way{true, true}}) {
    INFO(way.stored << way.speaker);
    REQUIRE(heard->has(way));
    const audio::Clip& clip = *heard->clip(way);
    CHECK(clip.samples.size() == 176'400);
    CHECK(clip.sample_rate_hz == rate_hz);
    const auto loudness = work::loudness_of(clip);
    REQUIRE(loudness);
    CHECK(loudness->db == Approx(*heard->matched_db).margin(0.1));
  }
  CHECK(heard->clip({true, false})->samples != heard->clip({false, false})->samples);
  CHECK(heard->clip({false, true})->samples != heard->clip({false, false})->samples);
}

TEST_CASE("hearing: as stored is the fit's own encoding, at the decoder's rate and depth",
          "[work]") {
  // At the source's own rate nothing is resampled: the loop's samples are those that are stored.
  audio::Clip clip = toned(0.0);
  clip.sample_rate_hz = 22'050.0;
  const work::HearingPlan plan = plan_of("class-a", {22'050, 8});
  const auto heard = work::hear(clip, "piece", plan, 1.0);
  const auto encoded = fit::encode(clip, plan.encoding, *plan.profile, fit::dither_seed("piece"));
  REQUIRE(heard);
  REQUIRE(encoded);
  const std::vector<float>& samples = heard->clip({true, false})->samples;
  const FrameRange loop = *encoded->clip.loop;
  const auto wrap = static_cast<std::size_t>(heard->wrap.value());
  const auto start = static_cast<std::size_t>(loop.start.value());
  const double gain = static_cast<double>(samples[wrap + 10]) /
                      static_cast<double>(encoded->clip.samples[start + 10]);
  CHECK(gain == Approx(1.0).margin(0.05));
  for (std::size_t i = 0; i < 3000; ++i) {
    CHECK(samples[wrap + i] ==
          Approx(gain * static_cast<double>(encoded->clip.samples[start + i])).margin(1e-5));
  }
  CHECK(samples[wrap - 1] ==
        Approx(gain * static_cast<double>(
                          encoded->clip.samples[static_cast<std::size_t>(loop.end.value()) - 1]))
            .margin(1e-5));
}

TEST_CASE("hearing: neither resampling nor the speaker adds a click at a seam that has none",
          "[work]") {
  work::HearingPlan plan = plan_of("class-c", {22'050, 16});
  plan.speaker = small_speaker();
  const auto heard = work::hear(toned(0.0), "piece", plan, 1.0);
  REQUIRE(heard);
  for (const work::Way way : {work::Way{true, false}, work::Way{true, true}}) {
    const std::vector<float>& samples = heard->clip(way)->samples;
    const auto bend = [&](std::size_t from, std::size_t to) {
      double most = 0.0;
      for (std::size_t i = from; i < to; ++i) {
        most = std::max(most, std::abs(static_cast<double>(samples[i - 1]) -
                                       2.0 * static_cast<double>(samples[i]) +
                                       static_cast<double>(samples[i + 1])));
      }
      return most;
    };
    const auto wrap = static_cast<std::size_t>(heard->wrap.value());
    CHECK(bend(wrap - 500, wrap + 500) < 1.05 * bend(wrap - 3000, wrap - 1000));
  }
}

TEST_CASE(
    "hearing: without decoder or speaker there is only the recording, and a one-shot is heard "
    "whole",
    "[work]") {
  audio::Clip clip = toned(0.05);
  clip.loop.reset();
  const auto heard = work::hear(clip, "piece", {}, 2.0);
  REQUIRE(heard);
  CHECK(heard->has({false, false}));
  CHECK_FALSE(heard->has({true, false}));
  CHECK_FALSE(heard->has({false, true}));
  CHECK(heard->wrap == FrameIndex(0));
  const std::vector<float>& samples = heard->clip({false, false})->samples;
  REQUIRE(samples.size() == clip.samples.size());
  for (std::size_t i = 1000; i < 40'000; ++i)
    REQUIRE(samples[i] == clip.samples[i]);
  CHECK(samples.front() == 0.0F);
  CHECK_FALSE(work::hear(toned(0.0), "piece", {}, 0.0));
}

TEST_CASE("hearing: a speaker that lifts a peak turns all ways down rather than clip", "[work]") {
  audio::Clip clip = toned(0.3);
  for (float& sample : clip.samples)
    sample *= 1.6F;
  work::HearingPlan plan;
  plan.speaker = small_speaker();
  const auto heard = work::hear(clip, "piece", plan, 1.0);
  REQUIRE(heard);
  for (const bool speaker : {false, true}) {
    const std::vector<float>& samples = heard->clip({false, speaker})->samples;
    CHECK(*std::max_element(samples.begin(), samples.end()) < 0.8913F);
  }
  const auto before = work::loudness_of(clip);
  REQUIRE(before);
  CHECK(*heard->matched_db < before->db - 0.1);
}

TEST_CASE("hearing: a blind pair hides its order in the seed, both equally loud", "[work]") {
  audio::Clip a = toned(0.0);
  audio::Clip b = toned(0.2);
  b.sample_rate_hz = 48'000.0;
  int swapped = 0;
  for (std::uint64_t seed = 0; seed < 40; ++seed) {
    JobControl job;
    const auto pair = work::blind_pair(a, b, seed, job);
    REQUIRE(pair);
    swapped += pair->swapped ? 1 : 0;
    if (seed > 1) continue;
    CHECK(work::blind_pair(a, b, seed, job)->swapped == pair->swapped);
    const std::vector<float>& samples = pair->clip->samples;
    const auto second = static_cast<std::ptrdiff_t>(pair->second_from.value());
    const std::vector<float> head(samples.begin() + 4000, samples.begin() + 34'000);
    const std::vector<float> tail(samples.begin() + second + 4000,
                                  samples.begin() + second + 34'000);
    CHECK(10.0 * std::log10(power(head) / power(tail)) == Approx(0.0).margin(2.0));
    // The tone alone is the one that repeats itself exactly after a period of 100 frames.
    double differs = 0.0;
    for (std::size_t i = 0; i < 2000; ++i)
      differs += std::abs(static_cast<double>(head[i]) - static_cast<double>(head[i + 100]));
    CHECK((differs > 1.0) == pair->swapped);
  }
  CHECK(swapped > 10);
  CHECK(swapped < 30);
}

TEST_CASE("hearing: a seam is studied as it is rendered, and its piece given another loop",
          "[work]") {
  const TempFolder folder;
  Random random(5);
  audio::Pcm pcm{8000.0, {std::vector<float>(32'000)}};
  for (float& sample : pcm.channels[0])
    sample = static_cast<float>(random.uniform(-0.2, 0.2));
  model::Project project = tests::one_take_project(folder.path(), pcm, audio::WavDepth::s16, 100);
  const auto cut =
      work::cut_segment(project, Id<model::Take>(1), 1, frame_range(0, 30'000), "piece");
  REQUIRE(cut);
  REQUIRE(model::apply(project, model::Add<model::Segment>{*cut, std::nullopt}));
  const Id<model::Segment> id = project.segments[0].id;
  JobControl job;
  CHECK_FALSE(
      work::study_seam(project, folder.path(), model::piece_of(project.segments[0]), {}, job));
  const auto loops =
      work::find_piece_loops(project, folder.path(), model::piece_of(project.segments[0]), job);
  REQUIRE(loops);
  REQUIRE(loops->size() > 1);
  model::PieceKey key;
  key.segment = id;
  for (const model::Loop& loop : *loops) {
    CHECK(cut->range.contains(loop.range));
    const auto edit = work::edit_to_set_loop(project, key, loop);
    REQUIRE(edit);
    REQUIRE(model::apply(project, *edit));
    CHECK(project.segments[0].loop == loop);
  }
  model::Loop plain = loops->front();
  struct Case {
    std::int64_t fade = 0;
    double drift_db = 0.0;
    std::vector<double> octave_drift_db;
  };
  for (const auto& [fade, drift_db, octave_drift_db] :
       {Case{0, 0.0, {}}, Case{400, 0.0, {}}, Case{400, 4.0, {}}, Case{400, 4.0, {1.0, -2.0}}}) {
    CAPTURE(fade, drift_db, octave_drift_db.size());
    plain.crossfade_frames = FrameCount(fade);
    plain.drift_db = drift_db;
    plain.octave_drift_db = octave_drift_db;
    project.segments[0].loop = plain;
    const model::Piece piece = model::piece_of(project.segments[0]);
    const auto study = work::study_seam(project, folder.path(), piece, {}, job);
    REQUIRE(study);
    CHECK(study->recipe == model::recipe_hash(project, piece));
    const work::SeamPicture& picture = study->picture;
    REQUIRE(picture.heard.size() == picture.leaving.size());
    REQUIRE(picture.heard.size() == picture.arriving.size());
    const auto wrap = static_cast<std::size_t>(-picture.first_frame);
    CHECK(picture.fade.length() == FrameCount(fade));
    // Behind the wrap the arriving side is heard, before the blend the leaving one.
    const bool at_start = plain.crossfade_at == model::CrossfadeAt::start;
    if (!at_start) {
      CHECK(picture.heard[wrap] == picture.arriving[wrap]);
      CHECK(picture.heard.front() == picture.leaving.front());
      if (fade > 0) CHECK(picture.heard[wrap - 200] != picture.leaving[wrap - 200]);
    }
    CHECK_FALSE(study->report.measures.empty());
  }
}
