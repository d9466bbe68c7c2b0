// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/check/snag.h"
#include "fourbeat/fit/fit.h"
#include "fourbeat/model/decoder_profile.h"
#include "fourbeat/model/piece.h"
#include "fourbeat/model/project.h"

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

namespace fourbeat::deliver {

/// Everything a bundle is made from, as values.
struct BundleInput {
  model::Project project;
  model::DecoderProfile profile;
  std::vector<model::Piece> pieces;         ///< list_pieces(project)
  fit::FitReport fit;                       ///< sounds in the order of `pieces`, by their names
  std::vector<check::Snag> snags;           ///< written to the manifest; errors refuse
  std::vector<std::string> unsigned_seams;  ///< names of pieces whose seam nobody signed
};

struct BundleFile {
  std::string path;  ///< inside the bundle, '/' between names
  std::string content;
};

inline constexpr int bundle_version = 1;

/// Limits against strangers' bundles.
struct BundleLimits {
  std::int64_t files = 10'000;
  std::int64_t total_bytes = std::int64_t{1} << 30U;      ///< all files together, unpacked
  std::int64_t manifest_bytes = std::int64_t{64} << 20U;  ///< each text file by itself
};

/// The files of a bundle, in the order of their names (bytewise): SHA256SUMS, chuffs.csv, cvs.csv,
/// keys.csv, manifest.json, notes.html, sounds/*.wav; docs/formats.md describes each.
/// Byte-identical for the same input: no clock, user, host or absolute path.
/// Errors: refused (an error snag, or the fit does not fit: detail names the first ones),
/// bad_argument (pieces and fit do not belong together, a name that is not ours, a rate that is no
/// whole number), those of audio::wav_bytes().
[[nodiscard]] Result<std::vector<BundleFile>> make_bundle(const BundleInput& input);

/// Writes a bundle to `folder`, through a temporary folder beside it and a rename: all or nothing.
/// The folder must not exist, or be empty, or hold an older bundle of ours: exactly the files that
/// its SHA256SUMS lists, unchanged; that one is replaced whole.
/// Errors: would_overwrite, bad_argument (a path that leaves the folder), not_found (its parent),
/// no_space, io_failed, cancelled.
[[nodiscard]] Status write_bundle(const std::vector<BundleFile>& files,
                                  const std::filesystem::path& folder, JobControl& job);

/// The bundle as one zip (libarchive), entries stored in the order given and stamped with the
/// format's first day: the same files give the same bytes, whatever the time zone or the
/// compression library. An existing regular file is replaced, atomically.
/// Errors: bad_argument, no_space, io_failed.
[[nodiscard]] Status write_zip(const std::vector<BundleFile>& files,
                               const std::filesystem::path& path);

/// What `prove` found.
struct Proof {
  bool sound = true;
  int files = 0;
  std::vector<std::string> faults;  ///< one line each, printable; empty when it is sound
};

/// Reads a bundle (a folder, or a zip, which is unpacked to a temporary folder) back and proves
/// it: names (no absolute path, "..", link, stray file), sizes against the limits, checksums, every
/// WAV opened: mono, rate, depth, length, loop as the manifest says and as the profile allows;
/// tables against the manifest; bytes against the profile's budget. No link is followed; a zip is
/// never unpacked beyond the limits, whatever sizes it declares.
/// Errors: not_found, not_a_file, bad_input (no manifest, no zip), newer_version, too_large,
/// io_failed, cancelled.
[[nodiscard]] Result<Proof> prove(const std::filesystem::path& bundle, JobControl& job,
                                  const BundleLimits& limits = {});

}  // namespace fourbeat::deliver
