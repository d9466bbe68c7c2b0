// SPDX-License-Identifier: GPL-3.0-or-later
#include "Voice.h"

#include "Kernel.h"
#include "Player.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace fourbeat::ui {

namespace {

constexpr double least_output_hz = 8000.0;
constexpr double gain_slope_s = 0.005;  ///< a channel's gain goes from 0 to 1 in this time
constexpr std::int64_t chunk_frames = 64;
constexpr std::int64_t spare_frames = 512;  ///< room to pull in larger runs

/// Even at both ends, so that a fade has no corner.
double smooth(double place) noexcept {
  return place * place * (3.0 - 2.0 * place);
}

double mostStep(double sampleRateHz) {
  return std::max(1.0, sampleRateHz / least_output_hz);
}

}  // namespace

Feed::Feed(double sampleRateHz, FrameRange range, FrameIndex from, bool repeat, bool held)
    : sample_rate_hz_(sampleRateHz),
      range_(range),
      fade_frames_(std::max<std::int64_t>(1, std::llround(Player::fade_s * sampleRateHz))),
      cursor_(from.value()),
      repeat_(repeat),
      held_(held) {}

void Feed::setRepeat(bool repeat) noexcept {
  repeat_.store(repeat, std::memory_order_relaxed);
  if (TakeStream* const reading = stream(); reading != nullptr) reading->setRepeat(repeat);
}

std::int64_t Feed::straight() const noexcept {
  const bool loops =
      !loop_.empty() && cursor_ < loop_.end.value() && held_.load(std::memory_order_relaxed);
  return (loops ? loop_.end : range_.end).value() - cursor_;
}

void Feed::advance(std::int64_t frames) noexcept {
  cursor_ += frames;
  since_jump_ += frames;
  std::int64_t to = -1;
  if (!loop_.empty() && cursor_ == loop_.end.value() && held_.load(std::memory_order_relaxed)) {
    to = loop_.start.value();
  } else if (cursor_ >= range_.end.value()) {
    if (!repeat_.load(std::memory_order_relaxed)) {
      over_ = true;
      return;
    }
    to = range_.start.value();
  }
  if (to < 0) return;
  jumped_from_ = cursor_;
  since_jump_ = 0;
  cursor_ = to;
}

void Feed::fadeEnd(float* out, std::int64_t frames) const noexcept {
  const std::int64_t end = range_.end.value();
  if (own_end_ || cursor_ + frames <= end - fade_frames_) return;
  if (repeat_.load(std::memory_order_relaxed)) return;
  if (loop_.end == range_.end && held_.load(std::memory_order_relaxed)) return;
  for (std::int64_t i = std::max<std::int64_t>(0, end - fade_frames_ - cursor_); i < frames; ++i) {
    const double left = static_cast<double>(end - cursor_ - i) / static_cast<double>(fade_frames_);
    out[i] *= static_cast<float>(smooth(std::clamp(left, 0.0, 1.0)));
  }
}

double Feed::placeBefore(double back) const noexcept {
  const auto since = static_cast<double>(since_jump_);
  const double place = jumped_from_ >= 0 && back > since
                           ? static_cast<double>(jumped_from_) - (back - since)
                           : static_cast<double>(cursor_) - back;
  return std::clamp(place, static_cast<double>(range_.start.value()),
                    static_cast<double>(range_.end.value()));
}

ClipFeed::ClipFeed(std::shared_ptr<const audio::Clip> clip, FrameRange range, FrameIndex from,
                   bool repeat, bool hold)
    : Feed(clip->sample_rate_hz, range, from, repeat, hold), clip_(std::move(clip)) {
  own_end_ = range.end.value() == static_cast<std::int64_t>(clip_->samples.size());
  if (hold && clip_->loop && range.contains(*clip_->loop)) loop_ = *clip_->loop;
}

