// SPDX-License-Identifier: GPL-3.0-or-later
#include "input_file.h"

#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"

namespace fourbeat::audio {

namespace {
constexpr std::size_t buffer_bytes = 1U << 16U;
}

Result<InputFile> InputFile::open(const std::filesystem::path& path) {
  const Result<std::int64_t> size_bytes = regular_file_size(path);
  if (!size_bytes) return size_bytes.error();
  InputFile file;
  file.file_.reset(std::fopen(path.c_str(), "rbe"));
  if (!file.file_) return Error{ErrorCode::io_failed, path_text(path), {}, "opening", {}};
  std::setvbuf(file.file_.get(), nullptr, _IOFBF, buffer_bytes);
  file.size_bytes_ = *size_bytes;
  return file;
}

std::size_t InputFile::read(std::span<unsigned char> into) {
  if (position_ < 0 || position_ >= size_bytes_ || into.empty()) return 0;
  into = into.first(std::min(into.size(), static_cast<std::size_t>(size_bytes_ - position_)));
  if (position_ != file_position_) {
    if (std::fseek(file_.get(), static_cast<long>(position_), SEEK_SET) != 0) {
      failed_ = true;
      return 0;
    }
    file_position_ = position_;
  }
  const std::size_t got = std::fread(into.data(), 1, into.size(), file_.get());
  if (std::ferror(file_.get()) != 0) failed_ = true;
  for (const Patch& patch : patches_) {
    for (std::size_t i = 0; i < patch.bytes.size(); ++i) {
      const std::int64_t at = patch.offset + static_cast<std::int64_t>(i) - position_;
      if (at >= 0 && at < static_cast<std::int64_t>(got)) {
        into[static_cast<std::size_t>(at)] = patch.bytes.at(i);
      }
    }
  }
  position_ += static_cast<std::int64_t>(got);
  file_position_ = position_;
  return got;
}

bool InputFile::read_at(std::int64_t offset, std::span<unsigned char> into) {
  position_ = offset;
  return read(into) == into.size();
}

}  // namespace fourbeat::audio
