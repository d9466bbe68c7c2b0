// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat_demo/demo.h"

#include <array>
#include <cstdint>
#include <string_view>

namespace fourbeat::demo {

/// One take by its recipe.
using TakeRecipe = SynthTake (*)(std::uint64_t seed);

[[nodiscard]] SynthTake pulling_away(std::uint64_t seed);
[[nodiscard]] SynthTake working(std::uint64_t seed);
[[nodiscard]] SynthTake drifting(std::uint64_t seed);
[[nodiscard]] SynthTake whistles(std::uint64_t seed);
[[nodiscard]] SynthTake safety_valves(std::uint64_t seed);
[[nodiscard]] SynthTake standing(std::uint64_t seed);
[[nodiscard]] SynthTake motion_and_ambience(std::uint64_t seed);

/// Where the takes go below the project's folder, in the order of the day.
inline constexpr std::array<std::string_view, 7> take_files{
    "takes/1_pulling_away.wav",       "takes/2_working.wav",       "takes/3_drifting.wav",
    "takes/4_whistles.wav",           "takes/5_safety_valves.wav", "takes/6_standing.wav",
    "takes/7_motion_and_ambience.wav"};

/// The takes' recipes, in the same order.
inline constexpr std::array<TakeRecipe, 7> take_recipes{
    pulling_away, working, drifting, whistles, safety_valves, standing, motion_and_ambience};

}  // namespace fourbeat::demo