std::size_t ClipFeed::pull(std::span<float> out) noexcept {
  std::size_t done = 0;
  while (done < out.size() && !over_) {
    const std::int64_t run = std::min(straight(), static_cast<std::int64_t>(out.size() - done));
    std::copy_n(clip_->samples.data() + cursor_, run, out.data() + done);
    fadeEnd(out.data() + done, run);
    advance(run);
    done += static_cast<std::size_t>(run);
  }
  return done;
}

LiveFeed::LiveFeed(std::shared_ptr<LiveSound> sound, double sampleRateHz)
    : Feed(sampleRateHz, frame_range(0, endless_frames), FrameIndex(0), false, false),
      sound_(std::move(sound)) {}

std::size_t LiveFeed::pull(std::span<float> out) noexcept {
  sound_->render(out);
  advance(static_cast<std::int64_t>(out.size()));
  return out.size();
}

TakeFeed::TakeFeed(std::shared_ptr<TakeStream> stream, double sampleRateHz, FrameRange range,
                   FrameIndex from, bool repeat, const std::vector<float>& gains)
    : Feed(sampleRateHz, range, from, repeat, false),
      stream_(std::move(stream)),
      targets_(
          std::make_unique<std::atomic<float>[]>(static_cast<std::size_t>(stream_->channels()))),
      gains_(static_cast<std::size_t>(stream_->channels())) {
  setGains(gains);
  for (std::size_t channel = 0; channel < gains_.size(); ++channel)
    gains_[channel] = targets_[channel].load(std::memory_order_relaxed);
}

TakeFeed::~TakeFeed() {
  stream_->close();
}

void TakeFeed::setGains(const std::vector<float>& gains) noexcept {
  for (std::size_t channel = 0; channel < gains_.size(); ++channel) {
    const float gain = gains.empty() ? 1.0F : channel < gains.size() ? gains[channel] : 0.0F;
    targets_[channel].store(gain, std::memory_order_relaxed);
  }
}

bool TakeFeed::ended() const noexcept {
  return over_ || (stream_->failed() && stream_->ready() == 0);
}

std::size_t TakeFeed::pull(std::span<float> out) noexcept {
  const auto channels = static_cast<std::int64_t>(gains_.size());
  std::size_t done = 0;
  while (done < out.size() && !over_) {
    const std::span<const float> there = stream_->front();
    const std::int64_t run =
        std::min({straight(), static_cast<std::int64_t>(out.size() - done),
                  static_cast<std::int64_t>(there.size()) / channels, chunk_frames});
    if (run == 0) break;
    mix(there.first(static_cast<std::size_t>(run * channels)),
        out.subspan(done, static_cast<std::size_t>(run)));
    stream_->pop(run);
    fadeEnd(out.data() + done, run);
    advance(run);
    done += static_cast<std::size_t>(run);
  }
  return done;
}

void TakeFeed::mix(std::span<const float> frames, std::span<float> out) noexcept {
  const std::size_t channels = gains_.size();
  const auto count = static_cast<float>(out.size());
  std::fill(out.begin(), out.end(), 0.0F);
  for (std::size_t channel = 0; channel < channels; ++channel) {
    const float before = gains_[channel];
    const float target = targets_[channel].load(std::memory_order_relaxed);
    if (before == 0.0F && target == 0.0F) continue;
    const float most = count / static_cast<float>(gain_slope_s * sample_rate_hz_) *
                       std::max({1.0F, std::abs(before), std::abs(target)});
    const float after = before + std::clamp(target - before, -most, most);
    const float slope = (after - before) / count;
    const float* sample = frames.data() + channel;
    for (std::size_t i = 0; i < out.size(); ++i, sample += channels)
      out[i] += (before + slope * static_cast<float>(i + 1)) * *sample;
    gains_[channel] = after;
  }
}

Voice::Voice(std::unique_ptr<Feed> feed, bool fadeIn)
    : feed_(std::move(feed)), level_(fadeIn ? 0.0 : 1.0) {
  const double most = mostStep(feed_->sampleRateHz());
  half_ = Kernel::halfFrames(most);
  window_.resize(static_cast<std::size_t>(
      2 * half_ + static_cast<std::int64_t>(std::ceil(most * (chunk_frames + 2))) + spare_frames));
  centre_ = half_;
  filled_ = half_;
}

