// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "manifest.h"

#include "fourbeat/deliver/bundle.h"

#include <filesystem>
#include <map>
#include <set>
#include <string>

/// The steps of prove() on an unpacked bundle. Each adds what it finds to Faults; an Error ends it.

namespace fourbeat::deliver {

/// Lines found, each once, in the order found.
class Faults {
 public:
  void add(const std::string& line);
  [[nodiscard]] const std::vector<std::string>& lines() const { return lines_; }

 private:
  std::vector<std::string> lines_;
  std::set<std::string> known_;
};

/// Regular files by their path inside the bundle, and their sizes.
using FileSizes = std::map<std::string, std::int64_t>;

/// Looks through a folder; follows no link. Errors: too_large, io_failed.
[[nodiscard]] Result<FileSizes> scan_folder(const std::filesystem::path& folder,
                                            const BundleLimits& limits, Faults& faults);

/// Every file against SHA256SUMS, both ways. Errors: too_large, io_failed, cancelled.
[[nodiscard]] Status prove_sums(const std::filesystem::path& folder, const FileSizes& files,
                                const BundleLimits& limits, Faults& faults, JobControl& job);

/// The files against those a manifest calls for.
void prove_names(const FileSizes& files, const Manifest& manifest, Faults& faults);

/// Every WAV against the manifest, and the manifest's sounds against its decoder and budget.
/// Errors: cancelled.
[[nodiscard]] Status prove_sounds(const std::filesystem::path& folder, const FileSizes& files,
                                  const Manifest& manifest, Faults& faults, JobControl& job);

/// keys.csv, cvs.csv and chuffs.csv against the manifest. Errors: too_large, io_failed.
[[nodiscard]] Status prove_tables(const std::filesystem::path& folder, const FileSizes& files,
                                  const Manifest& manifest, const BundleLimits& limits,
                                  Faults& faults);

}  // namespace fourbeat::deliver
