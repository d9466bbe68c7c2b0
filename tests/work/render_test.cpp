// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/render.h"

#include "support/catch.h"
#include "support/temp_folder.h"
#include "work/one_take_project.h"

using namespace fourbeat;
using fourbeat::tests::TempFolder;

namespace {

/// A project with one two-channel take: channel 1 counts up, channel 2 counts down, in steps that
/// 16 bits hold exactly.
model::Project counting(const TempFolder& folder) {
  audio::Pcm pcm{8000.0, {std::vector<float>(4000), std::vector<float>(4000)}};
  for (std::size_t i = 0; i < 4000; ++i) {
    pcm.channels[0][i] = static_cast<float>(i) / 32768.0F;
    pcm.channels[1][i] = -static_cast<float>(i) / 32768.0F;
  }
  return tests::one_take_project(folder.path(), pcm, audio::WavDepth::s16, 100);
}

model::Segment segment(std::int64_t start, std::int64_t end) {
  model::Segment made;
  made.id = Id<model::Segment>(3);
  made.name = "count";
  made.source.pass = Id<model::Pass>(2);
  model::MixInput input;
  input.take = Id<model::Take>(1);
  made.source.mix.push_back(input);
  made.range = frame_range(start, end);
  return made;
}

}  // namespace

TEST_CASE("render: a segment is cut on the pass clock, to the frame", "[work]") {
  const TempFolder folder;
  const model::Project project = counting(folder);
  work::Renderer renderer(project, folder.path());
  const Result<audio::Clip> clip = renderer.render(model::piece_of(segment(150, 160)));
  REQUIRE(clip);
  REQUIRE(clip->samples.size() == 10);
  CHECK(clip->samples[0] == 50.0F / 32768.0F);  // the take begins at frame 100 of its pass
  CHECK(clip->samples[9] == 59.0F / 32768.0F);
}

TEST_CASE("render: a loop's drift is taken out with its blend", "[work]") {
  const TempFolder folder;
  const model::Project project = counting(folder);
  model::Segment looped = segment(1100, 3100);
  looped.loop = model::Loop{frame_range(1200, 2200), {}, model::CrossfadeAt::end, 6.0, {}, {}};
  work::Renderer renderer(project, folder.path());
  const Result<audio::Clip> clip = renderer.render(model::piece_of(looped));
  REQUIRE(clip);
  const auto gain = [&](std::size_t frame) {
    return clip->samples[frame] / (static_cast<float>(frame + 1000) / 32768.0F);
  };
  CHECK(gain(50) == Approx(1.0));
  CHECK(gain(100) == Approx(1.0));
  CHECK(gain(600) == Approx(0.70795).margin(1e-4));   // -3 dB
  CHECK(gain(1099) == Approx(0.50153).margin(1e-4));  // -5.994 dB
  CHECK(gain(1500) == Approx(gain(1900)));
}

TEST_CASE("render: microphones are mixed with gain, delay and polarity", "[work]") {
  const TempFolder folder;
  const model::Project project = counting(folder);
  model::Segment mixed = segment(200, 300);
  model::MixInput second = mixed.source.mix[0];
  second.channel = 2;
  second.inverted = true;
  second.delay_frames = FrameCount(10);
  mixed.source.mix.push_back(second);
  work::Renderer renderer(project, folder.path());
  const Result<audio::Clip> clip = renderer.render(model::piece_of(mixed));
  REQUIRE(clip);
  CHECK(clip->samples[0] == Approx((100.0 + 90.0) / 32768.0));
}

TEST_CASE("render: a range outside the pass and a missing take are told, place named", "[work]") {
  const TempFolder folder;
  model::Project project = counting(folder);
  work::Renderer renderer(project, folder.path());
  const Result<audio::Clip> outside = renderer.render(model::piece_of(segment(4000, 4200)));
  REQUIRE_FALSE(outside);
  CHECK(outside.error().code == ErrorCode::bad_input);
  CHECK_FALSE(outside.error().place.empty());
  project.takes[0].path = "gone.wav";
  work::Renderer without(project, folder.path());
  CHECK(without.render(model::piece_of(segment(150, 160))).error().code == ErrorCode::not_found);
}

TEST_CASE("render: a clean chain has settled before the piece begins", "[work]") {
  const TempFolder folder;
  const model::Project project = counting(folder);
  model::Segment cleaned = segment(2000, 2100);
  cleaned.source.clean.emplace_back(model::HighPass{100.0, 2, {}});
  work::Renderer renderer(project, folder.path());
  const Result<audio::Clip> clip = renderer.render(model::piece_of(cleaned));
  REQUIRE(clip);
  // A slow ramp is rumble: it is gone, without a step at the cut.
  for (const float sample : clip->samples)
    CHECK(std::fabs(sample) < 0.01F);
}
