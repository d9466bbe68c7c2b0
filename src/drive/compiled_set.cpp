// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/drive/compiled_set.h"

#include "image.h"
#include "image_clips.h"
#include "join.h"
#include "refusal.h"

#include "fourbeat/base/decibels.h"
#include "fourbeat/model/cv_targets.h"
#include "fourbeat/model/entities.h"
#include "fourbeat/model/project.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <new>
#include <utility>
#include <variant>

namespace fourbeat::drive {

namespace {

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
    if (project_.states.size() > most_own_states) {
      return bad("/states", fmt::format("there are {} states of the set's own, {} at most drive",
                                        project_.states.size(), most_own_states));
    }
    if (Status taken = take_sounds(sounds); !taken) return taken.error();
    fill_head();
    if (Status done = add_rows(); !done) return done.error();
    if (Status done = add_keys(); !done) return done.error();
    if (Status done = add_triggers(); !done) return done.error();
    if (Status done = add_layers(); !done) return done.error();
    add_effects();
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
    set.driving = project_.driving;
    set.duties = project_.duties;
    set.own_states = project_.states;
    set.sounds = project_.sounds.size();
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

  /// A way to play a sound; `none` where there is no such sound.
  Result<int> add_use(Id<model::Sound> id, double gain_db, Stem stem, Reason reason) {
    const std::optional<std::size_t> at = model::index_of(project_, id);
    if (!at) return none;
    const model::Sound& sound = project_.sounds[*at];
    ImageUse use;
    use.sound = static_cast<int>(*at);
    use.kind = sound.kind;
    use.priority = sound.priority;
    use.retrigger = sound.retrigger;
    use.group = group_of(sound.group);
    use.stem = stem;
    use.reason = reason;
    const bool held = sound.kind == model::SoundKind::held;
    const std::pair<ImagePart*, Id<model::Segment>> wanted[] = {
        {&use.shot, held ? Id<model::Segment>() : sound.segment},
        {&use.begin, held ? sound.begin : Id<model::Segment>()},
        {&use.hold, held ? sound.hold : Id<model::Segment>()},
        {&use.release, held ? sound.release : Id<model::Segment>()}};
    for (const auto& [slot, segment] : wanted) {
      if (!segment.is_set()) continue;
      auto made = part({segment, {}, 0, 0}, sound.gain_db + gain_db, slot == &use.hold);
      if (!made) return made.error();
      *slot = *made;
    }
    const int longest = std::max(1, static_cast<int>(part_crossfade_s * set_->sample_rate_hz));
    use.release_frames = longest;
    if (use.begin.clip != none && use.hold.clip != none) join(use, longest);
    set_->uses.push_back(use);
    return static_cast<int>(set_->uses.size()) - 1;
  }

  int group_of(const std::string& name) {
    if (name.empty()) return none;
    return groups_.emplace(name, static_cast<int>(groups_.size())).first->second;
  }

  [[nodiscard]] ImageWhen when_of(const model::When& when) const {
    ImageWhen made;
    for (const model::State state : when.states)
      made.states |= 1U << static_cast<unsigned>(state);
    for (const Id<model::OwnState> id : when.own_states) {
      const std::optional<std::size_t> at = model::index_of(project_, id);
      if (at) made.own_states |= std::uint64_t{1} << *at;
    }
    if (const model::Option* option = model::find(project_, when.option)) {
      made.option_cv = option->cv;
      made.option_value = when.option_value;
    }
    return made;
  }

  Status add_keys() {
    for (int number = 0; number <= std::min(model::highest_key, profile_.highest_key); ++number) {
      for (const model::Key& key : project_.keys) {
        if (key.number != number) continue;
        ImageKey made;
        made.number = number;
        made.direction = key.direction;
        made.when = when_of(key.when);
        made.task = key.task;
        if (key.task && std::holds_alternative<model::OptionKey>(*key.task)) {
          const auto id = std::get<model::OptionKey>(*key.task).option;
          if (const model::Option* option = model::find(project_, id)) made.option_cv = option->cv;
        }
        auto use = add_use(key.sound, key.gain_db, Stem::keys, Reason::key);
        if (!use) return use.error();
        made.use = *use;
        for (const model::SpeedVariant& variant : key.by_speed) {
          auto other = add_use(variant.sound, key.gain_db, Stem::keys, Reason::key);
          if (!other) return other.error();
          made.variants.push_back({variant.from_kmh, *other});
        }
        set_->keys.push_back(std::move(made));
      }
    }
    return ok();
  }

