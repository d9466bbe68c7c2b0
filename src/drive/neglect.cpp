// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/drive/neglect.h"

namespace fourbeat::drive {

namespace {
constexpr double step_s = 0.1;
constexpr double no_pull = 0.02;  // the engine stands
constexpr long longest_steps = static_cast<long>(longest_neglect_s / step_s);
}  // namespace

Neglect neglect(const model::Duties& duties, const Draw& draw) {
  model::Duties on = duties;
  on.on = true;
  Steam steam(on);
  Neglect found;
  const auto note = [](std::optional<double>& when, bool now, long step) {
    if (now && !when) when = static_cast<double>(step) * step_s;
  };
  for (long step = 0; step <= longest_steps && !found.stands_s; ++step) {
    note(found.warns_s, steam.warns_of_pressure() || steam.warns_of_water(), step);
    note(found.weakens_s, steam.pull() < 1.0, step);
    note(found.drops_s, steam.unlit(), step);
    note(found.stands_s, steam.pull() < no_pull, step);
    Draw now = draw;
    now.speed_share *= steam.pull();
    steam.advance(step_s, now);
  }
  return found;
}

}  // namespace fourbeat::drive
