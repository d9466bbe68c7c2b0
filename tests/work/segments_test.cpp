// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/segments.h"

#include "support/catch.h"
#include "support/temp_folder.h"
#include "work/one_take_project.h"

#include "fourbeat/base/random.h"
#include "fourbeat/work/analyse.h"
#include "fourbeat/work/render.h"

using namespace fourbeat;
using fourbeat::tests::TempFolder;

namespace {

/// A project whose one take, of two channels of noise, enters its pass at frame 100.
model::Project noise(const TempFolder& folder) {
  Random random(5);
  audio::Pcm pcm{8000.0, {std::vector<float>(16000), std::vector<float>(16000)}};
  for (std::vector<float>& channel : pcm.channels) {
    for (float& sample : channel)
      sample = static_cast<float>(random.uniform(-0.2, 0.2));
  }
  return tests::one_take_project(folder.path(), pcm, audio::WavDepth::s16, 100);
}

}  // namespace

TEST_CASE("segments: frames of a take and of its pass are turned into one another", "[work]") {
  const TempFolder folder;
  const model::Project project = noise(folder);
  const Id<model::Take> take(1);
  CHECK(work::pass_offset(project, take) == FrameCount(100));
  CHECK(work::on_pass(project, take, frame_range(5, 9)) == frame_range(105, 109));
  CHECK(work::on_take(project, take, frame_range(105, 109)) == frame_range(5, 9));
  CHECK(work::pass_offset(project, Id<model::Take>(7)) == FrameCount(0));
}

