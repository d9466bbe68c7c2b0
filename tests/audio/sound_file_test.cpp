// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/audio/sound_file.h"

#include "audio_files.h"
#include "support/temp_folder.h"

#include <limits>

using namespace fourbeat;
using namespace fourbeat::audio;
using namespace fourbeat::tests;

namespace {

std::uint64_t word_at(const std::string& bytes, std::size_t at, std::size_t count = 4) {
  std::uint64_t value = 0;
  for (std::size_t i = 0; i < count; ++i)
    value |= static_cast<std::uint64_t>(static_cast<unsigned char>(bytes.at(at + i))) << (8 * i);
  return value;
}

/// Where a chunk's content starts and how long it is, by walking the bytes; 0, 0: not there.
std::pair<std::size_t, std::size_t> find_chunk(const std::string& bytes, const std::string& name) {
  for (std::size_t at = 12; at + 8 <= bytes.size();) {
    const auto size = static_cast<std::size_t>(word_at(bytes, at + 4));
    if (bytes.compare(at, 4, name) == 0) return {at + 8, size};
    at += 8 + size + size % 2;
  }
  return {0, 0};
}

Pcm read_all(const std::filesystem::path& path) {
  auto reader = SoundFileReader::open(path);
  INFO((reader ? std::string() : to_line(reader.error())));
  REQUIRE(reader);
  auto pcm = reader->read(frame_range(0, reader->info().frames.value()));
  REQUIRE(pcm);
  return *std::move(pcm);
}

Pcm exact_pcm(int bits, std::size_t channels, std::size_t frames) {
  Pcm pcm{48000.0, {}};
  for (std::size_t c = 0; c < channels; ++c)
    pcm.channels.push_back(exact_samples(bits, frames, static_cast<std::uint32_t>(c + 1)));
  return pcm;
}

}  // namespace

TEST_CASE("a WAV of 8, 16 or 24 bits gives back the very samples it was given") {
  const TempFolder folder;
  const int bits = GENERATE(8, 16, 24);
  const std::size_t channels = GENERATE(1U, 2U, 7U);
  const WavDepth depth = bits == 8 ? WavDepth::u8 : bits == 16 ? WavDepth::s16 : WavDepth::s24;
  const Pcm pcm = exact_pcm(bits, channels, 10001);
  REQUIRE(write_wav(folder / "a.wav", pcm, depth));
  const Pcm back = read_all(folder / "a.wav");
  CHECK(back.sample_rate_hz == 48000.0);
  CHECK((back.channels == pcm.channels));
}

TEST_CASE("a float WAV keeps every float, also over full scale") {
  const TempFolder folder;
  Pcm pcm{44100.0, {sine(997.0, 44100.0, 5000, 1.75)}};
  pcm.channels[0][7] = std::numeric_limits<float>::denorm_min();
  REQUIRE(write_wav(folder / "a.wav", pcm, WavDepth::f32));
  CHECK((read_all(folder / "a.wav").channels == pcm.channels));
  auto reader = SoundFileReader::open(folder / "a.wav");
  REQUIRE(reader);
  CHECK(reader->info().format == "WAV float");
}

TEST_CASE("samples are rounded to the nearest step and clamped at full scale") {
  const Pcm pcm{48000.0, {{1.0F, -1.5F, 0.6F / 32768.0F, -0.6F / 32768.0F, 0.4F / 32768.0F}}};
  const auto bytes = wav_bytes(pcm, WavDepth::s16);
  REQUIRE(bytes);
  const auto [at, size] = find_chunk(*bytes, "data");
  REQUIRE(size == 10);
  std::vector<int> k;
  for (std::size_t n = 0; n < 5; ++n)
    k.push_back(static_cast<std::int16_t>(word_at(*bytes, at + 2 * n, 2)));
  CHECK(k == std::vector<int>{32767, -32768, 1, -1, 0});
}

TEST_CASE("the smpl chunk holds an endless forward loop with an inclusive end") {
  const Pcm pcm{22050.0, {std::vector<float>(1000, 0.25F)}};
  const auto bytes = wav_bytes(pcm, WavDepth::s16, frame_range(100, 900));
  REQUIRE(bytes);
  const auto [at, size] = find_chunk(*bytes, "smpl");
  REQUIRE(size >= 60);
  CHECK(word_at(*bytes, at + 28) == 1);        // loops
  CHECK(word_at(*bytes, at + 36 + 4) == 0);    // forward
  CHECK(word_at(*bytes, at + 36 + 8) == 100);  // start
  CHECK(word_at(*bytes, at + 36 + 12) == 899);
  CHECK(word_at(*bytes, at + 36 + 20) == 0);  // play count: endless
  CHECK(word_at(*bytes, 4) == bytes->size() - 8);

  const TempFolder folder;
  put(folder / "loop.wav", *bytes);
  auto reader = SoundFileReader::open(folder / "loop.wav");
  REQUIRE(reader);
  CHECK(reader->info().loops == std::vector<FrameRange>{frame_range(100, 900)});
}

