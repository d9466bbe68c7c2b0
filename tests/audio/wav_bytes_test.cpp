// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/catch.h"
#include "support/riff_reader.h"
#include "support/temp_folder.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/files.h"

#include <limits>

using namespace fourbeat;
using namespace fourbeat::audio;
using fourbeat::tests::read_riff;
using fourbeat::tests::Riff;
using fourbeat::tests::TempFolder;

namespace {

int bits_of(WavDepth depth) {
  return depth == WavDepth::u8 ? 8 : depth == WavDepth::s16 ? 16 : 24;
}

/// Every value of 8 bits, or 4001 spread over the range with both ends, as k / 2^(bits-1).
std::vector<std::int32_t> numbers_of(int bits) {
  std::vector<std::int32_t> numbers;
  const std::int32_t full = 1 << (bits - 1);
  const std::int32_t step = bits == 8 ? 1 : full / 2000;
  for (std::int32_t k = -full; k < full; k += step)
    numbers.push_back(k);
  numbers.push_back(full - 1);
  return numbers;
}

}  // namespace

TEST_CASE("wav: integer samples go out and come back bit for bit", "[audio]") {
  const TempFolder folder;
  for (const WavDepth depth : {WavDepth::u8, WavDepth::s16, WavDepth::s24}) {
    const int bits = bits_of(depth);
    CAPTURE(bits);
    const std::vector<std::int32_t> numbers = numbers_of(bits);
    Pcm pcm{22050.0, {{}}};
    for (const std::int32_t k : numbers)
      pcm.channels[0].push_back(static_cast<float>(std::ldexp(k, 1 - bits)));
    const Result<std::string> bytes = wav_bytes(pcm, depth);
    REQUIRE(bytes);
    const std::optional<Riff> riff = read_riff(*bytes);
    REQUIRE(riff);
    REQUIRE(riff->payloads.at("data").size() ==
            numbers.size() * static_cast<std::size_t>(bits / 8));
    bool same = true;
    for (std::size_t i = 0; i < numbers.size(); ++i)
      same = same && riff->sample(i, static_cast<std::size_t>(bits)) == numbers[i];
    CHECK(same);
    REQUIRE(write_file_atomically(folder / "a.wav", *bytes));
    Result<SoundFileReader> reader = SoundFileReader::open(folder / "a.wav");
    REQUIRE(reader);
    const Result<Pcm> back = reader->read({FrameIndex(0), FrameIndex(0) + reader->info().frames});
    REQUIRE(back);
    CHECK((back->channels == pcm.channels));
  }
}

TEST_CASE("wav: a sample is rounded to the nearest number and held at full scale", "[audio]") {
  const Pcm pcm{
      8000.0,
      {{0.0F, 1.4F / 32768.0F, 1.6F / 32768.0F, -1.6F / 32768.0F, 1.0F, -1.0F, 7.0F, -7.0F}}};
  const std::optional<Riff> riff = read_riff(*wav_bytes(pcm, WavDepth::s16));
  REQUIRE(riff);
  const std::vector<std::int32_t> due{0, 1, 2, -2, 32767, -32768, 32767, -32768};
  for (std::size_t i = 0; i < due.size(); ++i)
    CHECK(riff->sample(i, 16) == due[i]);
}

TEST_CASE("wav: the format chunk says what is inside, and no other chunk carries a clock",
          "[audio]") {
  const Pcm pcm{44100.0, {{0.5F, 0.25F}, {-0.5F, -0.25F}, {0.0F, 1.5F}}};
  for (const WavDepth depth : {WavDepth::u8, WavDepth::s16, WavDepth::s24, WavDepth::f32}) {
    const std::optional<Riff> riff = read_riff(*wav_bytes(pcm, depth));
    REQUIRE(riff);
    const std::uint32_t bits =
        depth == WavDepth::f32 ? 32 : static_cast<std::uint32_t>(bits_of(depth));
    CHECK(riff->field("fmt ", 2, 2) == 3);
    CHECK(riff->field("fmt ", 4) == 44100);
    CHECK(riff->field("fmt ", 8) == 44100 * 3 * bits / 8);
    CHECK(riff->field("fmt ", 12, 2) == 3 * bits / 8);
    CHECK(riff->field("fmt ", 14, 2) == bits);
    for (const std::string& id : riff->order) {
      CAPTURE(id);
      CHECK((id == "fmt " || id == "fact" || id == "data" || id == "PAD "));
    }
  }
  // Float passes beyond full scale.
  const std::optional<Riff> riff = read_riff(*wav_bytes(pcm, WavDepth::f32));
  CHECK(riff->field("data", std::size_t{4} * 5) == 0x3FC00000U);
}

