// SPDX-License-Identifier: GPL-3.0-or-later
#include "support.h"

#include "support/synthetic_steam.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/random.h"
#include "fourbeat/store/project_file.h"
#include "fourbeat/store/takes.h"
#include "fourbeat/work/chuff_builder.h"

#include <QElapsedTimer>
#include <QTest>
#include <cmath>
#include <fstream>
#include <numbers>

namespace fourbeat::tests {

namespace {

constexpr double rate_hz = 48000.0;

audio::Pcm runningEngine() {
  SteamParams params;
  params.seconds = 16.0;
  params.rate_hz = [](double time) { return 3.0 + 0.25 * time; };
  params.levels_db = {0.0, -2.0, -1.0, -3.0};
  const Steam steam = synthetic_steam(params);
  audio::Pcm pcm{rate_hz, {}};
  for (int channel = 0; channel < 4; ++channel) {
    std::vector<float> samples(steam.samples.size());
    const auto delay = static_cast<std::size_t>(channel) * 60;
    const float gain = 1.0F / static_cast<float>(channel + 1);
    for (std::size_t i = delay; i < samples.size(); ++i)
      samples[i] = gain * steam.samples[i - delay];
    pcm.channels.push_back(std::move(samples));
  }
  return pcm;
}

/// Three tones with a little breath, swelling in and dying away.
audio::Pcm whistle() {
  constexpr double seconds = 4.0;
  Random random(11);
  std::vector<float> samples(static_cast<std::size_t>(seconds * rate_hz));
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const double time = static_cast<double>(i) / rate_hz;
    const double swell = std::min(1.0, std::min(time / 0.2, (seconds - time) / 0.4));
    double sum = 0.02 * random.uniform(-1.0, 1.0);
    for (const double tone_hz : {660.0, 880.0, 1100.0})
      sum += 0.12 * std::sin(2.0 * std::numbers::pi * tone_hz * time);
    samples[i] = static_cast<float>(swell * sum);
  }
  return {rate_hz, {samples}};
}

audio::Pcm hiss() {
  Random random(12);
  std::vector<float> left(static_cast<std::size_t>(5 * rate_hz));
  for (float& sample : left)
    sample = static_cast<float>(0.1 * random.uniform(-1.0, 1.0));
  std::vector<float> right(left.rbegin(), left.rend());
  return {rate_hz, {left, right}};
}

void add(model::Project& project, const model::Edit& edit) {
  const Result<model::Edit> done = model::apply(project, edit);
  if (!done) FAIL(to_line(done.error()));
}

/// The project that every SmallProject starts as a copy of, made once.
struct Original {
  Original();
  TempFolder folder;
  std::filesystem::path path;
  model::Project project;
};

Original::Original() : path(folder / "small.fourbeat") {
  using namespace model;
  std::filesystem::create_directories(folder / "takes");
  project.title = "Small set";
  project.author = "A. Sounder";
  project.date = "2025-05-01";
  project.decoder = "class-b";
  project.user_notes = "Whistle *gently* in tunnels.";
  project.engine.name = "Trial engine";
  project.engine.driver_diameter_mm = 1200;
  project.engine.top_speed_kmh = 60;
  JobControl job;
  const auto enter = [&](const char* name, const audio::Pcm& pcm,
                         std::vector<std::string> microphones) {
    const std::filesystem::path file = folder / "takes" / name;
    REQUIRE(audio::write_wav(file, pcm, audio::WavDepth::s24));
    Result<Take> take = store::describe_take(file, folder.path(), job);
    REQUIRE(take);
    take->microphones = std::move(microphones);
    add(project, Add<Take>{*take, std::nullopt});
    Pass pass;
    pass.name = file.stem().string();
    pass.takes.push_back({last_drawn<Take>(project), FrameCount(0), {}});
    pass.rights = Rights{"The owner", "this set", "", {}};
    add(project, Add<Pass>{pass, std::nullopt});
  };
  enter("running.wav", runningEngine(), {"chimney", "cab", "motion", "lineside"});
  enter("whistle.wav", whistle(), {"chimney"});
  enter("hiss.wav", hiss(), {"cab", "firebox side"});

  const auto segment = [&](const char* name, std::size_t pass, FrameRange range) {
    Segment made;
    made.name = name;
    made.source.pass = project.passes.at(pass).id;
    MixInput input;
    input.take = project.takes.at(pass).id;
    made.source.mix.push_back(input);
    made.range = range;
    add(project, Add<Segment>{made, std::nullopt});
    return last_drawn<Segment>(project);
  };
  const Id<Segment> begin = segment("Whistle begin", 1, frame_range(0, 24'000));
  const Id<Segment> hold = segment("Whistle hold", 1, frame_range(24'000, 144'000));
  const Id<Segment> release = segment("Whistle release", 1, frame_range(144'000, 192'000));
  const Id<Segment> steam = segment("Safety valve", 2, frame_range(12'000, 200'000));
  segment("Spare hiss", 2, frame_range(100'000, 150'000));
  // 0.5 s of tones of whole multiples of 220 Hz: 110 whole periods.
  add(project,
      SetLoop{hold,
              Loop{frame_range(72'000, 96'000), FrameCount(2'400), CrossfadeAt::end, 0.0, {}, {}}});
  Sound sound;
  sound.name = "Whistle";
  sound.kind = SoundKind::held;
  sound.category = Category::whistle;
  sound.begin = begin;
  sound.hold = hold;
  sound.release = release;
  add(project, Add<Sound>{sound, std::nullopt});
  const Id<Sound> whistling = last_drawn<Sound>(project);
  sound = Sound{};
  sound.name = "Safety valve lifts";
  sound.category = Category::safety_valve;
  sound.segment = steam;
  add(project, Add<Sound>{sound, std::nullopt});
  const Id<Sound> lifting = last_drawn<Sound>(project);
  const auto add_key = [&](int number, const char* label, KeyMode mode, Id<Sound> of) {
    Key key;
    key.number = number;
    key.label = label;
    key.mode = mode;
    key.sound = of;
    add(project, Add<Key>{key, std::nullopt});
  };
  add_key(2, "Whistle", KeyMode::momentary, whistling);
  add_key(5, "Safety valve", KeyMode::latching, lifting);
  add(project, Add<Cv>{{{}, 3, 10, "Acceleration rate", "", {}, {}}, std::nullopt});
  add(project, Add<Cv>{{{}, 4, 8, "Deceleration rate", "", {}, {}}, std::nullopt});
  Mark mark;
  mark.take = project.takes[1].id;
  mark.kind = MarkKind::whistle;
  mark.range = frame_range(4'800, 180'000);
  mark.label = "long";
  add(project, Add<Mark>{mark, std::nullopt});

  std::filesystem::create_directories(folder / "cards");
  std::ofstream(folder / "cards" / "short.json") << R"({
  "format": "fourbeat-runcard", "version": 1, "seed": 1, "seconds": 12, "speed_steps": 128,
  "moves": [{"time_s": 0.5, "throttle_step": 60}, {"time_s": 3, "key": 2, "on": true},
    {"time_s": 4, "key": 2, "on": false}, {"time_s": 7, "throttle_step": 0}]
})";
  add(project, SetRunCards{{"cards/short.json"}});
  const Result<work::ChuffBuild> built =
      work::refresh_chuffs(project, folder.path(), {project.takes[0].id}, nullptr, job);
  if (!built) FAIL(to_line(built.error()));
  add(project, EditGroup{built->edits});
  REQUIRE(store::save_project(path, project));
}

}  // namespace

SmallProject::SmallProject() : path_(folder_ / "small.fourbeat") {
  static const Original original;
  std::filesystem::copy(original.folder.path(), folder_.path(),
                        std::filesystem::copy_options::recursive);
  project_ = original.project;
}

std::unique_ptr<ui::Document> SmallProject::open() const {
  Result<std::unique_ptr<ui::Document>> document = ui::Document::open(path_, nullptr);
  if (!document) FAIL(to_line(document.error()));
  return std::move(*document);
}

std::string undoableText(model::Project project) {
  project.next_id = 1'000'000;
  return store::project_text(project);
}

bool waitUntil(const std::function<bool()>& reached, int ms) {
  QElapsedTimer clock;
  clock.start();
  while (!reached()) {
    if (clock.elapsed() > ms) return false;
    QCoreApplication::processEvents(QEventLoop::AllEvents, 20);
    QTest::qWait(1);
  }
  return true;
}

model::Edit randomEdit(const model::Project& project, quint64 seed) {
  using namespace model;
  Random random(seed * 2 + 1);
  const auto pick = [&random](const auto& list) -> const auto& {
    return list[static_cast<std::size_t>(random.below(static_cast<std::int64_t>(list.size())))];
  };
  switch (random.below(9)) {
    case 0:
      return SetTitle{"Title " + std::to_string(seed)};
    case 1: {
      if (project.segments.empty()) break;
      return SetSegmentGain{pick(project.segments).id, random.uniform(-20.0, 10.0)};
    }
    case 2: {
      if (project.sounds.empty()) break;
      return SetSoundGain{pick(project.sounds).id, random.uniform(-20.0, 10.0)};
    }
    case 3:
      return SetCv{static_cast<int>(random.below(120)) + 1, static_cast<int>(random.below(256))};
    case 4: {
      Key key;
      key.number = static_cast<int>(random.below(29));
      key.label = "Key " + std::to_string(seed);
      if (!project.sounds.empty()) key.sound = pick(project.sounds).id;
      return Add<Key>{key, std::nullopt};
    }
    case 5: {
      if (project.keys.empty()) break;
      return Remove<Key>{pick(project.keys).id};
    }
    case 6: {
      if (project.takes.empty()) break;
      Mark mark;
      mark.take = pick(project.takes).id;
      const auto start = static_cast<std::int64_t>(random.below(40'000));
      mark.range = frame_range(start, start + static_cast<std::int64_t>(random.below(4'000)));
      return Add<Mark>{mark, std::nullopt};
    }
    case 7: {
      if (project.chuffs.rows.empty()) break;
      ChuffRow row = pick(project.chuffs.rows);
      row.effort = random.below(2) == 0 ? Effort::easy : Effort::hard;
      return Replace<ChuffRow>{row};
    }
    default: {
      if (project.cvs.empty()) break;
      return Remove<Cv>{pick(project.cvs).id};
    }
  }
  return SetAuthor{"Author " + std::to_string(seed)};
}

}  // namespace fourbeat::tests
