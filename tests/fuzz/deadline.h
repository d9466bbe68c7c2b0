// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"

#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>

namespace fourbeat::tests {

/// A job that asks to stop after half a second: what heeds it stays far from the fuzzer's limit.
class Deadline final : public JobControl {
 public:
  [[nodiscard]] bool cancelled() const override { return std::chrono::steady_clock::now() > end_; }

 private:
  std::chrono::steady_clock::time_point end_ =
      std::chrono::steady_clock::now() + std::chrono::milliseconds(500);
};

inline void write_bytes(const std::filesystem::path& path, const std::string& bytes) {
  std::ofstream out(path, std::ios::binary);
  out << bytes;
  if (!out.flush()) std::abort();
}

/// Writes a seed to the folder FOURBEAT_SEEDS, when that is wanted.
inline void write_seed(const std::string& name, const std::string& bytes) {
  const char* folder = std::getenv("FOURBEAT_SEEDS");
  if (folder != nullptr) write_bytes(std::filesystem::path(folder) / name, bytes);
}

}  // namespace fourbeat::tests
