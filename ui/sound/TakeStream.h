// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/frame.h"
#include "fourbeat/base/result.h"

#include <atomic>
#include <condition_variable>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <mutex>
#include <optional>
#include <span>
#include <string>
#include <thread>
#include <vector>

namespace fourbeat::ui {

/// The frames of a take in the order they are played, all channels interleaved, in a ring between
/// one reading and one playing thread; neither waits for the other. Order: from `from` to the end
/// of the range, then the range again and again.
class TakeStream {
 public:
  /// Room for about 0.7 s, at most 4 million samples. range must not be empty, from inside it.
  TakeStream(std::filesystem::path path, int sampleRateHz, int channels, FrameRange range,
             FrameIndex from);

  [[nodiscard]] int channels() const noexcept { return channels_; }
  [[nodiscard]] const std::filesystem::path& path() const noexcept { return path_; }

  /// Playing thread: frames that can be taken, of the next `frames`.
  [[nodiscard]] std::int64_t ready() const noexcept;
  /// Playing thread: the frames from the oldest on, as far as they lie in one piece.
  [[nodiscard]] std::span<const float> front() const noexcept;
  /// Playing thread: drops the oldest `frames`, which must be ready.
  void pop(std::int64_t frames) noexcept;

  /// Any thread: the reader reads on past the end of the range, from its start.
  void setRepeat(bool repeat) noexcept { repeat_.store(repeat, std::memory_order_relaxed); }
  [[nodiscard]] bool repeats() const noexcept { return repeat_.load(std::memory_order_relaxed); }
  /// Any thread: nobody plays it any more.
  void close() noexcept { closed_.store(true, std::memory_order_release); }
  [[nodiscard]] bool closed() const noexcept { return closed_.load(std::memory_order_acquire); }
  /// Any thread: reading failed; what is in the ring can still be played.
  [[nodiscard]] bool failed() const noexcept { return failed_.load(std::memory_order_acquire); }
  /// Why it failed; only once failed().
  [[nodiscard]] const Error& error() const { return error_; }

  /// Reading thread: what to read next, at most `most` frames; empty when the ring is full enough
  /// or all has been read.
  [[nodiscard]] FrameRange wanted(std::int64_t most) const noexcept;
  /// Reading thread: adds the frames of wanted().
  void push(FrameRange range, const std::vector<std::vector<float>>& channels) noexcept;
  void fail(Error error);
  /// Reading thread: how many times frames were added.
  [[nodiscard]] std::int64_t blocks() const noexcept { return blocks_; }

 private:
  std::filesystem::path path_;
  int channels_;
  FrameRange range_;
  FrameIndex next_;  ///< reading thread: the next frame of the take
  std::int64_t blocks_ = 0;
  std::int64_t capacity_ = 0;  ///< frames
  std::vector<float> ring_;
  std::atomic<std::int64_t> taken_{0};  ///< frames ever popped
  std::atomic<std::int64_t> added_{0};  ///< frames ever pushed
  std::atomic<bool> repeat_{false};
  std::atomic<bool> closed_{false};
  std::atomic<bool> failed_{false};
  Error error_;
};

/// Reads the takes of all open streams ahead, in a thread of its own.
class TakeReader {
 public:
  TakeReader();
  ~TakeReader();
  TakeReader(const TakeReader&) = delete;
  TakeReader& operator=(const TakeReader&) = delete;
  /// Reads the stream until it is closed.
  void add(std::shared_ptr<TakeStream> stream);

 private:
  void run();

  std::mutex mutex_;
  std::condition_variable wake_;
  std::vector<std::shared_ptr<TakeStream>> fresh_;
  bool ended_ = false;
  std::thread thread_;
};

}  // namespace fourbeat::ui
