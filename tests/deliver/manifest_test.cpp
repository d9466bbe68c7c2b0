// SPDX-License-Identifier: GPL-3.0-or-later
#include "manifest.h"

#include "support/catch.h"
#include "tiny_bundle.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using namespace fourbeat::deliver;

namespace {

std::string tiny_text() {
  return content_of(tiny_bundle(), "manifest.json");
}

std::string with(std::string text, const std::string& from, const std::string& to) {
  const std::size_t at = text.find(from);
  REQUIRE(at != std::string::npos);
  return text.replace(at, from.size(), to);
}

}  // namespace

TEST_CASE("manifest: it says what each sound is and who plays it", "[deliver]") {
  const auto manifest = parse_manifest(tiny_text());
  REQUIRE(manifest);
  CHECK(manifest->generator_name == "Fourbeat");
  CHECK(manifest->title == "Tern Valley No. 4");
  CHECK(manifest->decoder == tiny_profile());
  CHECK(manifest->engine.beat_angles_deg == std::vector<double>{0, 90, 180, 270});
  CHECK(manifest->unsigned_seams == std::vector<std::string>{"whistle_long-hold"});
  REQUIRE(manifest->snags.size() == 1);
  CHECK(manifest->snags[0] == tiny_input().snags[0]);
  REQUIRE(manifest->sounds.size() == 8);
  const ManifestSound& hold = manifest->sounds[1];
  CHECK(hold.name == "whistle_long-hold");
  CHECK(hold.file == "sounds/whistle_long-hold.wav");
  CHECK(hold.category == "whistle");
  CHECK(hold.sample_rate_hz == 11'025);
  CHECK(hold.bits == 12);
  CHECK(hold.file_bits == 16);
  CHECK(hold.frames == 101);
  CHECK(hold.bytes == 192);  // 101 × 12 / 8 + 8 = 159.5, in sectors of 64
  CHECK(hold.playback_gain_db == -4.25);
  REQUIRE(hold.loop);
  CHECK(*hold.loop == frame_range(20, 80));
  CHECK(hold.sounds == std::vector<std::string>{"Whistle, long"});
  CHECK(hold.keys == std::vector<int>{2});
  CHECK(hold.chuffs.empty());
  CHECK(manifest->sounds[5].chuffs == std::vector<ChuffUse>{{1, 1, 2, "normal", {}}});
  CHECK_FALSE(manifest->sounds[0].loop);
}

TEST_CASE("manifest: a row that was derived, and its condition, are told with its chuffs",
          "[deliver]") {
  model::Project project = tiny_project();
  project.chuffs.rows[0].condition = model::Condition::heavy_start;
  project.chuffs.rows[0].derived = model::Derived{25.125, -1.0, {}};
  const auto files = deliver::make_bundle(input_of(project, tiny_profile())).value();
  const Manifest manifest = parse_manifest(content_of(files, "manifest.json")).value();
  int told = 0;
  for (const ManifestSound& sound : manifest.sounds) {
    for (const ChuffUse& use : sound.chuffs) {
      CHECK(use.condition == "heavy_start");
      CHECK(use.recorded_kmh == 25.13);
      ++told;
    }
  }
  CHECK(told == 4);
}

TEST_CASE("manifest: text and value are the same thing", "[deliver]") {
  const std::string text = tiny_text();
  CHECK(manifest_text(parse_manifest(text).value()) == text);
  CHECK(text.rfind("{\n  \"format\": \"fourbeat-bundle\",\n  \"version\": 1,\n", 0) == 0);
  CHECK(text.find("\"invented\": true") != std::string::npos);
  CHECK(text.find("stands for no product") != std::string::npos);
}

TEST_CASE("manifest: levels baked into the samples leave no playback gain", "[deliver]") {
  auto profile = tiny_profile();
  profile.has_playback_gain = false;
  auto input = input_of(tiny_project(), profile);
  for (auto& sound : input.fit.sounds)
    sound.encoded.playback_gain_db = 0.0;
  const auto files = make_bundle(input).value();
  const auto manifest = parse_manifest(content_of(files, "manifest.json")).value();
  for (const auto& sound : manifest.sounds)
    CHECK(sound.playback_gain_db == 0.0);
}

TEST_CASE("manifest: what breaks the format is refused with its place", "[deliver]") {
  const std::string text = tiny_text();
  const auto refused = [&](const std::string& changed, ErrorCode code, const std::string& place) {
    const auto manifest = parse_manifest(changed);
    REQUIRE_FALSE(manifest);
    CHECK(manifest.error().code == code);
    CHECK(manifest.error().place == place);
  };
  refused(with(text, "fourbeat-bundle", "other"), ErrorCode::bad_input, "/format");
  refused(with(text, "\"version\": 1", "\"version\": 2"), ErrorCode::newer_version, "/version");
  refused(with(text, "\"version\": 1", "\"version\": \"1\""), ErrorCode::bad_input, "/version");
  refused(with(text, "\"frames\": 100", "\"frames\": -1"), ErrorCode::bad_input,
          "/sounds/0/frames");
  refused(with(text, "\"frames\": 100", "\"frames\": 18446744073709551615"), ErrorCode::bad_input,
          "/sounds/0/frames");
  refused(with(text, "\"sector_bytes\": 64", "\"sector_bytes\": 0"), ErrorCode::bad_input,
          "/decoder/sector_bytes");
  refused(with(text, "\"name\": \"whistle_long-begin\"", "\"name\": \"../x\""),
          ErrorCode::bad_input, "/sounds/0/name");
  refused(with(text, "\"file\": \"sounds/", "\"file\": \"/sounds/"), ErrorCode::bad_input,
          "/sounds/0/file");
  refused(with(text, "\"end_frame\": 80", "\"end_frame\": 20"), ErrorCode::bad_input,
          "/sounds/1/loop");
  refused(with(text, "\"F2\"", "\"F69\""), ErrorCode::bad_input, "/sounds/0/used_by/keys/0");
  refused(with(text, "\"title\"", "\"titel\""), ErrorCode::bad_input, "/title");
  refused(std::string(100'000, '['), ErrorCode::too_deep, "");
  CHECK_FALSE(parse_manifest(""));
  CHECK_FALSE(parse_manifest("[]"));
  CHECK_FALSE(parse_manifest("null"));
  for (std::size_t cut = 0; cut + 2 < text.size(); cut += 97)
    CHECK_FALSE(parse_manifest(text.substr(0, cut)));
}
