// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/deliver/bundle.h"

#include "csv.h"
#include "manifest.h"
#include "names.h"
#include "tables.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/sha256.h"
#include "fourbeat/deliver/notes.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

namespace fourbeat::deliver {

namespace {

constexpr std::size_t snags_named = 3;

/// What bars the gate, or nothing.
std::string bar_of(const BundleInput& input) {
  std::vector<const check::Snag*> errors;
  for (const check::Snag& snag : input.snags) {
    if (snag.severity == check::Severity::error) errors.push_back(&snag);
  }
  std::string bar;
  for (std::size_t i = 0; i < std::min(errors.size(), snags_named); ++i) {
    bar += fmt::format("{}{}: {}", i == 0 ? "" : "; ", errors[i]->label, errors[i]->message);
  }
  if (errors.size() > snags_named) {
    bar += fmt::format("; and {} more", errors.size() - snags_named);
  }
  if (!input.fit.fits) {
    bar += fmt::format("{}the set takes {} bytes of {}, {} sounds of {}", bar.empty() ? "" : "; ",
                       input.fit.bytes_used, input.fit.bytes_available, input.pieces.size(),
                       input.profile.max_sounds);
  }
  return bar;
}

Result<std::vector<BundleFile>> wavs_of(const BundleInput& input) {
  std::vector<BundleFile> wavs;
  std::set<std::string> names;
  for (std::size_t i = 0; i < input.pieces.size(); ++i) {
    const std::string& name = input.pieces[i].name;
    if (!is_our_name(name) || !names.insert(name).second) {
      return Error{ErrorCode::bad_argument, {}, name, "not a name for a file, or given twice", {}};
    }
    Result<std::string> bytes = audio::wav_bytes(input.fit.sounds[i].encoded.clip);
    if (!bytes) {
      Error error = bytes.error();
      error.place = error.place.empty() ? name : name + ", " + error.place;
      return error;
    }
    wavs.push_back({sound_file(name), std::move(*bytes)});
  }
  return wavs;
}

}  // namespace

Result<std::vector<BundleFile>> make_bundle(const BundleInput& input) {
  if (const std::string bar = bar_of(input); !bar.empty()) {
    return Error{ErrorCode::refused, {}, {}, bar, {}};
  }
  if (input.pieces.size() != input.fit.sounds.size()) {
    return Error{ErrorCode::bad_argument, {}, "pieces", "they are not those of the fit", {}};
  }
  Result<std::vector<BundleFile>> wavs = wavs_of(input);
  if (!wavs) return wavs.error();
  const Result<Manifest> manifest = manifest_of(input, *wavs);
  if (!manifest) return manifest.error();

  std::vector<BundleFile> files = std::move(*wavs);
  files.push_back({std::string(manifest_name), manifest_text(*manifest)});
  files.push_back({std::string(keys_name), csv_text(keys_table(input.project, input.pieces))});
  files.push_back({std::string(cvs_name), csv_text(cvs_table(input.project))});
  files.push_back({std::string(chuffs_name), csv_text(chuffs_table(input.project, input.pieces))});
  files.push_back({std::string(notes_name), html_of(notes_sheet(input.project, &input.profile))});
  const auto by_path = [](const BundleFile& a, const BundleFile& b) { return a.path < b.path; };
  std::sort(files.begin(), files.end(), by_path);
  std::vector<Sum> sums;
  sums.reserve(files.size());
  for (const BundleFile& file : files)
    sums.push_back({sha256_hex(file.content), file.path});
  files.push_back({std::string(sums_name), sums_text(sums)});
  std::sort(files.begin(), files.end(), by_path);
  return files;
}

}  // namespace fourbeat::deliver
