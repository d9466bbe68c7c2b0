// SPDX-License-Identifier: GPL-3.0-or-later
#include "voices.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace fourbeat::drive {

namespace {

constexpr std::int64_t for_ever = std::numeric_limits<std::int64_t>::max();
constexpr std::size_t fades_a_voice = 4;

}  // namespace

FadePair fade_pair(const Fade& fade) noexcept {
  const float place = static_cast<float>(fade.done + 1) / static_cast<float>(fade.length + 1);
  const float in = place * place * (3.0F - 2.0F * place);
  const float out = 1.0F - in;
  const float scale = 1.0F / std::sqrt(in * in + out * out + 2.0F * fade.rho * in * out);
  return {out * scale, in * scale};
}

std::int64_t Player::frames_left() const {
  const std::int64_t faded = out.active() ? out.length - out.done : for_ever;
  return std::min(faded, goes_on() ? for_ever : clip->frames() - position);
}

void Player::play(float* to, int frames) noexcept {
  while (frames > 0 && clip != nullptr) {
    auto run = static_cast<int>(std::min<std::int64_t>(frames, clip->frames() - position));
    if (in.active()) run = std::min(run, in.length - in.done);
    if (out.active()) run = std::min(run, out.length - out.done);
    const float* from = clip->samples.data() + position;
    if (!in.active() && !out.active()) {
      for (int i = 0; to != nullptr && i < run; ++i)
        to[i] += gain * from[i];
    } else {
      for (int i = 0; i < run; ++i) {
        float level = gain;
        if (in.active()) {
          level *= fade_pair(in).in;
          ++in.done;
        }
        if (out.active()) {
          level *= fade_pair(out).out;
          ++out.done;
        }
        if (to != nullptr) to[i] += level * from[i];
      }
    }
    position += run;
    frames -= run;
    if (to != nullptr) to += run;
    if (in.active() && in.done == in.length) in = {};
    const bool faded = out.active() && out.done == out.length;
    if (position == clip->frames()) {
      if (loops()) {
        position = clip->loop_start;
      } else {
        clip = next;
        if (next != nullptr) {
          next = nullptr;
          gain = next_gain;
          position = 0;
        }
      }
    }
    if (faded) clip = nullptr;
  }
}

VoiceBank::VoiceBank(int voices)
    : voices_(static_cast<std::size_t>(voices)),
      tails_(static_cast<std::size_t>(voices) * fades_a_voice) {}

Voice* VoiceBank::free_voice() noexcept {
  for (Voice& voice : voices_) {
    if (!voice.taken) return &voice;
  }
  return nullptr;
}

Voice* VoiceBank::victim(int priority) noexcept {
  Voice* found = nullptr;
  for (Voice& voice : voices_) {
    if (!voice.taken || voice.priority > priority) continue;
    if (found == nullptr || voice.priority < found->priority ||
        (voice.priority == found->priority && voice.serial < found->serial)) {
      found = &voice;
    }
  }
  return found;
}

Voice* VoiceBank::playing(int use) noexcept {
  Voice* found = nullptr;
  for (Voice& voice : voices_) {
    if (!voice.taken || voice.use != use) continue;
    if (found == nullptr || voice.serial > found->serial) found = &voice;
  }
  return found;
}

void VoiceBank::start(Voice& voice, const Player& player) noexcept {
  voice = {};
  voice.player = player;
  voice.taken = true;
  voice.piece = player.clip->piece;
  voice.serial = next_serial_++;
  ++sounding_;
}

bool VoiceBank::let_go(Voice& voice, Fade fade) noexcept {
  if (voice.heard && !voice.player.idle()) {
    const auto tail =
        std::find_if(tails_.begin(), tails_.end(), [](const Player& one) { return one.idle(); });
    if (tail == tails_.end()) return false;
    *tail = voice.player;
    if (!tail->out.active()) tail->out = fade;
  }
  vacate(voice);
  return true;
}

void VoiceBank::vacate(Voice& voice) noexcept {
  voice.taken = false;
  voice.player.clip = nullptr;
  --sounding_;
}

std::int64_t VoiceBank::frames_to_change() const noexcept {
  std::int64_t frames = for_ever;
  for (const Voice& voice : voices_) {
    if (!voice.taken) continue;
    if (voice.player.idle()) return 0;
    frames = std::min(frames, voice.player.frames_left());
    if (voice.switch_at != none) frames = std::min(frames, voice.switch_at - voice.player.position);
  }
  return std::max<std::int64_t>(frames, 0);
}

void VoiceBank::play(float* chuffs, float* keys, int frames) noexcept {
  for (Voice& voice : voices_) {
    if (!voice.taken) continue;
    voice.player.play(voice.player.chuff ? chuffs : keys, frames);
    voice.heard = true;
  }
  for (Player& tail : tails_) {
    if (!tail.idle()) tail.play(tail.chuff ? chuffs : keys, frames);
  }
}

}  // namespace fourbeat::drive
