// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "PlaySource.h"
#include "TakeStream.h"

#include "fourbeat/audio/pcm.h"

#include <atomic>
#include <cstdint>
#include <memory>
#include <span>
#include <vector>

namespace fourbeat::ui {

/// The frames of one source in the order they are played, mixed to one channel. Made on the
/// control thread, read by the audio thread alone; the flags may be set by the control thread.
class Feed {
 public:
  virtual ~Feed() = default;
  /// Audio thread: writes up to out.size() frames; fewer when it has ended or, for a take, when
  /// the reader is late.
  virtual std::size_t pull(std::span<float> out) noexcept = 0;
  /// Audio thread: true when no frame will come any more.
  [[nodiscard]] virtual bool ended() const noexcept = 0;
  /// Audio thread: the place of the frame `back` frames before the next one to be pulled.
  [[nodiscard]] double placeBefore(double back) const noexcept;

  void setRepeat(bool repeat) noexcept;
  void letGo() noexcept { held_.store(false, std::memory_order_relaxed); }
  /// Control thread: gains of the channels, where there are channels.
  virtual void setGains(const std::vector<float>& /*gains*/) noexcept {}
  [[nodiscard]] virtual TakeStream* stream() noexcept { return nullptr; }
  [[nodiscard]] double sampleRateHz() const noexcept { return sample_rate_hz_; }

 protected:
  Feed(double sampleRateHz, FrameRange range, FrameIndex from, bool repeat, bool held);
  /// Frames that can be taken from cursor_ on before it jumps or ends.
  [[nodiscard]] std::int64_t straight() const noexcept;
  /// Moves on by what straight() allowed, and jumps where the order says so.
  void advance(std::int64_t frames) noexcept;
  /// Fades the frames just before an end that is not the source's own. `frames` were written for
  /// cursor_ on.
  void fadeEnd(float* out, std::int64_t frames) const noexcept;

  double sample_rate_hz_;
  FrameRange range_;
  FrameRange loop_;       ///< empty: none
  bool own_end_ = false;  ///< range_ ends where the source does: heard as it is
  std::int64_t fade_frames_;
  std::int64_t cursor_;  ///< the next frame to be pulled
  bool over_ = false;
  std::atomic<bool> repeat_;
  std::atomic<bool> held_;

 private:
  std::int64_t jumped_from_ = -1;  ///< the frame the last jump left from; -1: none yet
  std::int64_t since_jump_ = 0;    ///< frames pulled since
};

class ClipFeed final : public Feed {
 public:
  ClipFeed(std::shared_ptr<const audio::Clip> clip, FrameRange range, FrameIndex from, bool repeat,
           bool hold);
  std::size_t pull(std::span<float> out) noexcept override;
  [[nodiscard]] bool ended() const noexcept override { return over_; }

 private:
  std::shared_ptr<const audio::Clip> clip_;
};

class TakeFeed final : public Feed {
 public:
  TakeFeed(std::shared_ptr<TakeStream> stream, double sampleRateHz, FrameRange range,
           FrameIndex from, bool repeat, const std::vector<float>& gains);
  ~TakeFeed() override;
  std::size_t pull(std::span<float> out) noexcept override;
  [[nodiscard]] bool ended() const noexcept override;
  void setGains(const std::vector<float>& gains) noexcept override;
  [[nodiscard]] TakeStream* stream() noexcept override { return stream_.get(); }

 private:
  void mix(std::span<const float> frames, std::span<float> out) noexcept;

  std::shared_ptr<TakeStream> stream_;
  std::unique_ptr<std::atomic<float>[]> targets_;
  std::vector<float> gains_;
};

class LiveFeed final : public Feed {
 public:
  LiveFeed(std::shared_ptr<LiveSound> sound, double sampleRateHz);
  std::size_t pull(std::span<float> out) noexcept override;
  [[nodiscard]] bool ended() const noexcept override { return over_; }

 private:
  std::shared_ptr<LiveSound> sound_;
};

/// One thing that plays: its feed, brought to the output's rate, and its fades.
class Voice {
 public:
  /// fadeIn: from silence over Player::fade_s; else from its first frame at full level.
  Voice(std::unique_ptr<Feed> feed, bool fadeIn);

  std::uint64_t serial = 0;
  [[nodiscard]] Feed& feed() noexcept { return *feed_; }

  // Audio thread.

  /// Adds the next frames to `out`. Returns how many frames were silent for want of a take's
  /// frames, once its first have come.
  std::int64_t render(std::span<float> out, double rate_hz, double speed) noexcept;
  /// Fades away from the next frame on.
  void leave() noexcept { leaving_ = true; }
  [[nodiscard]] bool silent() const noexcept { return silent_; }
  /// Played to its end rather than faded.
  [[nodiscard]] bool finished() const noexcept { return finished_; }
  /// Output frames of the last render() that were sounded before it fell silent.
  [[nodiscard]] std::int64_t sounded() const noexcept { return sounded_; }
  /// The source's frame that the next output frame sounds.
  [[nodiscard]] double place() const noexcept;
  [[nodiscard]] double step() const noexcept { return step_; }
  /// True once it has sounded.
  [[nodiscard]] bool begun() const noexcept { return begun_; }

 private:
  [[nodiscard]] std::int64_t make(float* out, std::int64_t frames) noexcept;
  [[nodiscard]] bool fill(std::int64_t upTo) noexcept;

  std::unique_ptr<Feed> feed_;
  std::vector<float> window_;  ///< source frames around the place
  std::int64_t filled_ = 0;    ///< frames in it
  std::int64_t centre_ = 0;    ///< index in it of the frame at or before the place
  std::int64_t end_ = -1;      ///< index in it just past the source's last frame; -1: not known
  double part_ = 0.0;          ///< place between centre_ and the next, 0 to under 1
  double step_ = 1.0;
  std::int64_t half_ = 0;
  double level_ = 1.0;
  bool leaving_ = false;
  bool silent_ = false;
  bool finished_ = false;
  bool begun_ = false;
  std::int64_t sounded_ = 0;
};

}  // namespace fourbeat::ui
