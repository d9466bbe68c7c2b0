// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/project.h"
#include "fourbeat/model/run_card.h"

#include <string>
#include <vector>

namespace fourbeat::work {

/// A run card that every set should be driven by, made for one set: its keys, its momentum, its
/// brakes.
struct StandardCard {
  std::string name;  ///< of its file, without folder and ending
  model::RunCard card;
};

/// The standard cards of a set: start_run_stop (to top speed and back to rest), shunting,
/// twenty_stops (from 5 speeds, each shut off, braked, braked with the regulator open, and by
/// emergency stop), every_key_once, worst_case_voices (all keys at once, under way);
/// whistle_bands where a key has variants by speed (each band); duties where the set has duties
/// (neglected, then kept). Deterministic. Times follow from CV3, CV4, CV23, CV24, the throttle's
/// curve and model::Driving.
[[nodiscard]] std::vector<StandardCard> standard_cards(const model::Project& project);

}  // namespace fourbeat::work
