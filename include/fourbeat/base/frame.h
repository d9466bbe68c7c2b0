// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <compare>
#include <cstdint>

namespace fourbeat {

/// A number of frames (one frame = one sample of every channel). Signed, so that differences
/// and positions before a start need no special case.
class FrameCount {
 public:
  constexpr FrameCount() = default;
  constexpr explicit FrameCount(std::int64_t frames) : frames_(frames) {}
  [[nodiscard]] constexpr std::int64_t value() const { return frames_; }
  // NOLINTNEXTLINE(modernize-use-nullptr): false alarm on a defaulted <=>
  constexpr auto operator<=>(const FrameCount&) const = default;
  constexpr FrameCount operator+(FrameCount other) const {
    return FrameCount(frames_ + other.frames_);
  }
  constexpr FrameCount operator-(FrameCount other) const {
    return FrameCount(frames_ - other.frames_);
  }
  constexpr FrameCount operator-() const { return FrameCount(-frames_); }

 private:
  std::int64_t frames_ = 0;
};

/// A place on a time axis, in frames from its start. index - index is a count; index + index
/// does not compile.
class FrameIndex {
 public:
  constexpr FrameIndex() = default;
  constexpr explicit FrameIndex(std::int64_t frame) : frame_(frame) {}
  [[nodiscard]] constexpr std::int64_t value() const { return frame_; }
  // NOLINTNEXTLINE(modernize-use-nullptr): false alarm on a defaulted <=>
  constexpr auto operator<=>(const FrameIndex&) const = default;
  constexpr FrameCount operator-(FrameIndex other) const {
    return FrameCount(frame_ - other.frame_);
  }
  constexpr FrameIndex operator+(FrameCount count) const {
    return FrameIndex(frame_ + count.value());
  }
  constexpr FrameIndex operator-(FrameCount count) const {
    return FrameIndex(frame_ - count.value());
  }

 private:
  std::int64_t frame_ = 0;
};

/// A half-open stretch of frames: `start` is in it, `end` is the first one after it.
struct FrameRange {
  FrameIndex start;
  FrameIndex end;

  [[nodiscard]] constexpr FrameCount length() const { return end - start; }
  [[nodiscard]] constexpr bool empty() const { return end <= start; }
  [[nodiscard]] constexpr bool contains(const FrameRange& other) const {
    return start <= other.start && other.end <= end;
  }
  constexpr bool operator==(const FrameRange&) const = default;
};

/// Shorthand for a range from plain frame numbers.
constexpr FrameRange frame_range(std::int64_t start, std::int64_t end) {
  return {FrameIndex(start), FrameIndex(end)};
}

}  // namespace fourbeat
