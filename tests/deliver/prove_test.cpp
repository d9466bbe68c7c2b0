// SPDX-License-Identifier: GPL-3.0-or-later
#include "names.h"
#include "support/catch.h"
#include "support/temp_folder.h"
#include "tiny_bundle.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/sha256.h"

#include <archive.h>
#include <archive_entry.h>

using namespace fourbeat;
using namespace fourbeat::tests;
using deliver::BundleFile;
using deliver::prove;

namespace {

using Files = std::vector<BundleFile>;

/// Writes files into a folder as they are, without a look at them.
void put(const std::filesystem::path& folder, const Files& files) {
  for (const BundleFile& file : files) {
    std::filesystem::create_directories((folder / file.path).parent_path());
    write_whole(folder / file.path, file.content);
  }
}

std::string& content(Files& files, const std::string& path) {
  return const_cast<std::string&>(content_of(files, path));
}

void change(Files& files, const std::string& path, const std::string& from, const std::string& to) {
  std::string& text = content(files, path);
  const std::size_t at = text.find(from);
  REQUIRE(at != std::string::npos);
  text.replace(at, from.size(), to);
}

/// Makes SHA256SUMS, and the sums inside the manifest, true again: only the content is wrong then.
void sum_again(Files& files) {
  for (const BundleFile& file : files) {
    if (file.path.rfind("sounds/", 0) != 0) continue;
    std::string& manifest = content(files, "manifest.json");
    const std::size_t at = manifest.find("\"file\": \"" + file.path + "\"");
    const std::size_t sum = manifest.find("\"sha256\": \"", at);
    if (at != std::string::npos) manifest.replace(sum + 11, 64, sha256_hex(file.content));
  }
  std::string sums;
  for (const BundleFile& file : files) {
    if (file.path != "SHA256SUMS") sums += sha256_hex(file.content) + "  " + file.path + "\n";
  }
  content(files, "SHA256SUMS") = sums;
}

/// Proves the files as a folder: the faults, one line each joined by LF.
std::string faults_of(const Files& files) {
  const TempFolder folder;
  put(folder / "b", files);
  JobControl job;
  const auto proof = prove(folder / "b", job);
  if (!proof) return "error: " + to_line(proof.error());
  CHECK(proof->sound == proof->faults.empty());
  std::string lines;
  for (const std::string& line : proof->faults)
    lines += line + "\n";
  return lines;
}

struct ZipEntry {
  std::string path;
  std::string content;
  mode_t type = AE_IFREG;
  std::string link;
};

void write_any_zip(const std::filesystem::path& path, const std::vector<ZipEntry>& entries,
                   bool deflate = false) {
  archive* zip = archive_write_new();
  archive_write_set_format_zip(zip);
  if (deflate) {
    archive_write_zip_set_compression_deflate(zip);
  } else {
    archive_write_zip_set_compression_store(zip);
  }
  REQUIRE(archive_write_open_filename(zip, path.c_str()) == ARCHIVE_OK);
  for (const ZipEntry& one : entries) {
    archive_entry* entry = archive_entry_new();
    archive_entry_set_pathname(entry, one.path.c_str());
    archive_entry_set_filetype(entry, one.type);
    archive_entry_set_perm(entry, 0644);
    archive_entry_set_size(entry, static_cast<la_int64_t>(one.content.size()));
    if (one.type == AE_IFLNK) archive_entry_set_symlink(entry, one.link.c_str());
    REQUIRE(archive_write_header(zip, entry) == ARCHIVE_OK);
    archive_write_data(zip, one.content.data(), one.content.size());
    archive_entry_free(entry);
  }
  REQUIRE(archive_write_close(zip) == ARCHIVE_OK);
  archive_write_free(zip);
}

std::vector<ZipEntry> entries_of(const Files& files) {
  std::vector<ZipEntry> entries;
  for (const BundleFile& file : files)
    entries.push_back({file.path, file.content, AE_IFREG, {}});
  return entries;
}

class CancelledJob : public JobControl {
 public:
  [[nodiscard]] bool cancelled() const override { return true; }
};

}  // namespace

