// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>

/// Files: the doors to the operating system. POSIX calls live behind these in src/base/os.

namespace fourbeat {

/// Size in bytes of a regular file (a link to one is followed). Never blocks on a FIFO.
/// Errors: not_found, not_a_file, io_failed.
[[nodiscard]] Result<std::int64_t> regular_file_size(const std::filesystem::path& path);

/// The whole of a regular file of at most `limit_bytes`. Errors: as above, too_large.
[[nodiscard]] Result<std::string> read_text_file(const std::filesystem::path& path,
                                                 std::int64_t limit_bytes);

/// How much a written file outlives: the death of this process, or that of the machine too.
enum class Outlives { process, machine };

/// Replaces `path` by `content` atomically: temporary file in the same folder, flush to disk
/// (Outlives::machine), rename. On any error the old file is as it was and no temporary file is
/// left. keep_last_good: the replaced version stays beside it as "<path>.last-good". Errors:
/// no_space, io_failed, not_found (folder), not_a_file.
[[nodiscard]] Status write_file_atomically(const std::filesystem::path& path,
                                           std::string_view content, bool keep_last_good = false,
                                           Outlives outlives = Outlives::machine);

/// Puts the folder `prepared` in the place of `target`, on the same file system, all or nothing.
/// A target that is absent or an empty folder is replaced; any other changes places with
/// `prepared`, which then holds what was there. Errors: no_space, io_failed, not_found.
[[nodiscard]] Status put_folder_in_place(const std::filesystem::path& prepared,
                                         const std::filesystem::path& target);

/// True when both paths name one existing file (links, relative spellings, hard links).
[[nodiscard]] bool same_file(const std::filesystem::path& a, const std::filesystem::path& b);

/// An advisory lock on `path` + ".lock", held while the object lives; dies with the process.
class FileLock {
 public:
  /// Errors: locked (detail says by which process), io_failed.
  [[nodiscard]] static Result<FileLock> take(const std::filesystem::path& path);
  FileLock(FileLock&& other) noexcept;
  FileLock& operator=(FileLock&& other) noexcept;
  FileLock(const FileLock&) = delete;
  FileLock& operator=(const FileLock&) = delete;
  ~FileLock();

 private:
  explicit FileLock(int descriptor, std::filesystem::path path);
  int descriptor_ = -1;
  std::filesystem::path path_;
};

/// Where the run-time data (decoder profiles, CV definitions, schemas) is: FOURBEAT_DATA, else
/// share/fourbeat beside the program's bin folder, else shared/ of the source tree it was built
/// from. The folder is not checked.
[[nodiscard]] std::filesystem::path data_folder();

/// Raised before each write, flush and rename of this header when set: a test's way to make the
/// nth of them fail. Returns an errno value, or 0 to go on.
using WriteFault = int (*)();
void set_write_fault_for_tests(WriteFault fault);

}  // namespace fourbeat
