// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/fit_groups.h"

#include "fourbeat/audio/resample.h"
#include "fourbeat/base/decibels.h"

#include <algorithm>

namespace fourbeat::work {

namespace {

/// The first sound that plays a segment, or null.
const model::Sound* owner_of(const model::Project& project, Id<model::Segment> segment) {
  for (const model::Sound& sound : project.sounds) {
    const std::vector<Id<model::Segment>> played = model::segments_of(sound);
    if (std::find(played.begin(), played.end(), segment) != played.end()) return &sound;
  }
  return nullptr;
}

void count(FitGroup& group, std::size_t piece, const fit::FitSound& sound, double sounding_s) {
  const fit::Encoding& encoding = sound.encoding;
  const bool first = group.pieces.empty();
  group.least_rate_hz =
      first ? encoding.sample_rate_hz : std::min(group.least_rate_hz, encoding.sample_rate_hz);
  group.greatest_rate_hz = std::max(group.greatest_rate_hz, encoding.sample_rate_hz);
  group.least_bits = first ? encoding.bits : std::min(group.least_bits, encoding.bits);
  group.greatest_bits = std::max(group.greatest_bits, encoding.bits);
  group.pieces.push_back(piece);
  group.bytes += sound.bytes;
  group.sounding_s += sounding_s;
  if (sound.loss_db) {
    group.worst_loss_db =
        group.worst_loss_db ? std::max(*group.worst_loss_db, *sound.loss_db) : *sound.loss_db;
  }
}

}  // namespace

std::vector<FitGroup> fit_groups(const model::Project& project, const FittedSet& fitted) {
  std::vector<FitGroup> groups;
  for (std::size_t i = 0; i < fitted.set.pieces.size() && i < fitted.fit.sounds.size(); ++i) {
    const Id<model::Segment> segment = fitted.set.pieces[i].key.segment;
    const model::Sound* sound = segment.is_set() ? owner_of(project, segment) : nullptr;
    if (segment.is_set() && sound == nullptr) continue;
    const Id<model::Sound> id = sound == nullptr ? Id<model::Sound>() : sound->id;
    auto group = std::find_if(groups.begin(), groups.end(),
                              [&](const FitGroup& each) { return each.sound == id; });
    if (group == groups.end()) {
      FitGroup made;
      made.sound = id;
      made.importance = sound == nullptr ? project.chuffs.importance : sound->importance;
      if (sound != nullptr) made.name = sound->name;
      group = groups.insert(groups.end(), std::move(made));
    }
    const std::vector<double>& sounding = fitted.shares.sounding_s;
    count(*group, i, fitted.fit.sounds[i], i < sounding.size() ? sounding[i] : 0.0);
  }
  std::stable_sort(groups.begin(), groups.end(),
                   [](const FitGroup& a, const FitGroup& b) { return a.bytes > b.bytes; });
  return groups;
}

Result<audio::Clip> stored_clip(const FittedSet& fitted, const FitGroup& group, JobControl& job) {
  if (group.pieces.empty()) return Error{ErrorCode::bad_argument, {}, {}, "nothing is stored", {}};
  audio::Clip clip;
  clip.sample_rate_hz = group.greatest_rate_hz;
  for (const std::size_t piece : group.pieces) {
    if (job.cancelled()) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
    const fit::FitSound& sound = fitted.fit.sounds[piece];
    const auto gain = static_cast<float>(gain_of_db(
        sound.encoded.playback_gain_db - sound.baked_db + fitted.set.pieces[piece].playback_db));
    const audio::Clip& stored = sound.encoded.clip;
    const Result<std::vector<float>> samples =
        audio::resample(stored.samples, stored.sample_rate_hz, clip.sample_rate_hz);
    if (!samples) return samples.error();
    for (const float sample : *samples)
      clip.samples.push_back(gain * sample);
  }
  return clip;
}

}  // namespace fourbeat::work