  [[nodiscard]] int sound_index(Id<model::Sound> id) const {
    const std::optional<std::size_t> at = model::index_of(project_, id);
    return at ? static_cast<int>(*at) : none;
  }

  Status add_triggers() {
    for (const model::Trigger& trigger : project_.triggers) {
      ImageTrigger made;
      made.event = trigger.event;
      made.state = trigger.state;
      if (const auto at = model::index_of(project_, trigger.own_state)) {
        made.own_state = static_cast<int>(*at);
      }
      made.speed_kmh = trigger.speed_kmh;
      made.every = trigger.event == model::TriggerEvent::every;
      made.chance = trigger.chance;
      made.when = when_of(trigger.when);
      made.action = trigger.action;
      made.sound = sound_index(trigger.sound);
      made.instead_of = sound_index(trigger.instead_of);
      made.fade_s = trigger.fade_s;
      made.lasts = trigger.lasts.has_value();
      if (trigger.lasts) {
        made.lasts_from_s = trigger.lasts->from_s;
        made.lasts_to_s = trigger.lasts->to_s;
      }
      made.holds_motion_s = trigger.holds_motion_s;
      if (trigger.action != model::TriggerAction::stop) {
        auto use = add_use(trigger.sound, trigger.gain_db, Stem::beds, Reason::trigger);
        if (!use) return use.error();
        made.use = *use;
      }
      TriggerTimes times;
      times.delay_s = trigger.delay_s;
      if (trigger.every) {
        times.every_from_s = trigger.every->from_s;
        times.every_to_s = trigger.every->to_s;
      }
      set_->triggers.push_back(made);
      set_->trigger_times.push_back(times);
    }
    return ok();
  }

  Status add_layers() {
    for (const model::Layer& layer : project_.layers) {
      ImageLayer made;
      made.kind = layer.kind;
      const bool bed = layer.kind == model::LayerKind::bed;
      for (const Id<model::Sound> sound : layer.sounds) {
        auto use = add_use(sound, layer.gain_db, bed ? Stem::beds : Stem::layers, Reason::layer);
        if (!use) return use.error();
        if (*use == none) continue;
        set_->uses.back().layer = static_cast<int>(set_->layers.size());
        made.uses.push_back(*use);
      }
      if (layer.kind == model::LayerKind::wheel) {
        for (const double angle : layer.angles_deg)
          made.places.push_back(angle / 360.0);
      } else if (layer.kind == model::LayerKind::distance) {
        made.cycle_m = layer.joint_m;
        for (const double axle : layer.axles_m)
          made.places.push_back(std::fmod(axle, layer.joint_m) / layer.joint_m);
        if (made.places.empty()) made.places.push_back(0.0);
        std::sort(made.places.begin(), made.places.end());
      }
      made.from_kmh = layer.from_kmh;
      made.to_kmh = layer.to_kmh;
      made.first_turns = layer.first_turns;
      made.effort_db = {layer.drifting_db, layer.easy_db, layer.hard_db};
      made.levels = layer.levels;
      made.fade_frames = std::max(1, static_cast<int>(layer.fade_s * set_->sample_rate_hz));
      made.when = when_of(layer.when);
      set_->layers.push_back(std::move(made));
    }
    return ok();
  }

  void add_effects() {
    for (const model::Cv& cv : project_.cvs) {
      if (!cv.effect) continue;
      const model::CvEffect& effect = *cv.effect;
      std::optional<std::size_t> at;
      if (effect.sound.is_set()) at = model::index_of(project_, effect.sound);
      if (effect.layer.is_set()) at = model::index_of(project_, effect.layer);
      if (effect.state.is_set()) at = model::index_of(project_, effect.state);
      if (effect.trigger.is_set()) at = model::index_of(project_, effect.trigger);
      const model::MemberRule range = model::range_of(project_, effect);
      set_->effects.push_back({cv.number, effect.target, at ? static_cast<int>(*at) : none,
                               effect.at_0, effect.at_255, range.low, range.high});
    }
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
  std::map<std::string, int> groups_;
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

bool is_same(const CompiledSet& a, const CompiledSet& b) {
  return a == b;
}

}  // namespace fourbeat::drive
