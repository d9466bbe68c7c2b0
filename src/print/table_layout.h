// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <vector>

namespace fourbeat::print {

/// The width of a text in one line. Texts are UTF-8.
using Measure = std::function<double(std::string_view)>;

/// A text in lines no wider than `width`: broken at spaces and behind '_', '-', '.', '/', ','
/// first, inside a word where it alone is wider (one character a line at least). Never empty.
[[nodiscard]] std::vector<std::string> wrapped(std::string_view text, const Measure& measure,
                                               double width);

/// The width of the widest piece that wrapped() need not break.
[[nodiscard]] double least_width(std::string_view text, const Measure& measure);

/// How columns share what is left over their least widths.
enum class Sharing {
  evenly,      ///< equal shares, and no column gets more than it wants
  by_its_want  ///< in proportion to what each wants more
};

/// Widths of columns for a whole width: each as wide as its text wants where there is room for all;
/// else the least width and a share of the rest. Where even the least do not fit, all shrink in
/// proportion. `fill`: spare room is given out too.
[[nodiscard]] std::vector<double> column_widths(const std::vector<double>& least,
                                                const std::vector<double>& wanted, double width,
                                                Sharing sharing, bool fill);

}  // namespace fourbeat::print
