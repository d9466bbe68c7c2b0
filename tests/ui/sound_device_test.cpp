// SPDX-License-Identifier: GPL-3.0-or-later
// The whole way to a sound device: what a sound server of the test's own records of it.
#include "MainWindow.h"
#include "Page.h"
#include "sound/Transport.h"
#include "sound_record.h"
#include "support.h"
#include "views/TrackView.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/random.h"
#include "fourbeat/model/project.h"
#include "fourbeat/work/segments.h"

#include <QElapsedTimer>
#include <QKeyEvent>
#include <QSignalSpy>
#include <QTest>
#include <QWidget>
#include <cmath>
#include <numbers>
#include <numeric>

using namespace fourbeat;
using namespace fourbeat::tests;
using ui::Transport;

namespace {

constexpr double rate_hz = 48000.0;

/// Noise that no other stretch of is like, with a level that swells and falls.
std::vector<float> noise(std::size_t frames, std::uint64_t seed) {
  Random random(seed);
  std::vector<float> samples(frames);
  for (std::size_t i = 0; i < frames; ++i) {
    const double swell = 0.3 + 0.2 * std::sin(static_cast<double>(i) / 3000.0);
    samples[i] = static_cast<float>(swell * random.uniform(-1.0, 1.0));
  }
  return samples;
}

}  // namespace

TEST_CASE("device: what the transport claims to play is what the device plays", "[ui][sound]") {
  if (SoundServer::instance() == nullptr) return;
  const Sink sink("claims");
  Transport transport;
  REQUIRE(opened(transport));
  Monitor monitor(*SoundServer::instance(), QStringLiteral("claims"));
  const std::vector<float> samples = noise(48000, 1);

  SECTION("a piece, from its first frame to its last, at its own speed") {
    in_five_tries([&] {
      const std::size_t from = monitor.count();
      transport.play(request_of(samples, "piece"));
      CHECK(transport.isPlaying());
      CHECK(waitUntil([&] { return !transport.isPlaying(); }));
      QTest::qWait(100);
      const std::vector<float> record = monitor.frames();
      const Found found = find(std::span(record).subspan(from), samples);
      const auto first = monitor.first_over(from, 1e-4F);
      CAPTURE(found.at, found.likeness, first);
      return found.likeness > 0.9999 &&
             std::abs(first - static_cast<std::int64_t>(from + found.at)) < 4;
    });
    CHECK(transport.position() == FrameIndex(0));
  }
  SECTION("a piece at a decoder's rate comes at its own pitch") {
    std::vector<float> tone(22050);
    for (std::size_t i = 0; i < tone.size(); ++i)
      tone[i] = static_cast<float>(
          0.4 * std::sin(2.0 * std::numbers::pi * 441.0 * static_cast<double>(i) / 22050.0));
    std::vector<float> expected(40000);
    for (std::size_t i = 0; i < expected.size(); ++i)
      expected[i] = static_cast<float>(
          0.4 * std::sin(2.0 * std::numbers::pi * 441.0 * static_cast<double>(i) / rate_hz));
    in_five_tries([&] {
      const std::size_t from = monitor.count();
      transport.play(request_of(tone, "tone", 22050.0));
      CHECK(waitUntil([&] { return !transport.isPlaying(); }));
      QTest::qWait(100);
      const std::vector<float> record = monitor.frames();
      const auto first = monitor.first_over(from, 0.005F);
      if (first < 0 || first + 45000 > static_cast<std::int64_t>(record.size())) return false;
      const auto near = std::span(record).subspan(static_cast<std::size_t>(first - 50), 41000);
      return find(near, expected).likeness > 0.999;
    });
  }
  SECTION("a take from its middle, through its gains; and where it is said to be") {
    const TempFolder folder;
    const std::vector<float> other = noise(200000, 3);
    const std::vector<float> wanted = noise(200000, 2);
    REQUIRE(
        audio::write_wav(folder / "take.wav", {rate_hz, {other, wanted}}, audio::WavDepth::f32));
    ui::PlayRequest request;
    request.source = ui::TakeSource{
        folder / "take.wav", {48000, 2, FrameCount(200000), "WAV float", {}}, {0.0F, 1.0F}};
    request.key = QStringLiteral("take/1");
    request.from = FrameIndex(100000);
    in_five_tries([&] {
      const std::size_t from = monitor.count();
      transport.play(request);
      QTest::qWait(600);
      const std::int64_t claimed = transport.position().value();
      const std::size_t heard = monitor.count();
      QTest::qWait(100);
      transport.stop();
      CHECK_FALSE(transport.isPlaying());
      const std::vector<float> record = monitor.frames();
      const Found found =
          find(std::span(record).subspan(from, 28000), std::span(wanted).subspan(101000, 8000));
      // The frame recorded last when the claim was made.
      const auto last =
          101000 + static_cast<std::int64_t>(heard) - static_cast<std::int64_t>(from + found.at);
      CAPTURE(found.likeness, claimed, last);
      return found.likeness > 0.9999 && std::abs(claimed - last) < std::int64_t{48} * 25;
    });
    CHECK(transport.figures().late_frames == 0);
  }
  SECTION("repeated without a gap, until it is let end") {
    const std::vector<float> part(samples.begin() + 1000, samples.begin() + 8000);
    in_five_tries([&] {
      ui::PlayRequest request = request_of(samples, "part");
      request.range = frame_range(1000, 8000);
      request.from = FrameIndex(1000);
      request.repeat = true;
      const std::size_t from = monitor.count();
      transport.play(request);
      CHECK(transport.repeats());
      QTest::qWait(700);
      transport.setRepeat(false);
      CHECK_FALSE(transport.repeats());
      CHECK(waitUntil([&] { return !transport.isPlaying(); }));
      CHECK(transport.position() == FrameIndex(1000));
      const std::vector<float> record = monitor.frames();
      std::vector<float> thrice;
      for (int i = 0; i < 3; ++i)
        thrice.insert(thrice.end(), part.begin(), part.end());
      const auto body = std::span(thrice).subspan(400);  // past the fade at the start
      return find(std::span(record).subspan(from), body).likeness > 0.9999;
    });
  }
}

