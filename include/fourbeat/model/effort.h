// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/extra.h"

#include <optional>

namespace fourbeat::model {

/// How hard the engine works.
enum class Effort { drifting, easy, hard };

/// Where one effort ends and the next begins, for one engine and its microphones. Of each of three
/// measures of a beat: below the first figure it speaks for drifting, from the second on for
/// hard. How loud and how long a beat is depends on microphone and place, so those two are used
/// only where figures are given; the acceleration's are common practice, no source.
struct EffortCalibration {
  std::optional<double> drifting_below_db;  ///< beat over background; with hard_from_db
  std::optional<double> hard_from_db;
  std::optional<double> drifting_below_share;  ///< beat's length over its interval, 0 to 1
  std::optional<double> hard_from_share;
  double drifting_below_m_s2 = -0.03;
  double hard_from_m_s2 = 0.03;
  Extra extra;
  bool operator==(const EffortCalibration&) const = default;
};

}  // namespace fourbeat::model
