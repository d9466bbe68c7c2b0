// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/base/files.h"

#include "fourbeat/base/text.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <system_error>

namespace fourbeat {

namespace {

WriteFault write_fault = nullptr;

Error errno_error(int number, const std::filesystem::path& path, const char* doing) {
  ErrorCode code = ErrorCode::io_failed;
  if (number == ENOENT || number == ENOTDIR) code = ErrorCode::not_found;
  if (number == ENOSPC || number == EDQUOT) code = ErrorCode::no_space;
  if (number == EISDIR) code = ErrorCode::not_a_file;
  return Error{code,
               path_text(path),
               {},
               fmt::format("{}: {}", doing, std::generic_category().message(number)),
               {}};
}

/// The errno to report for a step that may be made to fail by a test; 0 to go on.
int injected() {
  return write_fault == nullptr ? 0 : write_fault();
}

class Descriptor {
 public:
  explicit Descriptor(int number) : number_(number) {}
  ~Descriptor() {
    if (number_ >= 0) ::close(number_);
  }
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  [[nodiscard]] int number() const { return number_; }
  int close() {
    const int result = ::close(number_);
    number_ = -1;
    return result;
  }

 private:
  int number_;
};

/// Opens for reading without ever waiting for a writer at the other end of a FIFO.
Result<int> open_regular(const std::filesystem::path& path, std::int64_t& size_bytes) {
  const int number = ::open(path.c_str(), O_RDONLY | O_NONBLOCK | O_CLOEXEC | O_NOCTTY);
  if (number < 0) return errno_error(errno, path, "opening");
  struct stat info {};
  if (::fstat(number, &info) != 0) {
    const int failed = errno;
    ::close(number);
    return errno_error(failed, path, "looking at it");
  }
  if (!S_ISREG(info.st_mode)) {
    ::close(number);
    const char* kind = S_ISDIR(info.st_mode)    ? "a folder"
                       : S_ISFIFO(info.st_mode) ? "a FIFO"
                                                : "a device or socket";
    return Error{ErrorCode::not_a_file, path_text(path), {}, kind, {}};
  }
  size_bytes = static_cast<std::int64_t>(info.st_size);
  return number;
}

Status write_all(int descriptor, std::string_view content, const std::filesystem::path& path) {
  while (!content.empty()) {
    if (const int fault = injected(); fault != 0) return errno_error(fault, path, "writing");
    const ssize_t wrote = ::write(descriptor, content.data(), content.size());
    if (wrote < 0) {
      if (errno == EINTR) continue;
      return errno_error(errno, path, "writing");
    }
    content.remove_prefix(static_cast<std::size_t>(wrote));
  }
  return ok();
}

/// A new name reaches the disk with its folder; some file systems cannot do this.
void flush_parent(const std::filesystem::path& path) {
  std::filesystem::path folder = path.parent_path();
  if (folder.empty()) folder = ".";
  const int number = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (number < 0) return;
  ::fsync(number);
  ::close(number);
}

}  // namespace

void set_write_fault_for_tests(WriteFault fault) {
  write_fault = fault;
}

Result<std::int64_t> regular_file_size(const std::filesystem::path& path) {
  std::int64_t size_bytes = 0;
  const Result<int> number = open_regular(path, size_bytes);
  if (!number) return number.error();
  ::close(*number);
  return size_bytes;
}

Result<std::string> read_text_file(const std::filesystem::path& path, std::int64_t limit_bytes) {
  std::int64_t size_bytes = 0;
  const Result<int> number = open_regular(path, size_bytes);
  if (!number) return number.error();
  const Descriptor descriptor(*number);
  if (size_bytes > limit_bytes) {
    return Error{ErrorCode::too_large,
                 path_text(path),
                 {},
                 fmt::format("{} bytes, the limit is {}", size_bytes, limit_bytes),
                 {}};
  }
  std::string content;
  content.resize(static_cast<std::size_t>(size_bytes));
  std::size_t filled = 0;
  while (filled < content.size()) {
    const ssize_t got =
        ::read(descriptor.number(), content.data() + filled, content.size() - filled);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return errno_error(errno, path, "reading");
    if (got == 0) break;
    filled += static_cast<std::size_t>(got);
  }
  content.resize(filled);
  return content;
}

Status write_file_atomically(const std::filesystem::path& path, std::string_view content,
                             bool keep_last_good, Outlives outlives) {
  const bool to_disk = outlives == Outlives::machine;
  struct stat info {};
  mode_t mode = 0644;
  const bool existed = ::stat(path.c_str(), &info) == 0;
  if (existed) {
    if (!S_ISREG(info.st_mode)) {
      return Error{ErrorCode::not_a_file, path_text(path), {}, "cannot be replaced", {}};
    }
    mode = info.st_mode & 07777;
  }
  // A link is followed, so that the file it names is the one replaced.
  std::error_code ignored;
  const std::filesystem::path target = existed ? std::filesystem::canonical(path, ignored) : path;
  const std::filesystem::path& final_path = target.empty() ? path : target;

  std::string pattern = final_path.string() + ".XXXXXX";
  if (const int fault = injected(); fault != 0) return errno_error(fault, path, "creating");
  const int number = ::mkostemp(pattern.data(), O_CLOEXEC);
  if (number < 0) return errno_error(errno, path, "creating a temporary file beside it");
  const std::filesystem::path temporary = pattern;
  Descriptor descriptor(number);
  const auto give_up = [&](Error error) -> Status {
    ::unlink(temporary.c_str());
    return error;
  };
  if (Status wrote = write_all(number, content, path); !wrote) return give_up(wrote.error());
  if (const int fault = injected(); fault != 0) {
    return give_up(errno_error(fault, path, "flushing"));
  }
  if (::fchmod(number, mode) != 0 || (to_disk && ::fsync(number) != 0)) {
    return give_up(errno_error(errno, path, "flushing"));
  }
  if (descriptor.close() != 0) return give_up(errno_error(errno, path, "closing"));
  if (existed && keep_last_good) {
    const std::string last_good = final_path.string() + ".last-good";
    const std::string link = last_good + ".new";
    ::unlink(link.c_str());
    if (const int fault = injected(); fault != 0) {
      return give_up(errno_error(fault, path, "keeping the last good copy"));
    }
    if (::link(final_path.c_str(), link.c_str()) != 0 ||
        ::rename(link.c_str(), last_good.c_str()) != 0) {
      // A file system without hard links: a copy serves.
      std::error_code failed;
      std::filesystem::copy_file(final_path, last_good,
                                 std::filesystem::copy_options::overwrite_existing, failed);
      ::unlink(link.c_str());
      if (failed) return give_up(errno_error(failed.value(), path, "keeping the last good copy"));
    }
  }
  if (const int fault = injected(); fault != 0) {
    return give_up(errno_error(fault, path, "replacing"));
  }
  if (::rename(temporary.c_str(), final_path.c_str()) != 0) {
    return give_up(errno_error(errno, path, "replacing"));
  }
  if (to_disk) flush_parent(final_path);
  return ok();
}

Status put_folder_in_place(const std::filesystem::path& prepared,
                           const std::filesystem::path& target) {
  if (const int fault = injected(); fault != 0) return errno_error(fault, target, "replacing");
  if (::rename(prepared.c_str(), target.c_str()) != 0) {
    if (errno != ENOTEMPTY && errno != EEXIST) return errno_error(errno, target, "replacing");
    if (::renameat2(AT_FDCWD, prepared.c_str(), AT_FDCWD, target.c_str(), RENAME_EXCHANGE) != 0) {
      if (errno != EINVAL && errno != ENOSYS) return errno_error(errno, target, "replacing");
      // A file system that cannot exchange: three renames, undone when one fails.
      const std::filesystem::path aside = prepared.string() + ".old";
      if (::rename(target.c_str(), aside.c_str()) != 0) {
        return errno_error(errno, target, "replacing");
      }
      if (::rename(prepared.c_str(), target.c_str()) != 0) {
        const int failed = errno;
        if (::rename(aside.c_str(), target.c_str()) != 0) {
          return errno_error(errno, aside, "putting it back");
        }
        return errno_error(failed, target, "replacing");
      }
      if (::rename(aside.c_str(), prepared.c_str()) != 0) {
        return errno_error(errno, aside, "moving it away");
      }
    }
  }
  flush_parent(target);
  return ok();
}

bool same_file(const std::filesystem::path& a, const std::filesystem::path& b) {
  std::error_code failed;
  return std::filesystem::equivalent(a, b, failed) && !failed;
}

FileLock::FileLock(int descriptor, std::filesystem::path path)
    : descriptor_(descriptor), path_(std::move(path)) {}

FileLock::FileLock(FileLock&& other) noexcept
    : descriptor_(other.descriptor_), path_(std::move(other.path_)) {
  other.descriptor_ = -1;
}

FileLock& FileLock::operator=(FileLock&& other) noexcept {
  std::swap(descriptor_, other.descriptor_);
  std::swap(path_, other.path_);
  return *this;
}

FileLock::~FileLock() {
  if (descriptor_ < 0) return;
  // Removed while still locked, so a waiting writer that opened the old name sees it gone.
  ::unlink(path_.c_str());
  ::close(descriptor_);
}

Result<FileLock> FileLock::take(const std::filesystem::path& path) {
  std::filesystem::path lock_path = path;
  lock_path += ".lock";
  for (int attempt = 0; attempt < 8; ++attempt) {
    const int number = ::open(lock_path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0644);
    if (number < 0) return errno_error(errno, lock_path, "locking");
    if (::flock(number, LOCK_EX | LOCK_NB) != 0) {
      std::string holder(64, '\0');
      const ssize_t got = ::pread(number, holder.data(), holder.size(), 0);
      holder.resize(got > 0 ? static_cast<std::size_t>(got) : 0);
      ::close(number);
      return Error{ErrorCode::locked,
                   path_text(path),
                   {},
                   holder.empty() ? "held by another process"
                                  : fmt::format("held by process {}", printable(holder)),
                   {}};
    }
    struct stat mine {};
    struct stat named {};
    // The name may have been removed between opening and locking: then try again.
    if (::fstat(number, &mine) == 0 && ::stat(lock_path.c_str(), &named) == 0 &&
        mine.st_ino == named.st_ino && mine.st_dev == named.st_dev) {
      const std::string holder = fmt::format("{}", ::getpid());
      if (::ftruncate(number, 0) != 0 || ::pwrite(number, holder.data(), holder.size(), 0) < 0) {
        // The lock itself holds; only the name of its holder is missing.
      }
      return FileLock(number, lock_path);
    }
    ::close(number);
  }
  return Error{ErrorCode::locked, path_text(path), {}, "others keep taking it", {}};
}

std::filesystem::path data_folder() {
  // NOLINTNEXTLINE(concurrency-mt-unsafe): read only; nothing here sets the environment
  if (const char* named = std::getenv("FOURBEAT_DATA"); named != nullptr && *named != '\0') {
    return named;
  }
  std::error_code failed;
  const std::filesystem::path program = std::filesystem::read_symlink("/proc/self/exe", failed);
  if (!failed) {
    std::filesystem::path installed = program.parent_path().parent_path() / "share" / "fourbeat";
    if (std::filesystem::is_directory(installed, failed)) return installed;
  }
  return FOURBEAT_SOURCE_DATA;
}

}  // namespace fourbeat
