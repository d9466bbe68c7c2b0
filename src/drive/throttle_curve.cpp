// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/drive/throttle_curve.h"

#include "fourbeat/model/cv_values.h"
#include "fourbeat/model/run_card.h"

#include <algorithm>

namespace fourbeat::drive {

namespace {

constexpr int first_step_cv = 2;
constexpr int last_step_cv = 5;
constexpr int middle_step_cv = 6;
constexpr int middle_place_cv = 25;
constexpr int forward_trim_cv = 66;
constexpr int reverse_trim_cv = 95;

constexpr double full_drive = 255.0;
constexpr int least_used = 2;  // CV5 and CV6: 0 and 1 are "not used"
constexpr double no_trim = 128.0;

// CV25 from 128 places the middle on the scale of 28 steps. S-9.2.2 has 27 codes for the steps 1 to
// 26; which way the odd one goes it does not say: here the last two mean 26.
constexpr int first_place = 128;
constexpr int last_place = 154;
constexpr int furthest_middle = 26;
constexpr int usual_middle = 14;

/// The middle step, on the scale of 28.
double middle_of(const CvBank& cvs) noexcept {
  const int place = cvs.get(middle_place_cv, 0);
  if (place < first_place || place > last_place) return usual_middle;
  return std::min(place - first_place + 1, furthest_middle);
}

/// CV2, CV5 and CV6: straight from the first step to the middle, and on to the last.
void fill_from_three(const CvBank& cvs, ThrottleCurve& curve) noexcept {
  const double last = curve.last_step;
  const int top_cv = cvs.get(last_step_cv, 0);
  const double top = top_cv < least_used ? 1.0 : top_cv / full_drive;
  const std::optional<int> first_cv = cvs.get(first_step_cv);
  const double first = first_cv ? *first_cv / full_drive : top / last;
  const int middle_cv = cvs.get(middle_step_cv, 0);
  const bool bent = middle_cv >= least_used;
  const double middle_step = middle_of(cvs) * last / model::speed_table_steps;
  const double middle = middle_cv / full_drive;
  for (int step = 1; step <= curve.last_step; ++step) {
    double& level = curve.level[static_cast<std::size_t>(step)];
    if (bent && step >= middle_step) {
      level = middle + (top - middle) * (step - middle_step) / (last - middle_step);
    } else if (bent) {
      level = first + (middle - first) * (step - 1) / (middle_step - 1);
    } else if (first_cv) {
      level = first + (top - first) * (step - 1) / (last - 1);
    } else {
      level = top * step / last;
    }
  }
}

/// CV67 to 94; a step between two entries lies on the line between them, below the first on the
/// line from rest. An entry without a value is that of the straight line.
void fill_from_table(const CvBank& cvs, ThrottleCurve& curve) noexcept {
  const auto entry = [&](int step) {
    if (step == 0) return 0.0;
    return cvs.get(model::speed_table_first_cv + step - 1, model::linear_drive(step)) / full_drive;
  };
  for (int step = 1; step <= curve.last_step; ++step) {
    const int scaled = step * model::speed_table_steps;
    const int below = scaled / curve.last_step;
    const double rest = static_cast<double>(scaled % curve.last_step) / curve.last_step;
    double level = entry(below);
    if (rest > 0.0) level += rest * (entry(below + 1) - level);
    curve.level[static_cast<std::size_t>(step)] = level;
  }
}

}  // namespace

ThrottleCurve straight_curve(int speed_steps) noexcept {
  return throttle_curve({}, speed_steps, true);
}

ThrottleCurve throttle_curve(const CvBank& cvs, int speed_steps, bool forward) noexcept {
  ThrottleCurve curve;
  curve.last_step = model::last_step(speed_steps);
  if ((cvs.get(model::basic_settings_cv, 0) & model::cv29::speed_table) != 0) {
    fill_from_table(cvs, curve);
  } else {
    fill_from_three(cvs, curve);
  }
  const int trim = cvs.get(forward ? forward_trim_cv : reverse_trim_cv, 0);
  if (trim != 0) {
    for (double& level : curve.level)
      level = std::min(1.0, level * trim / no_trim);
  }
  return curve;
}

bool shapes_curve(int cv) noexcept {
  return cv == first_step_cv || cv == last_step_cv || cv == middle_step_cv ||
         cv == middle_place_cv || cv == model::basic_settings_cv || cv == forward_trim_cv ||
         cv == reverse_trim_cv ||
         (cv >= model::speed_table_first_cv &&
          cv < model::speed_table_first_cv + model::speed_table_steps);
}

}  // namespace fourbeat::drive
