// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/project.h"

#include <array>
#include <optional>
#include <utility>
#include <vector>

/// What the values of some CVs mean (NMRA S-9.2.2 and RCN-225).

namespace fourbeat::model {

/// The value that a set gives a CV, or none.
[[nodiscard]] std::optional<int> cv_value(const Project& project, int number);

inline constexpr int long_address_high_cv = 17;
inline constexpr int long_address_low_cv = 18;
inline constexpr int least_long_address = 1;  ///< RCN-225 forbids 0
inline constexpr int greatest_long_address = 10239;

/// The long address that CV17 and CV18 hold: (CV17 - 192) × 256 + CV18; none where CV17 is not 192
/// to 231, CV18 not 0 to 255, or the address 0.
[[nodiscard]] std::optional<int> long_address(int cv17, int cv18);
/// CV17 and CV18 of a long address; none outside 1 to 10239.
[[nodiscard]] std::optional<std::pair<int, int>> long_address_cvs(int address);

inline constexpr int basic_settings_cv = 29;
/// The bits of CV29.
namespace cv29 {
inline constexpr int reversed_direction = 1;
inline constexpr int steps_28_or_128 = 2;  ///< else 14
inline constexpr int other_power = 4;      ///< power source conversion (CV12) allowed
inline constexpr int bidirectional = 8;    ///< answers to the command station
inline constexpr int speed_table = 16;     ///< CV67 to 94 in place of CV2, 5 and 6
inline constexpr int long_address_used = 32;
}  // namespace cv29

/// The speed table: one CV a step of 28, drive levels 0 to 255.
inline constexpr int speed_table_first_cv = 67;
inline constexpr int speed_table_steps = 28;
using SpeedTable = std::array<std::optional<int>, speed_table_steps>;
/// The entries that a set gives, by step.
[[nodiscard]] SpeedTable speed_table(const Project& project);
/// The straight line to full drive: 255 × step / 28, rounded. step: 1 to 28.
[[nodiscard]] int linear_drive(int step);

/// Whose a CV number is: NMRA S-9.2.2 (July 2012), table 1.
enum class CvArea {
  makers,    ///< 47 to 64, 112 to 256 and 513 to 879: for CVs of the set's own
  paged,     ///< 257 to 512: CV31 and CV32 say what it is
  standard,  ///< given a use, or kept
  none       ///< outside 1 to 1024
};
[[nodiscard]] CvArea cv_area(int number);
/// The numbers of the makers' areas that neither a CV nor an option of the set has, rising, and
/// `own` in its place whatever it is.
[[nodiscard]] std::vector<int> free_own_cvs(const Project& project,
                                            std::optional<int> own = std::nullopt);
/// The first of them from 112 up, the longest run of the standard's first 256; the first at all
/// when those are taken; none when all are.
[[nodiscard]] std::optional<int> next_own_cv(const Project& project);

}  // namespace fourbeat::model
