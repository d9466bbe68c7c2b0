// SPDX-License-Identifier: GPL-3.0-or-later
// What the review of seams plays, as a sound server of the test's own records it.
#include "page_fixture.h"
#include "review/ReviewDesk.h"
#include "review/SeamReview.h"
#include "sound_record.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/dsp/crossfade.h"
#include "fourbeat/store/data_files.h"

#include <QTest>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

constexpr std::int64_t side_frames = 96'000;  // 2 s
/// Its ends are faded when it is played.
constexpr std::size_t edge_frames = 600;

/// The small project's hiss, and a loop of about 3 s of it whose sides do not cancel.
struct Roar {
  explicit Roar(const std::filesystem::path& file) {
    Result<audio::SoundFileReader> reader = audio::SoundFileReader::open(file);
    REQUIRE(reader);
    Result<audio::Pcm> read = reader->read(frame_range(0, 200'000), std::vector<int>{1});
    REQUIRE(read);
    pcm = std::move(*read);
    while (dsp::blend_correlation(pcm, loop) < 0.0)
      loop.range.end = loop.range.end - FrameCount(1);
  }
  /// Two seconds either side of the wrap, made from the take alone.
  [[nodiscard]] std::vector<float> seam() const {
    audio::Pcm blended = pcm;
    REQUIRE(dsp::blend_loop(blended, loop));
    std::vector<float> heard;
    for (std::int64_t i = -side_frames; i < side_frames; ++i) {
      const FrameIndex from = i < 0 ? loop.range.end : loop.range.start;
      heard.push_back(blended.channels[0][static_cast<std::size_t>(from.value() + i)]);
    }
    return heard;
  }

  audio::Pcm pcm;
  dsp::LoopSpec loop{frame_range(30'000, 174'000), FrameCount(3'000), false, 0.0, {}};
};

/// The small project with a loop of hiss under review, which no stretch of is like another.
struct HissReview : PageFixture {
  HissReview() : roar(workspace.document().folder() / "takes" / "hiss.wav") {
    model::Segment hiss = project().segments.at(3);
    hiss.id = {};
    hiss.name = "Roar";
    hiss.loop = model::Loop{
        roar.loop.range, roar.loop.crossfade_frames, model::CrossfadeAt::end, 0.0, {}, {}};
    add(model::Add<model::Segment>{hiss, std::nullopt});
    model::Sound sound;
    sound.name = "Roar";
    sound.kind = model::SoundKind::held;
    sound.hold = model::last_drawn<model::Segment>(project());
    add(model::Add<model::Sound>{sound, std::nullopt});
    const auto speakers = store::load_speakers();
    REQUIRE(speakers);
    add(model::SetSpeaker{speakers->front()});
    review = std::make_unique<ui::SeamReview>(workspace, sound.hold.value());
    review->setAttribute(Qt::WA_DeleteOnClose, false);
    review->show();
    review->activateWindow();
    REQUIRE(QTest::qWaitForWindowActive(review.get()));
    REQUIRE(waitUntil(
        [this] {
          return workspace.live().isCurrent() && review->desk().canHear({true, true});
        },
        60'000));
  }
  void add(const model::Edit& edit) { REQUIRE(workspace.perform(QStringLiteral("a"), {edit})); }
  void key(Qt::Key key) { QTest::keyClick(review.get(), key); }

  Roar roar;
  std::unique_ptr<ui::SeamReview> review;
};

std::span<const float> body(const std::vector<float>& samples) {
  return std::span(samples).subspan(edge_frames, samples.size() - 2 * edge_frames);
}

}  // namespace

TEST_CASE("device: what is heard in the review is the seam that it claims to play", "[ui][sound]") {
  if (SoundServer::instance() == nullptr) return;
  const Sink sink("review");
  HissReview f;
  ui::ReviewDesk& desk = f.review->desk();
  REQUIRE(opened(f.transport));
  Monitor monitor(*SoundServer::instance(), QStringLiteral("review"));
  /// What the device plays at one press of A, and where the review says it is midway.
  struct Heard {
    std::vector<float> frames;
    std::int64_t claimed = 0;  ///< frames from the wrap
    std::size_t at = 0;        ///< frames recorded when it was claimed
  };
  const auto press = [&] {
    Heard heard;
    const std::size_t from = monitor.count();
    f.key(Qt::Key_A);
    CHECK(waitUntil([&] { return f.transport.isPlaying(); }));
    QTest::qWait(2'200);
    const auto place = desk.place(f.transport.position());
    heard.at = monitor.count() - from;
    REQUIRE(place);
    heard.claimed = *place;
    CHECK(waitUntil([&] { return !f.transport.isPlaying(); }));
    QTest::qWait(100);
    const std::vector<float> record = monitor.frames();
    heard.frames.assign(record.begin() + static_cast<std::ptrdiff_t>(from), record.end());
    return heard;
  };
  const std::vector<float> wanted = f.roar.seam();
  in_five_tries([&] {
    const Heard heard = press();
    const Found found = find(heard.frames, body(wanted));
    // The frame recorded last when the claim was made, seen from the wrap.
    const auto last = static_cast<std::int64_t>(heard.at) - static_cast<std::int64_t>(found.at) +
                      static_cast<std::int64_t>(edge_frames) - side_frames;
    CAPTURE(found.likeness, heard.claimed, last);
    return found.likeness > 0.9999 && std::abs(heard.claimed - last) < std::int64_t{48} * 25;
  });
  for (const work::Way way : {work::Way{true, false}, work::Way{true, true}}) {
    f.key(way.speaker ? Qt::Key_P : Qt::Key_D);
    REQUIRE(desk.way() == way);
    in_five_tries([&] {
      const Heard heard = press();
      const std::vector<float>& claimed = desk.study()->hearing.clip(way)->samples;
      const double likeness = find(heard.frames, body(claimed)).likeness;
      // It is another sound than as recorded.
      const double recorded = correlation(body(claimed), body(wanted));
      CAPTURE(likeness, recorded);
      return likeness > 0.9999 && recorded < 0.99;
    });
  }
}
