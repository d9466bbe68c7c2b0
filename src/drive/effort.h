// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/drive/event.h"
#include "fourbeat/model/chuff_table.h"

#include <cstdint>

namespace fourbeat::drive {

/// How long an effort lasts at least before it may change.
inline constexpr double effort_hold_s = 0.5;

/// What effort and state are judged by, at one point of the control grid.
struct Work {
  std::int64_t frame = 0;
  double speed_kmh = 0.0;  ///< before the controls of this point act
  double goal_kmh = 0.0;
  double load = 0.0;
  double gradient_percent = 0.0;
};

/// Decides the effort with hysteresis; rules in docs/drive.md, section 4.
class EffortRule {
 public:
  EffortRule(double top_speed_kmh, int sample_rate_hz);
  /// The effort from this grid point on. Points must ascend.
  model::Effort update(const Work& work) noexcept;

 private:
  [[nodiscard]] model::Effort wanted(const Work& work) const noexcept;
  double margin_kmh_;
  std::int64_t hold_frames_;
  std::int64_t changed_frame_;
  model::Effort effort_ = model::Effort::easy;
};

/// The state at a grid point, controls in force. turns_since_rest: of the wheel.
[[nodiscard]] model::State state_of(double speed_kmh, double goal_kmh, double turns_since_rest,
                                    model::Effort effort);

}  // namespace fourbeat::drive
