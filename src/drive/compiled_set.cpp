// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/drive/compiled_set.h"

#include "image.h"
#include "join.h"

#include "fourbeat/audio/resample.h"
#include "fourbeat/base/decibels.h"
#include "fourbeat/model/project.h"

#include <algorithm>
#include <cmath>
#include <new>
#include <utility>

namespace fourbeat::drive {

namespace {

constexpr double most_gain_db = 120.0;  // either way
constexpr int most_voices = 256;
// Context on which a resampled loop settles before it is taken: longer than soxr's filter.
constexpr std::int64_t settle_frames = 4096;

Error bad(std::string place, std::string detail) {
  return {ErrorCode::bad_argument, {}, std::move(place), std::move(detail), {}};
}

bool within(double value, double low, double high) {
  return value >= low && value <= high;  // false for NaN
}

Status check_engine(const model::Engine& engine) {
  if (!within(engine.driver_diameter_mm, 300.0, 3000.0)) {
    return bad("/engine/driver_diameter_mm", "the driver diameter is outside 300 to 3000 mm");
  }
  if (engine.beats_per_rev < 1 || engine.beats_per_rev > 16) {
    return bad("/engine/beats_per_rev", "the beats a revolution are outside 1 to 16");
  }
  if (!within(engine.top_speed_kmh, 1.0, 300.0)) {
    return bad("/engine/top_speed_kmh", "the top speed is outside 1 to 300 km/h");
  }
  const std::vector<double>& angles = engine.beat_angles_deg;
  if (!angles.empty() && std::cmp_not_equal(angles.size(), engine.beats_per_rev)) {
    return bad("/engine/beat_angles_deg", "there is not one angle a beat");
  }
  for (std::size_t i = 0; i < angles.size(); ++i) {
    if (!(angles[i] >= 0.0 && angles[i] < 360.0) || (i > 0 && angles[i] <= angles[i - 1])) {
      return bad("/engine/beat_angles_deg", "the angles do not ascend from 0 to below 360");
    }
  }
  return ok();
}

Status check_clip(const PieceSound& sound, const std::string& name) {
  const audio::Clip& clip = sound.clip;
  if (!within(clip.sample_rate_hz, 1.0, 1e6)) return bad(name, "the clip has no sample rate");
  if (!within(sound.playback_gain_db, -most_gain_db, most_gain_db)) {
    return bad(name, "the playback gain is outside -120 to 120 dB");
  }
  if (clip.loop && (clip.loop->empty() || clip.loop->start.value() < 0 ||
                    std::cmp_greater(clip.loop->end.value(), clip.samples.size()))) {
    return bad(name, "the loop lies outside the clip");
  }
  if (!std::all_of(clip.samples.begin(), clip.samples.end(),
                   [](float sample) { return std::isfinite(sample); })) {
    return Error{ErrorCode::not_finite, {}, name, "a sample of the clip is no number", {}};
  }
  return ok();
}

Result<ImageClip> plain_clip(const audio::Clip& clip, int rate_hz) {
  ImageClip made;
  auto samples = audio::resample(clip.samples, clip.sample_rate_hz, rate_hz);
  if (!samples) return samples.error();
  made.samples = *std::move(samples);
  return made;
}

/// The clip up to its loop's end, the loop a whole number of frames long: the ratio is bent until
/// it is (by less than half a frame a loop), and the loop is taken where the filter's memory holds
/// nothing but the loop itself.
Result<ImageClip> looped_clip(const audio::Clip& clip, int rate_hz) {
  const auto start = static_cast<std::size_t>(clip.loop->start.value());
  const auto end = static_cast<std::size_t>(clip.loop->end.value());
  ImageClip made;
  if (clip.sample_rate_hz == rate_hz) {
    made.samples.assign(clip.samples.begin(),
                        clip.samples.begin() + static_cast<std::ptrdiff_t>(end));
    made.loop_start = clip.loop->start.value();
    return made;
  }
  const std::int64_t length = clip.loop->length().value();
  const auto out_length = std::max<std::int64_t>(
      1, std::llround(static_cast<double>(length) * rate_hz / clip.sample_rate_hz));
  const double ratio = static_cast<double>(out_length) / static_cast<double>(length);
  const std::int64_t settling = (settle_frames + length - 1) / length;  // whole loops
  std::vector<float> unrolled(clip.samples.begin(),
                              clip.samples.begin() + static_cast<std::ptrdiff_t>(end));
  unrolled.reserve(end + static_cast<std::size_t>(length * (2 * settling + 1)));
  for (std::int64_t loop = 0; loop < 2 * settling + 1; ++loop) {
    for (std::size_t i = start; i < end; ++i)
      unrolled.push_back(clip.samples[i]);
  }
  auto samples = audio::resample(unrolled, clip.sample_rate_hz, clip.sample_rate_hz * ratio);
  if (!samples) return samples.error();
  made.samples = *std::move(samples);
  made.loop_start = std::llround(static_cast<double>(start) * ratio) + settling * out_length;
  const std::int64_t loop_end = made.loop_start + out_length;
  if (loop_end > made.frames()) {
    return Error{ErrorCode::internal, {}, {}, "the resampled loop came out too short", {}};
  }
  made.samples.resize(static_cast<std::size_t>(loop_end));
  return made;
}

/// Builds the image; each piece becomes a clip when something first plays it.
class Compiler {
 public:
  Compiler(const model::Project& project, const model::DecoderProfile& profile)
      : project_(project), profile_(profile) {}