TEST_CASE("a loop over the whole sound, and of one frame, come back as given") {
  const TempFolder folder;
  const Pcm pcm{22050.0, {std::vector<float>(10, 0.25F)}};
  for (const FrameRange loop : {frame_range(0, 10), frame_range(9, 10)}) {
    REQUIRE(write_wav(folder / "loop.wav", pcm, WavDepth::u8, loop));
    auto reader = SoundFileReader::open(folder / "loop.wav");
    REQUIRE(reader);
    CHECK(reader->info().loops == std::vector<FrameRange>{loop});
  }
}

TEST_CASE("two writings of one sound are the same bytes, and carry no peak chunk with a clock") {
  const Pcm pcm{48000.0, {sine(440.0, 48000.0, 4800)}};
  const auto once = wav_bytes(pcm, WavDepth::f32);
  const auto again = wav_bytes(pcm, WavDepth::f32);
  REQUIRE(once);
  REQUIRE(again);
  CHECK(*once == *again);
  CHECK(find_chunk(*once, "PEAK").second == 0);
  CHECK(find_chunk(*once, "data").second == 4800UL * 4);
}

TEST_CASE("a clip is written at the depth that holds its own") {
  for (const auto& [bits, stored] :
       {std::pair{8, 8U}, {12, 16U}, {16, 16U}, {24, 24U}, {32, 32U}}) {
    const Clip clip{22050.0, bits, exact_samples(8, 100), frame_range(10, 90)};
    const auto bytes = wav_bytes(clip);
    REQUIRE(bytes);
    CHECK(word_at(*bytes, find_chunk(*bytes, "fmt ").first + 14, 2) == stored);
    CHECK(find_chunk(*bytes, "smpl").second >= 60);
  }
}

TEST_CASE("what a WAV cannot hold is refused, and no file is left") {
  const TempFolder folder;
  const auto code_of = [&](const Pcm& pcm, std::optional<FrameRange> loop = std::nullopt) {
    const Status wrote = write_wav(folder / "no.wav", pcm, WavDepth::s16, loop);
    REQUIRE(!wrote);
    CHECK(wrote.error().file == (folder / "no.wav").string());
    return wrote.error().code;
  };
  CHECK(code_of({48000.0, {}}) == ErrorCode::bad_argument);
  CHECK(code_of({48000.5, {{0.0F}}}) == ErrorCode::bad_argument);
  CHECK(code_of({0.0, {{0.0F}}}) == ErrorCode::bad_argument);
  CHECK(code_of({std::nan(""), {{0.0F}}}) == ErrorCode::bad_argument);
  CHECK(code_of({48000.0, {{0.0F}, {0.0F, 0.0F}}}) == ErrorCode::bad_argument);
  CHECK(code_of({48000.0, {{0.0F, std::nanf("")}}}) == ErrorCode::not_finite);
  CHECK(code_of({48000.0, {{0.0F, 0.0F}}}, frame_range(0, 3)) == ErrorCode::bad_argument);
  CHECK(code_of({48000.0, {{0.0F, 0.0F}}}, frame_range(1, 1)) == ErrorCode::bad_argument);
  CHECK(code_of({48000.0, {{0.0F, 0.0F}}}, frame_range(-1, 1)) == ErrorCode::bad_argument);
  CHECK(std::filesystem::is_empty(folder.path()));
}

