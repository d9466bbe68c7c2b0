// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/produce.h"

#include "support/catch.h"
#include "support/temp_folder.h"
#include "work/one_take_project.h"

#include "fourbeat/base/decibels.h"

#include <fstream>

using namespace fourbeat;
using fourbeat::tests::TempFolder;

namespace {

constexpr double take_peak = 0.25;

struct Cancelled : JobControl {
  [[nodiscard]] bool cancelled() const override { return true; }
};

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

TEST_CASE("head room: each shipped card has its true peak, and none is rendered twice", "[work]") {
  const TempFolder folder;
  std::filesystem::create_directories(folder / "cards");
  const auto write = [&](const char* name, const char* moves) {
    std::ofstream(folder / "cards" / name)
        << R"({"format": "fourbeat-runcard", "version": 1, "seconds": 3, "moves": [)" << moves
        << "]}";
  };
  write("quiet.json", "");
  write("tone.json", R"({"time_s": 1.5, "key": 1, "on": true})");
  const double gain_db = 13.0;  // over full scale by 0.96 dB
  model::Project project = tone_on_a_key(folder, gain_db);
  project.decoder = "class-a";
  project.run_cards = {"cards/quiet.json", "cards/missing.json", "cards/tone.json"};
  JobControl job;
  const auto snags_of = [](const work::Checked& checked) {
    return std::count_if(checked.snags.begin(), checked.snags.end(), [](const auto& snag) {
      return snag.rule == "no_head_room" && snag.pointer == "/run_cards/2";
    });
  };
  const Result<work::Checked> checked = work::check_project(project, folder.path(), job);
  REQUIRE(checked);
  REQUIRE(checked->cards.cards.size() == 2);
  CHECK(checked->cards.cards[0].place == 0);
  CHECK_FALSE(checked->cards.cards[0].peak);
  CHECK(checked->cards.cards[0].voices_peak == 0);
  const work::CardFigures& loud = checked->cards.cards[1];
  CHECK(loud.place == 2);
  REQUIRE(loud.peak);
  CHECK(loud.peak->true_peak_dbtp == Approx(20.0 * std::log10(take_peak) + gain_db).margin(0.2));
  CHECK(loud.peak->time_s >= 1.49);
  CHECK(loud.peak->time_s <= 2.5);
  CHECK(loud.peak->sounding == std::vector<std::string>{"“Tone”"});
  CHECK(loud.voices_wanted_peak == 1);
  CHECK(work::voices_wanted(checked->cards) == 1);
  CHECK(work::loudest_card(checked->cards) == &loud);
  CHECK(snags_of(*checked) == 1);

  // As it was: nothing is rendered, so that even a cancelled job has the figures.
  Cancelled cancelled;
  const auto again = work::measure_cards(project, *checked->fitted, cancelled, &checked->cards);
  REQUIRE(again);
  CHECK(again->set == checked->cards.set);
  CHECK(again->cards[1].peak->true_peak_dbtp == loud.peak->true_peak_dbtp);
  const auto anew = work::measure_cards(project, *checked->fitted, cancelled);
  REQUIRE_FALSE(anew);
  CHECK(anew.error().code == ErrorCode::cancelled);

  // A gain lowered by what the snag says: the good twin.
  project.sounds[0].gain_db -= 1.2;
  const Result<work::Checked> lower =
      work::check_project(project, folder.path(), job, false, &*checked);
  REQUIRE(lower);
  CHECK(lower->cards.cards[1].peak->true_peak_dbtp ==
        Approx(loud.peak->true_peak_dbtp - 1.2).margin(0.05));
  CHECK(snags_of(*lower) == 0);

  // A card that is another one now.
  write("tone.json", "");
  const Result<work::Checked> other =
      work::check_project(project, folder.path(), job, false, &*lower);
  REQUIRE(other);
  CHECK_FALSE(other->cards.cards[1].peak);
  CHECK(work::loudest_card(other->cards) == nullptr);
}

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
      CHECK(output->largest_sample == Approx(take_peak * gain_of_db(gain_db)).epsilon(0.03));
    }
  }
}
