// SPDX-License-Identifier: GPL-3.0-or-later
#include "effort.h"

#include <algorithm>

namespace fourbeat::drive {

namespace {

constexpr double least_margin_kmh = 2.0;
constexpr double margin_of_top = 0.05;
constexpr double heavy_pull_percent = 1.0;  // load × gradient

}  // namespace

EffortRule::EffortRule(double top_speed_kmh, double hold_s, int sample_rate_hz)
    : margin_kmh_(std::max(least_margin_kmh, margin_of_top * top_speed_kmh)),
      hold_frames_(static_cast<std::int64_t>(hold_s * sample_rate_hz)),
      changed_frame_(-hold_frames_) {}

model::Effort EffortRule::wanted(const Work& work) const noexcept {
  using model::Effort;
  const double lack_kmh = work.goal_kmh - work.speed_kmh;
  if (work.speed_kmh == 0.0 && work.goal_kmh == 0.0) return effort_;
  if (lack_kmh > 0.0 && (lack_kmh > margin_kmh_ || effort_ == Effort::hard)) return Effort::hard;
  if (lack_kmh < 0.0 &&
      (work.goal_kmh == 0.0 || lack_kmh < -margin_kmh_ || effort_ == Effort::drifting)) {
    return Effort::drifting;
  }
  const double pull_percent = work.load * work.gradient_percent;
  if (pull_percent >= heavy_pull_percent) return Effort::hard;
  if (pull_percent <= -heavy_pull_percent) return Effort::drifting;
  return Effort::easy;
}

model::Effort EffortRule::update(const Work& work) noexcept {
  const model::Effort next = work.asked ? *work.asked : wanted(work);
  if (next != effort_ && work.frame - changed_frame_ >= hold_frames_) {
    effort_ = next;
    changed_frame_ = work.frame;
  }
  return effort_;
}

}  // namespace fourbeat::drive
