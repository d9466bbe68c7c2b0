// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "image.h"

#include <vector>

namespace fourbeat::drive {

/// The figures of a set that its CVs change under way; docs/drive.md, section 9. Allocates when it
/// is made, and never after.
class Tuning {
 public:
  explicit Tuning(const CompiledSet& set);

  /// Puts into force what a CV changes. True when something did.
  bool take(int cv, int value) noexcept;

  double set_gain_db = 0.0;
  double chuff_gain_db = 0.0;
  std::vector<double> sound_gain_db;
  std::vector<double> layer_gain_db;
  std::vector<model::OwnState> states;
  std::vector<TriggerTimes> triggers;
  double sync_error_percent;
  double row_delay_s;
  double full_brake_s;
  double coasting_factor;
  double cocks_open_turns;
  bool duties_on;
  double duty_pace = 1.0;

 private:
  void apply(const ImageEffect& effect, double figure) noexcept;
  const CompiledSet& set_;
};

}  // namespace fourbeat::drive
