// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio_files.h"
#include "support/temp_folder.h"

#include "fourbeat/audio/take_report.h"

#include <sys/resource.h>

using namespace fourbeat;
using namespace fourbeat::audio;
using namespace fourbeat::tests;

namespace {

constexpr std::int64_t channels = 4;
constexpr std::int64_t frame_bytes = channels * 3;
constexpr std::int64_t frames = 500'000'000;  // 6 GB at 24 bits, 87 minutes at 96 kHz
constexpr std::int64_t data_bytes = frames * frame_bytes;

/// An RF64 (EBU Tech 3306) that takes no room on the disk: a header, a hole, a last frame whose
/// channels are 1/8, 2/8, 3/8 and 4/8.
void write_long_take(const std::filesystem::path& path) {
  std::string head = "RF64";
  little(head, 0xFFFFFFFFU, 4);
  head += "WAVEds64";
  little(head, 28, 4);
  little(head, 80 - 8 + data_bytes, 8);
  little(head, data_bytes, 8);
  little(head, frames, 8);
  little(head, 0, 4);
  head += "fmt ";
  little(head, 16, 4);
  little(head, 1, 2);
  little(head, channels, 2);
  little(head, 96000, 4);
  little(head, 96000 * frame_bytes, 4);
  little(head, frame_bytes, 2);
  little(head, 24, 2);
  head += "data";
  little(head, 0xFFFFFFFFU, 4);
  REQUIRE(head.size() == 80);
  put(path, head);
  std::filesystem::resize_file(path, static_cast<std::uintmax_t>(80 + data_bytes));
  std::string last;
  for (std::uint64_t channel = 1; channel <= 4; ++channel)
    little(last, channel << 20U, 3);
  std::fstream stream(path, std::ios::binary | std::ios::in | std::ios::out);
  stream.seekp(80 + data_bytes - frame_bytes);
  stream.write(last.data(), static_cast<std::streamsize>(last.size()));
  REQUIRE(stream.good());
}

}  // namespace

TEST_CASE("a take of 6 GB opens at once and is read at its very end") {
  const TempFolder folder;
  write_long_take(folder / "long.wav");
  auto reader = SoundFileReader::open(folder / "long.wav");
  INFO((reader ? std::string() : to_line(reader.error())));
  REQUIRE(reader);
  CHECK(reader->info().format == "RF64 24-bit PCM");
  CHECK(reader->info().frames == FrameCount(frames));
  const auto end = reader->read(frame_range(frames - 2, frames));
  REQUIRE(end);
  CHECK(end->channels[0] == std::vector<float>{0.0F, 0.125F});
  CHECK(end->channels[2] == std::vector<float>{0.0F, 0.375F});
  std::filesystem::resize_file(folder / "long.wav",
                               static_cast<std::uintmax_t>(80 + data_bytes - 1));
  const auto cut = SoundFileReader::open(folder / "long.wav");
  REQUIRE(!cut);
  CHECK(cut.error().code == ErrorCode::truncated);
}

// The sanitizers need memory of their own, and a minute becomes ten.
#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
TEST_CASE("a take of 6 GB is analysed whole in under 200 MB of memory", "[deep]") {
  const TempFolder folder;
  write_long_take(folder / "long.wav");
  JobControl job;
  const auto report = report_take(folder / "long.wav", job);
  REQUIRE(report);
  REQUIRE(report->channels.size() == 4);
  CHECK(report->channels[0].peak_dbfs.value() == Approx(-18.06).margin(0.01));
  CHECK(!report->channels[0].noise_floor_dbfs);
  CHECK(report->channels[0].dropouts == 0);
  struct rusage used {};
  REQUIRE(::getrusage(RUSAGE_SELF, &used) == 0);
  CHECK(used.ru_maxrss < 200L * 1024);  // kilobytes
}
#endif
