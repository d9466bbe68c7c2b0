// SPDX-License-Identifier: GPL-3.0-or-later
#include "voices.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace fourbeat::drive {

namespace {

constexpr std::int64_t for_ever = std::numeric_limits<std::int64_t>::max();
constexpr std::size_t fades_a_voice = 4;
constexpr float greatest_step = 1.0F / 16.0F;  // of a gain, from one grid point to the next
constexpr float inaudible = 1e-5F;

}  // namespace

float next_level(float now, float level) noexcept {
  const float most = greatest_step * std::max(now, level);
  const float step = std::clamp(level - now, -most, most);
  return std::abs(level - now - step) < inaudible ? level : now + step;
}

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

void Player::play(float* to, GridPart part, const Fader& level) noexcept {
  const float slope = (level.to - level.from) / static_cast<float>(control_grid_frames);
  const auto level_at = [&](int frame) {
    return gain * (level.from + slope * static_cast<float>(frame));
  };
  int at = part.start;
  int frames = part.frames;
  while (frames > 0 && clip != nullptr) {
    auto run = static_cast<int>(std::min<std::int64_t>(frames, clip->frames() - position));
    if (in.active()) run = std::min(run, in.length - in.done);
    if (out.active()) run = std::min(run, out.length - out.done);
    const float* from = clip->samples.data() + position;
    if (!in.active() && !out.active()) {
      if (to != nullptr && slope == 0.0F) {
        const float steady = level_at(0);
        for (int i = 0; i < run; ++i)
          to[i] += steady * from[i];
      } else if (to != nullptr) {
        for (int i = 0; i < run; ++i)
          to[i] += level_at(at + i) * from[i];
      }
    } else {
      for (int i = 0; i < run; ++i) {
        float faded = level_at(at + i);
        if (in.active()) {
          faded *= fade_pair(in).in;
          ++in.done;
        }
        if (out.active()) {
          faded *= fade_pair(out).out;
          ++out.done;
        }
        if (to != nullptr) to[i] += faded * from[i];
      }
    }
    position += run;
    frames -= run;
    at += run;
    if (to != nullptr) to += run;
    if (in.active() && in.done == in.length) in = {};
    const bool gone = out.active() && out.done == out.length;
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
    if (gone) clip = nullptr;
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
    const Fade former = tail->out;
    if (!former.active()) {
      tail->out = fade;
    } else if (former.length - former.done > fade.length) {
      const float level = fade_pair(former).out;  // a long fade goes on as a short one
      tail->gain *= level;
      tail->next_gain *= level;
      tail->out = fade;
    }
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

void VoiceBank::play(const StemBuffers& stems, GridPart part,
                     std::span<const Fader> faders) noexcept {
  const auto play_one = [&](Player& player) {
    player.play(stems[static_cast<std::size_t>(player.stem)], part,
                faders[static_cast<std::size_t>(player.fader)]);
  };
  for (Voice& voice : voices_) {
    if (!voice.taken) continue;
    play_one(voice.player);
    voice.heard = true;
  }
  for (Player& tail : tails_) {
    if (!tail.idle()) play_one(tail);
  }
}

bool VoiceBank::follows(int fader) const noexcept {
  return std::any_of(voices_.begin(), voices_.end(),
                     [&](const Voice& one) { return one.taken && one.player.fader == fader; }) ||
         std::any_of(tails_.begin(), tails_.end(),
                     [&](const Player& one) { return !one.idle() && one.fader == fader; });
}

void VoiceBank::silence() noexcept {
  for (Voice& voice : voices_) {
    if (voice.taken) vacate(voice);
  }
  for (Player& tail : tails_)
    tail.clip = nullptr;
}

}  // namespace fourbeat::drive
