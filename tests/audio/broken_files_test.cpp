// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio_files.h"
#include "support/temp_folder.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/files.h"

#include <sys/stat.h>

using namespace fourbeat;
using namespace fourbeat::audio;
using namespace fourbeat::tests;

namespace {

Error open_error(const std::filesystem::path& path) {
  const auto reader = SoundFileReader::open(path);
  REQUIRE(!reader);
  INFO(to_line(reader.error()));
  CHECK(reader.error().file == path.string());
  return reader.error();
}

std::string good_file(const TempFolder& folder, const char* name, int format) {
  Pcm pcm{48000.0, {sine(440.0, 48000.0, 48000), sine(550.0, 48000.0, 48000)}};
  write_by_libsndfile(folder / name, pcm, format);
  auto bytes = read_text_file(folder / name, 1 << 26);
  REQUIRE(bytes);
  return *bytes;
}

}  // namespace

TEST_CASE("what is no regular file is refused at once: missing, folder, FIFO") {
  const TempFolder folder;
  CHECK(open_error(folder / "missing.wav").code == ErrorCode::not_found);
  CHECK(open_error(folder.path()).code == ErrorCode::not_a_file);
  REQUIRE(::mkfifo((folder / "pipe.wav").c_str(), 0600) == 0);
  CHECK(open_error(folder / "pipe.wav").code == ErrorCode::not_a_file);
}

TEST_CASE("what is no sound file is told apart by its content, whatever its name") {
  const TempFolder folder;
  put(folder / "empty.wav", "");
  CHECK(open_error(folder / "empty.wav").code == ErrorCode::not_audio);
  put(folder / "text.wav", "Dear reader, this is a text and no sound.\n");
  CHECK(open_error(folder / "text.wav").code == ErrorCode::not_audio);
  put(folder / "short.wav", "RIFF");
  CHECK(open_error(folder / "short.wav").code == ErrorCode::truncated);
  put(folder / "zeros.au", std::string(5000, '\0'));
  CHECK(open_error(folder / "zeros.au").code == ErrorCode::not_audio);
  put(folder / "picture.wav", std::string("RIFF\x24\x00\x00\x00WEBPVP8 ", 16));
  CHECK(open_error(folder / "picture.wav").code == ErrorCode::not_audio);
}

