// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

/// Sounds of a standing or working engine, made up with a known truth. Figures are drawn from the
/// seed within what such sounds commonly do (common practice, no source).
namespace fourbeat::loop_materials {

struct Material {
  audio::Pcm pcm;                  ///< one channel
  bool loops = true;               ///< a clean loop exists
  std::optional<double> period_s;  ///< of the tone, or of the rhythm where there is one
  double period_share = 0.0;       ///< how far the period itself wanders, as a share of it
};

inline constexpr double rate_hz = 24000.0;

/// "whistle", "pump", "injector", "safety_valve", "blower", "generator", "idling", "simmer",
/// "dying_steam".
[[nodiscard]] const std::vector<std::string>& kinds();

/// `seconds` of a kind.
[[nodiscard]] Material material(const std::string& kind, double seconds, std::uint64_t seed);

}  // namespace fourbeat::loop_materials
