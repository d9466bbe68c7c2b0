// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

namespace fourbeat::deliver {

/// `number` with exactly `decimals` of them, '.' as the decimal sign in every locale, never "-0".
/// "" for a number that is not finite.
[[nodiscard]] std::string fixed(double number, int decimals);

/// `number` with at most `decimals` of them: "12", "12.5".
[[nodiscard]] std::string up_to(double number, int decimals);

/// `number` rounded to `decimals`, halves away from zero; 0 for one that is not finite.
[[nodiscard]] double rounded(double number, int decimals);

}  // namespace fourbeat::deliver
