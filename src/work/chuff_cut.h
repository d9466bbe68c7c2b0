// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "chuff_turns.h"

#include "fourbeat/model/decoder_profile.h"
#include "fourbeat/work/render.h"

#include <optional>
#include <vector>

/// Cutting chuffs and matching their levels.

namespace fourbeat::work {

/// What the chuffs of a row are cut by.
struct CutRule {
  double lead_ms = 5.0;
  double top_kmh = 0.0;  ///< the fastest the row plays at
  bool may_overlap = true;
  double driver_diameter_mm = 0.0;
  std::vector<double> angles_deg;  ///< one a beat, ascending
};

/// The rule for a row up to top_kmh; the engine's angles in force.
[[nodiscard]] CutRule cut_rule(const model::Project& project, const model::DecoderProfile* profile,
                               double top_kmh);

/// Cuts a turn. Each chuff begins the lead before its beat and fades in up to the quiet point
/// before its attack; it ends at the quiet point before the next attack, fading out over what the
/// next fades in over (played on at its own speed, a turn sounds as it was recorded). Where chuffs
/// may not overlap it ends, with a longer fade, when the next may come at the row's top speed.
/// Nothing where the take begins too late for the lead.
[[nodiscard]] std::optional<model::Revolution> cut_turn(const Turn& turn, const CutRule& rule);

/// Shortens the chuffs of a revolution to what another row's top speed leaves, as cut_turn() does.
/// sample_rate_hz: of its pass.
void shorten_chuffs(model::Revolution& revolution, const CutRule& rule, double sample_rate_hz);

/// A revolution as it is rendered.
struct RevolutionSound {
  double energy_db = 0.0;       ///< K-weighted energy of its chuffs, mean in dB
  std::vector<float> bands_db;  ///< third octaves of its chuffs, mean energy in dB
};

/// Sample rate of the clock that a source is cut by; 0 where its pass has no take.
[[nodiscard]] double clock_rate_hz(const model::Project& project, const model::Source& source);

/// Renders a revolution's chuffs, tilted, and measures them. Errors: those of Renderer; too_short
/// (silence).
[[nodiscard]] Result<RevolutionSound> measure_revolution(const model::Revolution& revolution,
                                                         double tilt_db_per_octave,
                                                         Renderer& renderer);

}  // namespace fourbeat::work
