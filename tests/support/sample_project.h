// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/project.h"

#include <string>
#include <utility>

namespace fourbeat::tests {

/// A small valid project in which every member of every value holds something of its own, and
/// every value carries unknown members.
inline model::Project sample_project() {
  using namespace model;
  const auto extra = [](const char* key) { return Extra{{key, R"({"b":[1,2.5,null],"a":"ü"})"}}; };
  Project project;
  project.title = "Tern Valley 2-6-0 “Kühl”";
  project.author = "A. Sounder";
  project.date = "2024-02-29";
  project.decoder = "medium";
  project.user_notes = "Line one\nLine two, with a \\ and a \"quote\"";
  project.engine.name = "Nr. 7";
  project.engine.driver_diameter_mm = 1420.5;
  project.engine.beat_angles_deg = {0, 91.25, 180, 268};
  project.engine.top_speed_kmh = 65;
  project.engine.extra = extra("livery");

  Take take;
  take.id = Id<Take>(1);
  take.path = "takes/pass 1.wav";
  take.size_bytes = 5'000'000'000;
  take.sha256 = std::string(64, 'a');
  take.sample_rate_hz = 48000;
  take.channels = 4;
  take.frames = FrameCount(10'000'000);
  take.format = "RF64 24-bit PCM";
  take.microphones = {"chimney", "", "motion"};
  take.extra = extra("slate");
  project.takes.push_back(take);
  take.id = Id<Take>(2);
  take.path = "takes/cab.flac";
  take.sha256 = std::string(64, 'b');
  take.channels = 1;
  take.microphones.clear();
  project.takes.push_back(take);
  take.id = Id<Take>(3);
  take.path = "takes/lone.wav";
  take.sha256 = std::string(64, 'c');
  take.sample_rate_hz = 96000;
  project.takes.push_back(take);

  Pass pass;
  pass.id = Id<Pass>(4);
  pass.name = "Up the bank";
  pass.takes = {{Id<Take>(1), FrameCount(0), extra("clock")}, {Id<Take>(2), FrameCount(-1234), {}}};
  pass.log = "regulator half, cut-off 40 %";
  pass.rights = Rights{"The owner", "this set", "2030-12-31", extra("letter")};
  pass.extra = extra("weather");
  project.passes.push_back(pass);

  Mark mark;
  mark.id = Id<Mark>(5);
  mark.take = Id<Take>(2);
  mark.kind = MarkKind::unusable;
  mark.range = frame_range(100, 200);
  mark.label = "aeroplane";
  mark.extra = extra("seen_by");
  project.marks.push_back(mark);

  Segment segment;
  segment.id = Id<Segment>(6);
  segment.name = "Whistle hold";
  MixInput chimney;
  chimney.take = Id<Take>(1);
  chimney.channel = 3;
  chimney.gain_db = -1.5;
  chimney.delay_frames = FrameCount(-12);
  chimney.inverted = true;
  chimney.extra = extra("stand");
  HighPass high_pass;
  high_pass.cutoff_hz = 80.125;
  high_pass.order = 6;
  high_pass.extra = extra("why");
  HumNotch hum_notch;
  hum_notch.fundamental_hz = 60;
  hum_notch.harmonics = 5;
  hum_notch.q = 25;
  segment.source = {Id<Pass>(4), {chimney}, {high_pass, hum_notch}, extra("mixed_by")};
  segment.range = frame_range(-50, 96'000);
  segment.gain_db = 0.1;
  segment.fade_in_frames = FrameCount(48);
  segment.fade_out_frames = FrameCount(480);
  segment.loop = Loop{frame_range(10'000, 50'000),
                      FrameCount(2400),
                      CrossfadeAt::start,
                      -0.75,
                      {0.25, -1.5},
                      extra("picked")};
  segment.extra = extra("colour");
  project.segments.push_back(segment);
  segment.id = Id<Segment>(7);
  segment.name = "Whistle end";
  segment.loop.reset();
  segment.source.clean.clear();
  project.segments.push_back(segment);

  Sound sound;
  sound.id = Id<Sound>(8);
  sound.name = "Whistle";
  sound.kind = SoundKind::held;
  sound.category = Category::whistle;
  sound.hold = Id<Segment>(6);
  sound.release = Id<Segment>(7);
  sound.gain_db = -3;
  sound.priority = 70;
  sound.importance = 1.5;
  sound.extra = extra("pitch");
  project.sounds.push_back(sound);
  sound.id = Id<Sound>(9);
  sound.name = "Toot";
  sound.kind = SoundKind::one_shot;
  sound.segment = Id<Segment>(7);
  sound.hold = {};
  sound.release = {};
  sound.gain_db = -1;
  project.sounds.push_back(sound);

  Chuff chuff;
  chuff.range = frame_range(200'000, 209'600);
  chuff.beat_frame = FrameIndex(200'240);
  chuff.gain_db = -0.5;
  chuff.fade_in_frames = FrameCount(120);
  chuff.fade_out_frames = FrameCount(960);
  chuff.extra = extra("sharp");
  Revolution revolution;
  revolution.source = project.segments.front().source;
  revolution.chuffs = {chuff, chuff, chuff, chuff};
  revolution.extra = extra("from_take");
  ChuffRow row;
  row.id = Id<ChuffRow>(10);
  row.from_kmh = 0;
  row.to_kmh = 12.5;
  row.effort = Effort::hard;
  row.revolutions = {revolution, revolution};
  row.condition = Condition::cocks_open;
  row.derived = Derived{20.5, -0.75, extra("by_ear")};
  row.fused =
      FusedLoop{project.segments.front().source,
                frame_range(300'000, 350'000),
                {frame_range(310'000, 340'000), FrameCount(960), CrossfadeAt::end, 1.5, {}, {}},
                61.5,
                -1.25,
                extra("hums")};
  row.extra = extra("note");
  project.chuffs.lead_ms = 4;
  project.chuffs.gain_db = 1;
  project.chuffs.priority = 95;
  project.chuffs.importance = 3;
  project.chuffs.rows = {row};
  project.chuffs.extra = extra("made_by");

  Key key;
  key.id = Id<Key>(11);
  key.number = 2;
  key.label = "Whistle";
  key.mode = KeyMode::momentary;
  key.direction = KeyDirection::forward;
  key.sound = Id<Sound>(8);
  key.extra = extra("icon");
  project.keys.push_back(key);

  Cv cv;
  cv.id = Id<Cv>(12);
  cv.number = 3;
  cv.value = 20;
  cv.name = "Acceleration rate";
  cv.note = "slow";
  cv.extra = extra("unit");
  project.cvs.push_back(cv);

  Verdict verdict;
  verdict.id = Id<Verdict>(13);
  verdict.segment = Id<Segment>(6);
  verdict.kind = VerdictKind::rejected;
  verdict.recipe = std::string(64, '0');
  verdict.sample_rate_hz = 22050;
  verdict.bits = 8;
  verdict.speaker = "small";
  verdict.note = "tick at the wrap";
  verdict.extra = extra("heard_in");
  project.verdicts.push_back(verdict);

  project.speaker = Speaker{"small", true, 500.5, 0.9, 3000, 4.5, 1.25, 11000, 0.7, extra("box")};
  project.engine.effort = EffortCalibration{6.5, 14.25, 0.25, 0.625, -0.04, 0.05, extra("by")};
  project.takes[0].chuff_source = true;
  Mark hand_set;
  hand_set.id = Id<Mark>(14);
  hand_set.take = Id<Take>(2);
  hand_set.kind = MarkKind::beat_moved;
  hand_set.range = frame_range(5000, 5000);
  hand_set.to_frame = FrameIndex(5100);
  project.marks.push_back(hand_set);
  hand_set.id = Id<Mark>(15);
  hand_set.kind = MarkKind::retracked;
  hand_set.range = frame_range(6000, 30'000);
  hand_set.to_frame.reset();
  hand_set.beats = 2;
  project.marks.push_back(hand_set);
  hand_set.id = Id<Mark>(16);
  hand_set.kind = MarkKind::effort;
  hand_set.beats.reset();
  hand_set.effort = Effort::drifting;
  project.marks.push_back(hand_set);

  project.run_cards = {"cards/branch.json"};
  project.next_id = 17;
  project.extra = extra("ticket");
  return project;
}

}  // namespace fourbeat::tests