TEST_CASE("prove: what was packed is sound, as a folder and as a zip", "[deliver]") {
  const TempFolder folder;
  JobControl job;
  REQUIRE(deliver::write_bundle(tiny_bundle(), folder / "out", job));
  REQUIRE(deliver::write_zip(tiny_bundle(), folder / "out.zip"));
  for (const char* name : {"out", "out.zip"}) {
    const auto proof = prove(folder / name, job);
    REQUIRE(proof);
    CHECK(proof->faults == std::vector<std::string>{});
    CHECK(proof->sound);
    CHECK(proof->files == 14);
  }
}

TEST_CASE("prove: a zip made anew by another program is as good", "[deliver]") {
  const TempFolder folder;
  JobControl job;
  auto entries = entries_of(tiny_bundle());
  entries.insert(entries.begin(), {"sounds/", "", AE_IFDIR, {}});
  write_any_zip(folder / "again.zip", entries, true);
  const auto proof = prove(folder / "again.zip", job);
  REQUIRE(proof);
  CHECK(proof->faults == std::vector<std::string>{});
}

TEST_CASE("prove: files that are missing, extra, changed or cut are named", "[deliver]") {
  Files files = tiny_bundle();
  SECTION("a sound is missing") {
    files.erase(files.begin() + 6);
    CHECK(faults_of(files) == "sounds/bell.wav: missing\n");
  }
  SECTION("the sums are missing") {
    files.erase(files.begin());
    CHECK(faults_of(files) == "SHA256SUMS: missing\n");
  }
  SECTION("the manifest is missing") {
    files.erase(files.begin() + 4);
    CHECK(faults_of(files).find("error: ") == 0);
  }
  SECTION("a stray file") {
    files.push_back({"sounds/extra.wav", "x"});
    CHECK(faults_of(files) ==
          "sounds/extra.wav: a stray file, not listed in SHA256SUMS\n"
          "sounds/extra.wav: a stray file, not in the manifest\n");
  }
  SECTION("a stray file that the sums list") {
    files.push_back({"zz.txt", "x"});
    sum_again(files);
    CHECK(faults_of(files) == "zz.txt: a stray file, not in the manifest\n");
  }
  SECTION("one sample changed") {
    content(files, "sounds/bell.wav")[60] ^= 0x10;
    CHECK(faults_of(files) ==
          "sounds/bell.wav: its SHA-256 is not the one listed\n"
          "sounds/bell.wav: its SHA-256 is not the manifest's\n");
  }
  SECTION("the manifest cut") {
    content(files, "manifest.json").resize(1000);
    sum_again(files);
    CHECK(faults_of(files).find("manifest.json: byte 100") == 0);
  }
  SECTION("a sound cut") {
    std::string& wav = content(files, "sounds/bell.wav");
    wav.resize(wav.size() - 40);
    sum_again(files);
    CHECK(faults_of(files).find("sounds/bell.wav: ") == 0);
  }
  SECTION("a sound that is no sound") {
    content(files, "sounds/bell.wav") = "not a sound";
    sum_again(files);
    CHECK(faults_of(files).find("sounds/bell.wav: ") == 0);
  }
}

TEST_CASE("prove: a sound that is not what the manifest says is named", "[deliver]") {
  Files files = tiny_bundle();
  auto clip = tiny_input().fit.sounds[1].encoded.clip;  // whistle_hold
  std::string wanted;
  SECTION("another loop") {
    clip.loop = frame_range(20, 84);
    wanted = "sounds/whistle_long-hold.wav: the loop is 20 to 84, the manifest says 20 to 80\n";
  }
  SECTION("no loop") {
    clip.loop.reset();
    wanted = "sounds/whistle_long-hold.wav: 0 loops, the manifest says 1\n";
  }
  SECTION("another rate") {
    clip.sample_rate_hz = 22'050.0;
    wanted = "sounds/whistle_long-hold.wav: the rate is 22050, the manifest says 11025\n";
  }
  SECTION("another length") {
    clip.samples.push_back(0.0F);
    wanted = "sounds/whistle_long-hold.wav: the length in frames is 102, the manifest says 101\n";
  }
  SECTION("another depth") {
    clip.bits = 8;
    wanted =
        "sounds/whistle_long-hold.wav: the format is WAV 8-bit PCM, the manifest says WAV 16-bit "
        "PCM\n";
  }
  SECTION("finer than its depth") {
    clip.bits = 16;
    clip.samples[50] += 1.0F / 32768.0F;
    wanted = "sounds/whistle_long-hold.wav: it has samples finer than 12 bits\n";
  }
  content(files, "sounds/whistle_long-hold.wav") = audio::wav_bytes(clip).value();
  sum_again(files);
  CHECK(faults_of(files) == wanted);
}