double Voice::place() const noexcept {
  const std::int64_t real = end_ >= 0 ? end_ : filled_;
  return feed_->placeBefore(static_cast<double>(real - centre_) - part_);
}

bool Voice::fill(std::int64_t upTo) noexcept {
  if (upTo <= filled_) return true;
  const auto size = static_cast<std::int64_t>(window_.size());
  if (upTo > size) {
    const std::int64_t drop = centre_ - half_;
    std::copy(window_.begin() + drop, window_.begin() + filled_, window_.begin());
    filled_ -= drop;
    centre_ -= drop;
    upTo -= drop;
    if (end_ >= 0) end_ -= drop;
  }
  if (end_ < 0) {
    filled_ += static_cast<std::int64_t>(feed_->pull(std::span(window_).subspan(
        static_cast<std::size_t>(filled_), static_cast<std::size_t>(upTo - filled_))));
    if (filled_ < upTo && feed_->ended()) end_ = filled_;
  }
  if (end_ < 0) return filled_ >= upTo;
  if (filled_ < upTo) {
    std::fill(window_.begin() + filled_, window_.begin() + upTo, 0.0F);
    filled_ = upTo;
  }
  return true;
}

std::int64_t Voice::make(float* out, std::int64_t frames) noexcept {
  const Kernel& kernel = Kernel::instance();
  const bool exact = step_ == 1.0 && part_ == 0.0;
  const std::int64_t ahead = exact ? 0 : Kernel::halfFrames(step_);
  const double last = part_ + static_cast<double>(frames - 1) * step_;
  if (!fill(centre_ + static_cast<std::int64_t>(last) + ahead + 1)) {
    // A take's reader is late: as many as there is material for.
    const std::int64_t there = filled_ - 1 - ahead - centre_;
    if (there < 0) return 0;
    frames = std::min(
        frames, static_cast<std::int64_t>((static_cast<double>(there) - part_) / step_ + 1.0));
  }
  for (std::int64_t i = 0; i < frames; ++i) {
    if (end_ >= 0 && centre_ >= end_) {
      finished_ = true;
      return i;
    }
    const float* centre = window_.data() + centre_;
    out[i] = exact ? *centre : kernel.between(centre, part_, step_);
    part_ += step_;
    const auto whole = static_cast<std::int64_t>(part_);
    part_ -= static_cast<double>(whole);
    centre_ += whole;
  }
  return frames;
}

std::int64_t Voice::render(std::span<float> out, double rate_hz, double speed) noexcept {
  sounded_ = 0;
  if (silent_) return 0;
  step_ = feed_->sampleRateHz() / rate_hz * speed;
  const double slope = 1.0 / (Player::fade_s * rate_hz);
  std::array<float, chunk_frames> made{};
  std::int64_t late = 0;
  const auto frames = static_cast<std::int64_t>(out.size());
  for (std::int64_t done = 0; done < frames && !silent_; done += chunk_frames) {
    const std::int64_t run = std::min(chunk_frames, frames - done);
    const std::int64_t got = make(made.data(), run);
    if (got > 0) begun_ = true;
    float* to = out.data() + done;
    for (std::int64_t i = 0; i < got; ++i) {
      to[i] += static_cast<float>(smooth(level_)) * made[static_cast<std::size_t>(i)];
      ++sounded_;
      if (leaving_) {
        level_ -= slope;
        if (level_ <= 0.0) {
          silent_ = true;
          break;
        }
      } else if (level_ < 1.0) {
        level_ = std::min(1.0, level_ + slope);
      }
    }
    if (finished_) silent_ = true;
    if (got < run && !silent_) {
      if (leaving_) silent_ = true;  // nothing to fade
      if (begun_) late += run - got;
    }
  }
  return late;
}

}  // namespace fourbeat::ui
