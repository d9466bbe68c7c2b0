// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "json_text.h"

#include <span>

namespace fourbeat::store {

/// Turns a document of one version into the next one's, in place; "version" is not its business.
using Migration = void (*)(Json& document);

/// The steps of the project format: entry i leads from version i + 1 to i + 2.
[[nodiscard]] std::span<const Migration> project_migrations();

/// Takes a document from `version` to the last one, and sets "version". Version 1 with no step
/// is the last one.
void migrate(Json& document, int version, std::span<const Migration> steps);

}  // namespace fourbeat::store
