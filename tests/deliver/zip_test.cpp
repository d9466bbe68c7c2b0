// SPDX-License-Identifier: GPL-3.0-or-later
#include "zip.h"

#include "support/catch.h"
#include "support/temp_folder.h"
#include "tiny_bundle.h"

#include <cerrno>
#include <cstdlib>
#include <ctime>

using namespace fourbeat;
using namespace fourbeat::tests;
using deliver::write_zip;

namespace {

int no_space() {
  return ENOSPC;
}

}  // namespace

TEST_CASE("zip: the same files give the same bytes in every time zone", "[deliver]") {
  const TempFolder folder;
  std::vector<std::string> zips;
  for (const char* zone : {"UTC", "Asia/Tokyo", "America/Los_Angeles"}) {
    ::setenv("TZ", zone, 1);
    ::tzset();
    REQUIRE(write_zip(tiny_bundle(), folder / "one.zip"));
    zips.push_back(read_whole(folder / "one.zip"));
  }
  ::unsetenv("TZ");
  ::tzset();
  CHECK(zips[0] == zips[1]);
  CHECK(zips[0] == zips[2]);
  // The local header (APPNOTE.TXT 4.3.7): signature, version, flags, method 0 = stored, time and
  // date 1980-01-01 00:00.
  CHECK(zips[0].substr(0, 4) == "PK\x03\x04");
  CHECK(zips[0].substr(8, 2) == std::string(2, '\0'));
  CHECK(zips[0].substr(10, 4) == std::string("\x00\x00\x21\x00", 4));
}

TEST_CASE("zip: another program unpacks the very files", "[deliver]") {
  if (std::system("command -v unzip >/dev/null 2>&1") != 0) {
    WARN("unzip is not here: skipped");
    return;
  }
  const TempFolder folder;
  REQUIRE(write_zip(tiny_bundle(), folder / "one.zip"));
  const std::string command = "cd '" + folder.path().string() +
                              "' && unzip -tq one.zip >/dev/null && unzip -q one.zip -d out";
  REQUIRE(std::system(command.c_str()) == 0);
  const auto tree = tree_of(folder / "out");
  CHECK(tree.size() == tiny_bundle().size() + 1);
  for (const auto& file : tiny_bundle())
    CHECK(tree.at(file.path) == file.content);
}

TEST_CASE("zip: a failed write leaves nothing, and the old file as it was", "[deliver]") {
  const TempFolder folder;
  set_write_fault_for_tests(no_space);
  const auto fresh = write_zip(tiny_bundle(), folder / "one.zip");
  set_write_fault_for_tests(nullptr);
  REQUIRE_FALSE(fresh);
  CHECK(fresh.error().code == ErrorCode::no_space);
  CHECK(std::filesystem::is_empty(folder.path()));
  write_whole(folder / "one.zip", "old");
  set_write_fault_for_tests(no_space);
  CHECK_FALSE(write_zip(tiny_bundle(), folder / "one.zip"));
  set_write_fault_for_tests(nullptr);
  CHECK(read_whole(folder / "one.zip") == "old");
}

TEST_CASE("zip: a path that leaves it is refused", "[deliver]") {
  const TempFolder folder;
  const auto written = write_zip({{"../x", "x"}}, folder / "one.zip");
  REQUIRE_FALSE(written);
  CHECK(written.error().code == ErrorCode::bad_argument);
  CHECK(std::filesystem::is_empty(folder.path()));
}

TEST_CASE("zip: unpacking ends at the limit, before the file over it is written", "[deliver]") {
  const TempFolder folder;
  JobControl job;
  std::string large;
  large.resize(200'000);
  REQUIRE(write_zip({{"a", "x"}, {"b", large}}, folder / "one.zip"));
  std::filesystem::create_directory(folder / "out");
  deliver::BundleLimits limits;
  limits.total_bytes = 100'000;
  std::vector<std::string> faults;
  const auto unpacked =
      deliver::unpack_zip(folder / "one.zip", folder / "out", limits, faults, job);
  REQUIRE_FALSE(unpacked);
  CHECK(unpacked.error().code == ErrorCode::too_large);
  CHECK(tree_of(folder / "out") == std::map<std::string, std::string>{{"a", "x"}});
  limits.total_bytes = 200'001;
  CHECK(deliver::unpack_zip(folder / "one.zip", folder / "out", limits, faults, job));
  CHECK(faults.empty());
}
