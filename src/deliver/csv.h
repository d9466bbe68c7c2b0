// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"

#include <string>
#include <string_view>
#include <vector>

/// Comma-separated tables as RFC 4180 has them: CRLF after every line, a cell that holds a comma, a
/// quote or a line break in quotes, quotes inside doubled. UTF-8 without a byte order mark.

namespace fourbeat::deliver {

using CsvRow = std::vector<std::string>;

/// A cell of somebody's own words, safe to open in a spreadsheet: one line, control characters and
/// invalid UTF-8 replaced; one that begins with = + - @ or ', blanks before it or not, gets a ' in
/// front, so that it is text there and never a formula.
[[nodiscard]] std::string text_cell(std::string_view words);

/// The words of such a cell again.
[[nodiscard]] std::string words_of_cell(std::string_view cell);

[[nodiscard]] std::string csv_text(const std::vector<CsvRow>& rows);

/// Reads such a text; a bare LF ends a line too. Errors: bad_input (place: the line).
[[nodiscard]] Result<std::vector<CsvRow>> parse_csv(std::string_view text);

}  // namespace fourbeat::deliver
