// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/joined_clip.h"

#include "support/catch.h"
#include "support/temp_folder.h"
#include "work/one_take_project.h"

#include "fourbeat/model/edit.h"

#include <cmath>
#include <numbers>

using namespace fourbeat;
using fourbeat::tests::TempFolder;

namespace {

constexpr double rate_hz = 8000.0;

/// A take of 1 s with a tone of 100 Hz: 80 frames a period.
model::Project humming(const TempFolder& folder) {
  audio::Pcm pcm{rate_hz, {std::vector<float>(8000)}};
  for (std::size_t i = 0; i < 8000; ++i) {
    pcm.channels[0][i] = static_cast<float>(
        0.5 * std::sin(2.0 * std::numbers::pi * 100.0 * static_cast<double>(i) / rate_hz));
  }
  return tests::one_take_project(folder.path(), pcm, audio::WavDepth::f32, 0);
}

Id<model::Segment> add(model::Project& project, FrameRange range) {
  model::Segment made;
  made.source.pass = Id<model::Pass>(2);
  model::MixInput input;
  input.take = Id<model::Take>(1);
  made.source.mix.push_back(input);
  made.range = range;
  REQUIRE(model::apply(project, model::Add<model::Segment>{made, std::nullopt}));
  return model::last_drawn<model::Segment>(project);
}

double tone(std::size_t frame) {
  return 0.5 * std::sin(2.0 * std::numbers::pi * 100.0 * static_cast<double>(frame) / rate_hz);
}

}  // namespace

TEST_CASE("joined clip: parts of one place follow each other to the frame", "[work]") {
  const TempFolder folder;
  model::Project project = humming(folder);
  model::Sound sound;
  sound.kind = model::SoundKind::held;
  sound.begin = add(project, frame_range(0, 800));
  sound.hold = add(project, frame_range(800, 4000));
  sound.release = add(project, frame_range(4000, 5600));
  REQUIRE(model::apply(
      project,
      model::SetLoop{
          sound.hold,
          model::Loop{
              frame_range(1600, 3200), FrameCount(0), model::CrossfadeAt::end, 0.0, {}, {}}}));
  JobControl job;
  const Result<audio::Clip> clip = work::joined_clip(project, folder.path(), sound, job);
  REQUIRE(clip);
  CHECK(clip->sample_rate_hz == rate_hz);
  REQUIRE(clip->loop);
  CHECK(*clip->loop == frame_range(1600, 3200));
  // What lies behind the loop's end is left out: the release follows there, in phase.
  CHECK(clip->samples.size() == 3200 + 1600);
  for (std::size_t i = 0; i < clip->samples.size(); ++i) {
    CAPTURE(i);
    REQUIRE(static_cast<double>(clip->samples[i]) == Approx(tone(i)).margin(1e-4));
  }
}

TEST_CASE("joined clip: a loop that starts inside the blend with the begin still wraps whole",
          "[work]") {
  const TempFolder folder;
  model::Project project = humming(folder);
  model::Sound sound;
  sound.kind = model::SoundKind::held;
  sound.begin = add(project, frame_range(0, 820));  // not in phase with the hold
  sound.hold = add(project, frame_range(4000, 4800));
  REQUIRE(model::apply(
      project,
      model::SetLoop{
          sound.hold,
          model::Loop{
              frame_range(4000, 4800), FrameCount(0), model::CrossfadeAt::end, 0.0, {}, {}}}));
  JobControl job;
  const Result<audio::Clip> clip = work::joined_clip(project, folder.path(), sound, job);
  REQUIRE(clip);
  REQUIRE(clip->loop);
  CHECK(clip->loop->length() == FrameCount(800));
  const auto start = static_cast<std::size_t>(clip->loop->start.value());
  const auto end = static_cast<std::size_t>(clip->loop->end.value());
  for (std::size_t i = 0; i < 800; ++i)
    REQUIRE(static_cast<double>(clip->samples[start + i]) == Approx(tone(i)).margin(1e-6));
  // Without a release it fades out over 10 ms.
  CHECK(clip->samples.size() == end + 80);
  CHECK(std::abs(clip->samples.back()) < 0.02F);
}

TEST_CASE("joined clip: a one-shot plays its segment once at its own gain", "[work]") {
  const TempFolder folder;
  model::Project project = humming(folder);
  model::Sound sound;
  sound.segment = add(project, frame_range(0, 400));
  sound.gain_db = 20.0 * std::log10(0.5);
  JobControl job;
  const Result<audio::Clip> clip = work::joined_clip(project, folder.path(), sound, job);
  REQUIRE(clip);
  CHECK_FALSE(clip->loop);
  REQUIRE(clip->samples.size() == 400);
  CHECK(static_cast<double>(clip->samples[20]) == Approx(0.25).margin(1e-6));
  sound.segment = Id<model::Segment>();
  const Result<audio::Clip> none = work::joined_clip(project, folder.path(), sound, job);
  REQUIRE_FALSE(none);
  CHECK(none.error().code == ErrorCode::bad_argument);
}
