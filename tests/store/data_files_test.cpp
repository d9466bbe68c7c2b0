// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/store/data_files.h"

#include "support/catch.h"
#include "support/temp_folder.h"

#include "fourbeat/base/files.h"

#include <cstdlib>
#include <optional>
#include <set>

using namespace fourbeat;
using namespace fourbeat::store;

namespace {

const std::string profile_text = R"({
  "format": "fourbeat-decoder", "version": 1, "id": "t", "name": "Test class",
  "memory_bytes": 1000000, "fixed_bytes": 100, "sector_bytes": 256, "overhead_bytes": 16,
  "voices": 3, "output_rate_hz": 22050, "sample_rates_hz": [11025, 22050], "bits": [8, 16],
  "highest_key": 12, "max_sounds": 40, "chuffs_may_overlap": false, "has_playback_gain": false,
  "loop": {"min_frames": 64, "multiple_of_frames": 4}, "made": "up"})";

std::string with(std::string text, const std::string& old, const std::string& fresh) {
  const std::size_t at = text.find(old);
  REQUIRE(at != std::string::npos);
  return text.replace(at, old.size(), fresh);
}

std::string place_of(const std::string& old, const std::string& fresh) {
  const Result<model::DecoderProfile> read =
      parse_decoder_profile(with(profile_text, old, fresh), "t.json");
  REQUIRE_FALSE(read);
  CHECK(read.error().file == "t.json");
  CHECK(read.error().code == ErrorCode::bad_input);
  return read.error().place;
}

std::string cv_place(const std::string& list) {
  const Result<std::vector<CvDefinition>> read = parse_cv_definitions(
      R"({"format": "fourbeat-cvs", "version": 1, "cvs": )" + list + "}", "cvs.json");
  return read ? "none" : read.error().place;
}

std::string chain_place(const std::string& list) {
  const Result<std::vector<model::CleanStep>> read = parse_clean_chain(
      R"({"format": "fourbeat-chain", "version": 1, "steps": )" + list + "}", "chain.json");
  return read ? "none" : read.error().place;
}

/// Another value of a variable of the environment while the object lives.
class Variable {
 public:
  Variable(const char* name, const std::filesystem::path& value) : name_(name) {
    // NOLINTBEGIN(concurrency-mt-unsafe): tests run on one thread
    const char* set = std::getenv(name);
    if (set != nullptr) before_ = set;
    ::setenv(name, value.c_str(), 1);
    // NOLINTEND(concurrency-mt-unsafe)
  }
  ~Variable() {
    // NOLINTBEGIN(concurrency-mt-unsafe): tests run on one thread
    if (before_) {
      ::setenv(name_, before_->c_str(), 1);
    } else {
      ::unsetenv(name_);
    }
    // NOLINTEND(concurrency-mt-unsafe)
  }
  Variable(const Variable&) = delete;
  Variable& operator=(const Variable&) = delete;

 private:
  const char* name_;
  std::optional<std::string> before_;
};

/// Another data folder while the object lives, and no profiles of the user's own.
class DataFolder {
 public:
  explicit DataFolder(const std::filesystem::path& folder) : data_("FOURBEAT_DATA", folder) {}
  [[nodiscard]] std::filesystem::path own() const { return config_ / "decoders"; }

 private:
  fourbeat::tests::TempFolder config_;
  Variable data_;
  Variable own_{"FOURBEAT_CONFIG", config_.path()};
};

}  // namespace

TEST_CASE("decoder profile: every member is read", "[store]") {
  const Result<model::DecoderProfile> read = parse_decoder_profile(profile_text, "t.json");
  REQUIRE(read);
  model::DecoderProfile expected;
  expected.id = "t";
  expected.name = "Test class";
  expected.memory_bytes = 1'000'000;
  expected.fixed_bytes = 100;
  expected.sector_bytes = 256;
  expected.overhead_bytes = 16;
  expected.voices = 3;
  expected.output_rate_hz = 22050;
  expected.sample_rates_hz = {11025, 22050};
  expected.bits = {8, 16};
  expected.highest_key = 12;
  expected.max_sounds = 40;
  expected.chuffs_may_overlap = false;
  expected.has_playback_gain = false;
  expected.loop = {64, 4};
  CHECK(*read == expected);
}