TEST_CASE("prove: two channels are not a decoder's sound", "[deliver]") {
  Files files = tiny_bundle();
  audio::Pcm pcm;
  pcm.sample_rate_hz = 11'025.0;
  pcm.channels.assign(2, tiny_input().fit.sounds[0].encoded.clip.samples);
  content(files, "sounds/whistle_long-begin.wav") =
      audio::wav_bytes(pcm, audio::WavDepth::s16).value();
  sum_again(files);
  CHECK(faults_of(files) == "sounds/whistle_long-begin.wav: 2 channels, one is wanted\n");
}

TEST_CASE("prove: a manifest that does not hold by its own decoder is named", "[deliver]") {
  Files files = tiny_bundle();
  std::string wanted;
  SECTION("bytes of a sound") {
    change(files, "manifest.json", "\"bytes\": 192", "\"bytes\": 128");
    wanted = "it takes 192 bytes, the manifest says 128";
  }
  SECTION("bytes of the set") {
    change(files, "manifest.json", "\"bytes_used\": ", "\"bytes_used\": 1");
    wanted = "manifest.json: the sounds take ";
  }
  SECTION("memory") {
    change(files, "manifest.json", "\"memory_bytes\": 100000", "\"memory_bytes\": 1000");
    wanted = "of memory";
  }
  SECTION("sounds") {
    change(files, "manifest.json", "\"max_sounds\": 20", "\"max_sounds\": 7");
    wanted = "8 sounds, the decoder stores 7";
  }
  SECTION("rates") {
    change(files, "manifest.json", "      11025,\n", "      11026,\n");
    wanted = "the decoder offers no rate of 11025 Hz";
  }
  SECTION("depths") {
    change(files, "manifest.json", "      12,\n", "      13,\n");
    wanted = "the decoder offers no depth of 12 bits";
  }
  SECTION("loop length") {
    change(files, "manifest.json", "\"multiple_of_frames\": 4", "\"multiple_of_frames\": 7");
    wanted = "a loop of 60 frames; the decoder wants at least 16 and a multiple of 7";
  }
  SECTION("gain") {
    change(files, "manifest.json", "\"has_playback_gain\": true", "\"has_playback_gain\": false");
    wanted = "a playback gain, and the decoder has none";
  }
  sum_again(files);
  CHECK(faults_of(files).find(wanted) != std::string::npos);
}

TEST_CASE("prove: tables that do not hold by the manifest are named", "[deliver]") {
  Files files = tiny_bundle();
  std::string wanted;
  SECTION("another key") {
    change(files, "keys.csv", "F2,", "F3,");
    wanted = "keys.csv: the keys of sounds/whistle_long-begin.wav are not those of the manifest\n";
  }
  SECTION("a key that is none") {
    change(files, "keys.csv", "F2,", "F2x,");
    wanted = "keys.csv: F2x is no key\n";
  }
  SECTION("a file that is none") {
    change(files, "keys.csv", "sounds/bell.wav", "sounds/gong.wav");
    wanted = "keys.csv: F1: sounds/gong.wav is not in the manifest\n";
  }
  SECTION("a heading") {
    change(files, "keys.csv", "label", "lable");
    wanted = "keys.csv: line 1: not the headings of this table\n";
  }
  SECTION("a cell too many") {
    change(files, "cvs.csv", "'=1+1", "a,b");
    wanted = "cvs.csv: line 2: 5 cells, 4 are wanted\n";
  }
  SECTION("no table at all") {
    change(files, "cvs.csv", "'=1+1", "a\"b");
    wanted = "cvs.csv: line 2: a quote inside";
  }
  SECTION("a CV out of range") {
    change(files, "cvs.csv", "3,20,", "3,256,");
    wanted = "cvs.csv: CV 3 = 256 is out of range\n";
  }
  SECTION("a chuff at another place") {
    change(files, "chuffs.csv", ",1,2,90.00", ",1,3,90.00");
    wanted = "chuffs.csv: the places of sounds/chuff-hard-000-r1-2.wav are not those of the";
  }
  SECTION("a speed that does not belong to its interval") {
    change(files, "chuffs.csv", "0.2827", "0.2837");
    wanted = "chuffs.csv: row 1: its speed, turns and interval do not agree\n";
  }
  SECTION("a speed that does not belong to its turns") {
    change(files, "chuffs.csv", "106.10", "106.90");
    wanted = "chuffs.csv: row 1: its speed, turns and interval do not agree\n";
  }
  SECTION("a row of another condition") {
    change(files, "chuffs.csv", ",normal,", ",heavy_start,");
    wanted = "chuffs.csv: row 1: its condition or recorded speed is not the manifest's\n";
  }
  SECTION("a row that nobody recorded, said to be recorded") {
    change(files, "chuffs.csv", ",normal,", ",normal,25.00");
    wanted = "chuffs.csv: row 1: its condition or recorded speed is not the manifest's\n";
  }
  sum_again(files);
  CHECK(faults_of(files).find(wanted) != std::string::npos);
}