TEST_CASE("device: a key is heard, a second one stops it, and positions follow", "[ui][sound]") {
  if (SoundServer::instance() == nullptr) return;
  const Sink sink("press");
  Transport transport;
  QWidget page;
  ui::PlayRequest request = request_of(noise(96000, 5), "page/1");
  QObject::connect(&transport, &Transport::playAsked, &page, [&] { transport.play(request); });
  struct Filter : QObject {
    explicit Filter(Transport& to) : transport(to) {}
    bool eventFilter(QObject* /*watched*/, QEvent* event) override {
      if (event->type() == QEvent::KeyPress) transport.toggle();
      return false;
    }
    Transport& transport;
  } filter(transport);
  page.installEventFilter(&filter);
  page.show();
  REQUIRE(QTest::qWaitForWindowActive(&page));
  // The device opens with the window, before anything plays.
  REQUIRE(waitUntil([&] { return transport.figures().open; }));
  CHECK(transport.figures().buffer_frames > 0);
  CHECK(transport.figures().buffer_frames <= std::int64_t{48} * 25);
  Monitor monitor(*SoundServer::instance(), QStringLiteral("press"));
  QSignalSpy positions(&transport, &Transport::positionChanged);
  QSignalSpy levels(&transport, &Transport::levelChanged);
  const std::size_t from = monitor.count();
  QElapsedTimer playing;
  playing.start();
  QTest::keyClick(&page, Qt::Key_Space);
  CHECK(transport.isPlaying());
  CHECK(waitUntil([&] { return monitor.first_over(from, 0.01F) >= 0; }, 2000));
  QTest::qWait(1000);
  CHECK(transport.peak() > 0.1F);
  CHECK(positions.count() > 25);
  CHECK(static_cast<double>(positions.count()) < 5.0 + static_cast<double>(playing.elapsed()) / 15);
  CHECK(levels.count() > 25);
  std::int64_t last = -1;
  for (const QList<QVariant>& one : positions) {
    const std::int64_t frame = one.front().value<FrameIndex>().value();
    CHECK(frame >= last);
    last = frame;
  }
  QTest::keyClick(&page, Qt::Key_Space);
  CHECK_FALSE(transport.isPlaying());
  CHECK(transport.peak() == 0.0F);
  const std::int64_t stopped = transport.position().value();
  CHECK(stopped > 24000);
  QTest::qWait(150);
  const std::size_t silent = monitor.count();
  QTest::qWait(150);
  CHECK(monitor.first_over(silent, 1e-6F) == -1);
  CHECK(transport.position().value() == stopped);
  transport.seek(FrameIndex(1234));
  CHECK(transport.position() == FrameIndex(1234));
  transport.seek(FrameIndex(1 << 20));
  CHECK(transport.position() == FrameIndex(95999));
}

