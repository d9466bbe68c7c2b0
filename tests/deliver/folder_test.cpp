// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/catch.h"
#include "support/temp_folder.h"
#include "tiny_bundle.h"

#include "fourbeat/base/sha256.h"

#include <cerrno>

using namespace fourbeat;
using namespace fourbeat::tests;
using deliver::write_bundle;

namespace {

int steps_until_fault = -1;

int fault_in_turn() {
  if (steps_until_fault < 0) return 0;
  return steps_until_fault-- == 0 ? ENOSPC : 0;
}

class Cancelling : public JobControl {
 public:
  explicit Cancelling(int after) : left_(after) {}
  [[nodiscard]] bool cancelled() const override { return left_-- <= 0; }

 private:
  mutable int left_;
};

std::vector<deliver::BundleFile> other_bundle() {
  auto project = tiny_project();
  project.title = "Another";
  project.sounds.pop_back();
  project.keys.pop_back();
  return deliver::make_bundle(input_of(project, tiny_profile())).value();
}

/// A bundle as far as folders go; small, since every step of it is made to fail.
std::vector<deliver::BundleFile> small_bundle(const std::string& content) {
  const std::string path = "sounds/a.wav";
  return {{"SHA256SUMS", sha256_hex(content) + "  " + path + "\n"}, {path, content}};
}

}  // namespace

TEST_CASE("folder: a bundle is written whole, to a new folder or an empty one", "[deliver]") {
  const TempFolder folder;
  JobControl job;
  std::filesystem::create_directory(folder / "empty");
  std::filesystem::create_directory_symlink(folder / "empty", folder / "link");
  for (const char* name : {"new", "empty", "slash/"}) {
    REQUIRE(write_bundle(tiny_bundle(), folder / name, job));
    const auto tree = tree_of(folder / name);
    CHECK(tree.size() == tiny_bundle().size() + 1);  // and the folder of sounds
    for (const auto& file : tiny_bundle())
      CHECK(tree.at(file.path) == file.content);
  }
  REQUIRE(write_bundle(other_bundle(), folder / "link", job));
  CHECK(std::filesystem::is_symlink(folder / "link"));
  CHECK(tree_of(folder / "empty").count("sounds/bell.wav") == 0);
}

TEST_CASE("folder: an older bundle is replaced whole, and nothing else lies beside it",
          "[deliver]") {
  const TempFolder folder;
  JobControl job;
  REQUIRE(write_bundle(tiny_bundle(), folder / "out", job));
  REQUIRE(write_bundle(other_bundle(), folder / "out", job));
  const auto tree = tree_of(folder / "out");
  CHECK(tree.count("sounds/bell.wav") == 0);
  CHECK(tree.size() == other_bundle().size() + 1);
  CHECK(std::distance(std::filesystem::directory_iterator(folder.path()), {}) == 1);
}

TEST_CASE("folder: what is not wholly ours is never replaced", "[deliver]") {
  const TempFolder folder;
  JobControl job;
  const auto out = folder / "out";
  SECTION("a stranger's folder") {
    std::filesystem::create_directory(out);
    write_whole(out / "diary.txt", "mine");
  }
  SECTION("a file") {
    write_whole(out, "mine");
  }
  SECTION("an older bundle with a stray file") {
    REQUIRE(write_bundle(tiny_bundle(), out, job));
    write_whole(out / "sounds" / "extra.wav", "mine");
  }
  SECTION("an older bundle with a file changed") {
    REQUIRE(write_bundle(tiny_bundle(), out, job));
    write_whole(out / "notes.html", "mine");
  }
  SECTION("an older bundle that lacks a file") {
    REQUIRE(write_bundle(tiny_bundle(), out, job));
    std::filesystem::remove(out / "keys.csv");
  }
  SECTION("an older bundle with a link") {
    REQUIRE(write_bundle(tiny_bundle(), out, job));
    std::filesystem::create_symlink("/etc/hostname", out / "link");
  }
  SECTION("sums that name a file outside") {
    std::filesystem::create_directory(out);
    write_whole(folder / "x", "mine");
    std::string sums(64, '0');
    sums.append("  ../x\n");
    write_whole(out / "SHA256SUMS", sums);
  }
  const auto before = tree_of(folder.path());
  const auto written = write_bundle(tiny_bundle(), out, job);
  REQUIRE_FALSE(written);
  CHECK(written.error().code == ErrorCode::would_overwrite);
  CHECK(tree_of(folder.path()) == before);
}

TEST_CASE("folder: whichever step fails, all is as it was", "[deliver]") {
  const TempFolder folder;
  JobControl job;
  const bool older = GENERATE(false, true);
  if (older) REQUIRE(write_bundle(small_bundle("old"), folder / "out", job));
  const auto before = tree_of(folder.path());
  const auto bundle = small_bundle("new");
  int failures = 0;
  set_write_fault_for_tests(fault_in_turn);
  for (int step = 0; step < 1000; ++step) {
    steps_until_fault = step;
    const auto written = write_bundle(bundle, folder / "out", job);
    if (written) break;
    ++failures;
    CHECK(written.error().code == ErrorCode::no_space);
    if (tree_of(folder.path()) != before) FAIL_CHECK("step " << step << " left something");
  }
  set_write_fault_for_tests(nullptr);
  // Each file: create, write, flush, rename; and the folder's own rename.
  CHECK(failures == static_cast<int>(bundle.size()) * 4 + 1);
  CHECK(tree_of(folder / "out").at("sounds/a.wav") == "new");
}

TEST_CASE("folder: a cancel at any time leaves nothing", "[deliver]") {
  const TempFolder folder;
  int cancels = 0;
  for (int after = 0; after < 1000; ++after) {
    Cancelling job(after);
    const auto written = write_bundle(small_bundle("new"), folder / "out", job);
    if (written) break;
    ++cancels;
    CHECK(written.error().code == ErrorCode::cancelled);
    CHECK(std::filesystem::is_empty(folder.path()));
  }
  CHECK(cancels == static_cast<int>(small_bundle("new").size()) + 1);
  CHECK(std::filesystem::exists(folder / "out"));
}

TEST_CASE("folder: a path that leaves it is refused before anything is written", "[deliver]") {
  const TempFolder folder;
  JobControl job;
  for (const char* path : {"../x", "/tmp/x", "a/../../x"}) {
    const auto written = write_bundle({{path, "x"}}, folder / "out", job);
    REQUIRE_FALSE(written);
    CHECK(written.error().code == ErrorCode::bad_argument);
  }
  CHECK(std::filesystem::is_empty(folder.path()));
}

TEST_CASE("folder: a missing parent is an error", "[deliver]") {
  const TempFolder folder;
  JobControl job;
  const auto written = write_bundle(tiny_bundle(), folder / "no/out", job);
  REQUIRE_FALSE(written);
  CHECK(written.error().code == ErrorCode::not_found);
}
