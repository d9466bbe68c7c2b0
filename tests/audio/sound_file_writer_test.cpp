// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/audio/sound_file_writer.h"

#include "audio_files.h"
#include "support/riff_reader.h"
#include "support/temp_folder.h"

#include "fourbeat/base/files.h"

using namespace fourbeat;
using namespace fourbeat::audio;
using namespace fourbeat::tests;

namespace {

Pcm pcm_of(std::size_t frames) {
  return {48000.0, {exact_samples(16, frames, 1), exact_samples(16, frames, 2)}};
}

std::size_t files_in(const TempFolder& folder) {
  return static_cast<std::size_t>(std::distance(std::filesystem::directory_iterator(folder.path()),
                                                std::filesystem::directory_iterator()));
}

}  // namespace

TEST_CASE("writer: blocks laid end to end come back as one sound, in a well-formed WAV") {
  const TempFolder folder;
  const Pcm whole = pcm_of(10000);
  auto writer = SoundFileWriter::create(folder / "a.wav", 48000.0, 2, WavDepth::s16);
  REQUIRE(writer);
  for (std::size_t at = 0; at < 10000; at += 999) {
    Pcm block{48000.0, {}};
    for (const auto& channel : whole.channels)
      block.channels.emplace_back(
          channel.begin() + static_cast<std::ptrdiff_t>(at),
          channel.begin() + static_cast<std::ptrdiff_t>(std::min<std::size_t>(at + 999, 10000)));
    REQUIRE(writer->add(block));
  }
  CHECK(!std::filesystem::exists(folder / "a.wav"));  // not before it is whole
  REQUIRE(writer->finish());
  CHECK(files_in(folder) == 1);
  const auto bytes = read_text_file(folder / "a.wav", 1 << 20);
  REQUIRE(bytes);
  const auto riff = read_riff(*bytes);
  REQUIRE(riff);
  CHECK(riff->payloads.at("data").size() == 40000);
  auto reader = SoundFileReader::open(folder / "a.wav");
  REQUIRE(reader);
  CHECK(reader->info().format == "WAV 16-bit PCM");
  const auto back = reader->read(frame_range(0, 10000));
  REQUIRE(back);
  CHECK((back->channels == whole.channels));
}

TEST_CASE("writer: its loop is in the file; one that leaves the sound leaves no file") {
  const TempFolder folder;
  for (const std::int64_t frames : {900, 899}) {
    auto writer =
        SoundFileWriter::create(folder / "l.wav", 48000.0, 2, WavDepth::s24, frame_range(10, 900));
    REQUIRE(writer);
    REQUIRE(writer->add(pcm_of(static_cast<std::size_t>(frames))));
    const Status finished = writer->finish();
    if (frames == 900) {
      REQUIRE(finished);
      auto reader = SoundFileReader::open(folder / "l.wav");
      REQUIRE(reader);
      CHECK(reader->info().loops == std::vector<FrameRange>{frame_range(10, 900)});
      std::filesystem::remove(folder / "l.wav");
    } else {
      REQUIRE(!finished);
      CHECK(finished.error().code == ErrorCode::bad_argument);
    }
    CHECK(files_in(folder) == 0);
  }
}

TEST_CASE("writer: dropped before its end it leaves the older file as it was") {
  const TempFolder folder;
  put(folder / "a.wav", "older");
  {
    auto writer = SoundFileWriter::create(folder / "a.wav", 48000.0, 2, WavDepth::s16);
    REQUIRE(writer);
    REQUIRE(writer->add(pcm_of(50000)));
  }
  CHECK(files_in(folder) == 1);
  CHECK(*read_text_file(folder / "a.wav", 100) == "older");
}

TEST_CASE("writer: a sample that is no number stops it, with the frame of the whole") {
  const TempFolder folder;
  auto writer = SoundFileWriter::create(folder / "a.wav", 48000.0, 1, WavDepth::s16);
  REQUIRE(writer);
  REQUIRE(writer->add({48000.0, {std::vector<float>(100, 0.5F)}}));
  const Status added = writer->add({48000.0, {{0.0F, std::nanf("")}}});
  REQUIRE(!added);
  CHECK(added.error().code == ErrorCode::not_finite);
  CHECK(added.error().place == "frame 101");
  CHECK(added.error().file == (folder / "a.wav").string());
  CHECK(!writer->add({48000.0, {{0.0F}}}));
  CHECK(!writer->finish());
  CHECK(files_in(folder) == 0);
}

TEST_CASE("writer: what cannot be made is refused at once and leaves nothing") {
  const TempFolder folder;
  const auto code_of = [&](const std::filesystem::path& path, double rate_hz, int channels) {
    const auto writer = SoundFileWriter::create(path, rate_hz, channels, WavDepth::s16);
    REQUIRE(!writer);
    return writer.error().code;
  };
  CHECK(code_of(folder / "a.wav", 44100.5, 1) == ErrorCode::bad_argument);
  CHECK(code_of(folder / "a.wav", 44100.0, 0) == ErrorCode::bad_argument);
  CHECK(code_of(folder / "a.wav", 44100.0, 1025) == ErrorCode::bad_argument);
  CHECK(code_of(folder / "none/a.wav", 44100.0, 1) == ErrorCode::not_found);
  CHECK(code_of(folder.path(), 44100.0, 1) == ErrorCode::not_a_file);
  CHECK(files_in(folder) == 0);
}

TEST_CASE("writer: a link where its temporary file would go is not followed") {
  const TempFolder folder;
  put(folder / "take.wav", "a take");
  std::filesystem::create_symlink(folder / "take.wav", folder / "a.wav.part");
  auto writer = SoundFileWriter::create(folder / "a.wav", 48000.0, 2, WavDepth::s16);
  REQUIRE(writer);
  REQUIRE(writer->add(pcm_of(1000)));
  REQUIRE(writer->finish());
  CHECK(SoundFileReader::open(folder / "a.wav"));
  CHECK(*read_text_file(folder / "take.wav", 100) == "a take");
}
