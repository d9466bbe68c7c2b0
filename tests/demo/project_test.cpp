// SPDX-License-Identifier: GPL-3.0-or-later
#include "finished_demo.h"
#include "fourbeat_demo/demo.h"
#include "shared_takes.h"
#include "support/catch.h"
#include "support/temp_folder.h"
#include "written_demo.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/files.h"
#include "fourbeat/base/sha256.h"
#include "fourbeat/base/text.h"
#include "fourbeat/check/rules.h"
#include "fourbeat/store/data_files.h"
#include "fourbeat/store/project_file.h"
#include "fourbeat/store/takes.h"
#include "fourbeat/work/segments.h"
#include "fourbeat/work/session.h"

#include <algorithm>
#include <map>
#include <set>
#include <string>
#include <tuple>
#include <utility>

using namespace fourbeat;
using namespace fourbeat::demo;

TEST_CASE("demo project: the takes are 24-bit WAV files that hold what was synthesised", "[demo]") {
  const Written& w = written();
  REQUIRE(w.truth.takes.size() == takes().size());
  std::int64_t bytes = 0;
  for (std::size_t k = 0; k < takes().size(); ++k) {
    const auto path = w.folder.path() / w.truth.takes[k].file;
    INFO(w.truth.takes[k].file);
    auto reader = audio::SoundFileReader::open(path);
    REQUIRE(reader.has_value());
    CHECK(reader->info().sample_rate_hz == 48000);
    CHECK(reader->info().format == "WAV 24-bit PCM");
    const audio::Pcm& made = takes()[k].pcm;
    CHECK(reader->info().frames == made.frames());
    REQUIRE(reader->info().channels == static_cast<int>(made.channels.size()));
    const auto read = reader->read({FrameIndex(0), FrameIndex(0) + made.frames()});
    REQUIRE(read.has_value());
    float worst = 0.0F;
    for (std::size_t c = 0; c < made.channels.size(); ++c) {
      for (std::size_t i = 0; i < made.channels[c].size(); ++i) {
        worst = std::max(worst, std::fabs(made.channels[c][i] - read->channels[c][i]));
      }
    }
    CHECK(worst < 0x1p-23F);
    bytes += regular_file_size(path).value_or(0);
  }
  CHECK(bytes > 40'000'000);
  CHECK(bytes < 85'000'000);
}

TEST_CASE("demo project: an existing take is never written over, a cancel leaves nothing",
          "[demo][deep]") {
  JobControl job;
  const auto again = write_takes(written().folder.path(), job);
  REQUIRE_FALSE(again.has_value());
  CHECK(again.error().code == ErrorCode::would_overwrite);

  struct StopWhileWriting : JobControl {
    bool writing = false;
    [[nodiscard]] bool cancelled() const override { return writing; }
    void progress(double fraction, std::string_view stage) override {
      writing = writing || (stage == "writing takes" && fraction > 0.3);
    }
  } stop;
  const tests::TempFolder folder;
  const auto stopped = write_takes(folder.path() / "new" / "deep" / "demo", stop);
  REQUIRE_FALSE(stopped.has_value());
  CHECK(stopped.error().code == ErrorCode::cancelled);
  CHECK(std::filesystem::is_empty(folder.path()));
}

TEST_CASE("demo project: stopped at its end, it leaves what was there and no more",
          "[demo][deep]") {
  /// Stops once the takes are written, which is when the project is made of them.
  struct StopAtTheEnd : JobControl {
    bool written = false;
    [[nodiscard]] bool cancelled() const override { return written; }
    void progress(double fraction, std::string_view stage) override {
      written = written || (stage == "writing takes" && fraction == 1.0);
    }
  };
  const tests::TempFolder folder;
  std::filesystem::create_directories(folder.path() / "mine" / "cards");
  REQUIRE(write_file_atomically(folder.path() / "mine" / "cards" / "own.json", "{}"));
  StopAtTheEnd stop;
  const auto stopped = make_demo(folder.path() / "mine", stop);
  REQUIRE_FALSE(stopped.has_value());
  CHECK(stopped.error().code == ErrorCode::cancelled);
  CHECK(stop.written);
  std::set<std::string> left;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(folder.path()))
    left.insert(path_text(entry.path().lexically_relative(folder.path())));
  CHECK(left == std::set<std::string>{"mine", "mine/cards", "mine/cards/own.json"});
}

TEST_CASE("demo project: no file of the demo's names is written over", "[demo]") {
  const tests::TempFolder folder;
  const std::vector<std::string> names{"demo.fourbeat", written().truth.takes.front().file,
                                       written().project.run_cards.front()};
  for (const std::string& name : names) {
    const auto place = folder.path() / name;
    std::filesystem::create_directories(place.parent_path());
    REQUIRE(write_file_atomically(place, "mine"));
    JobControl job;
    const auto refused = make_demo(folder.path(), job);
    REQUIRE_FALSE(refused.has_value());
    CHECK(refused.error().code == ErrorCode::would_overwrite);
    CHECK(read_text_file(place, 100).value() == "mine");
    std::filesystem::remove(place);
  }
}

