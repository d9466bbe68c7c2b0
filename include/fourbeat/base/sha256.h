// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"

#include <cstddef>
#include <filesystem>
#include <memory>
#include <span>
#include <string>
#include <string_view>

namespace fourbeat {

/// SHA-256 (FIPS 180-4) fed by pieces.
class Sha256 {
 public:
  Sha256();
  ~Sha256();
  Sha256(const Sha256&) = delete;
  Sha256& operator=(const Sha256&) = delete;
  void add(std::span<const std::byte> bytes);
  void add(std::string_view text);
  /// The digest as 64 lower-case hexadecimal digits; the object must not be fed afterwards.
  [[nodiscard]] std::string hex();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// The digest of a text.
[[nodiscard]] std::string sha256_hex(std::string_view text);

/// The digest of a regular file, read by blocks. Errors: not_found, not_a_file, io_failed,
/// cancelled.
[[nodiscard]] Result<std::string> sha256_of_file(const std::filesystem::path& path,
                                                 JobControl& job);

}  // namespace fourbeat
