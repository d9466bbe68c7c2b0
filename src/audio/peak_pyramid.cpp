// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/audio/peak_pyramid.h"

#include "fourbeat/base/files.h"
#include "fourbeat/base/sha256.h"

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>

namespace fourbeat::audio {

namespace {

constexpr std::int64_t least_block_frames = 256;
constexpr std::int64_t most_blocks = std::int64_t{1} << 21;
constexpr std::int64_t read_frames = 1 << 14;
constexpr std::int64_t most_columns = 1'000'000;

// The cache: magic and version, the take's hash (64 bytes), frames, channels and frames a block
// (8 bytes each), then for every channel and block min, max and mean square as IEEE 754 singles;
// all little-endian; last the SHA-256 of all before it as 64 hexadecimal digits.
constexpr std::string_view magic = "fourbeat-peaks-1";
constexpr std::size_t hash_length = 64;
constexpr std::size_t head_length = magic.size() + hash_length + 24;
constexpr std::size_t block_length = 12;
constexpr std::int64_t most_cache_bytes =
    static_cast<std::int64_t>(head_length + hash_length) +
    (most_blocks + 2048) * static_cast<std::int64_t>(block_length);

void put(std::string& bytes, std::uint64_t value, int count) {
  for (int i = 0; i < count; ++i)
    bytes += static_cast<char>((value >> (8 * i)) & 0xFFU);
}

std::uint64_t get(std::string_view bytes, std::size_t at, std::size_t count) {
  std::uint64_t value = 0;
  for (std::size_t i = count; i-- > 0;)
    value = (value << 8U) | static_cast<unsigned char>(bytes[at + i]);
  return value;
}

float get_float(std::string_view bytes, std::size_t at) {
  return std::bit_cast<float>(static_cast<std::uint32_t>(get(bytes, at, 4)));
}

Error broken() {
  return Error{ErrorCode::bad_input, {}, {}, "no cache of this take", {}};
}

}  // namespace

std::int64_t PeakPyramid::block_frames_for(FrameCount frames, int channels) {
  std::int64_t block_frames = least_block_frames;
  while (frames.value() / block_frames > most_blocks / channels)
    block_frames *= 2;
  return block_frames;
}

void PeakPyramid::stack() {
  for (std::vector<Level>& levels : levels_) {
    levels.resize(1);
    std::int64_t span = block_frames_;
    while (levels.back().size() > 1) {
      const Level& below = levels.back();
      Level level((below.size() + 1) / 2);
      for (std::size_t i = 0; i < level.size(); ++i) {
        const Block& left = below[2 * i];
        level[i] = left;
        if (2 * i + 1 == below.size()) continue;
        const Block& right = below[2 * i + 1];
        const std::int64_t right_start = static_cast<std::int64_t>(2 * i + 1) * span;
        const auto left_frames = static_cast<double>(span);
        const auto right_frames =
            static_cast<double>(std::min(span, frames_.value() - right_start));
        level[i].min = std::min(left.min, right.min);
        level[i].max = std::max(left.max, right.max);
        level[i].mean_square =
            static_cast<float>((static_cast<double>(left.mean_square) * left_frames +
                                static_cast<double>(right.mean_square) * right_frames) /
                               (left_frames + right_frames));
      }
      levels.push_back(std::move(level));
      span *= 2;
    }
  }
}

Result<PeakPyramid> PeakPyramid::build(SoundFileReader& take, JobControl& job) {
  const SoundFileInfo& info = take.info();
  PeakPyramid pyramid;
  pyramid.frames_ = info.frames;
  pyramid.block_frames_ = block_frames_for(info.frames, info.channels);
  pyramid.levels_.assign(static_cast<std::size_t>(info.channels), std::vector<Level>(1));
  struct Open {
    float min = std::numeric_limits<float>::infinity();
    float max = -std::numeric_limits<float>::infinity();
    double square_sum = 0.0;
    std::int64_t frames = 0;
  };
  std::vector<Open> open(pyramid.levels_.size());
  const auto close = [&](std::size_t channel) {
    Open& block = open[channel];
    pyramid.levels_[channel][0].push_back(
        {block.min, block.max,
         static_cast<float>(block.square_sum / static_cast<double>(block.frames))});
    block = Open{};
  };
  const auto take_in = [&](const Pcm& pcm, FrameIndex) -> Status {
    for (std::size_t c = 0; c < open.size(); ++c) {
      for (const float sample : pcm.channels[c]) {
        Open& block = open[c];
        block.min = std::min(block.min, sample);
        block.max = std::max(block.max, sample);
        block.square_sum += static_cast<double>(sample) * static_cast<double>(sample);
        if (++block.frames == pyramid.block_frames_) close(c);
      }
    }
    return ok();
  };
  const std::int64_t step =
      std::clamp<std::int64_t>((read_frames * 8) / info.channels, 256, read_frames);
  const FrameRange whole{FrameIndex(0), FrameIndex(0) + info.frames};
  if (Status read = take.read_blocks(whole, FrameCount(step), take_in, job); !read) {
    return read.error();
  }
  for (std::size_t c = 0; c < open.size(); ++c) {
    if (open[c].frames > 0) close(c);
  }
  pyramid.stack();
  return pyramid;
}

std::string PeakPyramid::cache_bytes(std::string_view content_sha256) const {
  std::string bytes(magic);
  bytes += content_sha256;
  put(bytes, static_cast<std::uint64_t>(frames_.value()), 8);
  put(bytes, levels_.size(), 8);
  put(bytes, static_cast<std::uint64_t>(block_frames_), 8);
  for (const std::vector<Level>& levels : levels_) {
    for (const Block& block : levels.front()) {
      put(bytes, std::bit_cast<std::uint32_t>(block.min), 4);
      put(bytes, std::bit_cast<std::uint32_t>(block.max), 4);
      put(bytes, std::bit_cast<std::uint32_t>(block.mean_square), 4);
    }
  }
  bytes += sha256_hex(bytes);
  return bytes;
}

Result<PeakPyramid> PeakPyramid::from_cache(std::string_view bytes, std::string_view content_sha256,
                                            const SoundFileInfo& info) {
  PeakPyramid pyramid;
  pyramid.frames_ = info.frames;
  pyramid.block_frames_ = block_frames_for(info.frames, info.channels);
  const auto channels = static_cast<std::size_t>(info.channels);
  const auto blocks = static_cast<std::size_t>((info.frames.value() + pyramid.block_frames_ - 1) /
                                               pyramid.block_frames_);
  const std::size_t body = head_length + channels * blocks * block_length;
  if (bytes.size() != body + hash_length || bytes.substr(0, magic.size()) != magic ||
      bytes.substr(magic.size(), hash_length) != content_sha256 ||
      get(bytes, head_length - 24, 8) != static_cast<std::uint64_t>(info.frames.value()) ||
      get(bytes, head_length - 16, 8) != channels ||
      get(bytes, head_length - 8, 8) != static_cast<std::uint64_t>(pyramid.block_frames_) ||
      bytes.substr(body) != sha256_hex(bytes.substr(0, body))) {
    return broken();
  }
  std::size_t at = head_length;
  for (std::size_t c = 0; c < channels; ++c) {
    Level level(blocks);
    for (Block& block : level) {
      block = {get_float(bytes, at), get_float(bytes, at + 4), get_float(bytes, at + 8)};
      at += block_length;
    }
    pyramid.levels_.push_back({std::move(level)});
  }
  pyramid.stack();
  return pyramid;
}

Result<PeakPyramid> PeakPyramid::load_or_build(const std::filesystem::path& take,
                                               std::string_view content_sha256,
                                               const std::filesystem::path& cache_file,
                                               JobControl& job) {
  if (content_sha256.size() != hash_length) {
    return Error{ErrorCode::bad_argument, {}, "content hash", "64 digits are due", {}};
  }
  Result<SoundFileReader> reader = SoundFileReader::open(take);
  if (!reader) return reader.error();
  if (const Result<std::string> kept = read_text_file(cache_file, most_cache_bytes)) {
    Result<PeakPyramid> pyramid = from_cache(*kept, content_sha256, reader->info());
    if (pyramid) return pyramid;
  }
  Result<PeakPyramid> pyramid = build(*reader, job);
  if (!pyramid) return pyramid;
  // Without the file the next call has to build again, and nothing else.
  [[maybe_unused]] const Status written =
      write_file_atomically(cache_file, pyramid->cache_bytes(content_sha256));
  return pyramid;
}

// The fewest blocks of all levels that make up [first, end) of the finest.
Peak PeakPyramid::over_blocks(int channel_index, std::int64_t first, std::int64_t end) const {
  const std::vector<Level>& levels = levels_[static_cast<std::size_t>(channel_index)];
  Peak peak{std::numeric_limits<float>::infinity(), -std::numeric_limits<float>::infinity(), 0.0F};
  double square_sum = 0.0;
  std::int64_t frames = 0;
  const auto add = [&](std::size_t level, std::int64_t index) {
    const Block& block = levels[level][static_cast<std::size_t>(index)];
    const std::int64_t span = block_frames_ << level;
    const std::int64_t length = std::min(span, frames_.value() - index * span);
    peak.min = std::min(peak.min, block.min);
    peak.max = std::max(peak.max, block.max);
    square_sum += static_cast<double>(block.mean_square) * static_cast<double>(length);
    frames += length;
  };
  std::size_t level = 0;
  while (first < end) {
    const bool top = level + 1 == levels.size();
    if (top || first % 2 == 1) add(level, first++);
    // The last block of a level may be an only child, whose parent is as good.
    if (!top && first < end && end % 2 == 1 &&
        end != static_cast<std::int64_t>(levels[level].size())) {
      add(level, --end);
    }
    if (!top) {
      first = (first + 1) / 2;
      end = (end + 1) / 2;
      ++level;
    }
  }
  peak.rms = static_cast<float>(std::sqrt(square_sum / static_cast<double>(frames)));
  return peak;
}

Result<std::vector<Peak>> PeakPyramid::columns(int channel, FrameIndex start,
                                               double frames_per_column,
                                               std::int64_t columns) const {
  if (channel < 1 || channel > channels()) {
    return Error{ErrorCode::bad_argument,
                 {},
                 "channel",
                 fmt::format("{}; 1 to {}", channel, channels()),
                 {}};
  }
  if (!(frames_per_column > 0.0) || !std::isfinite(frames_per_column) || columns < 0 ||
      columns > most_columns) {
    return Error{ErrorCode::bad_argument,
                 {},
                 "columns",
                 fmt::format("{} of {} frames", columns, frames_per_column),
                 {}};
  }
  std::vector<Peak> peaks(static_cast<std::size_t>(columns));
  const auto total = static_cast<double>(frames_.value());
  for (std::int64_t i = 0; i < columns; ++i) {
    const auto base = static_cast<double>(start.value());
    const double from = std::floor(base + static_cast<double>(i) * frames_per_column);
    const double to =
        std::max(from + 1.0, std::floor(base + static_cast<double>(i + 1) * frames_per_column));
    if (to <= 0.0 || from >= total) continue;
    const auto first_frame = static_cast<std::int64_t>(std::max(0.0, from));
    const auto end_frame = static_cast<std::int64_t>(std::min(total, to));
    peaks[static_cast<std::size_t>(i)] = over_blocks(
        channel - 1, first_frame / block_frames_, (end_frame + block_frames_ - 1) / block_frames_);
  }
  return peaks;
}

}  // namespace fourbeat::audio
