// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/model/project.h"

#include <filesystem>
#include <string>
#include <vector>

namespace fourbeat::work {

/// What becomes of another file that has the name of a standard card.
enum class CardInTheWay { refuse, keep, replace };

struct StandardCardFiles {
  std::vector<std::string> paths;    ///< of the cards that are there now, as a project lists them
  std::vector<std::string> written;  ///< of these, the ones whose file is new or another now
  std::vector<std::string> in_the_way;  ///< other files of these names that were left alone
};

/// The path of a standard card's file, from the project's folder.
[[nodiscard]] std::string standard_card_path(const std::string& name);

/// Writes the standard cards of a set below its folder; those that are there as they would be stay
/// as they are. refuse: with a file in the way nothing is written. Takes are never written over.
/// Errors: those of writing; would_overwrite where a take has the name; cancelled (before the
/// first is written).
[[nodiscard]] Result<StandardCardFiles> write_standard_cards(
    const model::Project& project, const std::filesystem::path& project_folder, CardInTheWay others,
    JobControl& job);

/// A list of cards with others at its end, each path once.
[[nodiscard]] std::vector<std::string> listed_with(std::vector<std::string> listed,
                                                   const std::vector<std::string>& more);

}  // namespace fourbeat::work