TEST_CASE("prove: a table of chuffs without the columns that came later is whole", "[deliver]") {
  auto files = tiny_bundle();
  for (auto& file : files) {
    if (file.path != "chuffs.csv") continue;
    for (const std::string cells : {",condition,recorded_kmh", ",normal,"}) {
      for (std::size_t at = file.content.find(cells); at != std::string::npos;
           at = file.content.find(cells)) {
        file.content.erase(at, cells.size());
      }
    }
    CHECK(file.content.find(".wav\r\n") != std::string::npos);
  }
  sum_again(files);
  CHECK(faults_of(files).empty());
}

TEST_CASE("prove: a link in a folder is named and not followed", "[deliver]") {
  const TempFolder folder;
  JobControl job;
  put(folder / "b", tiny_bundle());
  const bool to_folder = GENERATE(false, true);
  if (to_folder) {
    std::filesystem::create_directory_symlink("/", folder / "b/root");
  } else {
    std::filesystem::rename(folder / "b/sounds/bell.wav", folder / "bell.wav");
    std::filesystem::create_symlink(folder / "bell.wav", folder / "b/sounds/bell.wav");
  }
  const auto proof = prove(folder / "b", job);
  REQUIRE(proof);
  CHECK_FALSE(proof->sound);
  CHECK(proof->faults.at(0) == (to_folder ? "root: a link or device, no regular file"
                                          : "sounds/bell.wav: a link or device, no regular file"));
}

TEST_CASE("prove: zip entries that leave the bundle are named and never unpacked", "[deliver]") {
  const TempFolder folder;
  JobControl job;
  auto entries = entries_of(tiny_bundle());
  const std::string outside = (folder / "outside.txt").string();
  std::string wanted;
  SECTION("an absolute path") {
    entries.push_back({outside, "x", AE_IFREG, {}});
    wanted = outside + ": an absolute path";
  }
  SECTION("..") {
    entries.push_back({"../outside.txt", "x", AE_IFREG, {}});
    wanted = "../outside.txt: a path that leaves the bundle by \"..\"";
  }
  SECTION("a link, and a file through it") {
    entries.push_back({"way", "", AE_IFLNK, folder.path().string()});
    entries.push_back({"way/outside.txt", "x", AE_IFREG, {}});
    wanted = "way: a link or device, no regular file";
  }
  SECTION("one name twice") {
    entries.push_back({"notes.html", "x", AE_IFREG, {}});
    wanted = "notes.html: it is there twice";
  }
  SECTION("a file below a file") {
    entries.push_back({"notes.html/x", "x", AE_IFREG, {}});
    wanted = "notes.html/x: its folder has the name of a file";
  }
  SECTION("a file in place of a folder") {
    entries.push_back({"sounds", "x", AE_IFREG, {}});
    wanted = "sounds: it has the name of a folder";
  }
  write_any_zip(folder / "b.zip", entries);
  const auto proof = prove(folder / "b.zip", job);
  REQUIRE(proof);
  CHECK_FALSE(proof->sound);
  REQUIRE_FALSE(proof->faults.empty());
  CHECK(proof->faults[0] == wanted);
  CHECK_FALSE(std::filesystem::exists(outside));
}

