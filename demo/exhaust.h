// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "motion.h"
#include "waves.h"

#include <vector>

namespace fourbeat::demo {

/// The attack of a beat, from its first frame to where its level crosses midway: what is added
/// to the opening of the valve to get the beat time, by effort from 0 to 1.
[[nodiscard]] double attack_s(double effort);

/// The exhaust at the chimney: one blast a beat, sharper and brighter the harder the engine
/// works and fuller at low speed, over the draught between. effort: 0 to 1 at each frame.
[[nodiscard]] Samples exhaust(const std::vector<WheelMoment>& beats,
                              const std::vector<double>& effort, std::uint64_t seed);

/// The rods: knocks where the thrust turns over, hardest when drifting.
[[nodiscard]] Samples rods(const std::vector<WheelMoment>& knocks,
                           const std::vector<double>& effort, std::uint64_t seed);

/// Wheels on the road: rumble and rail joints every 15 m under three axles.
[[nodiscard]] Samples rolling(const std::vector<double>& speed_kmh, std::uint64_t seed);

/// Steam past a cylinder gland, once a turn of the wheel.
[[nodiscard]] Samples gland(const std::vector<double>& wheel_turns,
                            const std::vector<double>& effort, std::uint64_t seed);

/// The fire under the draught that the exhaust makes.
[[nodiscard]] Samples fire(const std::vector<double>& effort, std::uint64_t seed);

}  // namespace fourbeat::demo
