// SPDX-License-Identifier: GPL-3.0-or-later
#include "fuzz/deadline.h"

#include <array>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#define REQUIRE(truth)          \
  do {                          \
    if (!(truth)) std::abort(); \
  } while (false)
#include "deliver/tiny_bundle.h"
#include "support/temp_folder.h"

using namespace fourbeat;

namespace {

/// The files of a bundle that a stranger may have written, by the first byte of an input; after the
/// last of them, a whole zip.
constexpr std::array<std::string_view, 7> files{"manifest.json",  "keys.csv",   "cvs.csv",
                                                "chuffs.csv",     "SHA256SUMS", "notes.html",
                                                "sounds/bell.wav"};
constexpr char first_kind = 'a';

/// A good bundle, one of whose files an input takes the place of.
struct Bundle {
  Bundle() {
    for (const deliver::BundleFile& file : content) {
      std::filesystem::create_directories((folder / file.path).parent_path());
      tests::write_bytes(folder / file.path, file.content);
    }
  }
  const std::vector<deliver::BundleFile> content = tests::tiny_bundle();
  const tests::TempFolder folder;
  const tests::TempFolder beside;
};

const Bundle& bundle() {
  static const Bundle made;
  return made;
}

/// Every fault is one printable line, and a bundle is sound when it has none.
void look(const std::filesystem::path& path) {
  tests::Deadline job;
  deliver::BundleLimits limits;
  limits.total_bytes = std::int64_t{1} << 24U;
  const Result<deliver::Proof> proof = deliver::prove(path, job, limits);
  if (!proof) return;
  if (proof->sound != proof->faults.empty()) std::abort();
  for (const std::string& line : proof->faults) {
    if (line.empty() || line != printable(line) || line.find('\n') != std::string::npos)
      std::abort();
  }
}

}  // namespace

// NOLINTNEXTLINE(readability-identifier-naming): libFuzzer calls it by this name
extern "C" int LLVMFuzzerInitialize(int* /*count*/, char*** /*arguments*/) {
  for (std::size_t kind = 0; kind < files.size(); ++kind) {
    const std::string name(files.at(kind));
    const char letter = static_cast<char>(first_kind + static_cast<int>(kind));
    tests::write_seed(std::string("bundle-") + letter,
                      letter + tests::content_of(bundle().content, name));
  }
  const std::filesystem::path zip = bundle().beside / "seed.zip";
  REQUIRE(deliver::write_zip(bundle().content, zip));
  const char letter = static_cast<char>(first_kind + static_cast<int>(files.size()));
  tests::write_seed(std::string("bundle-") + letter, letter + tests::read_whole(zip));
  JobControl job;
  const Result<deliver::Proof> proof = deliver::prove(bundle().folder.path(), job);
  REQUIRE(proof && proof->sound);
  return 0;
}

/// libFuzzer's door: a bundle with one file of any bytes, or a zip of any bytes, is proved.
// NOLINTNEXTLINE(readability-identifier-naming): libFuzzer calls it by this name
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size < 1) return 0;
  const std::string text(reinterpret_cast<const char*>(data) + 1, size - 1);
  const int kind = static_cast<int>(data[0]) - first_kind;
  if (kind < 0 || kind > static_cast<int>(files.size())) return 0;
  if (kind == static_cast<int>(files.size())) {
    const std::filesystem::path zip = bundle().beside / "any.zip";
    tests::write_bytes(zip, text);
    look(zip);
    return 0;
  }
  const std::string name(files.at(static_cast<std::size_t>(kind)));
  tests::write_bytes(bundle().folder / name, text);
  look(bundle().folder.path());
  tests::write_bytes(bundle().folder / name, tests::content_of(bundle().content, name));
  return 0;
}