TEST_CASE("a WAV cut anywhere inside its samples is truncated, with both figures") {
  const TempFolder folder;
  const std::string whole = good_file(folder, "a.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16);
  const std::size_t size = GENERATE(1000U, 100000U, 192043U);
  REQUIRE(size < whole.size());
  put(folder / "cut.wav", std::string_view(whole).substr(0, size));
  const Error error = open_error(folder / "cut.wav");
  CHECK(error.code == ErrorCode::truncated);
  CHECK(error.detail.find("192000") != std::string::npos);
  CHECK(error.detail.find(std::to_string(size - 44)) != std::string::npos);
}

TEST_CASE("a cut RF64, AIFF, W64, CAF or FLAC is truncated") {
  const TempFolder folder;
  const int format = GENERATE(SF_FORMAT_RF64 | SF_FORMAT_PCM_16, SF_FORMAT_AIFF | SF_FORMAT_PCM_16,
                              SF_FORMAT_W64 | SF_FORMAT_PCM_16, SF_FORMAT_CAF | SF_FORMAT_PCM_16,
                              SF_FORMAT_FLAC | SF_FORMAT_PCM_16);
  const std::string whole = good_file(folder, "a", format);
  const double share = GENERATE(0.3, 0.9, 0.99);
  const auto size = static_cast<std::size_t>(share * static_cast<double>(whole.size()));
  put(folder / "cut", std::string_view(whole).substr(0, size));
  INFO(whole.substr(0, 4) << " " << share);
  CHECK(open_error(folder / "cut").code == ErrorCode::truncated);
}

TEST_CASE("a header that lies about its samples is truncated, not believed") {
  const TempFolder folder;
  put(folder / "lies.wav", hand_made_wav(0x7FFFFFF0U, std::string(100, '\1')));
  const Error error = open_error(folder / "lies.wav");
  CHECK(error.code == ErrorCode::truncated);
  CHECK(error.detail.find("2147483632") != std::string::npos);
}

TEST_CASE("a recorder that lost power left no length: truncated, with its own mend") {
  const TempFolder folder;
  const std::uint32_t said = GENERATE(0U, 0xFFFFFFFFU);
  put(folder / "power.wav", hand_made_wav(said, std::string(1000, '\3')));
  const Error error = open_error(folder / "power.wav");
  CHECK(error.code == ErrorCode::truncated);
  CHECK(!error.mend.empty());
}

TEST_CASE("a WAV without a frame is too short") {
  const TempFolder folder;
  put(folder / "none.wav", hand_made_wav(0, ""));
  CHECK(open_error(folder / "none.wav").code == ErrorCode::too_short);
  put(folder / "list.wav", hand_made_wav(0, std::string("LIST\x04\0\0\0INFO", 12)));
  CHECK(open_error(folder / "list.wav").code == ErrorCode::too_short);
}

TEST_CASE("one frame is enough") {
  const TempFolder folder;
  put(folder / "one.wav", hand_made_wav(2, std::string("\x00\x40", 2)));
  auto reader = SoundFileReader::open(folder / "one.wav");
  REQUIRE(reader);
  const auto pcm = reader->read(frame_range(0, 1));
  REQUIRE(pcm);
  CHECK(pcm->channels[0][0] == 0.5F);
}

TEST_CASE("a WAV without samples or with an endless chunk list is refused") {
  const TempFolder folder;
  std::string bytes = hand_made_wav(0, "");
  bytes.resize(bytes.size() - 8);
  put(folder / "nodata.wav", bytes);
  CHECK(open_error(folder / "nodata.wav").code == ErrorCode::truncated);
  std::string many;
  for (int i = 0; i < 20000; ++i)
    many += std::string("junk\0\0\0\0", 8);
  put(folder / "many.wav", hand_made_wav(2, "\1\1", many));
  CHECK(open_error(folder / "many.wav").code == ErrorCode::bad_input);
}

TEST_CASE("a chunk before the samples that runs over the file's end is truncated") {
  const TempFolder folder;
  put(folder / "list.wav", hand_made_wav(4, "\1\1\1\1", std::string("LIST\xF0\xFF\xFF\x7F", 8)));
  CHECK(open_error(folder / "list.wav").code == ErrorCode::truncated);
}

TEST_CASE("a smpl chunk that lies about its loops yields none that leaves the file") {
  const TempFolder folder;
  std::string smpl = "smpl";
  little(smpl, 36 + 24, 4);
  for (int i = 0; i < 7; ++i)
    little(smpl, 0, 4);
  little(smpl, 0xFFFFFFFFU, 4);  // loops promised
  little(smpl, 0, 4);
  for (const std::uint64_t word : {0ULL, 0ULL, 1ULL, 0xFFFFFFFFULL, 0ULL, 0ULL})
    little(smpl, word, 4);
  put(folder / "loops.wav", hand_made_wav(8, std::string(8, '\1'), smpl));
  const auto reader = SoundFileReader::open(folder / "loops.wav");
  REQUIRE(reader);
  CHECK(reader->info().loops.empty());
}

TEST_CASE("NaN or infinity in a float file is told with its frame and channel") {
  const TempFolder folder;
  const float bad =
      GENERATE(std::numeric_limits<float>::quiet_NaN(), -std::numeric_limits<float>::infinity());
  Pcm pcm{48000.0, {sine(440.0, 48000.0, 9000), sine(440.0, 48000.0, 9000)}};
  pcm.channels[1][6000] = bad;
  write_by_libsndfile(folder / "nan.wav", pcm, SF_FORMAT_WAV | SF_FORMAT_FLOAT);
  auto reader = SoundFileReader::open(folder / "nan.wav");
  REQUIRE(reader);
  CHECK(reader->read(frame_range(0, 6000)));
  const auto read = reader->read(frame_range(100, 9000));
  REQUIRE(!read);
  CHECK(read.error().code == ErrorCode::not_finite);
  CHECK(read.error().place == "frame 6000");
  CHECK(read.error().detail == "channel 2");
  CHECK(reader->read(frame_range(6001, 9000)));
}

TEST_CASE("no damaged byte in a header makes the reader crash or promise more than the file",
          "[audio][deep]") {
  const TempFolder folder;
  const int format = GENERATE(SF_FORMAT_WAV | SF_FORMAT_PCM_16, SF_FORMAT_RF64 | SF_FORMAT_PCM_16,
                              SF_FORMAT_AIFF | SF_FORMAT_PCM_24, SF_FORMAT_W64 | SF_FORMAT_FLOAT,
                              SF_FORMAT_CAF | SF_FORMAT_PCM_16);
  Pcm pcm{48000.0, {sine(440.0, 48000.0, 200)}};
  write_by_libsndfile(folder / "a", pcm, format);
  const auto whole = read_text_file(folder / "a", 1 << 20);
  REQUIRE(whole);
  int opened = 0;
  int refused = 0;
  for (std::size_t at = 0; at < std::min<std::size_t>(whole->size(), 140); ++at) {
    for (const char value : {'\0', '\x7F', '\xFF'}) {
      std::string bytes = *whole;
      bytes[at] = value;
      put(folder / "b", bytes);
      auto reader = SoundFileReader::open(folder / "b");
      if (!reader) {
        ++refused;
        continue;
      }
      ++opened;
      CHECK(reader->info().frames.value() * reader->info().channels <=
            8 * static_cast<std::int64_t>(bytes.size()));
      const auto read = reader->read(frame_range(0, reader->info().frames.value()));
      if (!read) CHECK(read.error().code != ErrorCode::internal);
    }
  }
  CHECK(opened > 0);
  CHECK(refused > 0);
}