TEST_CASE("decoder profile: figures no decoder has are refused by place", "[store]") {
  CHECK(place_of("\"t\"", "\"\"") == "/id");
  CHECK(place_of("1000000", "0") == "/memory_bytes");
  CHECK(place_of("\"fixed_bytes\": 100", "\"fixed_bytes\": 1000001") == "/fixed_bytes");
  CHECK(place_of("\"sector_bytes\": 256", "\"sector_bytes\": 0") == "/sector_bytes");
  CHECK(place_of("\"voices\": 3", "\"voices\": 0") == "/voices");
  CHECK(place_of("[11025, 22050]", "[22050, 11025]") == "/sample_rates_hz/1");
  CHECK(place_of("[11025, 22050]", "[]") == "/sample_rates_hz");
  CHECK(place_of("[8, 16]", "[8, 10]") == "/bits/1");
  CHECK(place_of("[8, 16]", "[8, 24]") == "/bits/1");
  CHECK(place_of("\"highest_key\": 12", "\"highest_key\": 69") == "/highest_key");
  CHECK(place_of("\"multiple_of_frames\": 4", "\"multiple_of_frames\": 0") ==
        "/loop/multiple_of_frames");
  CHECK(place_of("\"output_rate_hz\": 22050,", "") == "/output_rate_hz");
}

TEST_CASE("decoder profiles: the shipped ones are read, by id, and say that they are invented",
          "[store]") {
  const DataFolder data(FOURBEAT_SHARED);
  const Result<std::vector<model::DecoderProfile>> profiles = load_decoder_profiles();
  REQUIRE(profiles);
  REQUIRE(profiles->size() == 4);
  CHECK(std::is_sorted(profiles->begin(), profiles->end(),
                       [](const auto& a, const auto& b) { return a.id < b.id; }));
  for (const model::DecoderProfile& profile : *profiles) {
    CHECK(profile.invented);
    CHECK(*load_decoder_profile(profile.id) == profile);
  }
  const Error missing = load_decoder_profile("none").error();
  CHECK(missing.code == ErrorCode::not_found);
  CHECK(missing.detail.find(profiles->front().id) != std::string::npos);
}

TEST_CASE("decoder profiles: no folder, a broken file and a repeated id are errors", "[store]") {
  const fourbeat::tests::TempFolder folder;
  const DataFolder data(folder.path());
  CHECK(load_decoder_profiles().error().code == ErrorCode::not_found);
  std::filesystem::create_directory(folder / "decoders");
  CHECK(load_decoder_profiles()->empty());
  REQUIRE(write_file_atomically(folder / "decoders/a.json", profile_text));
  REQUIRE(write_file_atomically(folder / "decoders/notes.txt", "not a profile"));
  CHECK(load_decoder_profiles()->size() == 1);
  REQUIRE(write_file_atomically(folder / "decoders/b.json", profile_text));
  CHECK(load_decoder_profiles().error().code == ErrorCode::bad_input);
  REQUIRE(write_file_atomically(folder / "decoders/b.json", "{"));
  CHECK(load_decoder_profiles().error().place.substr(0, 4) == "line");
}