TEST_CASE("device: five seconds without a gap", "[ui][sound]") {
  if (SoundServer::instance() == nullptr) return;
  const Sink sink("steady");
  Transport transport;
  REQUIRE(opened(transport));
  ui::PlayRequest request = request_of(std::vector<float>(48000, 0.25F), "steady");
  request.repeat = true;
  // What is missing was counted: at most the buffer and its filling for each time it ran dry. Where
  // the machine stood still, the sound server may have, too. Frames beyond that.
  const auto unexplained = [&] {
    Monitor monitor(*SoundServer::instance(), QStringLiteral("steady"));
    const std::uint64_t before = transport.figures().underruns;
    const Yardstick yardstick;
    transport.play(request);
    REQUIRE(waitUntil([&] { return monitor.first_over(0, 0.2F) >= 0; }));
    QTest::qWait(5000);
    const std::vector<float> record = monitor.frames();
    const auto from = static_cast<std::size_t>(monitor.first_over(0, 0.2F));
    const auto gaps =
        std::count_if(record.begin() + static_cast<std::ptrdiff_t>(from), record.end(),
                      [](float sample) { return std::abs(sample) < 0.2F; });
    const std::uint64_t dry = transport.figures().underruns - before;
    if (dry > 0) WARN("the sound ran dry " << dry << " times in 5 s: the machine is busy");
    CHECK(record.size() - from > std::size_t{4} * 48000);
    CHECK(transport.isPlaying());
    transport.stop();
    const std::int64_t excused = static_cast<std::int64_t>(dry) + yardstick.stalls();
    return std::max<std::int64_t>(0, gaps - excused * 48 * 100);
  };
  // The sound server itself drops a few milliseconds once in a long while: a gap of ours comes
  // again.
  if (const std::int64_t missing = unexplained(); missing > 0) {
    WARN(missing << " frames were missing once");
    CHECK(unexplained() == 0);
  }
}

TEST_CASE("device: playing goes on over another device, another rate, and the loss of one",
          "[ui][sound]") {
  if (SoundServer::instance() == nullptr) return;
  SoundServer& server = *SoundServer::instance();
  auto first = std::make_unique<Sink>("first", 48000);
  Transport transport;
  QSignalSpy troubles(&transport, &Transport::trouble);
  QSignalSpy changes(&transport, &Transport::devicesChanged);
  REQUIRE(opened(transport));
  CHECK(transport.figures().rate_hz == 48000.0);
  ui::PlayRequest request = request_of(std::vector<float>(48000, 0.25F), "on");
  request.repeat = true;
  transport.play(request);

  // The system's default changes.
  const auto plays_on = [&](const char* name) {
    return waitUntil(
        [&] { return transport.figures().open && transport.figures().device.contains(name); });
  };
  CHECK(plays_on("first"));
  auto second = std::make_unique<Sink>("second");
  REQUIRE(plays_on("second"));
  CHECK(changes.count() > 0);
  {
    Monitor monitor(server, QStringLiteral("second"));
    CHECK(waitUntil([&] { return monitor.first_over(0, 0.2F) >= 0; }));
  }
  CHECK(transport.isPlaying());

  // The device is unplugged: the other one goes on.
  second.reset();
  REQUIRE(plays_on("first"));
  CHECK(transport.isPlaying());
  {
    Monitor monitor(server, QStringLiteral("first"));
    CHECK(waitUntil([&] { return monitor.first_over(0, 0.2F) >= 0; }));
  }

  // A chosen device of another rate is taken, and taken again when it comes back.
  auto chosen = std::make_unique<Sink>("chosen", 16000, false);
  QByteArray id;
  REQUIRE(waitUntil([&] {
    for (const Transport::Device& each : transport.devices()) {
      if (each.id.contains("chosen")) id = each.id;
    }
    return !id.isEmpty();
  }));
  transport.setDevice(id);
  REQUIRE(waitUntil([&] { return transport.figures().rate_hz == 16000.0; }));
  chosen.reset();
  REQUIRE(waitUntil([&] { return transport.figures().rate_hz == 48000.0; }));
  chosen = std::make_unique<Sink>("chosen", 16000, false);
  REQUIRE(waitUntil([&] { return transport.figures().rate_hz == 16000.0; }));
  CHECK(transport.isPlaying());
  CHECK(troubles.isEmpty());

  // The last one goes and none comes: it stops and says why.
  first.reset();
  chosen.reset();
  REQUIRE(waitUntil([&] { return !transport.isPlaying(); }));
  REQUIRE(waitUntil([&] { return troubles.count() == 1; }));
  CHECK(troubles[0][0].toString().contains(QStringLiteral("gone")));
  CHECK(transport.peak() == 0.0F);
  CHECK(transport.devices().isEmpty());

  // Nothing there: it says so, and stays where it is.
  request.from = FrameIndex(777);
  transport.play(request);
  CHECK_FALSE(transport.isPlaying());
  CHECK(transport.position() == FrameIndex(777));
  CHECK(transport.request().key == QStringLiteral("on"));
  REQUIRE(troubles.count() == 2);
  CHECK(troubles[1][0].toString().contains(QStringLiteral("No sound device")));

  // One comes: the next press is heard.
  const Sink back("back", 48000);
  REQUIRE(waitUntil([&] { return transport.figures().open; }));
  transport.play(request);
  CHECK(transport.isPlaying());
  Monitor monitor(server, QStringLiteral("back"));
  CHECK(waitUntil([&] { return monitor.first_over(0, 0.2F) >= 0; }));
}