  Result<std::shared_ptr<const CompiledSet>> run(const std::vector<PieceSound>& sounds) {
    if (Status checked = check_engine(project_.engine); !checked) return checked.error();
    if (profile_.output_rate_hz < 1000 || profile_.output_rate_hz > 384000) {
      return bad("/output_rate_hz", "the profile's output rate is outside 1 to 384 kHz");
    }
    if (profile_.voices < 1 || profile_.voices > most_voices) {
      return bad("/voices", "the profile's voices are outside 1 to 256");
    }
    if (Status taken = take_sounds(sounds); !taken) return taken.error();
    fill_head();
    if (Status done = add_rows(); !done) return done.error();
    if (Status done = add_uses(); !done) return done.error();
    return std::shared_ptr<const CompiledSet>(std::move(set_));
  }

 private:
  struct Stock {
    const PieceSound* sound = nullptr;
    int piece = none;
    int plain = none;   // index of its clip, once made
    int looped = none;  // likewise, as a hold
  };

  Status take_sounds(const std::vector<PieceSound>& sounds) {
    std::map<model::PieceKey, const PieceSound*> by_key;
    for (const PieceSound& sound : sounds)
      by_key.emplace(sound.key, &sound);
    for (const model::Piece& piece : model::list_pieces(project_)) {
      const int index = static_cast<int>(set_->piece_names.size());
      set_->piece_names.push_back(piece.name);
      const auto found = by_key.find(piece.key);
      if (found == by_key.end() || found->second->clip.samples.empty()) continue;
      if (Status checked = check_clip(*found->second, piece.name); !checked) return checked;
      stock_.emplace(piece.key, Stock{found->second, index, none, none});
    }
    return ok();
  }

  void fill_head() {
    CompiledSet& set = *set_;
    set.sample_rate_hz = profile_.output_rate_hz;
    set.voices = profile_.voices;
    set.chuffs_may_overlap = profile_.chuffs_may_overlap;
    set.chuff_priority = project_.chuffs.priority;
    set.fused_fade_frames = std::max(1, static_cast<int>(fused_fade_s * profile_.output_rate_hz));
    set.engine = project_.engine;
    for (const double angle : model::beat_angles_deg(project_.engine)) {
      set.beat_turns.push_back(angle / 360.0);
    }
    for (const model::Cv& cv : project_.cvs)
      set.cvs.set(cv.number, cv.value);
  }

  Result<ImagePart> part(const model::PieceKey& key, double gain_db, bool hold) {
    const auto found = stock_.find(key);
    if (found == stock_.end()) return ImagePart{};
    Stock& stock = found->second;
    const double joined_db = stock.sound->playback_gain_db + gain_db;
    if (!within(joined_db, -2.0 * most_gain_db, most_gain_db)) {
      return bad(set_->piece_names[static_cast<std::size_t>(stock.piece)],
                 "its gains add up to more than 120 dB");
    }
    const bool looped = hold && stock.sound->clip.loop.has_value();
    int& clip = looped ? stock.looped : stock.plain;
    if (clip == none) {
      auto made = looped ? looped_clip(stock.sound->clip, set_->sample_rate_hz)
                         : plain_clip(stock.sound->clip, set_->sample_rate_hz);
      if (!made) return made.error();
      if (made->samples.empty()) return ImagePart{};
      made->piece = stock.piece;
      clip = static_cast<int>(set_->clips.size());
      set_->clips.push_back(*std::move(made));
    }
    return ImagePart{clip, static_cast<float>(gain_of_db(joined_db))};
  }

