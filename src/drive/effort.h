// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/drive/event.h"
#include "fourbeat/model/chuff_table.h"

#include <cstdint>
#include <optional>

namespace fourbeat::drive {

/// What effort and state are judged by, at one point of the control grid.
struct Work {
  std::int64_t frame = 0;
  double speed_kmh = 0.0;  ///< before the controls of this point act
  double goal_kmh = 0.0;
  double load = 0.0;
  double gradient_percent = 0.0;
  std::optional<model::Effort> asked;  ///< by a key, in place of what is judged
};

/// Decides the effort with hysteresis; rules in docs/drive.md, section 5.
class EffortRule {
 public:
  /// hold_s: how long an effort lasts at least before it may change.
  EffortRule(double top_speed_kmh, double hold_s, int sample_rate_hz);
  /// The effort from this grid point on. Points must ascend.
  model::Effort update(const Work& work) noexcept;

 private:
  [[nodiscard]] model::Effort wanted(const Work& work) const noexcept;
  double margin_kmh_;
  std::int64_t hold_frames_;
  std::int64_t changed_frame_;
  model::Effort effort_ = model::Effort::easy;
};

}  // namespace fourbeat::drive
