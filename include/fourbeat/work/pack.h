// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/check/snag.h"
#include "fourbeat/deliver/notes.h"
#include "fourbeat/model/project.h"

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace fourbeat::work {

/// What packing did. Where `refused` is set a gate said no and nothing was written.
struct Packed {
  std::optional<Error> refused;
  std::vector<check::Snag> snags;  ///< of the set; those of severity error refuse
  std::vector<std::string> files;  ///< written, as named in the bundle
  std::int64_t bytes_used = 0;     ///< of the decoder's memory
  std::int64_t bytes_available = 0;
  std::vector<std::string> unsigned_seams;  ///< pieces whose seam nobody signed; in the manifest
};

/// Checks a set, fits it, and writes its bundle: a folder (deliver::write_bundle) or one zip.
/// Gates, in this order: the target is no take, there is a set to fit, no error snag, it fits.
/// Errors: those of reading the project's files, of check_project and of writing.
[[nodiscard]] Result<Packed> pack_project(const model::Project& project,
                                          const std::filesystem::path& project_folder,
                                          const std::filesystem::path& target, bool as_zip,
                                          JobControl& job);

enum class SheetKind { notes, day, loading };

/// A sheet of a project. The loading sheet renders and fits the set first; the notes name the
/// decoder where one is chosen. Errors: those of profile_of, check_project and bundle_input.
[[nodiscard]] Result<deliver::Sheet> make_sheet(SheetKind kind, const model::Project& project,
                                                const std::filesystem::path& project_folder,
                                                JobControl& job);

}  // namespace fourbeat::work
