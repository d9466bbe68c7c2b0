// SPDX-License-Identifier: GPL-3.0-or-later
#include "sound_player.h"

#include "join.h"

#include <algorithm>
#include <cmath>
#include <span>

namespace fourbeat::drive {

namespace {

constexpr Fade steal_fade{steal_fade_frames, 0, 1.0F};

}  // namespace

SoundPlayer::SoundPlayer(const CompiledSet& set, int voices, EventSink& events)
    : set_(set),
      events_(events),
      bank_(voices),
      faders_(set.uses.size() + 1),
      heard_(static_cast<std::size_t>(std::max(1.0, part_crossfade_s * set.sample_rate_hz))) {}

void SoundPlayer::tell(EventKind kind, std::int64_t frame, const Voice& voice,
                       Reason reason) noexcept {
  EngineEvent event;
  event.frame = frame;
  event.kind = kind;
  event.reason = reason;
  event.piece = voice.piece;
  event.number = bank_.index_of(voice);
  events_.send(event);
}

Fade SoundPlayer::fit_fade(Voice& voice, Fade fade) noexcept {
  Player& player = voice.player;
  if (voice.part != Part::begin || player.idle() || voice.switch_at == none) return fade;
  const ImageUse& use = set_.use(voice.use);
  if (use.join_frames == 0) {
    player.next = &clip_of(use.hold);
    player.next_gain = use.hold.gain;
  } else {
    fade.length = static_cast<int>(std::min<std::int64_t>(fade.length, player.frames_left()));
  }
  return fade;
}

void SoundPlayer::fade_in_place(Voice& voice, Fade fade, Reason reason) noexcept {
  if (!voice.player.out.active()) voice.player.out = fit_fade(voice, fade);
  voice.part = Part::release;
  voice.switch_at = none;
  voice.ending = reason;
}

bool SoundPlayer::end(std::int64_t frame, Voice& voice, Fade fade, Reason reason) noexcept {
  fade = fit_fade(voice, fade);
  if (!bank_.let_go(voice, fade)) return false;
  tell(EventKind::voice_end, frame, voice, reason);
  return true;
}

void SoundPlayer::miss(std::int64_t frame, const ImagePart& part) noexcept {
  EngineEvent missed;
  missed.frame = frame;
  missed.kind = EventKind::voice_end;
  missed.reason = Reason::no_voice;
  missed.piece = clip_of(part).piece;
  missed.number = none;
  events_.send(missed);
}

bool SoundPlayer::start(std::int64_t frame, const ImagePart& part, Part role, int use,
                        Fade in) noexcept {
  const bool chuff = use == none;
  const int priority = chuff ? set_.chuff_priority : set_.use(use).priority;
  Voice* voice = bank_.free_voice();
  if (voice == nullptr) {
    voice = bank_.victim(priority);
    if (voice != nullptr && !end(frame, *voice, steal_fade, Reason::stolen)) voice = nullptr;
  }
  if (voice == nullptr) {
    miss(frame, part);
    return false;
  }
  Player player;
  player.clip = &clip_of(part);
  player.gain = part.gain;
  player.stem = chuff ? Stem::chuffs : set_.use(use).stem;
  player.fader = chuff ? chuff_fader() : use;
  player.in = in;
  bank_.start(*voice, player);
  voice->part = role;
  voice->use = use;
  voice->priority = priority;
  if (role == Part::begin) {
    const ImageUse& held = set_.use(use);
    if (held.hold.clip != none) voice->switch_at = player.clip->frames() - held.join_frames;
  }
  voices_peak_ = std::max(voices_peak_, bank_.sounding());
  tell(EventKind::voice_start, frame, *voice, chuff ? Reason::beat : set_.use(use).reason);
  return true;
}

dsp::Entry SoundPlayer::entry_of(const Player& heard, const ImageClip& next, int frames) noexcept {
  const auto width = std::min(static_cast<std::size_t>(frames), heard_.size());
  for (std::size_t i = 0; i < width; ++i)
    heard_[i] = sample_at(*heard.clip, heard.position + static_cast<std::int64_t>(i));
  return dsp::best_entry(std::span(heard_).first(width), next.samples, width);
}

bool SoundPlayer::swap(std::int64_t frame, Voice& voice, const ImagePart& part, Part role,
                       Fade fade, Reason reason, std::int64_t position) noexcept {
  const int use = voice.use;
  const int priority = voice.priority;
  const Stem stem = voice.player.stem;
  const int fader = voice.player.fader;
  if (!end(frame, voice, fade, reason)) return false;
  Player player;
  player.stem = stem;
  player.fader = fader;
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

bool SoundPlayer::start(std::int64_t frame, int index, Fade in) noexcept {
  const ImageUse& use = set_.use(index);
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
    return false;
  }
  Voice* former = bank_.playing(index);
  if (former != nullptr && use.retrigger == model::Retrigger::ignore &&
      former->part != Part::release) {
    return false;
  }
  if (former != nullptr && use.retrigger != model::Retrigger::overlap &&
      !end(frame, *former, steal_fade, Reason::replaced)) {
    miss(frame, *first);
    return false;
  }
  if (use.group != none) clear_group(frame, index);
  return start(frame, *first, role, index, in);
}

void SoundPlayer::clear_group(std::int64_t frame, int index) noexcept {
  const int group = set_.use(index).group;
  for (Voice& voice : bank_.voices()) {
    if (!voice.taken || voice.use == none || voice.use == index || voice.part == Part::release ||
        set_.use(voice.use).group != group) {
      continue;
    }
    const Fade fade{set_.use(voice.use).release_frames, 0, 1.0F};
    if (!end(frame, voice, fade, Reason::gave_way)) {
      fade_in_place(voice, steal_fade, Reason::gave_way);
    }
  }
}

void SoundPlayer::release(std::int64_t frame, int index) noexcept {
  for (Voice& voice : bank_.voices()) {
    if (voice.taken && voice.use == index) release(frame, voice);
  }
}

void SoundPlayer::release(std::int64_t frame, Voice& voice) noexcept {
  if (voice.part != Part::begin && voice.part != Part::hold) return;
  const ImageUse& use = set_.use(voice.use);
  Fade fade{use.release_frames, 0, 1.0F};
  bool done = false;
  if (use.release.clip == none || !voice.heard) {
    done = end(frame, voice, fade, Reason::released);
  } else {
    const ImageClip& next = clip_of(use.release);
    fade.length = static_cast<int>(std::min<std::int64_t>(fade.length, next.frames()));
    fade = fit_fade(voice, fade);
    const dsp::Entry entry = entry_of(voice.player, next, fade.length);
    fade.rho = static_cast<float>(std::clamp(entry.correlation, 0.0, 1.0));
    done = swap(frame, voice, use.release, Part::release, fade, Reason::released,
                static_cast<std::int64_t>(entry.offset_frames));
  }
  // Without room for one more fade it fades where it is, and the release is not heard.
  if (!done) fade_in_place(voice, steal_fade, Reason::ended);
}

void SoundPlayer::fade_out(std::int64_t frame, int index, Fade fade) noexcept {
  for (Voice& voice : bank_.voices()) {
    if (!voice.taken || voice.use != index || voice.player.out.active()) continue;
    if (voice.heard) {
      fade_in_place(voice, fade, Reason::stopped);
    } else {
      end(frame, voice, fade, Reason::stopped);
    }
  }
}

void SoundPlayer::stop(std::int64_t frame, int index) noexcept {
  if (set_.use(index).kind == model::SoundKind::held) {
    release(frame, index);
  } else {
    fade_out(frame, index, Fade{set_.use(index).release_frames, 0, 1.0F});
  }
}

bool SoundPlayer::is_on(int index) noexcept {
  const auto voices = bank_.voices();
  return std::any_of(voices.begin(), voices.end(), [&](const Voice& voice) {
    return voice.taken && voice.use == index && voice.part != Part::release &&
           !voice.player.out.active();
  });
}

void SoundPlayer::cut(std::int64_t frame) noexcept {
  for (Voice& voice : bank_.voices()) {
    if (voice.taken) tell(EventKind::voice_end, frame, voice, Reason::cut);
  }
  bank_.silence();
}

void SoundPlayer::lead(int fader, float level) noexcept {
  Fader& gain = faders_[static_cast<std::size_t>(fader)];
  gain.from = gain.to;
  if (gain.to == level) return;
  if (!bank_.follows(fader)) {
    gain = {level, level};
    return;
  }
  gain.to = next_level(gain.to, level);
}

void SoundPlayer::chuff(std::int64_t frame, const ImagePart& part) noexcept {
  if (!set_.chuffs_may_overlap) {
    Voice* former = bank_.playing(none);
    if (former != nullptr && !end(frame, *former, steal_fade, Reason::replaced)) {
      miss(frame, part);
      return;
    }
  }
  start(frame, part, Part::shot, none, {});
}

Voice* SoundPlayer::fused_voice() noexcept {
  for (Voice& voice : bank_.voices()) {
    if (voice.taken && voice.use == none && voice.part == Part::hold) return &voice;
  }
  return nullptr;
}

void SoundPlayer::fuse(std::int64_t frame, const ImagePart& part) noexcept {
  const Voice* playing = fused_voice();
  if (playing != nullptr && playing->player.clip == &clip_of(part)) return;
  unfuse(frame);
  if (!set_.chuffs_may_overlap) {
    Voice* former = bank_.playing(none);
    if (former != nullptr && !end(frame, *former, steal_fade, Reason::replaced)) return;
  }
  start(frame, part, Part::hold, none, Fade{set_.fused_fade_frames, 0, 0.0F});
}

void SoundPlayer::unfuse(std::int64_t frame) noexcept {
  Voice* playing = fused_voice();
  if (playing == nullptr) return;
  const Fade fade{set_.fused_fade_frames, 0, 0.0F};
  if (!end(frame, *playing, fade, Reason::released)) {
    fade_in_place(*playing, steal_fade, Reason::ended);
  }
}

void SoundPlayer::settle(std::int64_t frame) noexcept {
  for (Voice& voice : bank_.voices()) {
    if (!voice.taken) continue;
    if (voice.switch_at != none && voice.switch_at <= voice.player.position) {
      const ImageUse& use = set_.use(voice.use);
      if (!swap(frame, voice, use.hold, Part::hold, Fade{use.join_frames, 0, use.join_rho},
                Reason::handed_over)) {
        fade_in_place(voice, steal_fade, Reason::ended);
      }
    } else if (voice.player.idle()) {
      bank_.vacate(voice);
      tell(EventKind::voice_end, frame, voice, voice.ending);
    }
  }
}

}  // namespace fourbeat::drive
