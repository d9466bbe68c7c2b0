// SPDX-License-Identifier: GPL-3.0-or-later
// Pages while what they asked for plays on a device.
#include "page_fixture.h"
#include "pages/SegmentsPage.h"
#include "sound_record.h"
#include "views/TrackView.h"

#include <QTest>

using namespace fourbeat;
using namespace fourbeat::tests;

TEST_CASE("device: a segment that plays goes on from where one clicks in it", "[ui][sound]") {
  if (SoundServer::instance() == nullptr) return;
  const Sink sink("clicks");
  ShownPage<ui::SegmentsPage> f;
  REQUIRE(opened(f.transport));
  const model::Segment& segment = f.project().segments.at(3);  // of the take from frame 12 000 on
  f.page.choose(segment.id);
  ui::TrackView& track = f.page.track();
  REQUIRE(waitUntil([&] { return track.isSettled(); }));
  const auto click = [&](std::int64_t frame) {
    const auto x = static_cast<double>(track.deviceXOf(FrameIndex(frame)));
    const QPoint place(static_cast<int>(x / track.devicePixelRatioF()), 60);
    QTest::mouseClick(&track, Qt::LeftButton, {}, track.lanesRect().topLeft() + place);
  };
  f.page.playRequested();
  REQUIRE(waitUntil([&] { return f.transport.isPlaying(); }));
  click(112'000);
  CHECK(f.transport.isPlaying());
  CHECK(f.transport.position() >= FrameIndex(99'000));
  CHECK(f.transport.position() < FrameIndex(130'000));
  // Outside the segment there is nothing of it to hear: it plays on.
  click(205'000);
  CHECK(f.transport.isPlaying());
  CHECK(f.transport.position() >= FrameIndex(99'000));
  CHECK(f.transport.position() < FrameIndex(150'000));
}
