// SPDX-License-Identifier: GPL-3.0-or-later
#include "fuzz/deadline.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/audio/take_report.h"

#include <fmt/format.h>
#include <sndfile.h>
#include <sys/mman.h>
#include <unistd.h>

#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <iterator>

using namespace fourbeat;

namespace {

/// A file in memory, and its path.
int memory_file() {
  static const int file = ::memfd_create("take", 0);
  if (file < 0) std::abort();
  return file;
}

std::filesystem::path memory_path() {
  return fmt::format("/proc/self/fd/{}", memory_file());
}

void seed(const char* name, int format) {
  constexpr int frames = 300;
  SF_INFO info{};
  info.samplerate = 8000;
  info.channels = 2;
  info.format = format;
  const std::filesystem::path path =
      std::filesystem::temp_directory_path() / fmt::format("fourbeat-seed-{}", ::getpid());
  SNDFILE* file = sf_open(path.c_str(), SFM_WRITE, &info);
  if (file == nullptr) std::abort();
  for (int i = 0; i < frames; ++i) {
    const float x = 0.5F * std::sin(0.1F * static_cast<float>(i));
    const float frame[2] = {x, -x};
    if (sf_writef_float(file, frame, 1) != 1) std::abort();
  }
  if (sf_close(file) != 0) std::abort();
  std::ifstream in(path, std::ios::binary);
  tests::write_seed(name, std::string(std::istreambuf_iterator<char>(in), {}));
  std::filesystem::remove(path);
}

}  // namespace

/// What libsndfile loses when it refuses a broken Ogg is not ours.
// NOLINTNEXTLINE(readability-identifier-naming,bugprone-reserved-identifier): LeakSanitizer's name
extern "C" const char* __lsan_default_suppressions() {
  return "leak:libsndfile.so\nleak:libvorbis.so\nleak:libogg.so\nleak:libFLAC.so\n";
}

// NOLINTNEXTLINE(readability-identifier-naming): libFuzzer calls it by this name
extern "C" int LLVMFuzzerInitialize(int* /*count*/, char*** /*arguments*/) {
  if (std::getenv("FOURBEAT_SEEDS") == nullptr) return 0;
  seed("wav16", SF_FORMAT_WAV | SF_FORMAT_PCM_16);
  seed("wav24", SF_FORMAT_WAVEX | SF_FORMAT_PCM_24);
  seed("wavfloat", SF_FORMAT_WAV | SF_FORMAT_FLOAT);
  seed("rf64", SF_FORMAT_RF64 | SF_FORMAT_PCM_16);
  seed("w64", SF_FORMAT_W64 | SF_FORMAT_PCM_16);
  seed("aiff", SF_FORMAT_AIFF | SF_FORMAT_PCM_16);
  seed("caf", SF_FORMAT_CAF | SF_FORMAT_PCM_24);
  seed("flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16);
  seed("ogg", SF_FORMAT_OGG | SF_FORMAT_VORBIS);
  audio::Pcm loop{8000.0, {std::vector<float>(300, 0.25F)}};
  tests::write_seed("smpl",
                    audio::wav_bytes(loop, audio::WavDepth::u8, frame_range(20, 200)).value());
  return 0;
}

/// libFuzzer's door: a take of any bytes is refused, or read whole and reported on. What its header
/// promises is what the reader gives, every sample of it a number.
// NOLINTNEXTLINE(readability-identifier-naming): libFuzzer calls it by this name
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const int file = memory_file();
  if (::ftruncate(file, 0) != 0 || ::pwrite(file, data, size, 0) != static_cast<ssize_t>(size)) {
    std::abort();
  }
  Result<audio::SoundFileReader> reader = audio::SoundFileReader::open(memory_path());
  if (!reader) return 0;
  const audio::SoundFileInfo& info = reader->info();
  if (info.channels < 1 || info.sample_rate_hz < 1 || info.frames.value() < 1) std::abort();
  for (const FrameRange& loop : info.loops) {
    if (loop.start >= loop.end) std::abort();
  }
  tests::Deadline job;
  std::int64_t frames = 0;
  const Status read = reader->read_blocks(
      {FrameIndex(0), FrameIndex(0) + info.frames}, FrameCount(4096),
      [&](const audio::Pcm& block, FrameIndex at) {
        if (at.value() != frames || static_cast<int>(block.channels.size()) != info.channels) {
          std::abort();
        }
        for (const std::vector<float>& channel : block.channels) {
          for (const float sample : channel) {
            if (!std::isfinite(sample)) std::abort();
          }
        }
        frames += block.frames().value();
        return ok();
      },
      job);
  if (read && frames != info.frames.value()) std::abort();
  if (!read) return 0;
  tests::Deadline again;
  const Result<audio::TakeReport> report = audio::report_take(memory_path(), again);
  if (report && static_cast<int>(report->channels.size()) != info.channels) std::abort();
  return 0;
}