TEST_CASE("demo project: everything refers to something that is there", "[demo]") {
  const Written& w = written();
  const model::Project& p = w.project;
  CHECK(p.takes.size() == 7);
  CHECK(p.passes.size() == 7);
  CHECK(p.sounds.size() >= 28);
  CHECK(p.sounds.size() <= 34);
  CHECK(p.engine == demo_engine());
  CHECK(p.decoder == "class-b");
  CHECK(p.date.size() == 10);
  CHECK(p.chuffs.rows.empty());
  for (const model::Pass& pass : p.passes) {
    REQUIRE(pass.rights.has_value());
    CHECK_FALSE(pass.rights->owner.empty());
    CHECK_FALSE(pass.rights->purpose.empty());
    CHECK(pass.rights->until > p.date);
  }
  for (const model::Segment& segment : p.segments) {
    INFO(segment.name);
    const model::Pass* pass = model::find(p, segment.source.pass);
    REQUIRE(pass != nullptr);
    REQUIRE_FALSE(segment.source.mix.empty());
    for (const model::MixInput& input : segment.source.mix) {
      const model::Take* take = model::find(p, input.take);
      REQUIRE(take != nullptr);
      CHECK(input.channel >= 1);
      CHECK(input.channel <= take->channels);
      CHECK(segment.range.start.value() >= 0);
      CHECK(segment.range.end.value() <= take->frames.value());
    }
    CHECK_FALSE(segment.range.empty());
  }
  std::set<std::int64_t> used;
  for (const model::Sound& sound : p.sounds) {
    INFO(sound.name);
    const auto segments = model::segments_of(sound);
    CHECK_FALSE(segments.empty());
    for (const Id<model::Segment> id : segments) {
      CHECK(model::find(p, id) != nullptr);
      used.insert(id.value());
    }
    CHECK((sound.kind == model::SoundKind::held ? sound.hold : sound.segment).is_set());
  }
  CHECK(used.size() == p.segments.size());
}

TEST_CASE("demo project: a segment is as hot as it goes and does not clip", "[demo]") {
  const Written& w = written();
  for (const model::Segment& segment : w.project.segments) {
    if (segment.source.mix.size() != 1) continue;
    INFO(segment.name);
    const model::MixInput& input = segment.source.mix[0];
    const model::Take* take = model::find(w.project, input.take);
    REQUIRE(take != nullptr);
    auto reader = audio::SoundFileReader::open(w.folder.path() / take->path);
    REQUIRE(reader.has_value());
    const auto read = reader->read(segment.range);
    REQUIRE(read.has_value());
    float peak = 0.0F;
    for (const float x : read->channels[static_cast<std::size_t>(input.channel - 1)]) {
      peak = std::max(peak, std::fabs(x));
    }
    CHECK(static_cast<double>(peak) * std::pow(10.0, segment.gain_db / 20.0) < 0.71);
    CHECK(segment.gain_db > -6.0);
    CHECK(segment.gain_db < 30.0);
  }
}

TEST_CASE("demo project: F0 to F28 all play, F2 is a whistle held while pressed", "[demo]") {
  // Source: NEM 608, default keys for steam models (read in a third party's notes).
  const model::Project& p = written().project;
  std::set<int> numbers;
  std::set<std::tuple<int, int, int>> uses;
  std::set<std::int64_t> played;
  for (const model::Key& key : p.keys) {
    INFO("F" << key.number);
    numbers.insert(key.number);
    CHECK(uses.insert({key.number, static_cast<int>(key.direction), key.when.option_value}).second);
    const model::Sound* sound = model::find(p, key.sound);
    if (key.number == 26) {  // the brake: its blocks are a trigger's
      CHECK(sound == nullptr);
      REQUIRE(key.task.has_value());
      CHECK(std::holds_alternative<model::BrakeKey>(*key.task));
      continue;
    }
    REQUIRE(sound != nullptr);
    played.insert(sound->id.value());
    if (key.number == 2) {
      CHECK(key.mode == model::KeyMode::momentary);
      CHECK(sound->category == model::Category::whistle);
      CHECK(sound->kind == model::SoundKind::held);
    }
    if (key.number == 9) CHECK(sound->category == model::Category::pump);
  }
  CHECK(numbers.size() == 29);
  CHECK(*numbers.rbegin() == 28);
  for (const model::Trigger& trigger : p.triggers)
    played.insert(trigger.sound.value());
  CHECK(played.size() == p.sounds.size());
}

