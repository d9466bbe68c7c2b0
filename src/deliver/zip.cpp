// SPDX-License-Identifier: GPL-3.0-or-later
#include "zip.h"

#include "names.h"

#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"

#include <archive.h>
#include <archive_entry.h>
#include <fmt/format.h>

#include <fstream>
#include <set>

namespace fourbeat::deliver {

namespace {

struct FreeArchive {
  void operator()(archive* one) const {
    // Frees one that was only read or written; a failed close shows at its own call.
    archive_free(one);
  }
};
using Archive = std::unique_ptr<archive, FreeArchive>;

struct FreeEntry {
  void operator()(archive_entry* one) const { archive_entry_free(one); }
};
using Entry = std::unique_ptr<archive_entry, FreeEntry>;

Error archive_error(ErrorCode code, archive* from, const std::filesystem::path& path) {
  const char* text = from == nullptr ? nullptr : archive_error_string(from);
  return Error{code, path_text(path), {}, printable(text == nullptr ? "no memory" : text), {}};
}

la_ssize_t append(archive*, void* text, const void* bytes, std::size_t count) {
  static_cast<std::string*>(text)->append(static_cast<const char*>(bytes), count);
  return static_cast<la_ssize_t>(count);
}

/// One entry's content into the file `target`, which must be new; too_large once over `left_bytes`.
Result<std::int64_t> unpack_entry(archive* from, const std::filesystem::path& target,
                                  std::int64_t left_bytes, const std::filesystem::path& zip,
                                  JobControl& job) {
  std::string content;
  std::vector<char> block(std::size_t{1} << 16U);
  for (;;) {
    if (job.cancelled()) return Error{ErrorCode::cancelled, path_text(zip), {}, {}, {}};
    const la_ssize_t got = archive_read_data(from, block.data(), block.size());
    if (got < 0) return archive_error(ErrorCode::bad_input, from, zip);
    if (got == 0) break;
    content.append(block.data(), static_cast<std::size_t>(got));
    if (static_cast<std::int64_t>(content.size()) > left_bytes) {
      return Error{ErrorCode::too_large,
                   path_text(zip),
                   path_text(target.filename()),
                   "the files unpack to more than the limit",
                   {}};
    }
  }
  std::ofstream out(target, std::ios::binary);
  out << content;
  if (!out.flush()) {
    return Error{ErrorCode::io_failed,
                 path_text(zip),
                 path_text(target.filename()),
                 "it cannot be unpacked to the temporary folder",
                 {}};
  }
  return static_cast<std::int64_t>(content.size());
}

}  // namespace

Status write_zip(const std::vector<BundleFile>& files, const std::filesystem::path& path) {
  for (const BundleFile& file : files) {
    if (const std::string fault = fault_of_path(file.path); !fault.empty()) {
      return Error{ErrorCode::bad_argument, path_text(path), file.path, fault, {}};
    }
  }
  std::string bytes;
  const Archive zip(archive_write_new());
  if (!zip || archive_write_set_format_zip(zip.get()) != ARCHIVE_OK ||
      archive_write_zip_set_compression_store(zip.get()) != ARCHIVE_OK ||
      archive_write_set_bytes_in_last_block(zip.get(), 1) != ARCHIVE_OK ||
      archive_write_open(zip.get(), &bytes, nullptr, append, nullptr) != ARCHIVE_OK) {
    return archive_error(ErrorCode::io_failed, zip.get(), path);
  }
  for (const BundleFile& file : files) {
    const Entry entry(archive_entry_new());
    if (!entry) return archive_error(ErrorCode::io_failed, nullptr, path);
    archive_entry_set_pathname_utf8(entry.get(), file.path.c_str());
    archive_entry_set_filetype(entry.get(), AE_IFREG);
    archive_entry_set_perm(entry.get(), 0644);
    archive_entry_set_size(entry.get(), static_cast<la_int64_t>(file.content.size()));
    if (archive_write_header(zip.get(), entry.get()) != ARCHIVE_OK ||
        archive_write_data(zip.get(), file.content.data(), file.content.size()) !=
            static_cast<la_ssize_t>(file.content.size())) {
      return archive_error(ErrorCode::io_failed, zip.get(), path);
    }
  }
  if (archive_write_close(zip.get()) != ARCHIVE_OK) {
    return archive_error(ErrorCode::io_failed, zip.get(), path);
  }
  return write_file_atomically(path, bytes);
}

Status unpack_zip(const std::filesystem::path& zip, const std::filesystem::path& into,
                  const BundleLimits& limits, std::vector<std::string>& faults, JobControl& job) {
  if (const Result<std::int64_t> size = regular_file_size(zip); !size) return size.error();
  const Archive from(archive_read_new());
  if (!from || archive_read_support_format_zip(from.get()) != ARCHIVE_OK ||
      archive_read_open_filename(from.get(), zip.c_str(), std::size_t{1} << 16U) != ARCHIVE_OK) {
    return archive_error(ErrorCode::bad_input, from.get(), zip);
  }
  std::int64_t left_bytes = limits.total_bytes;
  std::int64_t entries = 0;
  std::set<std::string> seen;
  archive_entry* entry = nullptr;
  for (;;) {
    if (job.cancelled()) return Error{ErrorCode::cancelled, path_text(zip), {}, {}, {}};
    const int got = archive_read_next_header(from.get(), &entry);
    if (got == ARCHIVE_EOF) return ok();
    if (got != ARCHIVE_OK && got != ARCHIVE_WARN) {
      return archive_error(ErrorCode::bad_input, from.get(), zip);
    }
    if (++entries > limits.files) {
      return Error{ErrorCode::too_large,
                   path_text(zip),
                   {},
                   fmt::format("more than {} entries", limits.files),
                   {}};
    }
    const char* raw = archive_entry_pathname(entry);
    std::string name = raw == nullptr ? "" : raw;
    const bool folder = archive_entry_filetype(entry) == AE_IFDIR;
    if (folder && !name.empty() && name.back() == '/') name.pop_back();
    if (const std::string fault = fault_of_path(name); !fault.empty()) {
      faults.push_back(fmt::format("{}: {}", printable(name), fault));
      continue;
    }
    if (folder) continue;
    if (archive_entry_filetype(entry) != AE_IFREG || archive_entry_hardlink(entry) != nullptr) {
      faults.push_back(fmt::format("{}: a link or device, no regular file", name));
      continue;
    }
    if (archive_entry_size_is_set(entry) != 0 && archive_entry_size(entry) > left_bytes) {
      return Error{ErrorCode::too_large,
                   path_text(zip),
                   name,
                   fmt::format("{} bytes declared, the limit is {} for all",
                               archive_entry_size(entry), limits.total_bytes),
                   {}};
    }
    if (!seen.insert(name).second) {
      faults.push_back(fmt::format("{}: it is there twice", name));
      continue;
    }
    const std::filesystem::path target = into / text_path(name);
    std::error_code failed;
    std::filesystem::create_directories(target.parent_path(), failed);
    if (failed) {
      faults.push_back(fmt::format("{}: its folder has the name of a file", name));
      continue;
    }
    if (std::filesystem::is_directory(target, failed)) {
      faults.push_back(fmt::format("{}: it has the name of a folder", name));
      continue;
    }
    const Result<std::int64_t> size = unpack_entry(from.get(), target, left_bytes, zip, job);
    if (!size) return size.error();
    left_bytes -= *size;
  }
}

}  // namespace fourbeat::deliver
