// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"

#include <array>
#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <memory>
#include <span>
#include <vector>

namespace fourbeat::audio {

/// Four bytes of a file that are read as others: how a chunk is hidden from a parser, in memory,
/// never on disk.
struct Patch {
  std::int64_t offset = 0;
  std::array<unsigned char, 4> bytes{};
};

/// A regular file read at any place. Reads never throw.
class InputFile {
 public:
  /// Errors: not_found, not_a_file, io_failed.
  [[nodiscard]] static Result<InputFile> open(const std::filesystem::path& path);

  [[nodiscard]] std::int64_t size_bytes() const { return size_bytes_; }
  [[nodiscard]] std::int64_t position() const { return position_; }
  void seek(std::int64_t offset) { position_ = offset; }
  /// Bytes read at the position, which moves on; fewer than asked at the end or on an error.
  std::size_t read(std::span<unsigned char> into);
  /// True when all of `into` could be read at `offset`.
  bool read_at(std::int64_t offset, std::span<unsigned char> into);
  [[nodiscard]] bool failed() const { return failed_; }
  /// Reads from now on see these bytes, and the file end at `size_bytes`.
  void set_view(std::vector<Patch> patches, std::int64_t size_bytes) {
    patches_ = std::move(patches);
    size_bytes_ = size_bytes;
  }

 private:
  struct Close {
    void operator()(std::FILE* file) const { std::fclose(file); }
  };
  std::unique_ptr<std::FILE, Close> file_;
  std::int64_t size_bytes_ = 0;
  std::int64_t position_ = 0;
  std::int64_t file_position_ = 0;
  bool failed_ = false;
  std::vector<Patch> patches_;
};

}  // namespace fourbeat::audio
