// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "context.h"

#include "fourbeat/work/analyse.h"

#include <memory>
#include <optional>
#include <string>

namespace fourbeat::cli {

/// Which stretch and which channel of a recording a command is about.
struct StretchOptions {
  std::string file;
  std::string channel;  ///< from 1, or mix; empty: not named
  std::optional<double> from_s;
  std::optional<double> to_s;
  bool json = false;
};

void add_stretch(const Command& c, const std::shared_ptr<StretchOptions>& o);

/// Mixed where no channel is named. Errors: bad_argument (no such channel).
[[nodiscard]] Result<work::Stretch> stretch_of(const StretchOptions& o);

}  // namespace fourbeat::cli