TEST_CASE("every format listed is read: exactly where it is lossless") {
  const TempFolder folder;
  struct Row {
    const char* name;
    int format;
    const char* said;
    bool exact;
  };
  const auto row =
      GENERATE(Row{"a.wav", SF_FORMAT_WAVEX | SF_FORMAT_PCM_24, "WAV 24-bit PCM", true},
               Row{"a.rf64", SF_FORMAT_RF64 | SF_FORMAT_PCM_16, "RF64 16-bit PCM", true},
               Row{"f.rf64", SF_FORMAT_RF64 | SF_FORMAT_FLOAT, "RF64 float", true},
               Row{"a.w64", SF_FORMAT_W64 | SF_FORMAT_PCM_24, "W64 24-bit PCM", true},
               Row{"a.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, "FLAC 16-bit PCM", true},
               Row{"a.aiff", SF_FORMAT_AIFF | SF_FORMAT_PCM_24, "AIFF 24-bit PCM", true},
               Row{"f.aiff", SF_FORMAT_AIFF | SF_FORMAT_FLOAT, "AIFF float", true},
               Row{"a.caf", SF_FORMAT_CAF | SF_FORMAT_PCM_16, "CAF 16-bit PCM", true},
               Row{"a.ogg", SF_FORMAT_OGG | SF_FORMAT_VORBIS, "Ogg Vorbis", false});
  Pcm pcm = exact_pcm(16, 3, 9001);
  if (!row.exact) {
    for (std::size_t c = 0; c < 3; ++c)
      pcm.channels[c] = sine(300.0 * static_cast<double>(c + 1), 48000.0, 9001);
  }
  write_by_libsndfile(folder / row.name, pcm, row.format);
  auto reader = SoundFileReader::open(folder / row.name);
  INFO(row.name << " " << (reader ? std::string() : to_line(reader.error())));
  REQUIRE(reader);
  CHECK(reader->info().format == row.said);
  CHECK(reader->info().sample_rate_hz == 48000);
  CHECK(reader->info().channels == 3);
  CHECK(reader->info().frames == FrameCount(9001));
  CHECK(reader->info().loops.empty());
  const auto back = reader->read(frame_range(0, 9001));
  REQUIRE(back);
  if (row.exact) {
    CHECK((back->channels == pcm.channels));
  } else {
    double worst = 0.0;
    for (std::size_t n = 1000; n < 8000; ++n)
      worst = std::max(worst, std::abs(double{back->channels[1][n]} - double{pcm.channels[1][n]}));
    CHECK(worst < 0.1);
  }
  // Any place again, out of order, chosen channels only.
  const std::vector<int> third_first{3, 1};
  const auto part = reader->read(frame_range(5000, 5100), third_first);
  REQUIRE(part);
  REQUIRE(part->channels.size() == 2);
  CHECK(std::equal(part->channels[0].begin(), part->channels[0].end(),
                   back->channels[2].begin() + 5000));
  CHECK(std::equal(part->channels[1].begin(), part->channels[1].end(),
                   back->channels[0].begin() + 5000));
}

TEST_CASE("blocks laid end to end are the file, whatever their size") {
  const TempFolder folder;
  const Pcm pcm = exact_pcm(24, 2, 10007);
  REQUIRE(write_wav(folder / "a.wav", pcm, WavDepth::s24));
  auto reader = SoundFileReader::open(folder / "a.wav");
  REQUIRE(reader);
  for (const std::int64_t block_frames : {1000, 4096, 5000, 20000}) {
    std::vector<std::vector<float>> joined(2);
    JobControl job;
    const Status read = reader->read_blocks(
        frame_range(3, 10007), FrameCount(block_frames),
        [&](const Pcm& block, FrameIndex at) -> Status {
          CHECK(at.value() == 3 + static_cast<std::int64_t>(joined[0].size()));
          CHECK(block.frames() <= FrameCount(block_frames));
          for (std::size_t c = 0; c < 2; ++c)
            joined[c].insert(joined[c].end(), block.channels[c].begin(), block.channels[c].end());
          return ok();
        },
        job);
    REQUIRE(read);
    for (std::size_t c = 0; c < 2; ++c)
      CHECK((joined[c] == std::vector<float>(pcm.channels[c].begin() + 3, pcm.channels[c].end())));
  }
}

TEST_CASE("reading stops at a cancel and at the sink's own error") {
  const TempFolder folder;
  REQUIRE(write_wav(folder / "a.wav", exact_pcm(16, 1, 5000), WavDepth::s16));
  auto reader = SoundFileReader::open(folder / "a.wav");
  REQUIRE(reader);
  struct StopAfterOne : JobControl {
    int blocks = 0;
    [[nodiscard]] bool cancelled() const override { return blocks > 0; }
  } job;
  const auto count = [&](const Pcm&, FrameIndex) -> Status {
    ++job.blocks;
    return ok();
  };
  const Status stopped = reader->read_blocks(frame_range(0, 5000), FrameCount(100), count, job);
  REQUIRE(!stopped);
  CHECK(stopped.error().code == ErrorCode::cancelled);
  CHECK(job.blocks == 1);

  JobControl calm;
  const auto refuse = [](const Pcm&, FrameIndex) -> Status {
    return Error{ErrorCode::no_space, {}, {}, {}, {}};
  };
  const Status refused = reader->read_blocks(frame_range(0, 5000), FrameCount(100), refuse, calm);
  REQUIRE(!refused);
  CHECK(refused.error().code == ErrorCode::no_space);
}

TEST_CASE("ranges and channels outside the file are refused") {
  const TempFolder folder;
  REQUIRE(write_wav(folder / "a.wav", exact_pcm(16, 2, 50), WavDepth::s16));
  auto reader = SoundFileReader::open(folder / "a.wav");
  REQUIRE(reader);
  for (const FrameRange range : {frame_range(-1, 5), frame_range(0, 51), frame_range(7, 6)}) {
    const auto read = reader->read(range);
    REQUIRE(!read);
    CHECK(read.error().code == ErrorCode::bad_argument);
  }
  for (const int channel : {0, 3, -1}) {
    const auto read = reader->read(frame_range(0, 5), std::vector<int>{channel});
    REQUIRE(!read);
    CHECK(read.error().code == ErrorCode::bad_argument);
  }
  const auto nothing = reader->read(frame_range(50, 50));
  REQUIRE(nothing);
  CHECK(nothing->frames() == FrameCount(0));
  const auto one = reader->read(frame_range(49, 50));
  REQUIRE(one);
  CHECK(one->frames() == FrameCount(1));
}