  Status add_rows() {
    for (const model::ChuffRow& row : project_.chuffs.rows) {
      ImageRow made{row.id, {}, {}};
      for (std::size_t r = 0; r < row.revolutions.size(); ++r) {
        std::vector<ImagePart>& turn = made.revolutions.emplace_back();
        for (std::size_t c = 0; c < row.revolutions[r].chuffs.size(); ++c) {
          auto chuff = part({{}, row.id, static_cast<int>(r), static_cast<int>(c)},
                            project_.chuffs.gain_db, false);
          if (!chuff) return chuff.error();
          turn.push_back(*chuff);
        }
      }
      if (row.fused) {
        auto loop = part({{}, row.id, model::fused_revolution, 0}, project_.chuffs.gain_db, true);
        if (!loop) return loop.error();
        made.fused = *loop;
      }
      set_->rows.push_back(std::move(made));
      set_->bands.push_back(band_of(row));
    }
    return ok();
  }

  Status add_uses() {
    for (int number = 0; number <= model::highest_key; ++number) {
      UseRange& range = set_->keys[static_cast<std::size_t>(number)];
      range.first = static_cast<int>(set_->uses.size());
      for (const model::Key& key : project_.keys) {
        const model::Sound* sound = model::find(project_, key.sound);
        if (key.number != number || number > profile_.highest_key || sound == nullptr) continue;
        auto use = use_of(key, *sound);
        if (!use) return use.error();
        set_->uses.push_back(*std::move(use));
      }
      range.last = static_cast<int>(set_->uses.size());
    }
    return ok();
  }

  Result<ImageUse> use_of(const model::Key& key, const model::Sound& sound) {
    ImageUse use;
    use.number = key.number;
    use.direction = key.direction;
    use.kind = sound.kind;
    use.priority = sound.priority;
    const bool held = sound.kind == model::SoundKind::held;
    const std::pair<ImagePart*, Id<model::Segment>> wanted[] = {
        {&use.shot, held ? Id<model::Segment>() : sound.segment},
        {&use.begin, held ? sound.begin : Id<model::Segment>()},
        {&use.hold, held ? sound.hold : Id<model::Segment>()},
        {&use.release, held ? sound.release : Id<model::Segment>()}};
    for (const auto& [slot, segment] : wanted) {
      if (!segment.is_set()) continue;
      auto made = part({segment, {}, 0, 0}, sound.gain_db, slot == &use.hold);
      if (!made) return made.error();
      *slot = *made;
    }
    const int longest = std::max(1, static_cast<int>(part_crossfade_s * set_->sample_rate_hz));
    use.release_frames = longest;
    if (use.begin.clip != none && use.hold.clip != none) join(use, longest);
    return use;
  }

  void join(ImageUse& use, int longest) const {
    const ImageClip& begin = set_->clips[static_cast<std::size_t>(use.begin.clip)];
    const ImageClip& hold = set_->clips[static_cast<std::size_t>(use.hold.clip)];
    if (joins_smoothly(begin, use.begin.gain, hold, use.hold.gain, longest)) return;
    use.join_frames = static_cast<int>(std::min<std::int64_t>(longest, begin.frames() / 2));
    use.join_rho = rho_of(begin, begin.frames() - use.join_frames, hold, 0, use.join_frames);
  }

  const model::Project& project_;
  const model::DecoderProfile& profile_;
  std::map<model::PieceKey, Stock> stock_;
  std::shared_ptr<CompiledSet> set_ = std::make_shared<CompiledSet>();
};

}  // namespace

Result<std::shared_ptr<const CompiledSet>> compile(const model::Project& project,
                                                   const model::DecoderProfile& profile,
                                                   const std::vector<PieceSound>& sounds) {
  try {
    return Compiler(project, profile).run(sounds);
  } catch (const std::bad_alloc&) {
    return Error{ErrorCode::too_large, {}, {}, "no memory for the set's sounds", {}};
  }
}

}  // namespace fourbeat::drive
