// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/store/takes.h"

#include "support/catch.h"
#include "support/temp_folder.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/files.h"
#include "fourbeat/base/sha256.h"
#include "fourbeat/model/edit_value.h"

#include <fmt/format.h>
#include <sys/stat.h>

using namespace fourbeat;
using namespace fourbeat::store;
using fourbeat::tests::TempFolder;

namespace fs = std::filesystem;

namespace {

/// A project folder with two takes of 100 frames; `tone` makes their contents differ.
struct TwoTakes {
  TempFolder folder;
  model::Project project;

  TwoTakes() {
    fs::create_directories(folder / "set/takes");
    add("takes/a.wav", 0.25F);
    add("takes/b.wav", 0.5F);
  }
  [[nodiscard]] fs::path home() const { return folder / "set"; }

  static std::string wav(float tone, std::int64_t frames = 100, int channels = 2) {
    audio::Pcm pcm;
    pcm.sample_rate_hz = 48000;
    pcm.channels.assign(static_cast<std::size_t>(channels),
                        std::vector<float>(static_cast<std::size_t>(frames), tone));
    return *audio::wav_bytes(pcm, audio::WavDepth::s24);
  }
  void add(const std::string& path, float tone) {
    REQUIRE(write_file_atomically(home() / path, wav(tone)));
    JobControl job;
    Result<model::Take> take = describe_take(home() / path, home(), job);
    REQUIRE(take);
    REQUIRE(model::apply(project, model::Add<model::Take>{*take, std::nullopt}));
  }
  [[nodiscard]] std::vector<TakeState> states(bool verify_hashes) const {
    JobControl job;
    std::vector<TakeState> found;
    const Result<std::vector<TakeStatus>> all = look_at_takes(project, home(), verify_hashes, job);
    REQUIRE(all);
    for (const TakeStatus& status : *all) {
      found.push_back(status.state);
    }
    return found;
  }
};

class CancelAfter final : public JobControl {
 public:
  explicit CancelAfter(int calls) : left_(calls) {}
  [[nodiscard]] bool cancelled() const override { return --left_ < 0; }

 private:
  mutable int left_;
};

using State = TakeState;

}  // namespace

TEST_CASE("takes: a take is described by its header, size and hash", "[store]") {
  const TwoTakes place;
  const model::Take& take = place.project.takes[0];
  CHECK(take.path == "takes/a.wav");
  CHECK(take.sample_rate_hz == 48000);
  CHECK(take.channels == 2);
  CHECK(take.frames == FrameCount(100));
  CHECK(take.sha256 == sha256_hex(TwoTakes::wav(0.25F)));
  CHECK(take.size_bytes == static_cast<std::int64_t>(TwoTakes::wav(0.25F).size()));
  CHECK(take.format.find("WAV") != std::string::npos);
}

TEST_CASE("takes: a file outside the project's folder is described by a way out of it", "[store]") {
  const TwoTakes place;
  REQUIRE(write_file_atomically(place.folder / "card.wav", TwoTakes::wav(0.1F)));
  JobControl job;
  CHECK(describe_take(place.folder / "card.wav", place.home(), job)->path == "../card.wav");
  fs::create_directory_symlink(place.home(), place.folder / "link");
  CHECK(describe_take(place.folder / "link/takes/a.wav", place.home(), job)->path == "takes/a.wav");
  // A take that is itself a link keeps its own name.
  fs::create_symlink(place.folder / "card.wav", place.home() / "takes/c.wav");
  CHECK(describe_take(place.home() / "takes/c.wav", place.home(), job)->path == "takes/c.wav");
}

TEST_CASE("takes: what is no sound file is not described", "[store]") {
  const TwoTakes place;
  JobControl job;
  REQUIRE(write_file_atomically(place.folder / "text.wav", "not a sound"));
  CHECK(describe_take(place.folder / "text.wav", place.home(), job).error().code ==
        ErrorCode::not_audio);
  CHECK(describe_take(place.folder / "none.wav", place.home(), job).error().code ==
        ErrorCode::not_found);
  CHECK(describe_take(place.home(), place.home(), job).error().code == ErrorCode::not_a_file);
}

