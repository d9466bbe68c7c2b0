// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/add_takes.h"

#include "support/catch.h"
#include "support/temp_folder.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/store/takes.h"
#include "fourbeat/store/trust.h"

#include <cstdlib>
#include <fstream>

using namespace fourbeat;
using fourbeat::tests::TempFolder;

namespace {

void write_take(const std::filesystem::path& path, int channels) {
  const audio::Pcm pcm{
      8000.0, std::vector(static_cast<std::size_t>(channels), std::vector<float>(800, 0.25F))};
  REQUIRE(audio::write_wav(path, pcm, audio::WavDepth::s16));
}

void perform(model::Project& project, const std::vector<model::Edit>& edits) {
  const Result<model::Edit> done = model::apply(project, model::EditGroup{edits});
  if (!done) FAIL(to_line(done.error()));
}

}  // namespace

TEST_CASE("add takes: a folder gives the sound files below it, in order, and nothing else",
          "[work]") {
  const TempFolder folder;
  std::filesystem::create_directories(folder / "b");
  write_take(folder / "b" / "two.WAV", 1);
  write_take(folder / "a.wav", 1);
  std::ofstream(folder / "notes.txt") << "no sound";
  std::filesystem::create_symlink(folder / "a.wav", folder / "link.wav");
  JobControl job;
  const auto files = work::recordings_below({folder.path()}, job);
  REQUIRE(files);
  CHECK(*files == std::vector{folder / "a.wav", folder / "b" / "two.WAV"});
  const auto missing = work::recordings_below({folder / "none"}, job);
  REQUIRE_FALSE(missing);
  CHECK(missing.error().code == ErrorCode::not_found);
}

TEST_CASE("add takes: each take gets a pass of its own, or all the pass that was named", "[work]") {
  const TempFolder folder;
  write_take(folder / "one.wav", 2);
  write_take(folder / "two.wav", 2);
  model::Project project;
  JobControl job;
  const auto described =
      work::describe_takes(project, folder.path(), {folder / "one.wav"}, {{2, "chimney"}}, job);
  REQUIRE(described);
  REQUIRE(described->takes.size() == 1);
  CHECK(described->takes[0].microphones == std::vector<std::string>{"", "chimney"});
  const auto added = work::edits_to_add(project, folder.path(), described->takes, "");
  REQUIRE(added);
  perform(project, added->edits);
  REQUIRE(project.passes.size() == 1);
  CHECK(project.passes[0].name == "one");
  CHECK(project.passes[0].takes.front().take == added->takes[0].id);

  const auto again = work::describe_takes(project, folder.path(),
                                          {folder / "one.wav", folder / "two.wav"}, {}, job);
  REQUIRE(again);
  CHECK(again->already == std::vector{folder / "one.wav"});
  REQUIRE(again->takes.size() == 1);
  const auto into = work::edits_to_add(project, folder.path(), again->takes, "one");
  REQUIRE(into);
  perform(project, into->edits);
  REQUIRE(project.passes.size() == 1);
  CHECK(project.passes[0].takes.size() == 2);
}

TEST_CASE("add takes: one bad file does not keep the others out", "[work]") {
  const TempFolder folder;
  write_take(folder / "good.wav", 1);
  std::ofstream(folder / "bad.wav") << "this is no sound";
  JobControl job;
  const auto described =
      work::describe_takes({}, folder.path(), {folder / "bad.wav", folder / "good.wav"}, {}, job);
  REQUIRE(described);
  REQUIRE(described->refused.size() == 1);
  CHECK(described->refused[0].file.find("bad.wav") != std::string::npos);
  CHECK(described->takes.size() == 1);
  const auto no_channel =
      work::describe_takes({}, folder.path(), {folder / "good.wav"}, {{2, "cab"}}, job);
  REQUIRE(no_channel);
  CHECK(no_channel->takes.empty());
  CHECK(no_channel->refused.size() == 1);
}

TEST_CASE("add takes: the folder of a take outside the project's is trusted from then on",
          "[work]") {
  const TempFolder config;
  setenv("FOURBEAT_CONFIG", config.path().c_str(), 1);
  const TempFolder folder;
  const TempFolder elsewhere;
  write_take(elsewhere / "far.wav", 1);
  JobControl job;
  const auto described = work::describe_takes({}, folder.path(), {elsewhere / "far.wav"}, {}, job);
  REQUIRE(described);
  REQUIRE(described->takes.size() == 1);
  CHECK_FALSE(store::take_path(folder.path(), described->takes[0]));
  REQUIRE(work::edits_to_add({}, folder.path(), described->takes, ""));
  CHECK(store::is_trusted(elsewhere / "far.wav"));
  CHECK(store::take_path(folder.path(), described->takes[0]));
  unsetenv("FOURBEAT_CONFIG");
}

TEST_CASE("add takes: a take goes with its marks and its pass, but not from under a segment",
          "[work]") {
  const TempFolder folder;
  write_take(folder / "one.wav", 1);
  write_take(folder / "two.wav", 1);
  model::Project project;
  JobControl job;
  const auto described = work::describe_takes(project, folder.path(),
                                              {folder / "one.wav", folder / "two.wav"}, {}, job);
  REQUIRE(described);
  const auto added = work::edits_to_add(project, folder.path(), described->takes, "shared");
  REQUIRE(added);
  perform(project, added->edits);
  model::Mark mark;
  mark.take = added->takes[0].id;
  mark.range = frame_range(10, 20);
  perform(project, {model::Add<model::Mark>{mark, std::nullopt}});
  model::Segment segment;
  segment.source.pass = project.passes[0].id;
  segment.source.mix.push_back({added->takes[1].id, 1, 0.0, {}, false, {}});
  segment.range = frame_range(0, 100);
  perform(project, {model::Add<model::Segment>{segment, std::nullopt}});

  perform(project, work::edits_to_remove_take(project, added->takes[0].id));
  CHECK(project.takes.size() == 1);
  CHECK(project.marks.empty());
  CHECK(project.passes[0].takes.size() == 1);
  const auto refused = model::apply(
      project, model::EditGroup{work::edits_to_remove_take(project, added->takes[1].id)});
  REQUIRE_FALSE(refused);
  CHECK(refused.error().code == ErrorCode::in_use);
}