TEST_CASE("demo project: its set lives, and nothing in it contradicts itself", "[demo]") {
  const model::Project& p = written().project;
  CHECK(p.triggers.size() >= 7);
  CHECK(p.layers.size() >= 3);
  REQUIRE(p.duties.has_value());
  CHECK_FALSE(p.duties->on);
  CHECK(p.options.size() == 1);
  for (const check::Snag& snag : check::run_rules(p, {})) {
    if (snag.rule == "sound_without_segment") continue;  // loops come when the demo is finished
    INFO(snag.rule << ": " << snag.message);
    CHECK(snag.severity != check::Severity::error);
  }
}

TEST_CASE("demo project: CV values obey the standards", "[demo]") {
  // Source: NMRA S-9.2.2, table 1 and CV 29; RCN-225, CV 17 and 18 (default address 1000).
  std::map<int, int> cv;
  for (const model::Cv& entry : written().project.cvs) {
    CHECK(cv.emplace(entry.number, entry.value).second);
    CHECK(entry.value >= 0);
    CHECK(entry.value <= 255);
  }
  CHECK(cv.at(1) == 3);
  CHECK((cv.at(17) - 192) * 256 + cv.at(18) == 1000);
  CHECK((cv.at(29) & 0xC5) == 0);  // short address by bit 5, digital only, not an accessory
  CHECK((cv.at(29) & 2) == 2);     // 28 or 128 steps
}

TEST_CASE("demo project: holds are left without a loop, and listed", "[demo]") {
  const model::Project& p = written().project;
  const auto open = work::holds_without_loop(p);
  CHECK(open.size() >= 10);
  for (const Id<model::Segment> id : open) {
    const model::Segment* segment = model::find(p, id);
    REQUIRE(segment != nullptr);
    CHECK_FALSE(segment->loop.has_value());
    CHECK(segment->range.length().value() >= 96000);
  }
}

TEST_CASE("demo project: the run cards read, press only keys there are, and end at rest",
          "[demo]") {
  const Written& w = written();
  REQUIRE(w.project.run_cards.size() == 2);
  std::set<int> keys;
  for (const model::Key& key : w.project.keys)
    keys.insert(key.number);
  for (const std::string& path : w.project.run_cards) {
    INFO(path);
    const auto card = store::load_run_card(w.folder.path() / path);
    if (!card) FAIL(to_line(card.error()));
    CHECK(card->seconds >= 60.0);
    CHECK(card->seconds <= 90.0);
    int throttle = -1;
    std::map<int, bool> held;
    for (const model::Move& move : card->moves) {
      CHECK(move.time_s < card->seconds);
      if (const auto* key = std::get_if<model::MoveKey>(&move.what)) {
        CHECK(keys.count(key->key) == 1);
        held[key->key] = key->on;
      }
      if (const auto* step = std::get_if<model::MoveThrottle>(&move.what)) {
        CHECK(step->step <= model::last_step(card->speed_steps));
        throttle = step->step;
      }
    }
    CHECK(throttle == 0);
    for (const auto& [key, on] : held)
      CHECK_FALSE(on);
  }
}

TEST_CASE("demo project: its file reads back as the same project, with no take missing", "[demo]") {
  const Written& w = written();
  const std::string text = store::project_text(w.project);
  const auto again = store::parse_project(text, "demo.fourbeat");
  if (!again) FAIL(to_line(again.error()));
  CHECK(*again == w.project);
  CHECK(text.find(path_text(w.folder.path())) == std::string::npos);
  JobControl job;
  const auto states = store::look_at_takes(w.project, w.folder.path(), true, job);
  REQUIRE(states.has_value());
  REQUIRE(states->size() == 7);
  for (const store::TakeStatus& status : *states)
    CHECK(status.state == store::TakeState::present);
}

TEST_CASE("demo project: finished, it has a chuff table up to top speed and every hold is looped",
          "[demo][deep]") {
  const auto session = work::Session::open(finished());
  REQUIRE(session);
  const model::Project& p = session->project();
  CHECK(work::holds_without_loop(p).empty());
  REQUIRE(p.chuffs.rows.size() >= 10);
  double highest_kmh = 0.0;
  for (const model::ChuffRow& row : p.chuffs.rows)
    highest_kmh = std::max(highest_kmh, row.to_kmh);
  CHECK(highest_kmh >= p.engine.top_speed_kmh);
}

TEST_CASE("demo project: a folder that holds a demo is refused and kept as it is", "[demo]") {
  const tests::TempFolder folder;
  REQUIRE(write_file_atomically(folder / "demo.fourbeat", "mine"));
  JobControl job;
  CHECK(make_demo(folder.path(), job).error().code == ErrorCode::would_overwrite);
  CHECK(*read_text_file(folder / "demo.fourbeat", 100) == "mine");
}
