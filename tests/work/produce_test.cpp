// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/produce.h"

#include "support/catch.h"
#include "support/temp_folder.h"
#include "work/one_take_project.h"

#include "fourbeat/base/decibels.h"

using namespace fourbeat;
using fourbeat::tests::TempFolder;

namespace {

constexpr double take_peak = 0.25;

/// A project whose one sound, a tone of peak take_peak on key F1, has a gain.
model::Project tone_on_a_key(const TempFolder& folder, double gain_db) {
  audio::Pcm pcm{44100.0, {std::vector<float>(44100)}};
  for (std::size_t i = 0; i < pcm.channels[0].size(); ++i) {
    pcm.channels[0][i] = static_cast<float>(take_peak * std::sin(0.0627 * static_cast<double>(i)));
  }
  model::Project project = tests::one_take_project(folder.path(), pcm, audio::WavDepth::s24, 0);
  model::Segment segment;
  segment.id = Id<model::Segment>(3);
  segment.name = "Tone";
  segment.source.pass = Id<model::Pass>(2);
  model::MixInput input;
  input.take = Id<model::Take>(1);
  segment.source.mix.push_back(input);
  segment.range = frame_range(0, 40000);
  project.segments.push_back(segment);
  model::Sound sound;
  sound.id = Id<model::Sound>(4);
  sound.name = "Tone";
  sound.segment = segment.id;
  sound.gain_db = gain_db;
  project.sounds.push_back(sound);
  model::Key key;
  key.id = Id<model::Key>(5);
  key.number = 1;
  key.sound = sound.id;
  project.keys.push_back(key);
  return project;
}

}  // namespace

TEST_CASE("drive of a fitted set: a sound's gain counts once, with and without a playback gain",
          "[work]") {
  const TempFolder folder;
  model::RunCard card;
  card.seconds = 2.0;
  card.moves.push_back({0.1, model::MoveKey{1, true}});
  JobControl job;
  for (const double gain_db : {0.0, -12.0}) {
    const model::Project project = tone_on_a_key(folder, gain_db);
    for (const std::string decoder : {"class-a", "class-b"}) {
      const Result<work::FittedSet> fitted =
          work::fit_project(project, folder.path(), decoder, job);
      REQUIRE(fitted);
      const Result<drive::DriveOutput> output = work::drive_fitted(project, *fitted, card, {}, job);
      REQUIRE(output);
      INFO(decoder << ", " << gain_db << " dB");
      CHECK(output->true_peak == Approx(take_peak * gain_of_db(gain_db)).epsilon(0.03));
    }
  }
}
