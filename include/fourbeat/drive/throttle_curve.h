// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstdint>
#include <optional>

/// From a step of the throttle to a drive level: CV2, 5, 6 and 25, or the speed table, and the
/// trims (NMRA S-9.2.2, July 2012; RCN-225). The one place of this rule; docs/drive.md, section 2.

namespace fourbeat::drive {

/// The CVs in force, as the engine keeps them. No function allocates.
class CvBank {
 public:
  static constexpr int highest_cv = 1024;

  CvBank() { values_.fill(unnamed); }
  /// number: 1 to 1024; value: 0 to 255. Others are ignored.
  void set(int number, int value) noexcept {
    if (number < 1 || number > highest_cv || value < 0 || value > 255) return;
    values_[static_cast<std::size_t>(number)] = static_cast<std::int16_t>(value);
  }
  /// Nothing while nobody has given it a value.
  [[nodiscard]] std::optional<int> get(int number) const noexcept {
    const int value = values_[static_cast<std::size_t>(number)];
    return value == unnamed ? std::nullopt : std::optional(value);
  }
  [[nodiscard]] int get(int number, int otherwise) const noexcept {
    return get(number).value_or(otherwise);
  }
  bool operator==(const CvBank&) const = default;

 private:
  static constexpr std::int16_t unnamed = -1;
  std::array<std::int16_t, highest_cv + 1> values_{};  // by number; [0] is unused
};

inline constexpr int most_steps = 126;

/// Drive levels by throttle step, 0 (rest) to 1 (full); between steps a straight line.
struct ThrottleCurve {
  int last_step = most_steps;  ///< 14, 28 or 126
  std::array<double, most_steps + 1> level{};
  bool operator==(const ThrottleCurve&) const = default;
};

/// The straight line from rest to full drive.
[[nodiscard]] ThrottleCurve straight_curve(int speed_steps) noexcept;

/// What the CVs make of it, in a direction; a set that names none of them has the straight line.
/// speed_steps: 14, 28 or 128.
[[nodiscard]] ThrottleCurve throttle_curve(const CvBank& cvs, int speed_steps,
                                           bool forward) noexcept;

/// Whether a CV shapes the curve, or chooses it.
[[nodiscard]] bool shapes_curve(int cv) noexcept;

}  // namespace fourbeat::drive
