// SPDX-License-Identifier: GPL-3.0-or-later
#include "chuff_cut.h"

#include "fourbeat/audio/loudness.h"
#include "fourbeat/base/wheel.h"

#include <algorithm>
#include <cmath>

namespace fourbeat::work {

namespace {

constexpr double shortest_fade_s = 0.001;  ///< click-free where the sound is quiet
constexpr double tail_fade_s = 0.008;      ///< click-free where it is not
constexpr double cut_fade_s = 0.040;       ///< of a tail that is cut off before it has died away
constexpr double no_band_db = -200.0;

FrameCount frames_of(double seconds, double rate) {
  return FrameCount(std::llround(seconds * rate));
}

FrameCount at_most_share(FrameCount fade, FrameCount length, std::int64_t share) {
  return FrameCount(std::min(fade.value(), length.value() / share));
}

/// How long a chuff may last from its first frame where the next may not run into it.
FrameCount room_for(std::size_t position, const CutRule& rule, double rate) {
  const std::vector<double>& angles = rule.angles_deg;
  const double turn_s = beat_interval_s(rule.top_kmh, rule.driver_diameter_mm, 1.0);
  const double next_deg =
      position + 1 < angles.size() ? angles[position + 1] : angles.front() + 360.0;
  return FrameCount(
      static_cast<std::int64_t>(turn_s * (next_deg - angles[position]) / 360.0 * rate));
}

void keep_to_room(model::Chuff& chuff, FrameCount room, double rate) {
  if (chuff.range.length() <= room) return;
  chuff.range.end = chuff.range.start + room;
  chuff.fade_out_frames = at_most_share(frames_of(cut_fade_s, rate), room, 3);
}

}  // namespace

CutRule cut_rule(const model::Project& project, const model::DecoderProfile* profile,
                 double top_kmh) {
  return {project.chuffs.lead_ms, top_kmh, profile == nullptr || profile->chuffs_may_overlap,
          project.engine.driver_diameter_mm, model::beat_angles_deg(project.engine)};
}

std::optional<model::Revolution> cut_turn(const Turn& turn, const CutRule& rule) {
  const HeardTake& take = *turn.take;
  const double rate = take.sample_rate_hz;
  const FrameCount lead = frames_of(rule.lead_ms / 1000.0, rate);
  const std::vector<dsp::Beat>& beats = take.beats();
  if (beats[turn.first_beat].frame < FrameIndex(0) + lead) return std::nullopt;
  model::Revolution revolution;
  revolution.source = take.source;
  for (std::size_t k = 0; k < rule.angles_deg.size(); ++k) {
    const dsp::ChuffMeasure& measure = turn.chuff(k);
    const FrameIndex beat = beats[turn.first_beat + k].frame + take.offset_frames;
    const FrameIndex next = beats[turn.first_beat + k + 1].frame + take.offset_frames;
    model::Chuff chuff;
    chuff.beat_frame = beat;
    chuff.range = {beat - lead, next - measure.next_quiet_frames};
    const FrameCount length = chuff.range.length();
    const FrameCount fade_in = lead - measure.quiet_frames;
    chuff.fade_in_frames = std::min(std::max(fade_in, frames_of(shortest_fade_s, rate)), lead);
    // What the next chuff fades in over, at this turn's own speed.
    const FrameCount shared = lead - measure.next_quiet_frames;
    chuff.fade_out_frames =
        at_most_share(std::max(shared, frames_of(tail_fade_s, rate)), length, 2);
    if (!rule.may_overlap) keep_to_room(chuff, room_for(k, rule, rate), rate);
    revolution.chuffs.push_back(chuff);
  }
  return revolution;
}

void shorten_chuffs(model::Revolution& revolution, const CutRule& rule, double sample_rate_hz) {
  if (rule.may_overlap) return;
  for (std::size_t k = 0; k < revolution.chuffs.size() && k < rule.angles_deg.size(); ++k)
    keep_to_room(revolution.chuffs[k], room_for(k, rule, sample_rate_hz), sample_rate_hz);
}

double clock_rate_hz(const model::Project& project, const model::Source& source) {
  const model::Pass* pass = model::find(project, source.pass);
  const model::Take* take = pass == nullptr || pass->takes.empty()
                                ? nullptr
                                : model::find(project, pass->takes.front().take);
  return take == nullptr ? 0.0 : take->sample_rate_hz;
}

Result<RevolutionSound> measure_revolution(const model::Revolution& revolution,
                                           double tilt_db_per_octave, Renderer& renderer) {
  RevolutionSound sound;
  std::vector<double> energies;
  const auto count = static_cast<double>(revolution.chuffs.size());
  for (const model::Chuff& chuff : revolution.chuffs) {
    model::Piece piece;
    piece.source = revolution.source;
    piece.range = chuff.range;
    piece.gain_db = chuff.gain_db;
    piece.fade_in_frames = chuff.fade_in_frames;
    piece.fade_out_frames = chuff.fade_out_frames;
    piece.tilt_db_per_octave = tilt_db_per_octave;
    const Result<audio::Clip> clip = renderer.render(piece);
    if (!clip) return clip.error();
    const std::optional<double> energy_db =
        audio::k_weighted_energy_db(clip->samples, clip->sample_rate_hz);
    if (!energy_db) return Error{ErrorCode::too_short, {}, {}, "a chuff is silent", {}};
    sound.energy_db += *energy_db / count;
    const std::vector<float> bands =
        dsp::third_octave_energies_db(clip->samples, clip->sample_rate_hz);
    energies.resize(bands.size(), 0.0);
    for (std::size_t band = 0; band < bands.size(); ++band)
      energies[band] += std::pow(10.0, static_cast<double>(bands[band]) / 10.0) / count;
  }
  for (const double energy : energies) {
    sound.bands_db.push_back(
        static_cast<float>(energy > 1e-20 ? 10.0 * std::log10(energy) : no_band_db));
  }
  return sound;
}

}  // namespace fourbeat::work