TEST_CASE("takes: each is present, missing, changed, unreadable or outside", "[store]") {
  TwoTakes place;
  CHECK(place.states(true) == std::vector{State::present, State::present});
  // Same size and header, other content: only the hash tells.
  REQUIRE(write_file_atomically(place.home() / "takes/a.wav", TwoTakes::wav(0.3F)));
  CHECK(place.states(false) == std::vector{State::present, State::present});
  CHECK(place.states(true) == std::vector{State::changed, State::present});
  REQUIRE(write_file_atomically(place.home() / "takes/a.wav", TwoTakes::wav(0.3F, 101)));
  CHECK(place.states(false) == std::vector{State::changed, State::present});
  // Same size, other header.
  REQUIRE(write_file_atomically(place.home() / "takes/a.wav", TwoTakes::wav(0.3F, 200, 1)));
  CHECK(place.states(false) == std::vector{State::changed, State::present});
  std::string broken = TwoTakes::wav(0.25F);
  broken[0] = 'X';
  REQUIRE(write_file_atomically(place.home() / "takes/a.wav", broken));
  CHECK(place.states(false) == std::vector{State::unreadable, State::present});
  fs::remove(place.home() / "takes/a.wav");
  CHECK(place.states(false) == std::vector{State::missing, State::present});
  REQUIRE(::mkfifo((place.home() / "takes/a.wav").c_str(), 0600) == 0);
  CHECK(place.states(true) == std::vector{State::unreadable, State::present});
  place.project.takes[1].path = "takes/../../b.wav";
  CHECK(place.states(true) == std::vector{State::unreadable, State::outside});
}

TEST_CASE("takes: looking says where and what, and stops when it is told to", "[store]") {
  const TwoTakes place;
  fs::remove(place.home() / "takes/a.wav");
  JobControl job;
  const Result<std::vector<TakeStatus>> states =
      look_at_takes(place.project, place.home(), true, job);
  REQUIRE(states);
  CHECK(states->at(0).take == place.project.takes[0].id);
  CHECK(states->at(0).path == place.home() / "takes/a.wav");
  CHECK_FALSE(states->at(0).detail.empty());
  CHECK(states->at(1).detail.empty());
  CancelAfter at_once(0);
  CHECK(look_at_takes(place.project, place.home(), true, at_once).error().code ==
        ErrorCode::cancelled);
  CHECK(look_at_takes(model::Project{}, place.home(), true, job)->empty());
}

TEST_CASE("takes: a path may not leave the project's folder unless that is allowed", "[store]") {
  model::Take take;
  const fs::path home = "/home/set";
  const auto path_of = [&](const std::string& path, bool allow) {
    take.path = path;
    return take_path(home, take, allow);
  };
  CHECK(*path_of("takes/a.wav", false) == "/home/set/takes/a.wav");
  CHECK(*path_of("takes/../a.wav", false) == "/home/set/a.wav");
  CHECK(*path_of("..a/b.wav", false) == "/home/set/..a/b.wav");
  for (const std::string outside :
       {"../a.wav", "takes/../../a.wav", "/etc/passwd", "..", "./../x"}) {
    INFO(outside);
    CHECK(path_of(outside, false).error().code == ErrorCode::bad_input);
  }
  CHECK(*path_of("../a.wav", true) == "/home/a.wav");
  CHECK(*path_of("/etc/a.wav", true) == "/etc/a.wav");
}

