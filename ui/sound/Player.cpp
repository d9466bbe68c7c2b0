// SPDX-License-Identifier: GPL-3.0-or-later
#include "Player.h"

#include "Kernel.h"
#include "Voice.h"

#include <algorithm>
#include <cmath>

namespace fourbeat::ui {

namespace {

constexpr std::size_t command_room = 256;
constexpr std::size_t done_room = 1024;
constexpr std::size_t report_room = 4096;
constexpr double volume_slope_s = 0.02;

}  // namespace

Player::Player() : commands_(command_room), done_(done_room), reports_(report_room) {
  static_cast<void>(Kernel::instance());
  alive_.reserve(command_room);
}

Player::~Player() {
  for (Voice* const voice : alive_)
    delete voice;
}

std::uint64_t Player::start(std::unique_ptr<Voice> voice) {
  collect();
  const std::uint64_t serial = serial_ + 1;
  voice->serial = serial;
  if (!commands_.push({voice.get()})) return 0;
  serial_ = serial;
  latest_ = voice.get();
  told_ = false;
  alive_.push_back(voice.release());
  return serial;
}

std::uint64_t Player::play(std::shared_ptr<const audio::Clip> clip, FrameRange range,
                           FrameIndex from, bool repeat, bool hold) {
  const bool whole_start = from.value() == 0;
  return start(std::make_unique<Voice>(
      std::make_unique<ClipFeed>(std::move(clip), range, from, repeat, hold), !whole_start));
}

std::uint64_t Player::playTake(const std::filesystem::path& path, int sampleRateHz, int channels,
                               FrameRange range, FrameIndex from, bool repeat,
                               const std::vector<float>& gains) {
  auto stream = std::make_shared<TakeStream>(path, sampleRateHz, channels, range, from);
  stream->setRepeat(repeat);
  const std::uint64_t serial = start(std::make_unique<Voice>(
      std::make_unique<TakeFeed>(stream, sampleRateHz, range, from, repeat, gains), true));
  if (serial != 0) reader_.add(std::move(stream));
  return serial;
}

std::uint64_t Player::playLive(std::shared_ptr<LiveSound> sound, double sampleRateHz) {
  return start(
      std::make_unique<Voice>(std::make_unique<LiveFeed>(std::move(sound), sampleRateHz), false));
}

bool Player::stop() {
  return commands_.push({nullptr});
}

void Player::letGo() {
  if (latest_ != nullptr) latest_->feed().letGo();
}

void Player::setGains(const std::vector<float>& gains) {
  if (latest_ != nullptr) latest_->feed().setGains(gains);
}

void Player::setRepeat(bool repeat) {
  if (latest_ != nullptr) latest_->feed().setRepeat(repeat);
}

void Player::collect() {
  Voice* voice = nullptr;
  while (done_.pop(voice)) {
    std::erase(alive_, voice);
    if (voice == latest_) latest_ = nullptr;
    delete voice;
  }
}

std::optional<Error> Player::takeError() {
  if (told_ || latest_ == nullptr) return std::nullopt;
  TakeStream* const stream = latest_->feed().stream();
  if (stream == nullptr || !stream->failed()) return std::nullopt;
  told_ = true;
  return stream->error();
}

void Player::give(Voice*& voice) noexcept {
  if (voice != nullptr && done_.push(voice)) voice = nullptr;
}

void Player::obey() noexcept {
  while (const Command* const command = commands_.front()) {
    if (current_ != nullptr) {
      Voice** const room = std::find(leaving_.data(), leaving_.data() + slots, nullptr);
      if (room == leaving_.data() + slots) return;  // all still fade: the next block obeys
      current_->leave();
      *room = current_;
    }
    current_ = command->voice;
    commands_.pop();
  }
}

void Player::meter(std::span<const float> block, double rate_hz) noexcept {
  for (const float sample : block)
    peaks_[peak_part_] = std::max(peaks_[peak_part_], std::abs(sample));
  peak_.store(*std::max_element(peaks_.begin(), peaks_.end()), std::memory_order_relaxed);
  peak_frames_ += static_cast<std::int64_t>(block.size());
  if (static_cast<double>(peak_frames_) < peak_window_s / peak_parts * rate_hz) return;
  peak_frames_ = 0;
  peak_part_ = (peak_part_ + 1) % peak_parts;
  peaks_[peak_part_] = 0.0F;
}

void Player::render(std::span<float> out, double rate_hz) noexcept {
  obey();
  const double speed = speed_.load(std::memory_order_relaxed);
  const float volume = volume_.load(std::memory_order_relaxed);
  std::int64_t frame = rendered_.load(std::memory_order_relaxed);
  while (!out.empty()) {
    const std::span<float> chunk = out.first(std::min(out.size(), chunk_frames));
    out = out.subspan(chunk.size());
    std::fill(chunk.begin(), chunk.end(), 0.0F);
    for (Voice*& voice : leaving_) {
      if (voice == nullptr) continue;
      voice->render(chunk, rate_hz, speed);
      if (voice->silent()) give(voice);
    }
    if (current_ != nullptr) {
      PlayerReport report{current_->serial, frame, current_->place(), 0.0, false};
      const std::int64_t late = current_->render(chunk, rate_hz, speed);
      shortfall_.fetch_add(static_cast<std::uint64_t>(late), std::memory_order_relaxed);
      report.step = current_->step();
      if (current_->begun() && current_->sounded() > 0) reports_.push(report);
      if (current_->silent()) {
        reports_.push(
            {current_->serial, frame + current_->sounded(), current_->place(), 0.0, true});
        give(current_);
      }
    }
    meter(chunk, rate_hz);
    const auto count = static_cast<float>(chunk.size());
    const float most = count / static_cast<float>(volume_slope_s * rate_hz);
    const float after = gain_ + std::clamp(volume - gain_, -most, most);
    if (gain_ != 1.0F || after != 1.0F) {
      const float slope = (after - gain_) / count;
      for (std::size_t i = 0; i < chunk.size(); ++i)
        chunk[i] *= gain_ + slope * static_cast<float>(i + 1);
      gain_ = after;
    }
    frame += static_cast<std::int64_t>(chunk.size());
  }
  rendered_.store(frame, std::memory_order_release);
}

}  // namespace fourbeat::ui
