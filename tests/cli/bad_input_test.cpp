// SPDX-License-Identifier: GPL-3.0-or-later
#include "command.h"
#include "support/catch.h"
#include "support/temp_folder.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/files.h"

#include <sys/stat.h>

#include <limits>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

void one_clear_line(const Ran& ran, const std::string& name) {
  INFO(ran.err);
  CHECK(ran.status == 2);
  CHECK(ran.out.empty());
  CHECK(std::count(ran.err.begin(), ran.err.end(), '\n') == 1);
  CHECK(ran.err.find(name) != std::string::npos);
}

std::string good_wav() {
  audio::Pcm pcm{8000.0, {std::vector<float>(8000)}};
  for (std::size_t i = 0; i < 8000; ++i) {
    pcm.channels[0][i] = static_cast<float>(0.5 * std::sin(0.3 * static_cast<double>(i)));
  }
  return *audio::wav_bytes(pcm, audio::WavDepth::s16);
}

}  // namespace

TEST_CASE("command: every bad recording gets one clear line and exit status 2", "[cli]") {
  const TempFolder folder;
  const std::string wav = good_wav();
  REQUIRE(write_file_atomically(folder / "empty.wav", ""));
  REQUIRE(write_file_atomically(folder / "cut.wav", wav.substr(0, wav.size() / 2)));
  REQUIRE(write_file_atomically(folder / "text.wav", "These are words, not samples.\n"));
  std::string liar = wav;
  liar[wav.find("data") + 6] = '\x7f';  // a data size of some 8 MB
  REQUIRE(write_file_atomically(folder / "liar.wav", liar));
  std::filesystem::create_directory(folder / "folder.wav");
  REQUIRE(::mkfifo((folder / "fifo.wav").c_str(), 0600) == 0);
  audio::Pcm nan{8000.0, {std::vector<float>(800, std::numeric_limits<float>::quiet_NaN())}};
  const Result<std::string> nan_wav = audio::wav_bytes(nan, audio::WavDepth::f32);
  if (nan_wav) REQUIRE(write_file_atomically(folder / "nan.wav", *nan_wav));
  for (const std::string name :
       {"empty.wav", "cut.wav", "text.wav", "liar.wav", "folder.wav", "fifo.wav", "none.wav"}) {
    one_clear_line(run(folder, "take report " + name), name);
    one_clear_line(run(folder, "beats " + name), name);
  }
  if (nan_wav) one_clear_line(run(folder, "beats nan.wav"), "nan.wav");
}

TEST_CASE("command: a bad project gets one clear line and stays as it is", "[cli]") {
  const TempFolder folder;
  REQUIRE(run(folder, "new p.fourbeat --title Test").status == 0);
  const std::string whole = *read_text_file(folder / "p.fourbeat", 1 << 20);
  const std::string half = whole.substr(0, whole.size() / 2);
  REQUIRE(write_file_atomically(folder / "half.fourbeat", half));
  const std::string deep = std::string(100000, '[') + std::string(100000, ']');
  REQUIRE(write_file_atomically(folder / "deep.fourbeat", deep));
  REQUIRE(write_file_atomically(folder / "edits.json", R"([{"edit": "set_title", "title": "x"}])"));
  for (const std::string name : {"half.fourbeat", "deep.fourbeat"}) {
    one_clear_line(run(folder, "check " + name), name);
    one_clear_line(run(folder, "edit " + name + " --apply edits.json"), name);
  }
  CHECK(*read_text_file(folder / "half.fourbeat", 1 << 20) == half);
  CHECK(*read_text_file(folder / "deep.fourbeat", 1 << 20) == deep);
}

TEST_CASE("command: a new project is not broken, but nothing can be packed of it", "[cli]") {
  const TempFolder folder;
  REQUIRE(run(folder, "new p.fourbeat --title Test").status == 0);
  const Ran checked = run(folder, "check p.fourbeat");
  CHECK(checked.status == 0);
  CHECK(checked.out.find("hint: the set: it has nothing to play yet") != std::string::npos);
  for (const std::string out : {"--out bundle", "--out bundle.zip --zip"}) {
    const Ran packed = run(folder, "pack p.fourbeat " + out);
    INFO(packed.err);
    CHECK(packed.status == 1);
    CHECK(packed.out.empty());
    CHECK(std::count(packed.err.begin(), packed.err.end(), '\n') == 1);
    CHECK(packed.err.find("p.fourbeat") != std::string::npos);
    CHECK(packed.err.find("nothing to play") != std::string::npos);
  }
  CHECK_FALSE(std::filesystem::exists(folder / "bundle"));
  CHECK_FALSE(std::filesystem::exists(folder / "bundle.zip"));
}

TEST_CASE("command: a stopped demo leaves no folder", "[cli]") {
  const TempFolder folder;
  const std::string command = std::getenv("FOURBEAT_COMMAND");
  const std::string line = "cd " + folder.path().string() + " && timeout -s INT 1 " + command +
                           " demo new/demo > /dev/null 2>&1";
  CHECK(std::system(line.c_str()) != 0);
  CHECK(std::filesystem::is_empty(folder.path()));
}

TEST_CASE("command: an edit file is applied whole or not at all", "[cli]") {
  const TempFolder folder;
  REQUIRE(run(folder, "new p.fourbeat --title Test").status == 0);
  const std::string before = *read_text_file(folder / "p.fourbeat", 1 << 20);
  REQUIRE(write_file_atomically(
      folder / "bad.json",
      R"([{"edit": "set_title", "title": "x"}, {"edit": "remove_key", "id": 99}])"));
  one_clear_line(run(folder, "edit p.fourbeat --apply bad.json"), "bad.json");
  CHECK(*read_text_file(folder / "p.fourbeat", 1 << 20) == before);
  REQUIRE(
      write_file_atomically(folder / "good.json", R"([{"edit": "set_title", "title": "Anders"}])"));
  CHECK(run(folder, "edit p.fourbeat --apply good.json").status == 0);
  CHECK(run(folder, "show p.fourbeat /title").out == "\"Anders\"\n");
}

TEST_CASE("command: an output that is the recording itself is refused", "[cli]") {
  const TempFolder folder;
  const std::string wav = good_wav();
  REQUIRE(write_file_atomically(folder / "a.wav", wav));
  REQUIRE(write_file_atomically(
      folder / "chain.json",
      R"({"format": "fourbeat-chain", "version": 1, "steps": [{"step": "high_pass", "cutoff_hz": 60, "order": 4}]})"));
  one_clear_line(run(folder, "clean a.wav --chain chain.json --out ./a.wav"), "a.wav");
  CHECK(*read_text_file(folder / "a.wav", 1 << 20) == wav);
  CHECK(run(folder, "clean a.wav --chain chain.json --out b.wav").status == 0);
  CHECK(run(folder, "take report b.wav --json").out.find("\"peak_dbfs\"") != std::string::npos);
}

TEST_CASE("command: bad usage gets one line and exit status 2", "[cli]") {
  const TempFolder folder;
  for (const std::string arguments : {"", "nonsense", "beats", "fit"}) {
    const Ran ran = run(folder, arguments);
    CHECK(ran.status == 2);
    CHECK(std::count(ran.err.begin(), ran.err.end(), '\n') == 1);
  }
}