TEST_CASE("wav: a loop is a smpl chunk in front of the sound whose end is the last frame played",
          "[audio]") {
  const TempFolder folder;
  const Pcm pcm{16000.0, {std::vector<float>(4000, 0.25F)}};
  const Result<std::string> bytes = wav_bytes(pcm, WavDepth::s16, frame_range(1000, 3000));
  REQUIRE(bytes);
  const std::optional<Riff> riff = read_riff(*bytes);
  REQUIRE(riff);
  // Offsets and values: description of the Microsoft and MMA sampler chunk.
  REQUIRE(riff->payloads.at("smpl").size() == 60);
  CHECK(riff->field("smpl", 8) == 62500);       // nanoseconds a sample at 16 kHz
  CHECK(riff->field("smpl", 12) == 60);         // middle C
  CHECK(riff->field("smpl", 28) == 1);          // loops
  CHECK(riff->field("smpl", 32) == 0);          // no maker's data
  CHECK(riff->field("smpl", 36 + 4) == 0);      // forward
  CHECK(riff->field("smpl", 36 + 8) == 1000);   // first frame played
  CHECK(riff->field("smpl", 36 + 12) == 2999);  // last frame played
  CHECK(riff->field("smpl", 36 + 20) == 0);     // endless
  const auto smpl = std::find(riff->order.begin(), riff->order.end(), "smpl");
  const auto data = std::find(riff->order.begin(), riff->order.end(), "data");
  CHECK(smpl < data);
  REQUIRE(write_file_atomically(folder / "l.wav", *bytes));
  const Result<SoundFileReader> reader = SoundFileReader::open(folder / "l.wav");
  REQUIRE(reader);
  CHECK(reader->info().loops == std::vector<FrameRange>{frame_range(1000, 3000)});
}

TEST_CASE("wav: a loop over the whole sound, and one of one frame, come back as they were",
          "[audio]") {
  const TempFolder folder;
  const Pcm pcm{8000.0, {std::vector<float>(10, 0.5F)}};
  for (const FrameRange loop : {frame_range(0, 10), frame_range(9, 10), frame_range(0, 1)}) {
    REQUIRE(write_wav(folder / "l.wav", pcm, WavDepth::u8, loop));
    const Result<SoundFileReader> reader = SoundFileReader::open(folder / "l.wav");
    REQUIRE(reader);
    REQUIRE(reader->info().loops.size() == 1);
    CHECK(reader->info().loops[0] == loop);
  }
}

TEST_CASE("wav: a clip goes out at the depth it was rounded to", "[audio]") {
  Clip clip{11025.0, 12, {0.0F, 0.5F, -1.0F}, frame_range(0, 3)};
  CHECK(read_riff(*wav_bytes(clip))->field("fmt ", 14, 2) == 16);
  clip.bits = 8;
  CHECK(read_riff(*wav_bytes(clip))->field("fmt ", 14, 2) == 8);
  clip.bits = 24;
  CHECK(read_riff(*wav_bytes(clip))->field("fmt ", 14, 2) == 24);
  clip.bits = 32;
  CHECK(read_riff(*wav_bytes(clip))->field("fmt ", 14, 2) == 32);
  clip.bits = 33;
  CHECK(wav_bytes(clip).error().code == ErrorCode::bad_argument);
}

TEST_CASE("wav: what cannot be a WAV is refused", "[audio]") {
  const std::vector<float> some(10, 0.5F);
  CHECK(wav_bytes(Pcm{8000.5, {some}}, WavDepth::s16).error().code == ErrorCode::bad_argument);
  CHECK(wav_bytes(Pcm{0.0, {some}}, WavDepth::s16).error().code == ErrorCode::bad_argument);
  CHECK(wav_bytes(Pcm{8000.0, {}}, WavDepth::s16).error().code == ErrorCode::bad_argument);
  CHECK(wav_bytes(Pcm{8000.0, {some, {0.5F}}}, WavDepth::s16).error().code ==
        ErrorCode::bad_argument);
  CHECK(wav_bytes(Pcm{8000.0, {some}}, WavDepth::s16, frame_range(5, 11)).error().code ==
        ErrorCode::bad_argument);
  CHECK(wav_bytes(Pcm{8000.0, {some}}, WavDepth::s16, frame_range(5, 5)).error().code ==
        ErrorCode::bad_argument);
  Pcm broken{8000.0, {some}};
  broken.channels[0][7] = std::numeric_limits<float>::quiet_NaN();
  const Result<std::string> refused = wav_bytes(broken, WavDepth::f32);
  CHECK(refused.error().code == ErrorCode::not_finite);
  CHECK(refused.error().place == "frame 7");
}

TEST_CASE("wav: no frame at all is still a whole file", "[audio]") {
  const std::optional<Riff> riff = read_riff(*wav_bytes(Pcm{8000.0, {{}}}, WavDepth::s24));
  REQUIRE(riff);
  CHECK(riff->payloads.at("data").empty());
}
