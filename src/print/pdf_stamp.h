// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

namespace fourbeat::print {

/// Puts one fixed time (1980-01-01 00:00 UTC) in place of every /CreationDate and /ModDate of a
/// PDF, and moves the offsets of its cross-reference table along, so that neither the clock nor
/// the length of the time zone's name shows (ISO 32000-1, sections 7.5.4, 7.9.4 and 14.3.3).
/// Returns false, and leaves the bytes alone, when there is no plain cross-reference table.
[[nodiscard]] bool fix_stamps(std::string& pdf);

}  // namespace fourbeat::print
