// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/base/files.h"

#include "support/catch.h"
#include "support/temp_folder.h"

#include "fourbeat/base/sha256.h"

#include <sys/stat.h>

#include <cerrno>
#include <fstream>

using namespace fourbeat;
using fourbeat::tests::TempFolder;

namespace {

std::string content_of(const std::filesystem::path& path) {
  const Result<std::string> text = read_text_file(path, 1 << 20);
  return text ? *text : "";
}

int writes_until_fault = -1;
int fail_at_nth() {
  return writes_until_fault-- == 0 ? ENOSPC : 0;
}

int entries(const TempFolder& folder) {
  int count = 0;
  for (const auto& entry : std::filesystem::directory_iterator(folder.path())) {
    (void)entry;
    ++count;
  }
  return count;
}

}  // namespace

TEST_CASE("files: a folder, a FIFO and a missing name are refused without waiting", "[base]") {
  const TempFolder folder;
  REQUIRE(::mkfifo((folder / "pipe").c_str(), 0600) == 0);
  CHECK(regular_file_size(folder / "pipe").error().code == ErrorCode::not_a_file);
  CHECK(regular_file_size(folder.path()).error().code == ErrorCode::not_a_file);
  CHECK(regular_file_size(folder / "none").error().code == ErrorCode::not_found);
  CHECK(read_text_file(folder / "pipe", 10).error().code == ErrorCode::not_a_file);
}

TEST_CASE("files: a file over the limit is refused before it is read", "[base]") {
  const TempFolder folder;
  REQUIRE(write_file_atomically(folder / "a", "0123456789"));
  CHECK(read_text_file(folder / "a", 9).error().code == ErrorCode::too_large);
  CHECK(content_of(folder / "a") == "0123456789");
}

TEST_CASE("files: replacing keeps the last good copy and the file's permissions", "[base]") {
  const TempFolder folder;
  REQUIRE(write_file_atomically(folder / "p", "one", true));
  REQUIRE(::chmod((folder / "p").c_str(), 0600) == 0);
  REQUIRE(write_file_atomically(folder / "p", "two", true));
  CHECK(content_of(folder / "p") == "two");
  CHECK(content_of(folder / "p.last-good") == "one");
  struct stat info {};
  REQUIRE(::stat((folder / "p").c_str(), &info) == 0);
  CHECK((info.st_mode & 0777) == 0600);
}

TEST_CASE("files: whichever step of a write fails, the old file stays and no litter is left",
          "[base]") {
  const TempFolder folder;
  REQUIRE(write_file_atomically(folder / "p", "old"));
  int step = 0;
  for (;; ++step) {
    writes_until_fault = step;
    set_write_fault_for_tests(&fail_at_nth);
    const Status wrote = write_file_atomically(folder / "p", "new");
    set_write_fault_for_tests(nullptr);
    if (wrote) break;
    CHECK(wrote.error().code == ErrorCode::no_space);
    CHECK(content_of(folder / "p") == "old");
    CHECK(entries(folder) == 1);
  }
  CHECK(step == 4);  // create, write, flush, replace
  CHECK(content_of(folder / "p") == "new");
}

TEST_CASE("files: a link is followed, so the file it names is the one replaced", "[base]") {
  const TempFolder folder;
  REQUIRE(write_file_atomically(folder / "real", "old"));
  std::filesystem::create_symlink(folder / "real", folder / "link");
  REQUIRE(write_file_atomically(folder / "link", "new"));
  CHECK(std::filesystem::is_symlink(folder / "link"));
  CHECK(content_of(folder / "real") == "new");
}

TEST_CASE("files: a second writer is kept out until the first lets go", "[base]") {
  const TempFolder folder;
  {
    const Result<FileLock> first = FileLock::take(folder / "p");
    REQUIRE(first);
    CHECK(FileLock::take(folder / "p").error().code == ErrorCode::locked);
  }
  CHECK(FileLock::take(folder / "p"));
  CHECK(entries(folder) == 0);
}

TEST_CASE("files: a hash read by blocks is the hash of the text", "[base]") {
  const TempFolder folder;
  const std::string text(3'000'001, 'x');
  REQUIRE(write_file_atomically(folder / "big", text));
  JobControl job;
  CHECK(*sha256_of_file(folder / "big", job) == sha256_hex(text));
}
