// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/check/snag.h"
#include "fourbeat/fit/fit.h"
#include "fourbeat/model/decoder_profile.h"
#include "fourbeat/model/piece.h"
#include "fourbeat/model/project.h"

#include <filesystem>
#include <string>
#include <vector>

namespace fourbeat::deliver {

/// Everything a bundle is made from, as values.
struct BundleInput {
  model::Project project;
  model::DecoderProfile profile;
  std::vector<model::Piece> pieces;         ///< list_pieces(project)
  fit::FitReport fit;                       ///< sounds in the order of `pieces`
  std::vector<check::Snag> snags;           ///< written to the manifest; errors refuse
  std::vector<std::string> unsigned_seams;  ///< names of pieces whose seam nobody signed
};

struct BundleFile {
  std::string path;  ///< inside the bundle, '/' between names
  std::string content;
};

/// The files of a bundle, in the order of their names: manifest.json, sounds/*.wav, keys.csv,
/// cvs.csv, chuffs.csv, notes.html, SHA256SUMS. Byte-identical for the same input: no clock, user,
/// host or absolute path. Errors: refused (an error snag, or the fit does not fit).
[[nodiscard]] Result<std::vector<BundleFile>> make_bundle(const BundleInput& input);

/// Writes a bundle to `folder`, which must not exist or be empty (or hold an older bundle of ours:
/// a SHA256SUMS that lists all its files), through a temporary folder beside it and a rename: all
/// or nothing. Errors: would_overwrite, no_space, io_failed, cancelled.
[[nodiscard]] Status write_bundle(const std::vector<BundleFile>& files,
                                  const std::filesystem::path& folder, JobControl& job);

/// The bundle as one zip (libarchive), byte-identical for the same files: fixed time stamps.
[[nodiscard]] Status write_zip(const std::vector<BundleFile>& files,
                               const std::filesystem::path& path);

/// What `prove` found.
struct Proof {
  bool sound = true;
  int files = 0;
  std::vector<std::string> faults;  ///< one line each; empty when it is sound
};

/// Reads a bundle (a folder, or a zip) back and proves it: names (no absolute path, "..", link,
/// stray file), sizes against limits, checksums, every WAV opened: mono, rate, depth, length,
/// loop as the manifest says; tables against the manifest; bytes against the profile's budget.
/// Errors: not_found, bad_input (no manifest), too_large, cancelled.
[[nodiscard]] Result<Proof> prove(const std::filesystem::path& bundle, JobControl& job);

}  // namespace fourbeat::deliver
