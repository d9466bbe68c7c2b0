// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <map>
#include <string>

namespace fourbeat::model {

/// Members of a JSON object that this version does not know: key → its JSON text. They ride
/// with their entity through edits, undo and saving.
using Extra = std::map<std::string, std::string>;

}  // namespace fourbeat::model
