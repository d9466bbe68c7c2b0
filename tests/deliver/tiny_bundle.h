// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"
#include "fourbeat/deliver/bundle.h"
#include "fourbeat/fit/budget.h"

#include <algorithm>
#include <fstream>
#include <map>
#include <string>

namespace fourbeat::tests {

/// A decoder class with round figures: 12 bits in 16-bit files, 64-byte sectors.
inline model::DecoderProfile tiny_profile() {
  model::DecoderProfile profile;
  profile.id = "tiny";
  profile.name = "Tiny class";
  profile.memory_bytes = 100'000;
  profile.fixed_bytes = 100;
  profile.sector_bytes = 64;
  profile.overhead_bytes = 8;
  profile.voices = 3;
  profile.output_rate_hz = 11'025;
  profile.sample_rates_hz = {11'025, 22'050};
  profile.bits = {8, 12, 16};
  profile.max_sounds = 20;
  profile.loop = {16, 4};
  return profile;
}

/// One pass, a whistle in three parts with a looped hold, a bell, and one row of four chuffs.
inline model::Project tiny_project() {
  using namespace model;
  Project project;
  project.title = "Tern Valley No. 4";
  project.author = "A. Sounder";
  project.date = "2024-05-06";
  project.decoder = "tiny";
  project.user_notes = "Made on a **cold** morning.";
  project.engine.name = "No. 4";
  project.engine.driver_diameter_mm = 1000.0;
  project.engine.top_speed_kmh = 60.0;
  Take take;
  take.id = Id<Take>(1);
  take.path = "takes/one.wav";
  take.sha256 = std::string(64, 'a');
  take.sample_rate_hz = 48'000;
  take.channels = 1;
  take.frames = FrameCount(1'000'000);
  project.takes = {take};
  Pass pass;
  pass.id = Id<Pass>(2);
  pass.name = "Up the bank";
  pass.takes = {{Id<Take>(1), FrameCount(0), {}}};
  pass.rights = Rights{"Tern Valley Railway", "this sound set", "2030-12-31", {}};
  project.passes = {pass};
  const auto segment = [&](std::int64_t id, const char* name, bool looped) {
    Segment one;
    one.id = Id<Segment>(id);
    one.name = name;
    one.source.pass = Id<Pass>(2);
    one.source.mix = {{Id<Take>(1), 1, 0.0, FrameCount(0), false, {}}};
    one.range = frame_range(id * 10'000, id * 10'000 + 5'000);
    if (looped)
      one.loop = Loop{frame_range(id * 10'000 + 500, id * 10'000 + 4'500), {}, {}, 0.0, {}, {}};
    return one;
  };
  project.segments = {segment(3, "Whistle begin", false), segment(4, "Whistle hold", true),
                      segment(5, "Whistle release", false), segment(6, "Bell", false)};
  Sound whistle;
  whistle.id = Id<Sound>(7);
  whistle.name = "Whistle, long";
  whistle.kind = SoundKind::held;
  whistle.category = Category::whistle;
  whistle.begin = Id<Segment>(3);
  whistle.hold = Id<Segment>(4);
  whistle.release = Id<Segment>(5);
  whistle.gain_db = -3.0;
  Sound bell;
  bell.id = Id<Sound>(8);
  bell.name = "Bell";
  bell.category = Category::bell;
  bell.segment = Id<Segment>(6);
  project.sounds = {whistle, bell};
  Key whistle_key;
  whistle_key.id = Id<Key>(9);
  whistle_key.number = 2;
  whistle_key.label = "Whistle";
  whistle_key.mode = KeyMode::momentary;
  whistle_key.sound = Id<Sound>(7);
  Key bell_key;
  bell_key.id = Id<Key>(10);
  bell_key.number = 1;
  bell_key.label = "Bell \"ding\", small";
  bell_key.direction = KeyDirection::forward;
  bell_key.sound = Id<Sound>(8);
  project.keys = {whistle_key, bell_key};
  project.cvs = {{Id<Cv>(11), 4, 10, "Deceleration rate", "", {}, {}},
                 {Id<Cv>(12), 3, 20, "Acceleration rate", "=1+1", {}, {}}};
  ChuffRow row;
  row.id = Id<ChuffRow>(13);
  row.from_kmh = 0.0;
  row.to_kmh = 20.0;
  row.effort = Effort::hard;
  Revolution revolution;
  revolution.source = project.segments.front().source;
  for (int i = 0; i < 4; ++i) {
    const std::int64_t start = 100'000 + i * 5'000;
    revolution.chuffs.push_back(
        {frame_range(start, start + 4'000), FrameIndex(start + 240), 0.0, {}, {}, {}});
  }
  row.revolutions = {revolution};
  project.chuffs.rows = {row};
  project.next_id = 14;
  return project;
}

/// What list_pieces() and a fit at 11 025 Hz and 12 bits make of a project: a saw a piece.
inline deliver::BundleInput input_of(const model::Project& project,
                                     const model::DecoderProfile& profile) {
  deliver::BundleInput input;
  input.project = project;
  input.profile = profile;
  input.pieces = model::list_pieces(project);
  std::vector<std::int64_t> bytes;
  for (std::size_t i = 0; i < input.pieces.size(); ++i) {
    fit::FitSound sound;
    sound.name = input.pieces[i].name;
    sound.encoding = {11'025, 12};
    audio::Clip& clip = sound.encoded.clip;
    clip.sample_rate_hz = 11'025.0;
    clip.bits = 12;
    for (int frame = 0; frame < 100 + static_cast<int>(i); ++frame)
      clip.samples.push_back(static_cast<float>((frame * 7) % 50 - 25) / 2048.0F);
    if (input.pieces[i].loop) clip.loop = frame_range(20, 80);
    sound.encoded.playback_gain_db = -1.25;
    sound.bytes = fit::stored_bytes(static_cast<std::int64_t>(clip.samples.size()), 12, profile);
    bytes.push_back(sound.bytes);
    input.fit.sounds.push_back(std::move(sound));
  }
  input.fit.fits = true;
  input.fit.bytes_used = fit::set_bytes(bytes, profile);
  input.fit.bytes_available = profile.memory_bytes;
  input.fit.max_sounds = profile.max_sounds;
  input.unsigned_seams = {"whistle_long-hold"};
  input.snags = {{"unsigned_seam", check::Severity::warning, "/segments/1",
                  "segment “Whistle hold”", "nobody has signed its seam", "listen to it"}};
  return input;
}

inline deliver::BundleInput tiny_input() {
  return input_of(tiny_project(), tiny_profile());
}

inline std::vector<deliver::BundleFile> tiny_bundle() {
  return deliver::make_bundle(tiny_input()).value();
}

inline const std::string& content_of(const std::vector<deliver::BundleFile>& files,
                                     const std::string& path) {
  const auto found = std::find_if(files.begin(), files.end(),
                                  [&](const deliver::BundleFile& one) { return one.path == path; });
  REQUIRE(found != files.end());
  return found->content;
}

inline std::string read_whole(const std::filesystem::path& path) {
  return read_text_file(path, std::int64_t{1} << 30U).value();
}

inline void write_whole(const std::filesystem::path& path, const std::string& content) {
  std::ofstream(path, std::ios::binary) << content;
}

/// Everything below a folder: its path inside, and content of files.
inline std::map<std::string, std::string> tree_of(const std::filesystem::path& folder) {
  std::map<std::string, std::string> tree;
  if (!std::filesystem::is_directory(folder)) return tree;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(folder)) {
    const std::string name = path_text(entry.path().lexically_relative(folder));
    tree[name] = entry.is_regular_file() ? read_whole(entry.path()) : "/";
  }
  return tree;
}

}  // namespace fourbeat::tests
