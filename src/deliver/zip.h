// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/deliver/bundle.h"

#include <filesystem>
#include <string>
#include <vector>

namespace fourbeat::deliver {

/// Unpacks a zip of strangers into the empty folder `into`. Entries whose names are no bundle
/// paths, links, devices and repeated names are left out, one line each in `faults`. Declared
/// sizes are not believed: what comes out is counted.
/// Errors: not_found, not_a_file, bad_input (no zip, damaged), too_large, no_space, io_failed,
/// cancelled.
[[nodiscard]] Status unpack_zip(const std::filesystem::path& zip, const std::filesystem::path& into,
                                const BundleLimits& limits, std::vector<std::string>& faults,
                                JobControl& job);

}  // namespace fourbeat::deliver
