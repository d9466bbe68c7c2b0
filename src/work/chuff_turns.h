// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/dsp/chuff_measure.h"
#include "fourbeat/model/project.h"
#include "fourbeat/work/chuff_builder.h"

#include <filesystem>
#include <optional>
#include <vector>

/// Beats as they sound, and the whole turns of the wheel they make up.

namespace fourbeat::work {

/// The longest lead a table may have: how far before a beat its quiet point is looked for.
inline constexpr double longest_lead_s = 0.050;

/// A tracked take, each beat measured.
struct HeardTake {
  const TrackedTake* tracked = nullptr;
  model::Source source;  ///< one microphone
  FrameCount offset_frames;
  double sample_rate_hz = 0.0;
  /// Of the chuff that begins at each beat; none where the beat ends its stretch, or in silence.
  std::vector<std::optional<dsp::ChuffMeasure>> chuffs;
  /// Each beat's place in the revolution, 0 up to the beats a revolution.
  std::vector<std::size_t> places;
  /// Beats of one group share the beginning of their counting: a take, where the tracker knows
  /// positions, else a stretch.
  std::vector<std::size_t> groups;

  [[nodiscard]] const std::vector<dsp::Beat>& beats() const { return tracked->track.beats; }
};

/// Reads and measures every beat of the takes. lead_ms: the table's.
/// Errors: not_found (take, pass), cancelled, those of Renderer.
[[nodiscard]] Result<std::vector<HeardTake>> hear_takes(const model::Project& project,
                                                        const std::filesystem::path& project_folder,
                                                        const std::vector<TrackedTake>& takes,
                                                        double lead_ms, JobControl& job);

/// The effort that most of the beats [first, last) have, of as many the harder; easy where none is
/// judged.
[[nodiscard]] model::Effort effort_of(const TrackedTake& take, std::size_t first, std::size_t last);

/// One whole turn found in a take, from a beat of place 0.
struct Turn {
  const HeardTake* take = nullptr;
  std::size_t first_beat = 0;
  double speed_kmh = 0.0;
  double acceleration_m_s2 = 0.0;
  double confidence = 0.0;         ///< of its least sure beat
  std::vector<double> angles_deg;  ///< of its beats; the turn's speed change taken as even
  std::vector<double> levels_db;   ///< energy of its chuffs, less their mean
  model::Effort effort = model::Effort::easy;

  [[nodiscard]] const dsp::ChuffMeasure& chuff(std::size_t position) const {
    return *take->chuffs[first_beat + position];
  }
  [[nodiscard]] std::size_t group() const { return take->groups[first_beat]; }
};

/// All whole turns of the takes, in order.
[[nodiscard]] std::vector<Turn> turns_of(const std::vector<HeardTake>& takes,
                                         const model::Engine& engine);

/// Lets every group count from the same place of the revolution: each is turned against the
/// largest to where accents (energy of the chuffs in a turn) and timing (angles of the beats)
/// agree best, by least squares over their own spread; then all are turned together to where the
/// timing agrees with the engine's angles, when it has uneven ones. Changes `places` only.
void align_places(std::vector<HeardTake>& takes, const model::Engine& engine);

/// Mean angle of each beat, from 0 at position 0, rounded to 0.01 degrees; empty when there are
/// under 8 turns, or the means do not ascend.
[[nodiscard]] std::vector<double> measure_angles(const std::vector<Turn>& turns, std::size_t n);

}  // namespace fourbeat::work