TEST_CASE("device: a take that is gone is told, and playing stops", "[ui][sound]") {
  if (SoundServer::instance() == nullptr) return;
  const Sink sink("missing");
  Transport transport;
  REQUIRE(opened(transport));
  QSignalSpy troubles(&transport, &Transport::trouble);
  ui::PlayRequest request;
  request.source =
      ui::TakeSource{"/nowhere/take.wav", {48000, 2, FrameCount(200000), "WAV float", {}}, {}};
  request.key = QStringLiteral("take/2");
  transport.play(request);
  REQUIRE(waitUntil([&] { return troubles.count() == 1; }));
  CHECK(troubles[0][0].toString().contains(QStringLiteral("/nowhere/take.wav")));
  CHECK_FALSE(transport.isPlaying());
}

TEST_CASE(
    "device: an undo while a segment plays takes the segment back and leaves its sound to the "
    "end",
    "[ui][sound]") {
  if (SoundServer::instance() == nullptr) return;
  const Sink sink("undo");
  const SmallProject small;
  ui::MainWindow window;
  window.questions().close = [](const QString&) { return ui::CloseChoice::discard; };
  window.show();
  REQUIRE(window.openProject(small.path()));
  ui::Workspace& workspace = *window.workspace();
  Transport& transport = window.transport();
  model::Segment cut = workspace.project().segments.back();
  cut.id = {};
  cut.name = "Cut and regretted";
  JobControl job;
  const Result<audio::Clip> heard =
      work::render_segment(workspace.project(), workspace.document().folder(), cut, job);
  REQUIRE(heard);
  REQUIRE(opened(transport));
  Monitor monitor(*SoundServer::instance(), QStringLiteral("undo"));
  in_five_tries([&] {
    CHECK(
        workspace.perform(QStringLiteral("Cut"), {model::Add<model::Segment>{cut, std::nullopt}}));
    const std::size_t count = workspace.project().segments.size();
    window.reveal(QStringLiteral("/segments/%1").arg(count - 1));
    // A try before left the playhead where the segment was when it was taken back.
    window.currentPage()->findChild<ui::TrackView*>()->setPlayhead(cut.range.start);
    const std::size_t from = monitor.count();
    window.currentPage()->playRequested();
    CHECK(waitUntil([&] { return transport.position() > FrameIndex(4'800); }));
    workspace.document().undoStack().undo();
    CHECK(workspace.project().segments.size() == count - 1);
    CHECK(transport.isPlaying());
    CHECK(waitUntil([&] { return !transport.isPlaying(); }));
    QTest::qWait(100);
    const std::vector<float> record = monitor.frames();
    const Found found = find(std::span(record).subspan(from), heard->samples);
    CAPTURE(found.at, found.likeness);
    return found.likeness > 0.9999;
  });
}
