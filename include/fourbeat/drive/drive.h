// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/drive/compiled_set.h"
#include "fourbeat/drive/event.h"
#include "fourbeat/model/run_card.h"

#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace fourbeat::drive {

/// One line of the drive log. Fields beside `frame` and `kind` are used as the kind needs.
struct Event {
  std::int64_t frame = 0;
  EventKind kind = EventKind::speed;
  double speed_kmh = 0.0;   ///< beat, speed
  double turns = 0.0;       ///< beat: that the driving wheel has made so far, slips included
  Id<model::ChuffRow> row;  ///< beat; unset when no row serves
  model::Effort effort = model::Effort::easy;  ///< beat
  int position = 0;                            ///< beat
  std::string text;           ///< state, own_state, duty: its name; voice_*: the piece's name
  std::string reason;         ///< voice_start, voice_end: reason_name(), or "end_of_card"
  int number = 0;             ///< key: its number; cv: its number; voice_*: the voice, -1 for none
  int value = 0;              ///< cv: its value; key, own_state, slip, hold, power: 1 on, 0 off
  double pressure_bar = 0.0;  ///< gauges; fire and water: shares, 0 to 1
  double fire = 0.0;
  double water = 0.0;
  bool operator==(const Event&) const = default;
};

/// What an engine that plays `set` tells, as a line of the log.
[[nodiscard]] Event log_event(const CompiledSet& set, const EngineEvent& raw);

struct DriveOutput {
  int sample_rate_hz = 0;
  std::vector<float> mix;
  std::map<std::string, std::vector<float>> stems;  ///< by stem_name(); their sum is the mix
  std::vector<Event> events;                        ///< ascending in frame
  /// Beats a turn of the driving wheel, over the longest run of whole rounds of beats; nothing when
  /// there is no such round.
  std::optional<double> beats_per_turn;
  int voices_peak = 0;          ///< most voices that sounded at once
  int voices_wanted_peak = 0;   ///< most that would have, without the limit
  double largest_sample = 0.0;  ///< magnitude; 0 when not rendered
  /// Of the mix, after ITU-R BS.1770 Annex 2, in hundredths; nothing for silence, or when not
  /// rendered.
  std::optional<double> true_peak_dbtp;
  double true_peak_s = 0.0;                  ///< when, to within 1024 frames
  std::map<std::string, double> sounding_s;  ///< piece name → seconds it sounded
};

struct DriveOptions {
  bool render = true;      ///< false: events and figures only, no samples
  bool stems = false;      ///< with keep_mix only
  int block_frames = 441;  ///< rendering block; the samples do not depend on it
  bool keep_mix = true;    ///< false: the mix is rendered and its peaks measured, but not kept
};

/// Drives a set by a run card, offline: a loop over Engine. Same set, card and build: same bytes.
/// Moves after the card's end are never made. The mix is not limited: it may exceed ±1.
/// Errors: bad_argument (card or block out of range, moves not ascending; place names the move),
/// too_large (no memory for the samples), cancelled.
[[nodiscard]] Result<DriveOutput> drive(const std::shared_ptr<const CompiledSet>& set,
                                        const model::RunCard& card, const DriveOptions& options,
                                        JobControl& job);

}  // namespace fourbeat::drive