TEST_CASE("prove: limits hold for a folder and a zip, whatever they declare", "[deliver]") {
  const TempFolder folder;
  JobControl job;
  auto files = tiny_bundle();
  std::string name = "b";
  deliver::BundleLimits limits;
  limits.total_bytes = 1'000'000;
  SECTION("a sparse file in a folder") {
    put(folder / "b", files);
    std::filesystem::resize_file(folder / "b/notes.html", std::uintmax_t{2} << 30U);
    limits = {};
  }
  SECTION("a zip that inflates a thousandfold") {
    auto entries = entries_of(files);
    entries.push_back({"zz.txt", {}, AE_IFREG, {}});
    entries.back().content.resize(20'000'000);
    write_any_zip(folder / "b.zip", entries, true);
    name = "b.zip";
    CHECK(std::filesystem::file_size(folder / name) < 100'000);
  }
  SECTION("too many files in a folder") {
    put(folder / "b", files);
    limits.files = 10;
  }
  SECTION("too many entries in a zip") {
    write_any_zip(folder / "b.zip", entries_of(files));
    name = "b.zip";
    limits.files = 10;
  }
  SECTION("a manifest over its limit") {
    put(folder / "b", files);
    limits.manifest_bytes = 2'000;
  }
  const auto proof = prove(folder / name, job, limits);
  REQUIRE_FALSE(proof);
  CHECK(proof.error().code == ErrorCode::too_large);
  CHECK(proof.error().file.find((folder / name).string()) == 0);
}

TEST_CASE("prove: what is no bundle is an error", "[deliver]") {
  const TempFolder folder;
  JobControl job;
  const auto code = [&](const std::filesystem::path& path) {
    const auto proof = prove(path, job);
    REQUIRE_FALSE(proof);
    return proof.error().code;
  };
  CHECK(code(folder / "absent") == ErrorCode::not_found);
  CHECK(code(folder.path()) == ErrorCode::bad_input);
  write_whole(folder / "text.zip", "this is no zip at all, only some text");
  CHECK(code(folder / "text.zip") == ErrorCode::bad_input);
  write_whole(folder / "empty.zip", "");
  CHECK(code(folder / "empty.zip") == ErrorCode::bad_input);
  REQUIRE(deliver::write_zip(tiny_bundle(), folder / "cut.zip"));
  std::filesystem::resize_file(folder / "cut.zip",
                               std::filesystem::file_size(folder / "cut.zip") / 2);
  CHECK(code(folder / "cut.zip") == ErrorCode::bad_input);
  auto files = tiny_bundle();
  change(files, "manifest.json", "\"version\": 1", "\"version\": 2");
  put(folder / "newer", files);
  CHECK(code(folder / "newer") == ErrorCode::newer_version);
}

TEST_CASE("prove: a cancel ends it", "[deliver]") {
  const TempFolder folder;
  CancelledJob job;
  put(folder / "b", tiny_bundle());
  REQUIRE(deliver::write_zip(tiny_bundle(), folder / "b.zip"));
  for (const char* name : {"b", "b.zip"}) {
    const auto proof = prove(folder / name, job);
    REQUIRE_FALSE(proof);
    CHECK(proof.error().code == ErrorCode::cancelled);
  }
}

TEST_CASE("prove: any byte of a zip changed is an error or a fault, never a crash", "[deliver]") {
  const TempFolder folder;
  JobControl job;
  REQUIRE(deliver::write_zip(tiny_bundle(), folder / "b.zip"));
  const std::string whole = read_whole(folder / "b.zip");
  int told = 0;
  int tried = 0;
  for (std::size_t at = 0; at < whole.size(); at += 211) {
    std::string changed = whole;
    changed[at] = static_cast<char>(changed[at] ^ 0x5A);
    write_whole(folder / "b.zip", changed);
    const auto proof = prove(folder / "b.zip", job);
    ++tried;
    if (!proof || !proof->sound) ++told;
  }
  // The few that go unnoticed stand in a header's fields that say nothing of the files.
  CHECK(told * 10 >= tried * 8);
}

TEST_CASE("prove: a key the decoder does not have is a fault", "[deliver]") {
  Files files = tiny_bundle();
  change(files, "manifest.json", "\"highest_key\": 28", "\"highest_key\": 2");
  sum_again(files);
  CHECK(faults_of(files).empty());
  change(files, "manifest.json", "\"highest_key\": 2", "\"highest_key\": 1");
  sum_again(files);
  CHECK(faults_of(files) == "keys.csv: F2: the decoder has keys up to F1\n");
}