TEST_CASE("relink: takes that were moved or renamed are found by size and hash", "[store]") {
  TwoTakes place;
  fs::create_directories(place.folder / "disk/deep");
  fs::rename(place.home() / "takes/a.wav", place.folder / "disk/deep/renamed.wav");
  fs::rename(place.home() / "takes/b.wav", place.home() / "b.wav");
  // A file of the right name and size but of other content is not the take.
  REQUIRE(write_file_atomically(place.folder / "disk/a.wav", TwoTakes::wav(0.3F)));
  JobControl job;
  const Result<std::vector<model::Edit>> edits =
      relink(place.project, place.home(), place.folder.path(), job);
  REQUIRE(edits);
  REQUIRE(edits->size() == 2);
  model::Project project = place.project;
  for (const model::Edit& edit : *edits) {
    REQUIRE(model::apply(project, edit));
  }
  CHECK(project.takes[0].path == "../disk/deep/renamed.wav");
  CHECK(project.takes[1].path == "b.wav");
  place.project = project;
  CHECK(place.states(true) == std::vector{State::outside, State::present});
}

TEST_CASE("relink: of equal files the one that kept its name is taken", "[store]") {
  const TwoTakes place;
  fs::create_directory(place.folder / "disk");
  fs::copy(place.home() / "takes/a.wav", place.folder / "disk/0.wav");
  fs::rename(place.home() / "takes/a.wav", place.folder / "disk/a.wav");
  JobControl job;
  const Result<std::vector<model::Edit>> edits =
      relink(place.project, place.home(), place.folder / "disk", job);
  REQUIRE(edits);
  REQUIRE(edits->size() == 1);
  CHECK(std::get<model::Replace<model::Take>>(edits->at(0).value().kind).value.path ==
        "../disk/a.wav");
}

TEST_CASE("relink: nothing to do, nothing found and no folder", "[store]") {
  const TwoTakes place;
  JobControl job;
  CHECK(relink(place.project, place.home(), place.home(), job)->empty());
  CHECK(relink(place.project, place.home(), place.folder / "none", job).error().code ==
        ErrorCode::not_found);
  fs::create_directory(place.folder / "empty");
  fs::rename(place.home() / "takes/a.wav", place.folder / "a.wav");
  CHECK(relink(place.project, place.home(), place.folder / "empty", job)->empty());
  // Links are not followed.
  fs::create_symlink(place.folder / "a.wav", place.folder / "empty/a.wav");
  fs::create_directory_symlink(place.folder.path(), place.folder / "empty/all");
  CHECK(relink(place.project, place.home(), place.folder / "empty", job)->empty());
  bool stopped = false;
  for (int calls = 0; calls < 50 && !stopped; ++calls) {
    CancelAfter later(calls);
    const Result<std::vector<model::Edit>> edits =
        relink(place.project, place.home(), place.folder.path(), later);
    if (edits) {
      CHECK(edits->size() == 1);
      stopped = true;
    } else {
      CHECK(edits.error().code == ErrorCode::cancelled);
    }
  }
  CHECK(stopped);
}

TEST_CASE("takes: no output may be a take, by whatever name", "[store]") {
  const TwoTakes place;
  const auto code = [&](const fs::path& output) {
    const Status status = refuse_takes_as_output(place.project, place.home(), output);
    return status ? ErrorCode::internal : status.error().code;
  };
  fs::create_symlink(place.home() / "takes/a.wav", place.folder / "link.wav");
  fs::create_hard_link(place.home() / "takes/a.wav", place.folder / "hard.wav");
  fs::create_directory_symlink(place.home(), place.folder / "way");
  CHECK(code(place.home() / "takes/a.wav") == ErrorCode::would_overwrite);
  CHECK(code(place.home() / "takes/../takes/b.wav") == ErrorCode::would_overwrite);
  CHECK(code(place.folder / "link.wav") == ErrorCode::would_overwrite);
  CHECK(code(place.folder / "hard.wav") == ErrorCode::would_overwrite);
  CHECK(code(place.folder / "way/takes/a.wav") == ErrorCode::would_overwrite);
  CHECK(refuse_takes_as_output(place.project, place.home(), place.home() / "takes/out.wav"));
  // A missing take's name is kept free for it.
  fs::remove(place.home() / "takes/b.wav");
  CHECK(code(place.home() / "takes/b.wav") == ErrorCode::would_overwrite);
  CHECK(code(place.folder / "way/takes/b.wav") == ErrorCode::would_overwrite);
}