TEST_CASE("segments: what is cut from a take sounds like that stretch of it", "[work]") {
  const TempFolder folder;
  const model::Project project = noise(folder);
  const auto segment =
      work::cut_segment(project, Id<model::Take>(1), 2, frame_range(2'000, 6'000), "piece");
  REQUIRE(segment);
  CHECK(segment->range == frame_range(2'100, 6'100));
  const auto material = work::render_material(project, folder.path(), *segment);
  REQUIRE(material);
  auto reader = audio::SoundFileReader::open(folder / "take.wav");
  REQUIRE(reader);
  const auto there = reader->read(frame_range(2'000, 6'000), std::vector<int>{2});
  REQUIRE(there);
  CHECK(material->channels.front() == there->channels.front());

  const auto code = [&](int channel, FrameRange range) {
    const auto cut = work::cut_segment(project, Id<model::Take>(1), channel, range, "x");
    return cut ? ErrorCode::internal : cut.error().code;
  };
  CHECK(code(3, frame_range(0, 10)) == ErrorCode::bad_argument);
  CHECK(code(1, frame_range(10, 10)) == ErrorCode::bad_argument);
  CHECK(code(1, frame_range(-1, 10)) == ErrorCode::bad_argument);
  CHECK(code(1, frame_range(0, 16'001)) == ErrorCode::bad_argument);
}

TEST_CASE("segments: loops are found in a segment, and set where they were found", "[work]") {
  const TempFolder folder;
  model::Project project = noise(folder);
  const auto segment =
      work::cut_segment(project, Id<model::Take>(1), 1, frame_range(0, 16'000), "hiss");
  REQUIRE(segment);
  REQUIRE(model::apply(project, model::Add<model::Segment>{*segment, std::nullopt}));
  const Id<model::Segment> id = project.segments[0].id;
  JobControl job;
  // Longer than the segment: brought down to it.
  const auto found = work::find_segment_loops(project, folder.path(), id, {4.0, 60.0, 3, 1}, job);
  REQUIRE(found);
  REQUIRE_FALSE(found->candidates.empty());
  const model::Loop loop =
      work::loop_in_segment(found->candidates.front().loop, project.segments[0]);
  CHECK(project.segments[0].range.contains(loop.range));
  REQUIRE(model::apply(project, model::SetLoop{id, loop}));
  const auto none =
      work::find_segment_loops(project, folder.path(), Id<model::Segment>(99), {}, job);
  REQUIRE_FALSE(none);
  CHECK(none.error().code == ErrorCode::not_found);
}

TEST_CASE("segments: through the seam, what stands before the loop's end runs on into its start",
          "[work]") {
  audio::Clip clip;
  clip.sample_rate_hz = 10.0;
  for (int i = 0; i < 100; ++i)
    clip.samples.push_back(static_cast<float>(i));
  clip.loop = frame_range(30, 60);
  const auto heard = work::through_seam(clip, 2.0);
  REQUIRE(heard);
  REQUIRE(heard->samples.size() == 40);
  CHECK(heard->samples[19] == 59.0F);
  CHECK(heard->samples[20] == 30.0F);
  CHECK(heard->samples.front() == 40.0F);
  CHECK(heard->samples.back() == 49.0F);
  clip.loop = frame_range(30, 36);  // goes round several times
  const auto round = work::through_seam(clip, 2.0);
  REQUIRE(round);
  CHECK(round->samples[19] == 35.0F);
  CHECK(round->samples[13] == 35.0F);
  CHECK(round->samples[26] == 30.0F);
  clip.loop.reset();
  CHECK_FALSE(work::through_seam(clip, 2.0));
}

TEST_CASE("segments: a segment goes with its verdicts; held sounds without a loop are named once",
          "[work]") {
  const TempFolder folder;
  model::Project project = noise(folder);
  for (int i = 0; i < 2; ++i) {
    const auto segment =
        work::cut_segment(project, Id<model::Take>(1), 1, frame_range(0, 8'000), "piece");
    REQUIRE(model::apply(project, model::Add<model::Segment>{*segment, std::nullopt}));
  }
  model::Sound sound;
  sound.kind = model::SoundKind::held;
  sound.hold = project.segments[0].id;
  REQUIRE(model::apply(project, model::Add<model::Sound>{sound, std::nullopt}));
  REQUIRE(model::apply(project, model::Add<model::Sound>{sound, std::nullopt}));
  CHECK(work::holds_without_loop(project) == std::vector{project.segments[0].id});
  model::Verdict verdict;
  verdict.segment = project.segments[1].id;
  verdict.recipe = std::string(64, '0');
  REQUIRE(model::apply(project, model::Add<model::Verdict>{verdict, std::nullopt}));
  const model::Project before = project;
  CHECK_FALSE(model::apply(
      project, model::EditGroup{work::edits_to_remove_segment(project, project.segments[0].id)}));
  CHECK(project == before);
  REQUIRE(model::apply(
      project, model::EditGroup{work::edits_to_remove_segment(project, project.segments[1].id)}));
  CHECK(project.verdicts.empty());
  CHECK(project.segments.size() == 1);
}

TEST_CASE("segments: a long clip has a loudness in LUFS, a short one an energy, silence none",
          "[work]") {
  audio::Clip clip;
  clip.sample_rate_hz = 48000.0;
  for (int i = 0; i < 96'000; ++i)
    clip.samples.push_back(static_cast<float>(std::sin(0.130899693899574718 * i)));  // 1 kHz
  const auto sine = work::loudness_of(clip);
  REQUIRE(sine);
  CHECK(sine->is_lufs);
  CHECK(sine->db == Approx(-3.01).margin(0.05));  // BS.1770: a full-scale 1 kHz sine
  clip.samples.resize(4'800);
  const auto brief = work::loudness_of(clip);
  REQUIRE(brief);
  CHECK_FALSE(brief->is_lufs);
  CHECK(brief->db == Approx(-3.01 - 10.0).margin(0.3));  // a tenth of a second
  clip.samples.assign(48'000, 0.0F);
  CHECK_FALSE(work::loudness_of(clip));
}

TEST_CASE("segments: a segment is written with its loop, and never over a take", "[work]") {
  const TempFolder folder;
  const model::Project project = noise(folder);
  Result<model::Segment> segment =
      work::cut_segment(project, Id<model::Take>(1), 1, frame_range(1'000, 9'000), "piece");
  REQUIRE(segment);
  model::Loop loop;
  loop.range = work::on_pass(project, Id<model::Take>(1), frame_range(3'000, 7'000));
  segment->loop = loop;
  JobControl job;
  REQUIRE(work::write_segment(project, folder.path(), *segment, folder / "out.wav", job));
  auto reader = audio::SoundFileReader::open(folder / "out.wav");
  REQUIRE(reader);
  CHECK(reader->info().frames == FrameCount(8'000));
  CHECK(reader->info().loops == std::vector{frame_range(2'000, 6'000)});
  const auto rendered = work::render_segment(project, folder.path(), *segment, job);
  const auto written = reader->read(frame_range(0, 8'000));
  REQUIRE(rendered);
  REQUIRE(written);
  for (std::size_t i = 0; i < 8'000; i += 97)
    CHECK(written->channels[0][i] == Approx(rendered->samples[i]).margin(1.0 / 8'000'000));
  const auto refused =
      work::write_segment(project, folder.path(), *segment, folder / "take.wav", job);
  REQUIRE_FALSE(refused);
  CHECK(refused.error().code == ErrorCode::would_overwrite);
}

TEST_CASE("segments: uncleaned and cleaned are compared at one loudness, and the loss told in dB",
          "[work]") {
  const TempFolder folder;
  const model::Project project = noise(folder);
  Result<model::Segment> segment =
      work::cut_segment(project, Id<model::Take>(1), 1, frame_range(0, 16'000), "piece");
  REQUIRE(segment);
  JobControl job;
  const auto same = work::compare_cleaning(project, folder.path(), *segment, job);
  REQUIRE(same);
  CHECK(same->matched_db == Approx(0.0).margin(1e-9));
  CHECK_FALSE(same->removed_db);
  // White noise to 4 kHz, all below 1 kHz taken out: a quarter of the power, -6 dB.
  segment->source.clean.push_back(model::HighPass{1000.0, 8});
  const auto cleaned = work::compare_cleaning(project, folder.path(), *segment, job);
  REQUIRE(cleaned);
  REQUIRE(cleaned->removed_db);
  REQUIRE(cleaned->matched_db);
  CHECK(*cleaned->matched_db < -0.2);
  const auto heard = work::render_segment(project, folder.path(), *segment, job);
  REQUIRE(heard);
  const auto a = work::loudness_of(*heard);
  const auto b = work::loudness_of(cleaned->uncleaned);
  REQUIRE((a && b));
  CHECK(a->db == Approx(b->db).margin(0.01));
}

TEST_CASE("segments: a verdict is on the seam of a segment or of a fused row, as it was heard",
          "[work]") {
  const TempFolder folder;
  model::Project project = noise(folder);
  const auto cut =
      work::cut_segment(project, Id<model::Take>(1), 1, frame_range(0, 8'000), "piece");
  REQUIRE(cut);
  REQUIRE(model::apply(project, model::Add<model::Segment>{*cut, std::nullopt}));
  model::PieceKey of_segment;
  of_segment.segment = project.segments[0].id;
  CHECK(work::judge_seam(project, of_segment, model::VerdictKind::signed_off).error().place ==
        "/segments/0");
  model::ChuffRow row;
  row.to_kmh = 20.0;
  row.fused =
      model::FusedLoop{cut->source,
                       cut->range,
                       {frame_range(1'000, 6'000), {}, model::CrossfadeAt::end, 0.0, {}, {}},
                       0,
                       0,
                       {}};
  REQUIRE(model::apply(project, model::Add<model::ChuffRow>{row, std::nullopt}));
  model::PieceKey key;
  key.row = project.chuffs.rows[0].id;
  key.revolution = model::fused_revolution;
  const auto edit =
      work::judge_seam(project, key, model::VerdictKind::rejected, {11'025, 8, "a box"}, "ticks");
  REQUIRE(edit);
  REQUIRE(model::apply(project, *edit));
  const auto piece = work::looped_piece(project, key);
  REQUIRE(piece);
  const model::Verdict* verdict = model::verdict_in_force(project, *piece);
  REQUIRE(verdict != nullptr);
  CHECK(verdict->kind == model::VerdictKind::rejected);
  CHECK(verdict->sample_rate_hz == 11'025);
  CHECK(verdict->bits == 8);
  CHECK(verdict->speaker == "a box");
  CHECK(verdict->note == "ticks");
  key.row = Id<model::ChuffRow>(99);
  CHECK(work::judge_seam(project, key, model::VerdictKind::rejected).error().code ==
        ErrorCode::not_found);
}

TEST_CASE("segments: rendering and writing stop when they are asked to, and leave no file",
          "[work]") {
  /// Wanted until it has been asked so often.
  struct Fading : JobControl {
    explicit Fading(int times) : left(times) {}
    [[nodiscard]] bool cancelled() const override { return left-- <= 0; }
    mutable int left;
  };
  const TempFolder folder;
  const model::Project project = noise(folder);
  Result<model::Segment> segment =
      work::cut_segment(project, Id<model::Take>(1), 1, frame_range(0, 16'000), "piece");
  REQUIRE(segment);
  segment->source.clean = {model::HighPass{}, model::HumNotch{}};
  // Before its microphone is read, before each clean step, and before what comes last.
  int stops = 0;
  for (;; ++stops) {
    REQUIRE(stops < 100);
    Fading job(stops);
    const auto clip = work::render_segment(project, folder.path(), *segment, job);
    if (clip) break;
    CHECK(clip.error().code == ErrorCode::cancelled);
    Fading writing(stops);
    const Status wrote =
        work::write_segment(project, folder.path(), *segment, folder / "out.wav", writing);
    REQUIRE_FALSE(wrote);
    CHECK(wrote.error().code == ErrorCode::cancelled);
    CHECK_FALSE(std::filesystem::exists(folder / "out.wav"));
    Fading comparing(stops);
    CHECK_FALSE(work::compare_cleaning(project, folder.path(), *segment, comparing));
  }
  CHECK(stops >= 4);
}
