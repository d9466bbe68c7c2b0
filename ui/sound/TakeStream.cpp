// SPDX-License-Identifier: GPL-3.0-or-later
#include "TakeStream.h"

#include "fourbeat/audio/sound_file.h"

#include <algorithm>
#include <chrono>

namespace fourbeat::ui {

namespace {

constexpr double ring_s = 0.7;
constexpr std::int64_t most_ring_samples = 4'000'000;
constexpr std::int64_t first_block_frames = 2048;  // small, so that it is heard soon
constexpr std::int64_t block_frames = 8192;
constexpr std::chrono::milliseconds look_interval(5);

}  // namespace

TakeStream::TakeStream(std::filesystem::path path, int sampleRateHz, int channels, FrameRange range,
                       FrameIndex from)
    : path_(std::move(path)),
      channels_(channels),
      range_(range),
      next_(from),
      capacity_(std::clamp<std::int64_t>(static_cast<std::int64_t>(ring_s * sampleRateHz),
                                         2 * block_frames,
                                         std::max(2 * block_frames, most_ring_samples / channels))),
      ring_(static_cast<std::size_t>(capacity_ * channels)) {}

std::int64_t TakeStream::ready() const noexcept {
  return added_.load(std::memory_order_acquire) - taken_.load(std::memory_order_relaxed);
}

std::span<const float> TakeStream::front() const noexcept {
  const std::int64_t at = taken_.load(std::memory_order_relaxed) % capacity_;
  const std::int64_t frames = std::min(ready(), capacity_ - at);
  return {ring_.data() + at * channels_, static_cast<std::size_t>(frames * channels_)};
}

void TakeStream::pop(std::int64_t frames) noexcept {
  taken_.store(taken_.load(std::memory_order_relaxed) + frames, std::memory_order_release);
}

FrameRange TakeStream::wanted(std::int64_t most) const noexcept {
  FrameIndex start = next_;
  if (start >= range_.end) {
    if (!repeats()) return {};
    start = range_.start;
  }
  const std::int64_t room =
      capacity_ - (added_.load(std::memory_order_relaxed) - taken_.load(std::memory_order_acquire));
  const std::int64_t left = (range_.end - start).value();
  const std::int64_t block = std::min(most, left);
  if (room < block) return {};
  return {start, start + FrameCount(block)};
}

void TakeStream::push(FrameRange range, const std::vector<std::vector<float>>& channels) noexcept {
  const std::int64_t added = added_.load(std::memory_order_relaxed);
  const std::int64_t frames = range.length().value();
  std::int64_t at = added % capacity_;
  for (std::int64_t i = 0; i < frames; ++i) {
    float* frame = ring_.data() + at * channels_;
    for (const std::vector<float>& channel : channels)
      *frame++ = channel[static_cast<std::size_t>(i)];
    if (++at == capacity_) at = 0;
  }
  next_ = range.end;
  ++blocks_;
  added_.store(added + frames, std::memory_order_release);
}

void TakeStream::fail(Error error) {
  error_ = std::move(error);
  failed_.store(true, std::memory_order_release);
}

TakeReader::TakeReader() : thread_([this] { run(); }) {}

TakeReader::~TakeReader() {
  {
    const std::lock_guard lock(mutex_);
    ended_ = true;
  }
  wake_.notify_one();
  thread_.join();
}

void TakeReader::add(std::shared_ptr<TakeStream> stream) {
  {
    const std::lock_guard lock(mutex_);
    fresh_.push_back(std::move(stream));
  }
  wake_.notify_one();
}

void TakeReader::run() {
  struct Reading {
    std::shared_ptr<TakeStream> stream;
    std::shared_ptr<audio::SoundFileReader> file;
  };
  std::vector<Reading> readings;
  // Shared by all streams of one take, so that playing on from another place starts at once.
  std::filesystem::path openPath;
  std::shared_ptr<audio::SoundFileReader> openFile;

  const auto begin = [&](Reading& reading) {
    TakeStream& stream = *reading.stream;
    if (openFile == nullptr || openPath != stream.path()) {
      Result<audio::SoundFileReader> opened = audio::SoundFileReader::open(stream.path());
      if (!opened) {
        stream.fail(opened.error());
        return;
      }
      openFile = std::make_shared<audio::SoundFileReader>(std::move(*opened));
      openPath = stream.path();
    }
    if (openFile->info().channels != stream.channels()) {
      stream.fail(Error{ErrorCode::changed, stream.path().string(), {}, "other channels", {}});
      return;
    }
    reading.file = openFile;
  };
  /// True when a block was read.
  const auto feed = [](Reading& reading) {
    TakeStream& stream = *reading.stream;
    if (stream.failed()) return false;
    const FrameRange range =
        stream.wanted(stream.blocks() == 0 ? first_block_frames : block_frames);
    if (range.empty()) return false;
    const Result<audio::Pcm> pcm = reading.file->read(range);
    if (!pcm) {
      stream.fail(pcm.error());
      return false;
    }
    stream.push(range, pcm->channels);
    return true;
  };

  bool more = false;
  for (;;) {
    std::vector<std::shared_ptr<TakeStream>> fresh;
    {
      std::unique_lock lock(mutex_);
      const auto called = [this] { return ended_ || !fresh_.empty(); };
      if (readings.empty()) {
        openFile.reset();
        wake_.wait(lock, called);
      } else if (!more) {
        wake_.wait_for(lock, look_interval, called);
      }
      if (ended_) return;
      fresh.swap(fresh_);
    }
    std::erase_if(readings, [](const Reading& reading) { return reading.stream->closed(); });
    for (std::shared_ptr<TakeStream>& stream : fresh) {
      readings.push_back({std::move(stream), nullptr});
      begin(readings.back());
    }
    more = false;
    for (auto reading = readings.rbegin(); reading != readings.rend(); ++reading)
      more = feed(*reading) || more;
  }
}

}  // namespace fourbeat::ui