TEST_CASE("decoder profiles: one of the user's own is offered beside the shipped, and changed",
          "[store]") {
  const DataFolder data(FOURBEAT_SHARED);
  model::DecoderProfile mine = *load_decoder_profile("class-b");
  mine.name = "Nº 5, 4 MiB (data sheet)";
  mine.id = decoder_profile_id(mine.name);
  mine.invented = false;
  mine.memory_bytes = 4'194'304;
  CHECK(mine.id == "n-5-4-mib-data-sheet");
  REQUIRE(save_own_decoder_profile(mine, false));
  CHECK(*load_decoder_profile(mine.id) == mine);
  CHECK(load_decoder_profiles()->size() == 5);
  CHECK(load_shipped_decoder_profiles()->size() == 4);
  // Only wittingly over one that is there, and never over a shipped one.
  CHECK(save_own_decoder_profile(mine, false).error().code == ErrorCode::bad_argument);
  mine.voices = 8;
  REQUIRE(save_own_decoder_profile(mine, true));
  CHECK(load_decoder_profile(mine.id)->voices == 8);
  model::DecoderProfile shipped = mine;
  shipped.id = "class-b";
  CHECK(save_own_decoder_profile(shipped, true).error().code == ErrorCode::bad_argument);
  model::DecoderProfile nameless = mine;
  nameless.id = decoder_profile_id("–");
  CHECK(save_own_decoder_profile(nameless, false).error().code == ErrorCode::bad_argument);
  // A figure no decoder has is refused by its place, and what was there stays.
  model::DecoderProfile wrong = mine;
  wrong.bits = {16, 8};
  CHECK(save_own_decoder_profile(wrong, true).error().place == "/bits/1");
  CHECK(*load_decoder_profile(mine.id) == mine);
  // A broken file is named; the shipped ones can still be read.
  REQUIRE(write_file_atomically(data.own() / "broken.json", "{"));
  CHECK(load_decoder_profiles().error().file.find("broken.json") != std::string::npos);
  CHECK(load_shipped_decoder_profiles()->size() == 4);
}

TEST_CASE("CV definitions: the shipped table is read", "[store]") {
  const DataFolder data(FOURBEAT_SHARED);
  const Result<std::vector<CvDefinition>> cvs = load_cv_definitions();
  INFO((cvs ? std::string() : to_line(cvs.error())));
  REQUIRE(cvs);
  // Source: NMRA S-9.2.2 table 1: CV 1 primary address, CV 3 and 4 acceleration and
  // deceleration, CV 8 manufacturer, read only.
  std::set<int> numbers;
  for (const CvDefinition& cv : *cvs) {
    numbers.insert(cv.number);
    if (cv.number == 8) CHECK(cv.read_only);
  }
  for (const int number : {1, 3, 4, 8, 29}) {
    CHECK(numbers.count(number) == 1);
  }
}

TEST_CASE("CV definitions: what cannot be is refused by place", "[store]") {
  CHECK(cv_place(R"([{"number": 1, "name": "a"}, {"number": 2, "name": "b", "min": 3}])") ==
        "none");
  CHECK(cv_place(R"([{"number": 1025, "name": "a"}])") == "/cvs/0/number");
  CHECK(cv_place(R"([{"number": 1}])") == "/cvs/0/name");
  CHECK(cv_place(R"([{"number": 1, "name": "a", "min": 9, "max": 8}])") == "/cvs/0");
  CHECK(cv_place(R"([{"number": 1, "name": "a", "max": 256}])") == "/cvs/0/max");
  CHECK(cv_place(R"([{"number": 1, "name": "a"}, {"number": 1, "name": "b"}])") == "/cvs/1/number");
  CHECK(cv_place("{}") == "/cvs");
}

TEST_CASE("clean chain: steps are read in order", "[store]") {
  const Result<std::vector<model::CleanStep>> read = parse_clean_chain(
      R"({"format": "fourbeat-chain", "version": 1, "steps": [
        {"step": "hum_notch", "fundamental_hz": 60, "harmonics": 3, "q": 10},
        {"step": "high_pass", "cutoff_hz": 80, "order": 2}, {"step": "high_pass"}]})",
      "chain.json");
  REQUIRE(read);
  REQUIRE(read->size() == 3);
  CHECK(std::get<model::HumNotch>(read->at(0)).harmonics == 3);
  CHECK(std::get<model::HighPass>(read->at(1)) == model::HighPass{80, 2});
  CHECK(std::get<model::HighPass>(read->at(2)) == model::HighPass{});
}

TEST_CASE("clean chain: an unknown step and a figure out of range are refused by place",
          "[store]") {
  CHECK(chain_place("[]") == "none");
  CHECK(chain_place(R"([{"step": "reverb"}])") == "/steps/0/step");
  CHECK(chain_place(R"([{"step": "high_pass", "order": 3}])") == "/steps/0/order");
  CHECK(chain_place(R"([{"step": "high_pass", "cutoff_hz": 9}])") == "/steps/0/cutoff_hz");
  CHECK(chain_place(R"([{"step": "hum_notch", "q": 1e999}])").substr(0, 4) == "line");
  CHECK(chain_place("3") == "/steps");
}
