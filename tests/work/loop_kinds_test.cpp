// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/loop_kinds.h"

#include "support/catch.h"
#include "support/temp_folder.h"
#include "work/one_take_project.h"

#include "fourbeat/base/random.h"
#include "fourbeat/model/edit.h"
#include "fourbeat/work/hearing.h"
#include "fourbeat/work/segments.h"

#include <algorithm>

using namespace fourbeat;
using fourbeat::tests::TempFolder;
using model::Category;

namespace {

constexpr std::int64_t second = 8000;

/// A project with 14 s of noise as its one take, 20 dB softer from a frame on, and a segment of it.
struct Hiss {
  explicit Hiss(FrameRange range, std::size_t softer_from = 14 * second) {
    Random random(3);
    audio::Pcm pcm{8000.0, {std::vector<float>(14 * second)}};
    for (std::size_t i = 0; i < pcm.channels[0].size(); ++i)
      pcm.channels[0][i] =
          static_cast<float>((i < softer_from ? 0.2 : 0.02) * random.uniform(-1.0, 1.0));
    project = tests::one_take_project(folder.path(), pcm, audio::WavDepth::s16, 100);
    const auto cut = work::cut_segment(project, Id<model::Take>(1), 1, range, "hiss");
    REQUIRE(cut);
    REQUIRE(model::apply(project, model::Add<model::Segment>{*cut, std::nullopt}));
    id = project.segments[0].id;
  }
  void play(Category category, bool held) {
    model::Sound sound;
    sound.category = category;
    sound.kind = held ? model::SoundKind::held : model::SoundKind::one_shot;
    (held ? sound.hold : sound.segment) = id;
    REQUIRE(model::apply(project, model::Add<model::Sound>{sound, std::nullopt}));
  }
  void mark(model::MarkKind kind, FrameRange range) {
    model::Mark mark;
    mark.take = Id<model::Take>(1);
    mark.kind = kind;
    mark.range = range;
    REQUIRE(model::apply(project, model::Add<model::Mark>{mark, std::nullopt}));
  }
  [[nodiscard]] dsp::LoopSearch loops() const {
    JobControl job;
    Result<dsp::LoopSearch> search =
        work::find_segment_loops(project, folder.path(), id, work::loop_params(project, id), job);
    REQUIRE(search);
    return *search;
  }

  TempFolder folder;
  model::Project project;
  Id<model::Segment> id;
};

double length_s(const FrameRange& range) {
  return static_cast<double>(range.length().value()) / static_cast<double>(second);
}

}  // namespace

TEST_CASE("loop kinds: a segment is what the sound that holds it says, then what plays it",
          "[work]") {
  Hiss f(frame_range(0, 6 * second));
  CHECK(work::kind_of(f.project, f.id) == Category::other);
  CHECK(work::kind_of(f.project, Id<model::Segment>(99)) == Category::other);
  f.mark(model::MarkKind::injector, frame_range(2 * second, 9 * second));  // 4 of its 6 s
  CHECK(work::kind_of(f.project, f.id) == Category::injector);
  f.play(Category::bell, false);
  CHECK(work::kind_of(f.project, f.id) == Category::bell);
  f.play(Category::pump, true);
  CHECK(work::kind_of(f.project, f.id) == Category::pump);
}

TEST_CASE("loop kinds: a mark says what a segment is only where it covers half of it", "[work]") {
  Hiss f(frame_range(0, 6 * second));
  f.mark(model::MarkKind::whistle, frame_range(4 * second, 9 * second));  // 2 of its 6 s
  f.mark(model::MarkKind::unusable, frame_range(0, 6 * second));
  CHECK(work::kind_of(f.project, f.id) == Category::other);
  f.mark(model::MarkKind::standing, frame_range(3 * second, 9 * second));
  CHECK(work::kind_of(f.project, f.id) == Category::ambience);
}

TEST_CASE("loop kinds: no loop is shorter than its kind allows, wherever it is looked for",
          "[work]") {
  // Without a kind they keep to one side of the step, and are shorter than simmer's may be.
  Hiss f(frame_range(0, 8 * second), 4 * second);
  const double least_s = work::shortest_loop_s(Category::ambience);
  const auto shortest_s = [&] {
    JobControl job;
    const auto loops = work::find_piece_loops(f.project, f.folder.path(),
                                              model::piece_of(f.project.segments[0]), job);
    REQUIRE(loops);
    REQUIRE_FALSE(loops->empty());
    double shortest = 1000.0;
    for (const model::Loop& loop : *loops)
      shortest = std::min(shortest, length_s(loop.range));
    REQUIRE(loops->size() == f.loops().candidates.size());
    for (const dsp::LoopCandidate& one : f.loops().candidates)
      CHECK(length_s(one.loop.range) >= shortest);
    return shortest;
  };
  CHECK(shortest_s() < least_s);
  f.play(Category::ambience, true);
  CHECK(shortest_s() >= least_s);
}

TEST_CASE("loop kinds: a segment too short for its kind has shorter loops, and is told so",
          "[work]") {
  Hiss f(frame_range(2 * second, 5 * second));
  f.play(Category::ambience, true);
  const dsp::LoopSearch search = f.loops();
  REQUIRE_FALSE(search.candidates.empty());
  CHECK(search.candidates.front().seam.state == dsp::SeamState::clean);
  CHECK(search.reason.find("the segment lasts 3.00 s, too short to choose from loops of 4.00 s") !=
        std::string::npos);
  // The take goes on sounding the same.
  CHECK(search.reason.find("has a clean loop there") != std::string::npos);
}
