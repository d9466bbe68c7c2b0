// SPDX-License-Identifier: GPL-3.0-or-later
#include "key_player.h"

#include "join.h"

#include <algorithm>
#include <span>

namespace fourbeat::drive {

namespace {

constexpr Fade steal_fade{steal_fade_frames, 0, 1.0F};

}  // namespace

KeyPlayer::KeyPlayer(const CompiledSet& set, int voices, EventSink& events)
    : set_(set),
      events_(events),
      bank_(voices),
      heard_(static_cast<std::size_t>(std::max(1.0, part_crossfade_s * set.sample_rate_hz))) {}

void KeyPlayer::tell(EventKind kind, std::int64_t frame, const Voice& voice,
                     Reason reason) noexcept {
  EngineEvent event;
  event.frame = frame;
  event.kind = kind;
  event.reason = reason;
  event.piece = voice.piece;
  event.number = bank_.index_of(voice);
  events_.send(event);
}

bool KeyPlayer::serves(const ImageUse& use) const noexcept {
  return use.direction == model::KeyDirection::any ||
         (use.direction == model::KeyDirection::forward) == forward_;
}

Fade KeyPlayer::fit_fade(Voice& voice, Fade fade) noexcept {
  Player& player = voice.player;
  if (voice.part != Part::begin || player.idle() || voice.switch_at == none) return fade;
  const ImageUse& use = set_.uses[static_cast<std::size_t>(voice.use)];
  if (use.join_frames == 0) {
    player.next = &clip_of(use.hold);
    player.next_gain = use.hold.gain;
  } else {
    fade.length = static_cast<int>(std::min<std::int64_t>(fade.length, player.frames_left()));
  }
  return fade;
}

void KeyPlayer::end_in_place(Voice& voice) noexcept {
  voice.player.out = fit_fade(voice, steal_fade);
  voice.part = Part::release;
  voice.switch_at = none;
}

bool KeyPlayer::end(std::int64_t frame, Voice& voice, Fade fade, Reason reason) noexcept {
  fade = fit_fade(voice, fade);
  if (!bank_.let_go(voice, fade)) return false;
  tell(EventKind::voice_end, frame, voice, reason);
  return true;
}

void KeyPlayer::miss(std::int64_t frame, const ImagePart& part) noexcept {
  EngineEvent missed;
  missed.frame = frame;
  missed.kind = EventKind::voice_end;
  missed.reason = Reason::no_voice;
  missed.piece = clip_of(part).piece;
  missed.number = none;
  events_.send(missed);
}

void KeyPlayer::start(std::int64_t frame, const ImagePart& part, Part role, int use, Reason reason,
                      Fade in) noexcept {
  const bool chuff = use == none;
  const int priority =
      chuff ? set_.chuff_priority : set_.uses[static_cast<std::size_t>(use)].priority;
  Voice* voice = bank_.free_voice();
  if (voice == nullptr) {
    voice = bank_.victim(priority);
    if (voice != nullptr && !end(frame, *voice, steal_fade, Reason::stolen)) voice = nullptr;
  }
  if (voice == nullptr) {
    miss(frame, part);
    return;
  }
  Player player;
  player.clip = &clip_of(part);
  player.gain = part.gain;
  player.chuff = chuff;
  player.in = in;
  bank_.start(*voice, player);
  voice->part = role;
  voice->use = use;
  voice->priority = priority;
  if (role == Part::begin) {
    const ImageUse& held = set_.uses[static_cast<std::size_t>(use)];
    if (held.hold.clip != none) voice->switch_at = player.clip->frames() - held.join_frames;
  }
  voices_peak_ = std::max(voices_peak_, bank_.sounding());
  tell(EventKind::voice_start, frame, *voice, reason);
}

dsp::Entry KeyPlayer::entry_of(const Player& heard, const ImageClip& next, int frames) noexcept {
  const auto width = std::min(static_cast<std::size_t>(frames), heard_.size());
  for (std::size_t i = 0; i < width; ++i)
    heard_[i] = sample_at(*heard.clip, heard.position + static_cast<std::int64_t>(i));
  return dsp::best_entry(std::span(heard_).first(width), next.samples, width);
}

bool KeyPlayer::swap(std::int64_t frame, Voice& voice, const ImagePart& part, Part role, Fade fade,
                     Reason reason, std::int64_t position) noexcept {
  const int use = voice.use;
  const int priority = voice.priority;
  if (!end(frame, voice, fade, reason)) return false;
  Player player;
  player.clip = &clip_of(part);
  player.gain = part.gain;
  player.position = position;
  player.in = fade;
  bank_.start(voice, player);
  voice.part = role;
  voice.use = use;
  voice.priority = priority;
  tell(EventKind::voice_start, frame, voice, reason);
  return true;
}

void KeyPlayer::press(std::int64_t frame, int index) noexcept {
  const ImageUse& use = set_.uses[static_cast<std::size_t>(index)];
  const ImagePart* first = nullptr;
  Part role = Part::shot;
  if (use.shot.clip != none) {
    first = &use.shot;
  } else if (use.begin.clip != none) {
    first = &use.begin;
    role = Part::begin;
  } else if (use.hold.clip != none) {
    first = &use.hold;
    role = Part::hold;
  } else {
    return;
  }
  Voice* former = bank_.playing(index);
  if (former != nullptr && !end(frame, *former, steal_fade, Reason::replaced)) {
    miss(frame, *first);
    return;
  }
  start(frame, *first, role, index, Reason::key);
}

void KeyPlayer::release(std::int64_t frame, int index) noexcept {
  const ImageUse& use = set_.uses[static_cast<std::size_t>(index)];
  Voice* voice = bank_.playing(index);
  if (voice == nullptr || (voice->part != Part::begin && voice->part != Part::hold)) return;
  Fade fade{use.release_frames, 0, 1.0F};
  bool done = false;
  if (use.release.clip == none || !voice->heard) {
    done = end(frame, *voice, fade, Reason::released);
  } else {
    const ImageClip& next = clip_of(use.release);
    fade.length = static_cast<int>(std::min<std::int64_t>(fade.length, next.frames()));
    fade = fit_fade(*voice, fade);
    const dsp::Entry entry = entry_of(voice->player, next, fade.length);
    fade.rho = static_cast<float>(std::clamp(entry.correlation, 0.0, 1.0));
    done = swap(frame, *voice, use.release, Part::release, fade, Reason::released,
                static_cast<std::int64_t>(entry.offset_frames));
  }
  if (!done) end_in_place(*voice);  // and the release is not heard
}

void KeyPlayer::set_key(std::int64_t frame, int number, bool on) noexcept {
  EngineEvent event;
  event.frame = frame;
  event.kind = EventKind::key;
  event.number = number;
  event.value = on ? 1 : 0;
  events_.send(event);
  const auto key = static_cast<std::size_t>(number);
  if (on_[key] == on) return;
  on_[key] = on;
  const UseRange range = set_.keys[key];
  for (int use = range.first; use < range.last; ++use) {
    if (!on) {
      release(frame, use);
    } else if (serves(set_.uses[static_cast<std::size_t>(use)])) {
      press(frame, use);
    }
  }
}

void KeyPlayer::set_direction(std::int64_t frame, bool forward) noexcept {
  if (forward == forward_) return;
  forward_ = forward;
  const int count = static_cast<int>(set_.uses.size());
  for (int index = 0; index < count; ++index) {
    const ImageUse& use = set_.uses[static_cast<std::size_t>(index)];
    if (use.direction == model::KeyDirection::any || use.kind != model::SoundKind::held ||
        !on_[static_cast<std::size_t>(use.number)]) {
      continue;
    }
    if (serves(use)) {
      press(frame, index);
    } else {
      release(frame, index);
    }
  }
}

void KeyPlayer::chuff(std::int64_t frame, const ImagePart& part) noexcept {
  if (!set_.chuffs_may_overlap) {
    Voice* former = bank_.playing(none);
    if (former != nullptr && !end(frame, *former, steal_fade, Reason::replaced)) {
      miss(frame, part);
      return;
    }
  }
  start(frame, part, Part::shot, none, Reason::beat);
}

Voice* KeyPlayer::fused_voice() noexcept {
  for (Voice& voice : bank_.voices()) {
    if (voice.taken && voice.use == none && voice.part == Part::hold) return &voice;
  }
  return nullptr;
}

void KeyPlayer::fuse(std::int64_t frame, const ImagePart& part) noexcept {
  const Voice* playing = fused_voice();
  if (playing != nullptr && playing->player.clip == &clip_of(part)) return;
  unfuse(frame);
  if (!set_.chuffs_may_overlap) {
    Voice* former = bank_.playing(none);
    if (former != nullptr && !end(frame, *former, steal_fade, Reason::replaced)) return;
  }
  start(frame, part, Part::hold, none, Reason::beat, Fade{set_.fused_fade_frames, 0, 0.0F});
}

void KeyPlayer::unfuse(std::int64_t frame) noexcept {
  Voice* playing = fused_voice();
  if (playing == nullptr) return;
  const Fade fade{set_.fused_fade_frames, 0, 0.0F};
  if (!end(frame, *playing, fade, Reason::released)) end_in_place(*playing);
}

void KeyPlayer::settle(std::int64_t frame) noexcept {
  for (Voice& voice : bank_.voices()) {
    if (!voice.taken) continue;
    if (voice.switch_at != none && voice.switch_at <= voice.player.position) {
      const ImageUse& use = set_.uses[static_cast<std::size_t>(voice.use)];
      if (!swap(frame, voice, use.hold, Part::hold, Fade{use.join_frames, 0, use.join_rho},
                Reason::handed_over)) {
        end_in_place(voice);
      }
    } else if (voice.player.idle()) {
      bank_.vacate(voice);
      tell(EventKind::voice_end, frame, voice, Reason::ended);
    }
  }
}

}  // namespace fourbeat::drive
