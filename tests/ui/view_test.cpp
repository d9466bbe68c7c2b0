// SPDX-License-Identifier: GPL-3.0-or-later
#include "JobRunner.h"
#include "Theme.h"
#include "support.h"
#include "views/ClipView.h"
#include "views/HeatMap.h"
#include "views/SamplePages.h"
#include "views/Spectra.h"
#include "views/TakeMedia.h"
#include "views/TimeAxis.h"
#include "views/TrackView.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/random.h"
#include "fourbeat/base/sha256.h"

#include <QApplication>
#include <QLabel>
#include <QMouseEvent>
#include <QPaintEvent>
#include <QSignalSpy>
#include <QTest>
#include <QToolButton>
#include <QWheelEvent>
#include <cmath>
#include <numbers>
#include <utility>

using namespace fourbeat;
using namespace fourbeat::tests;
using namespace fourbeat::ui;

namespace {

constexpr qint64 takeFrames = 400'000;

/// Channel 0 a sine of 100 frames a period, channel 1 noise.
audio::Pcm sineAndNoise() {
  Random random(7);
  audio::Pcm pcm{48'000.0, {std::vector<float>(takeFrames), std::vector<float>(takeFrames)}};
  for (std::size_t i = 0; i < pcm.channels[0].size(); ++i) {
    pcm.channels[0][i] = static_cast<float>(
        0.5 * std::sin(2.0 * std::numbers::pi * (static_cast<double>(i) + 0.5) / 100.0));
    pcm.channels[1][i] = static_cast<float>(random.uniform(-0.25, 0.25));
  }
  return pcm;
}

/// A view of a take of two channels, on the screen.
class Shown {
 public:
  explicit Shown(const audio::Pcm& pcm = sineAndNoise()) {
    REQUIRE(audio::write_wav(file(), pcm, audio::WavDepth::f32));
    const auto reader = audio::SoundFileReader::open(file());
    REQUIRE(reader);
    media = std::make_shared<TakeMedia>(
        file(), reader->info(), QString::fromStdString(sha256_hex(folder_.path().string())));
    media->load(jobs);
    REQUIRE(waitUntil([&] { return media->peaks() != nullptr; }));
    view.resize(948 + 4, 420);
    view.setTake(media);
    view.show();
    REQUIRE(QTest::qWaitForWindowExposed(&view));
    view.setFocus();
  }
  ~Shown() { view.setTake(nullptr); }

  [[nodiscard]] std::filesystem::path file() const { return folder_ / "take.wav"; }
  [[nodiscard]] QPoint at(int x, int y) const { return view.lanesRect().topLeft() + QPoint(x, y); }
  [[nodiscard]] QPoint top(int x) const { return at(x, 24); }
  [[nodiscard]] QPoint bottom(int x) const { return at(x, view.lanesRect().height() - 24); }

  void mouse(QEvent::Type type, QPoint place, Qt::KeyboardModifiers modifiers = {},
             Qt::MouseButton button = Qt::LeftButton) {
    const bool move = type == QEvent::MouseMove;
    const Qt::MouseButtons held =
        type == QEvent::MouseButtonRelease ? Qt::MouseButtons() : Qt::MouseButtons(button);
    QMouseEvent event(type, place, view.mapToGlobal(place), move ? Qt::NoButton : button, held,
                      modifiers);
    QApplication::sendEvent(&view, &event);
  }
  void press(QPoint place, Qt::KeyboardModifiers modifiers = {}) {
    mouse(QEvent::MouseButtonPress, place, modifiers);
  }
  void move(QPoint place, Qt::KeyboardModifiers modifiers = {}) {
    mouse(QEvent::MouseMove, place, modifiers);
  }
  void release(QPoint place, Qt::KeyboardModifiers modifiers = {}) {
    mouse(QEvent::MouseButtonRelease, place, modifiers);
  }
  void drag(QPoint from, QPoint to, Qt::KeyboardModifiers modifiers = {}) {
    press(from, modifiers);
    move((from + to) / 2, modifiers);
    move(to, modifiers);
    release(to, modifiers);
  }
  void wheel(QPoint place, int turned, Qt::KeyboardModifiers modifiers = {}) {
    QWheelEvent event(place, view.mapToGlobal(place), {}, {0, turned}, Qt::NoButton, modifiers,
                      Qt::NoScrollPhase, false);
    QApplication::sendEvent(&view, &event);
  }
  void key(Qt::Key which, Qt::KeyboardModifiers modifiers = {}) {
    QTest::keyClick(&view, which, modifiers);
  }
  /// Whether the screen, once it stands still, shows what a full painting gives.
  [[nodiscard]] bool screenIsFresh() {
    REQUIRE(waitUntil([&] { return view.isSettled(); }));
    const auto grab = [&] { return view.screen()->grabWindow(view.winId()).toImage(); };
    // The last page's repaint is posted after it has arrived.
    QImage screen = grab();
    REQUIRE(waitUntil([&] {
      QTest::qWait(100);
      const QImage before = std::exchange(screen, grab());
      return screen == before;
    }));
    view.update();
    QApplication::processEvents();
    return !screen.isNull() && screen == grab();
  }
  [[nodiscard]] QImage picture() {
    REQUIRE(waitUntil([&] {
      view.grab();
      return view.isSettled();
    }));
    return view.grab().toImage();
  }
  /// The colour at a device pixel of the lanes.
  [[nodiscard]] QColor inLanes(const QImage& image, qint64 x, double y) const {
    const double ratio = view.devicePixelRatioF();
    return image.pixelColor(static_cast<int>(std::lround(view.lanesRect().left() * ratio) + x),
                            static_cast<int>(std::lround((view.lanesRect().top() + y) * ratio)));
  }

  JobRunner jobs;
  std::shared_ptr<TakeMedia> media;
  TrackView view;

 private:
  TempFolder folder_;
};

/// What is painted, told by the paint events.
class PaintWatch : public QObject {
 public:
  explicit PaintWatch(QWidget& widget) : widget_(widget) { widget.installEventFilter(this); }
  bool eventFilter(QObject*, QEvent* event) override {
    if (event->type() == QEvent::Paint) {
      painted += static_cast<QPaintEvent*>(event)->region();
    }
    return false;
  }
  /// The area painted inside `part` since the last call, in pixels.
  [[nodiscard]] qint64 areaIn(const QRect& part) {
    QApplication::processEvents();
    widget_.repaint(QRect());
    qint64 area = 0;
    for (const QRect& rect : painted.intersected(part))
      area += static_cast<qint64>(rect.width()) * rect.height();
    painted = QRegion();
    return area;
  }
  QRegion painted;

 private:
  QWidget& widget_;
};

TrackSpan span(TrackSpan::Kind kind, qint64 start, qint64 end, qint64 id, bool movable = false) {
  TrackSpan made;
  made.kind = kind;
  made.range = frame_range(start, end);
  made.label = QStringLiteral("s%1").arg(id);
  made.id = id;
  made.movable = movable;
  return made;
}

double lightness(QRgb color) {
  return oklab(color).l;
}

}  // namespace

TEST_CASE("time axis: a pixel's frame stands in that pixel, at any zoom", "[ui]") {
  Random random(3);
  for (int i = 0; i < 20'000; ++i) {
    TimeAxis axis;
    axis.framesPerPixel = std::pow(10.0, random.uniform(-1.6, 5.0));
    axis.originPixel = static_cast<qint64>(random.uniform(0.0, 1e6));
    const auto x = static_cast<double>(static_cast<int>(random.uniform(0.0, 4000.0)));
    CAPTURE(axis.framesPerPixel, axis.originPixel, x);
    const FrameIndex frame = axis.frameAt(x);
    if (axis.framesPerPixel >= 1.0) {
      REQUIRE(axis.xOf(frame) == static_cast<qint64>(x));
    } else {
      // Below a frame a pixel the nearest frame: half a frame away at most, floored to a pixel.
      REQUIRE(std::fabs(static_cast<double>(axis.xOf(frame)) - x) <=
              0.5 / axis.framesPerPixel + 1.0);
    }
  }
}

TEST_CASE("track view: a drag selects the frames under its ends", "[ui]") {
  Shown shown;
  shown.view.setZoom(10.0, FrameIndex(5000));
  REQUIRE(shown.view.framesPerPixel() == 10.0);
  QSignalSpy told(&shown.view, &TrackView::selectionChanged);
  shown.drag(shown.at(100, 60), shown.at(250, 60));
  CHECK(shown.view.selection() == frame_range(6000, 7500));
  CHECK(told.count() >= 1);
  // Backwards; and with shift the nearer end moves.
  shown.drag(shown.at(400, 60), shown.at(301, 60));
  CHECK(shown.view.selection() == frame_range(8010, 9000));
  shown.press(shown.at(500, 60), Qt::ShiftModifier);
  shown.release(shown.at(500, 60), Qt::ShiftModifier);
  CHECK(shown.view.selection() == frame_range(8010, 10'000));
  CHECK(shown.view.accessibleDescription().contains(QStringLiteral("Selection")));
  // Its ends are handles.
  shown.drag(shown.at(500, 60), shown.at(420, 60));
  CHECK(shown.view.selection() == frame_range(8010, 9200));
  shown.key(Qt::Key_Escape);
  CHECK(shown.view.selection() == std::nullopt);
  CHECK(shown.view.accessibleDescription().contains(QStringLiteral("nothing selected")));
}

TEST_CASE("track view: a click places the playhead and selects nothing", "[ui]") {
  Shown shown;
  shown.view.setZoom(10.0, FrameIndex(5000));
  QSignalSpy placed(&shown.view, &TrackView::playheadPlaced);
  shown.press(shown.at(123, 60));
  shown.move(shown.at(124, 60));
  shown.release(shown.at(124, 60));
  CHECK(shown.view.playhead() == FrameIndex(6230));
  REQUIRE(placed.count() == 1);
  CHECK(placed.front().front().value<FrameIndex>() == FrameIndex(6230));
  CHECK(shown.view.selection() == std::nullopt);
  // Told from outside it is moved in silence.
  shown.view.setPlayhead(FrameIndex(7000));
  CHECK(placed.count() == 1);
  CHECK(shown.view.playhead() == FrameIndex(7000));
}

TEST_CASE("track view: a drag given up with escape leaves all as it was", "[ui]") {
  Shown shown;
  shown.view.setZoom(10.0, FrameIndex(0));
  shown.view.setSelection(frame_range(100, 200));
  shown.press(shown.at(300, 60));
  shown.move(shown.at(500, 60));
  CHECK(shown.view.selection() == frame_range(3000, 5000));
  shown.key(Qt::Key_Escape);
  shown.release(shown.at(500, 60));
  CHECK(shown.view.selection() == frame_range(100, 200));

  const TrackTrim trim{frame_range(2000, 6000), FrameCount(100), FrameCount(100)};
  shown.view.setTrim(trim);
  QSignalSpy moved(&shown.view, &TrackView::trimMoved);
  shown.press(shown.top(200));
  shown.move(shown.top(250), Qt::AltModifier);
  CHECK(shown.view.trim()->range.start == FrameIndex(2500));
  shown.key(Qt::Key_Escape);
  CHECK(shown.view.trim() == trim);
  REQUIRE(moved.count() >= 2);
  CHECK(moved.back()[0].value<TrackTrim>() == trim);
  CHECK(moved.back()[1].toBool());
}

TEST_CASE("track view: wheel, ctrl+wheel and shift+wheel", "[ui]") {
  Shown shown;
  shown.view.setZoom(100.0, FrameIndex(50'000));
  QSignalSpy told(&shown.view, &TrackView::shownRangeChanged);
  const FrameRange before = shown.view.shownRange();
  shown.wheel(shown.at(400, 60), -120);
  CHECK(shown.view.shownRange().start == before.start + FrameCount(9600));
  CHECK(shown.view.shownRange().length() == before.length());
  shown.wheel(shown.at(400, 60), 120);
  CHECK(shown.view.shownRange() == before);
  CHECK(told.count() == 2);

  Random random(11);
  for (int i = 0; i < 60; ++i) {
    const int x = static_cast<int>(random.uniform(1.0, 790.0));
    const double scale = shown.view.framesPerPixel();
    const double kept = static_cast<double>(shown.view.shownRange().start.value()) + x * scale;
    shown.wheel(shown.at(x, 60), random.uniform(0.0, 1.0) < 0.2 ? -120 : 120, Qt::ControlModifier);
    const double now = static_cast<double>(shown.view.shownRange().start.value()) +
                       x * shown.view.framesPerPixel();
    CAPTURE(i, x, scale, shown.view.framesPerPixel());
    // Within a pixel, and the rounding of the range told to whole frames.
    REQUIRE(std::fabs(now - kept) <= std::max(scale, shown.view.framesPerPixel()) + 2.0);
  }
  CHECK(shown.view.framesPerPixel() < 1.0);

  shown.view.setZoom(100.0, FrameIndex(50'000));
  const QImage low = shown.picture();
  shown.wheel(shown.at(400, 60), 240, Qt::ShiftModifier);
  const QImage high = shown.picture();
  CHECK(shown.view.framesPerPixel() == 100.0);
  CHECK(low != high);
  // All out stops where the whole take is in view.
  for (int i = 0; i < 80; ++i)
    shown.wheel(shown.at(100, 60), -120, Qt::ControlModifier);
  CHECK(shown.view.shownRange() == frame_range(0, takeFrames));
}

TEST_CASE("track view: edges, fades and loop are dragged, the release is told", "[ui]") {
  Shown shown;
  TrackView& view = shown.view;
  view.setZoom(10.0, FrameIndex(0));
  QSignalSpy trims(&view, &TrackView::trimMoved);
  QSignalSpy loops(&view, &TrackView::loopMoved);
  view.setTrim(TrackTrim{frame_range(1000, 7000), FrameCount(500), FrameCount(500)});
  const auto alt = Qt::AltModifier;

  shown.press(shown.top(101), alt);
  shown.move(shown.top(131), alt);
  REQUIRE(trims.count() == 1);
  CHECK_FALSE(trims.back()[1].toBool());
  shown.release(shown.top(131), alt);
  REQUIRE(trims.count() == 2);
  CHECK(trims.back()[1].toBool());
  // A handle keeps its distance from the pointer.
  CHECK(trims.back()[0].value<TrackTrim>().range == frame_range(1300, 7000));
  CHECK(view.trim()->range == frame_range(1300, 7000));

  shown.drag(shown.top(700), shown.top(650), alt);
  CHECK(view.trim()->range == frame_range(1300, 6500));
  // Fades: the squares at the top.
  shown.drag(shown.at(180, 6), shown.at(200, 6), alt);
  CHECK(view.trim()->fadeIn == FrameCount(700));
  shown.drag(shown.at(600, 6), shown.at(500, 6), alt);
  CHECK(view.trim()->fadeOut == FrameCount(1500));
  // Fades make room when the segment gets too short for them; never shorter than a frame.
  shown.drag(shown.top(650), shown.top(150), alt);
  CHECK(view.trim()->range == frame_range(1300, 1500));
  CHECK(view.trim()->fadeIn.value() + view.trim()->fadeOut.value() <= 200);
  shown.drag(shown.top(150), shown.top(20), alt);
  CHECK(view.trim()->range == frame_range(1300, 1301));

  view.setTrim(std::nullopt);
  view.setLoop(TrackLoop{frame_range(3000, 6000), FrameCount(500), false});
  shown.press(shown.bottom(300), alt);
  shown.move(shown.bottom(310), alt);
  shown.release(shown.bottom(310), alt);
  REQUIRE(loops.count() == 2);
  CHECK_FALSE(loops.front()[1].toBool());
  CHECK(loops.back()[1].toBool());
  CHECK(view.loop()->range == frame_range(3100, 6000));
  shown.drag(shown.bottom(600), shown.bottom(620), alt);
  CHECK(view.loop()->range == frame_range(3100, 6200));
  // The crossfade's end is at the bottom; it is no longer than what stands before the loop.
  const int low = view.lanesRect().height() - 6;
  shown.drag(shown.at(570, low), shown.at(520, low), alt);
  CHECK(view.loop()->crossfade == FrameCount(1000));
  shown.drag(shown.at(520, low), shown.at(20, low), alt);
  CHECK(view.loop()->crossfade == FrameCount(3100));
}

TEST_CASE("track view: loop and edges part where they meet, by halves", "[ui]") {
  Shown shown;
  shown.view.setZoom(10.0, FrameIndex(0));
  shown.view.setTrim(TrackTrim{frame_range(2000, 6000), FrameCount(0), FrameCount(0)});
  shown.view.setLoop(TrackLoop{frame_range(2000, 6000), FrameCount(0), false});
  shown.drag(shown.bottom(200), shown.bottom(230), Qt::AltModifier);
  CHECK(shown.view.loop()->range.start == FrameIndex(2300));
  CHECK(shown.view.trim()->range.start == FrameIndex(2000));
  shown.drag(shown.top(200), shown.top(180), Qt::AltModifier);
  CHECK(shown.view.trim()->range.start == FrameIndex(1800));
  CHECK(shown.view.loop()->range.start == FrameIndex(2300));
  // The edges hold the loop: a trim stops at it, a loop stops at the edges.
  shown.drag(shown.top(180), shown.top(400), Qt::AltModifier);
  CHECK(shown.view.trim()->range.start == FrameIndex(2300));
  shown.drag(shown.bottom(600), shown.bottom(700), Qt::AltModifier);
  CHECK(shown.view.loop()->range.end == FrameIndex(6000));
}

TEST_CASE("track view: handles snap within six pixels, not with alt", "[ui]") {
  Shown shown;
  TrackView& view = shown.view;
  view.setZoom(100.0, FrameIndex(0));  // too far out for zero crossings
  view.setSpans({span(TrackSpan::Kind::beat, 30'012, 30'012, 1),
                 span(TrackSpan::Kind::mark, 50'000, 55'550, 2)});
  view.setTrim(TrackTrim{frame_range(20'000, 70'000), FrameCount(0), FrameCount(0)});
  shown.drag(shown.top(200), shown.top(305));
  CHECK(view.trim()->range.start == FrameIndex(30'012));
  shown.drag(shown.top(300), shown.top(308));
  CHECK(view.trim()->range.start == FrameIndex(30'812));
  shown.drag(shown.top(308), shown.top(303), Qt::AltModifier);
  CHECK(view.trim()->range.start == FrameIndex(30'312));
  shown.drag(shown.top(700), shown.top(557));
  CHECK(view.trim()->range.end == FrameIndex(55'550));
  view.setSelection(frame_range(60'070, 65'000));
  shown.drag(shown.top(555), shown.top(602));
  CHECK(view.trim()->range.end == FrameIndex(60'070));
}

TEST_CASE("track view: near the samples, handles snap to zero crossings", "[ui]") {
  Shown shown;
  TrackView& view = shown.view;
  view.setZoom(4.0, FrameIndex(10'000));
  view.setTrim(TrackTrim{frame_range(10'400, 12'800), FrameCount(0), FrameCount(0)});
  (void)shown.picture();
  // The sine crosses between frames 99 and 100 of every period, and between 49 and 50.
  shown.drag(shown.top(100), shown.top(159));
  CHECK(view.trim()->range.start == FrameIndex(10'650));
  shown.drag(shown.top(162), shown.top(200), Qt::AltModifier);
  CHECK(view.trim()->range.start == FrameIndex(10'802));
}

TEST_CASE("track view: movable spans are dragged by their ends", "[ui]") {
  Shown shown;
  TrackView& view = shown.view;
  view.setZoom(10.0, FrameIndex(0));
  view.setSpans({span(TrackSpan::Kind::beat, 1000, 1000, 1, true),
                 span(TrackSpan::Kind::mark, 3000, 5000, 2, true),
                 span(TrackSpan::Kind::segment, 6000, 7000, 3)});
  QSignalSpy moved(&view, &TrackView::spanMoved);
  const auto last = [&] {
    REQUIRE(moved.count() > 0);
    const auto arguments = moved.back();
    return std::tuple(arguments[0].toLongLong(), arguments[1].value<FrameRange>(),
                      arguments[2].toBool());
  };
  shown.drag(shown.at(100, 100), shown.at(150, 100), Qt::AltModifier);
  CHECK(last() == std::tuple(qint64{1}, frame_range(1500, 1500), true));
  shown.drag(shown.at(500, 100), shown.at(450, 100), Qt::AltModifier);
  CHECK(last() == std::tuple(qint64{2}, frame_range(3000, 4500), true));
  shown.drag(shown.at(300, 100), shown.at(600, 100), Qt::AltModifier);
  CHECK(last() == std::tuple(qint64{2}, frame_range(4999, 5000), true));
  // What is not movable is no handle: the drag selects.
  moved.clear();
  shown.drag(shown.at(600, 100), shown.at(640, 100), Qt::AltModifier);
  CHECK(moved.count() == 0);
  CHECK(view.selection() == frame_range(6000, 6400));
}

TEST_CASE("track view: a double click selects and activates the smallest span", "[ui]") {
  Shown shown;
  shown.view.setZoom(10.0, FrameIndex(0));
  shown.view.setSpans(
      {span(TrackSpan::Kind::segment, 1000, 7000, 1), span(TrackSpan::Kind::chuff, 2000, 3000, 2)});
  QSignalSpy activated(&shown.view, &TrackView::spanActivated);
  shown.mouse(QEvent::MouseButtonDblClick, shown.at(250, 60));
  CHECK(shown.view.selection() == frame_range(2000, 3000));
  REQUIRE(activated.count() == 1);
  CHECK(activated.back()[0].toLongLong() == 2);
  shown.mouse(QEvent::MouseButtonDblClick, shown.at(500, 60));
  CHECK(shown.view.selection() == frame_range(1000, 7000));
  // A click on the label, and return at the playhead, do the same.
  const QPoint label(shown.at(250, 0).x(), shown.view.lanesRect().top() - 8);
  shown.press(label);
  shown.release(label);
  REQUIRE(activated.count() == 3);
  CHECK(activated.back()[0].toLongLong() == 2);
  shown.view.setPlayhead(FrameIndex(2500));
  shown.view.setSelection(std::nullopt);
  shown.key(Qt::Key_Return);
  CHECK(shown.view.selection() == frame_range(2000, 3000));
  CHECK(activated.count() == 4);
}

TEST_CASE("track view: keys", "[ui]") {
  Shown shown;
  TrackView& view = shown.view;
  view.setZoom(10.0, FrameIndex(0));
  view.setSpans(
      {span(TrackSpan::Kind::beat, 1000, 1000, 1), span(TrackSpan::Kind::mark, 3000, 5000, 2)});
  const auto at = [&](Qt::Key key, Qt::KeyboardModifiers modifiers = {}) {
    shown.key(key, modifiers);
    return view.playhead().value();
  };
  CHECK(at(Qt::Key_Right) == 10);
  CHECK(at(Qt::Key_Right) == 20);
  CHECK(at(Qt::Key_Left) == 10);
  CHECK(at(Qt::Key_Right, Qt::ControlModifier) == 1000);
  CHECK(at(Qt::Key_Right, Qt::ControlModifier) == 3000);
  CHECK(at(Qt::Key_Right, Qt::ControlModifier | Qt::ShiftModifier) == 5000);
  CHECK(view.selection() == frame_range(3000, 5000));
  CHECK(at(Qt::Key_Left, Qt::ControlModifier | Qt::ShiftModifier) == 3000);
  CHECK(view.selection() == std::nullopt);
  CHECK(at(Qt::Key_Left, Qt::ControlModifier | Qt::ShiftModifier) == 1000);
  CHECK(view.selection() == frame_range(1000, 3000));
  CHECK(at(Qt::Key_Home) == 0);
  CHECK(at(Qt::Key_Left) == 0);
  CHECK(at(Qt::Key_End) == takeFrames);
  CHECK(view.shownRange().end == FrameIndex(takeFrames));
  CHECK(at(Qt::Key_Home, Qt::ShiftModifier) == 0);
  CHECK(view.selection() == frame_range(0, takeFrames));
  CHECK(view.shownRange().start == FrameIndex(0));
  shown.key(Qt::Key_Escape);
  CHECK_FALSE(view.selection());
  shown.key(Qt::Key_A, Qt::ControlModifier);
  CHECK(view.selection() == frame_range(0, takeFrames));

  // The edges of a selection are stops, and go along with shift from where one stands on them.
  view.setSelection(frame_range(6000, 8000));
  view.setPlayhead(FrameIndex(5500));
  CHECK(at(Qt::Key_Right, Qt::ControlModifier) == 6000);
  CHECK(at(Qt::Key_Right, Qt::ControlModifier) == 8000);
  CHECK(at(Qt::Key_Left, Qt::ShiftModifier) == 7990);
  CHECK(view.selection() == frame_range(6000, 7990));
  const QImage low = view.grab().toImage();
  shown.key(Qt::Key_Up, Qt::ShiftModifier);
  CHECK(view.grab().toImage() != low);
  shown.key(Qt::Key_Down, Qt::ShiftModifier);
  CHECK(view.grab().toImage() == low);
  shown.key(Qt::Key_A, Qt::ControlModifier);

  const double scale = view.framesPerPixel();
  shown.key(Qt::Key_Up);
  CHECK(view.framesPerPixel() < scale);
  shown.key(Qt::Key_Down);
  CHECK(view.framesPerPixel() == Approx(scale));
  shown.key(Qt::Key_Plus);
  CHECK(view.framesPerPixel() < scale);
  shown.key(Qt::Key_Minus);
  CHECK(view.framesPerPixel() == Approx(scale));
  const FrameRange page = view.shownRange();
  shown.key(Qt::Key_PageDown);
  CHECK(view.shownRange().start > page.start);
  shown.key(Qt::Key_PageUp);
  CHECK(view.shownRange().start == page.start);
}

TEST_CASE("track view: mute and solo say what is heard", "[ui]") {
  Shown shown;
  TrackView& view = shown.view;
  view.setChannelNames({QStringLiteral("chimney"), QStringLiteral("cab")});
  QSignalSpy told(&view, &TrackView::gainsChanged);
  const auto button = [&](const QString& name) {
    for (auto* candidate : view.findChildren<QToolButton*>()) {
      if (candidate->accessibleName() == name) return candidate;
    }
    return static_cast<QToolButton*>(nullptr);
  };
  QToolButton* mute = button(QStringLiteral("Mute chimney"));
  QToolButton* solo = button(QStringLiteral("Solo chimney"));
  REQUIRE(mute);
  REQUIRE(solo);
  CHECK(view.gains() == std::vector<float>{1.0F, 1.0F});
  QTest::mouseClick(mute, Qt::LeftButton);
  CHECK(view.gains() == std::vector<float>{0.0F, 1.0F});
  QTest::mouseClick(mute, Qt::LeftButton);
  // By keyboard: tab from the view to the button, space.
  CHECK((solo->focusPolicy() & Qt::TabFocus) == Qt::TabFocus);
  QTest::keyClick(solo, Qt::Key_Space);
  CHECK(view.gains() == std::vector<float>{1.0F, 0.0F});
  QTest::mouseClick(mute, Qt::LeftButton);
  CHECK(view.gains() == std::vector<float>{0.0F, 0.0F});
  CHECK(told.count() == 4);
}

TEST_CASE("track view: a drag beyond the edge scrolls and goes on selecting", "[ui]") {
  Shown shown;
  shown.view.setZoom(10.0, FrameIndex(0));
  const int width = shown.view.lanesRect().width();
  shown.press(shown.at(300, 60));
  shown.move(shown.at(width + 40, 60));
  REQUIRE(waitUntil([&] { return shown.view.shownRange().start > FrameIndex(2000); }, 5000));
  shown.release(shown.at(width + 40, 60));
  const FrameRange range = shown.view.shownRange();
  REQUIRE(shown.view.selection());
  CHECK(shown.view.selection()->start == FrameIndex(3000));
  CHECK(shown.view.selection()->end >= range.end - FrameCount(10));
  QTest::qWait(80);
  CHECK(shown.view.shownRange() == range);
}

TEST_CASE("track view: the playhead turns the page only when it leaves it", "[ui]") {
  Shown shown;
  TrackView& view = shown.view;
  view.setZoom(10.0, FrameIndex(20'000));
  const FrameRange page = view.shownRange();
  view.setPlayhead(FrameIndex(50'000));
  CHECK(view.shownRange() == page);  // it was out of view before: the designer looks elsewhere
  view.setPlayhead(page.end - FrameCount(20));
  CHECK(view.shownRange() == page);
  view.setPlayhead(page.end + FrameCount(10));
  CHECK(view.shownRange().start > page.start + FrameCount(5000));
  CHECK(view.shownRange().start < page.end + FrameCount(10));
}

TEST_CASE("track view: what moves is painted, and no more", "[ui]") {
  Shown shown;
  TrackView& view = shown.view;
  view.setZoom(100.0, FrameIndex(0));
  (void)shown.picture();
  QApplication::processEvents();
  PaintWatch watch(view);
  (void)watch.areaIn(view.rect());
  const QRect lanes = view.lanesRect();
  const qint64 all = static_cast<qint64>(lanes.width()) * lanes.height();
  view.setPlayhead(FrameIndex(30'000));
  const qint64 strip = watch.areaIn(lanes);
  CHECK(strip > 0);
  CHECK(strip <= 8LL * lanes.height());
  // A scroll moves what is there and paints the strip that comes in.
  view.scrollBy(20);
  const qint64 scrolled = watch.areaIn(lanes);
  CHECK(scrolled >= 20LL * lanes.height());
  CHECK(scrolled <= 24LL * lanes.height());
  CHECK(scrolled * 10 < all);
}

TEST_CASE("track view: after scrolls, the screen shows what a fresh painting shows",
          "[ui][pixels]") {
  Shown shown;
  TrackView& view = shown.view;
  view.setSpans({span(TrackSpan::Kind::beat, 30'012, 30'012, 1),
                 span(TrackSpan::Kind::unusable, 50'000, 55'550, 2)});
  view.setLoop(TrackLoop{frame_range(20'000, 60'000), FrameCount(5000), false});
  view.setSelection(frame_range(25'000, 45'000));
  view.setZoom(100.0, FrameIndex(0));
  (void)shown.picture();
  for (const int step : {20, 33, 1, 150, -70}) {
    view.scrollBy(step);
    QApplication::processEvents();
  }
  CHECK(shown.screenIsFresh());
}

TEST_CASE("track view: sound read later than the rest of a tile renews it", "[ui][pixels]") {
  for (const int beyond_px : {1, 20, 60, 120}) {
    Shown shown;
    // The next page begins beside the view, inside the last tile.
    const qint64 seen = qint64{100} * shown.view.lanesRect().width();
    const qint64 page = (seen / SamplePages::pageFrames + 1) * SamplePages::pageFrames;
    shown.view.setZoom(100.0, FrameIndex(page - seen - qint64{100} * beyond_px));
    INFO(beyond_px << " pixels beyond the edge");
    CHECK(shown.screenIsFresh());
  }
}

TEST_CASE("track view: marks stand at the pixel of their frame", "[ui][pixels]") {
  Shown shown;
  TrackView& view = shown.view;
  const double ratio = view.devicePixelRatioF();
  const Theme& theme = Theme::instance();
  for (const double zoom : {1000.0 / 7.0, 10.0, 3.3, 0.25}) {
    const FrameIndex start(41'000);
    view.setZoom(zoom, start);
    std::vector<TrackSpan> beats;
    std::vector<qint64> frames;
    for (int i = 1; i < 8; ++i) {
      frames.push_back(41'000 + static_cast<qint64>(i * 97.0 * zoom) + i);
      beats.push_back(span(TrackSpan::Kind::beat, frames.back(), frames.back(), i));
    }
    view.setSpans(beats);
    const QImage image = shown.picture();
    const double origin =
        std::round(static_cast<double>(view.shownRange().start.value()) / zoom * ratio);
    for (const qint64 frame : frames) {
      const auto due = static_cast<qint64>(
          std::floor(static_cast<double>(frame) / zoom * ratio + 1e-6) - origin);
      CAPTURE(zoom, frame, ratio);
      REQUIRE(view.deviceXOf(FrameIndex(frame)) == due);
      // In a part of the lane without sound: the mark's ink, over the surface on either side.
      const double y = 3.0;
      const QColor mark = shown.inLanes(image, due, y);
      const QColor left = shown.inLanes(image, due - 1, y);
      const QColor right = shown.inLanes(image, due + std::max(1, static_cast<int>(ratio)), y);
      CHECK(left == theme.color(Theme::Ink::surface));
      CHECK(right == theme.color(Theme::Ink::surface));
      CHECK(mark != left);
    }
  }
}

TEST_CASE("track view: samples are drawn where they are", "[ui][pixels]") {
  audio::Pcm pcm{48'000.0, {std::vector<float>(4000, 0.0F)}};
  pcm.channels[0][1000] = 0.8F;
  pcm.channels[0][3000] = -1.0F;
  Shown shown(pcm);
  TrackView& view = shown.view;
  const double ratio = view.devicePixelRatioF();
  view.setZoom(1.0 / 16.0, FrameIndex(990));
  const QImage image = shown.picture();
  // A dot of the body ink at the sample's pixel and height, and only there.
  const QRect lane = view.laneRect(0);
  const double y = 0.5 * lane.height() - 0.8 * (0.5 * lane.height() - 1.0);
  const QColor ink = Theme::instance().color(Theme::Ink::waveBody);
  const qint64 x = view.deviceXOf(FrameIndex(1000));
  CHECK(x == std::lround(160 * ratio));
  CHECK(shown.inLanes(image, x, y) == ink);
  CHECK(shown.inLanes(image, x + std::lround(16 * ratio), y) != ink);
  CHECK(shown.inLanes(image, x - std::lround(16 * ratio), y) != ink);
}

TEST_CASE("track view: painting reads no file above a block a pixel, and never waits", "[ui]") {
  Shown shown;
  TrackView& view = shown.view;
  const double block = static_cast<double>(shown.media->peaks()->block_frames().value());
  view.setZoom(block * 2.0, FrameIndex(0));
  const QImage before = shown.picture();
  std::filesystem::remove(shown.file());
  for (int i = 0; i < 10; ++i) {
    view.scrollBy(i % 2 == 0 ? 40 : -40);
    view.grab();
  }
  QApplication::processEvents();
  CHECK(shown.media->samples().pagesRead() == 0);
  CHECK_FALSE(shown.media->samples().isBroken());
  CHECK(shown.picture() == before);
  // Closer, what the peaks know is shown; that the file is gone does no harm.
  view.setZoom(block / 8.0, FrameIndex(0));
  view.grab();
  REQUIRE(waitUntil([&] { return shown.media->samples().isBroken(); }));
  const QImage coarse = shown.picture();
  const QRect lane = view.laneRect(0);
  const QColor middle = shown.inLanes(coarse, 300, lane.height() / 2.0 - 2.0);
  CHECK(middle != Theme::instance().color(Theme::Ink::surface));
}

TEST_CASE("track view: under the blocks of the peaks it shows what the samples say", "[ui]") {
  // Silence but for one sample: at every zoom it shows in one column only.
  audio::Pcm pcm{48'000.0, {std::vector<float>(200'000, 0.0F)}};
  pcm.channels[0][100'000] = 0.9F;
  Shown shown(pcm);
  TrackView& view = shown.view;
  const double ratio = view.devicePixelRatioF();
  for (const double zoom : {40.0 * ratio, 20.0 * ratio, 4.0 * ratio, 1.5 * ratio}) {
    view.setZoom(zoom, FrameIndex(100'000 - static_cast<qint64>(300 * zoom)));
    const QImage image = shown.picture();
    const qint64 x = view.deviceXOf(FrameIndex(100'000));
    const double y = view.laneRect(0).height() * 0.25;
    const QColor surface = Theme::instance().color(Theme::Ink::surface);
    CAPTURE(zoom);
    CHECK(shown.inLanes(image, x, y) != surface);
    CHECK(shown.inLanes(image, x - 1, y) == surface);
    CHECK(shown.inLanes(image, x + 2, y) == surface);
  }
  CHECK(shown.media->samples().pagesRead() > 0);
}

TEST_CASE("track view: a take that is missing says so, and is shown once it is back", "[ui]") {
  const SmallProject small;
  const auto document = small.open();
  JobRunner jobs;
  MediaLibrary library(*document, jobs);
  const model::Take& take = document->project().takes[0];
  const auto path = small.folder() / take.path;
  const auto away = small.folder() / "away";
  std::filesystem::rename(path, away);
  const auto media = library.of(take.id);
  REQUIRE(media);
  CHECK(library.of(take.id) == media);
  TrackView view;
  view.resize(700, 300);
  view.setTake(media);
  view.show();
  REQUIRE(waitUntil([&] { return !media->trouble().isEmpty(); }));
  CHECK(view.accessibleDescription() == media->trouble());
  CHECK(view.isSettled());
  std::filesystem::rename(away, path);
  library.refresh();
  REQUIRE(waitUntil([&] { return media->peaks() != nullptr; }));
  CHECK(media->trouble().isEmpty());
  CHECK(view.accessibleDescription().contains(QStringLiteral("channel")));
  // The next time the peaks come from the cache.
  CHECK(std::filesystem::exists(cacheFolder() / "peaks" / take.sha256));
  view.setTake(nullptr);
  CHECK(library.of(Id<model::Take>(999'999)) == nullptr);
}

TEST_CASE("sample pages: what was asked before and not read yet is dropped", "[ui]") {
  const TempFolder folder;
  audio::Pcm pcm{48'000.0, {std::vector<float>(3'000'000, 0.25F)}};
  REQUIRE(audio::write_wav(folder / "t.wav", pcm, audio::WavDepth::s16));
  SamplePages pages(folder / "t.wav", FrameCount(3'000'000), 1);
  pages.want(frame_range(0, 3'000'000), SamplePages::Depth::fine);
  pages.want(frame_range(0, 10), SamplePages::Depth::samples);
  REQUIRE(waitUntil([&] { return !pages.isReading(); }));
  CHECK(pages.page(0, SamplePages::Depth::samples) != nullptr);
  CHECK(pages.pagesRead() <= 3);
  const auto samples = pages.samples(0, frame_range(5, 9));
  REQUIRE(samples);
  CHECK(*samples == std::vector<float>(4, 0.25F));
  CHECK_FALSE(pages.samples(0, frame_range(65'530, 65'540)));
}

TEST_CASE("spectra: a sine stands at its frequency and level", "[ui]") {
  const TempFolder folder;
  audio::Pcm pcm{48'000.0, {std::vector<float>(480'000)}};
  for (std::size_t i = 0; i < pcm.channels[0].size(); ++i) {
    pcm.channels[0][i] = static_cast<float>(
        0.1 * std::sin(2.0 * std::numbers::pi * 3000.0 * static_cast<double>(i) / 48'000.0));
  }
  REQUIRE(audio::write_wav(folder / "t.wav", pcm, audio::WavDepth::f32));
  auto reader = audio::SoundFileReader::open(folder / "t.wav");
  REQUIRE(reader);
  for (const bool linear : {false, true}) {
    for (const double zoom : {20.0, 400.0, 1500.0, 9000.0}) {
      CAPTURE(linear, zoom);
      const auto tile = computeSpectrum(*reader, {0, zoom, linear}, [] { return false; });
      REQUIRE(tile);
      const std::vector<quint8>& levels = (*tile)->levels[0];
      int loudest = 0;
      const auto level = [&](int row) {
        return levels[static_cast<std::size_t>(row) * SpectrumTile::columns + 20];
      };
      for (int row = 0; row < SpectrumTile::rows; ++row) {
        if (level(row) > level(loudest)) loudest = row;
      }
      const FrequencyAxis axis{linear, 48'000.0};
      const double place = (loudest + 0.5) / SpectrumTile::rows;
      // The short windows of close zooms tell frequencies apart by 94 Hz.
      CHECK(axis.hzAt(place) == Approx(3000.0).margin(zoom < 96.0 ? 100.0 : 40.0));
      const double db = level(loudest) * SpectrumTile::stepDb + SpectrumTile::quietDb;
      CHECK(db == Approx(-20.0).margin(1.5));
    }
  }
  const auto given_up = computeSpectrum(*reader, {0, 400.0, false}, [] { return true; });
  REQUIRE(given_up);
  CHECK(*given_up == nullptr);
}

TEST_CASE("spectra: stretches that scrolled away are given up", "[ui]") {
  const TempFolder folder;
  audio::Pcm pcm{48'000.0, {}};
  for (int c = 0; c < 4; ++c)
    pcm.channels.emplace_back(2'000'000, 0.1F);
  REQUIRE(audio::write_wav(folder / "t.wav", pcm, audio::WavDepth::s16));
  Spectra spectra(folder / "t.wav", FrameCount(2'000'000), 4);
  std::vector<SpectrumKey> all;
  for (qint64 i = 0; i < 40; ++i)
    all.push_back({i, 100.0, false});
  spectra.want(all);
  const SpectrumKey last{60, 100.0, false};
  spectra.want({last});
  REQUIRE(waitUntil([&] { return spectra.tile(last) != nullptr; }));
  CHECK(spectra.tilesDone() + spectra.tilesCancelled() <= 6);
}

TEST_CASE("track view: the spectrogram comes in the background and is drawn by its axis",
          "[ui][pixels]") {
  audio::Pcm pcm{48'000.0, {std::vector<float>(96'000)}};
  for (std::size_t i = 0; i < pcm.channels[0].size(); ++i) {
    pcm.channels[0][i] = static_cast<float>(
        0.5 * std::sin(2.0 * std::numbers::pi * 1000.0 * static_cast<double>(i) / 48'000.0));
  }
  Shown shown(pcm);
  TrackView& view = shown.view;
  view.setLook(TrackView::Look::spectrogram);
  for (const bool linear : {false, true}) {
    view.setLinearFrequencies(linear);
    view.grab();
    CHECK_FALSE(view.isSettled());
    const QImage image = shown.picture();
    const QRect area = view.spectrumRect(0);
    const FrequencyAxis axis{linear, 48'000.0};
    const auto y_of = [&](double hz) {
      return area.top() - view.lanesRect().top() + (1.0 - axis.placeOf(hz)) * area.height();
    };
    const qint64 x = std::lround(300 * view.devicePixelRatioF());
    const double at_tone = lightness(shown.inLanes(image, x, y_of(1000.0)).rgb());
    const double above = lightness(shown.inLanes(image, x, y_of(4000.0)).rgb());
    const double below = lightness(shown.inLanes(image, x, y_of(linear ? 400.0 : 200.0)).rgb());
    // On a light paper loud is dark.
    CHECK(at_tone < above - 0.2);
    CHECK(at_tone < below - 0.2);
  }
  view.setLook(TrackView::Look::both);
  (void)shown.picture();
  CHECK(view.spectrumRect(0).top() > view.laneRect(0).top());
  CHECK(view.spectrumRect(0).bottom() == view.laneRect(0).bottom());
}

TEST_CASE("heat map: lightness runs one way, steps are even, quiet is the paper", "[ui]") {
  for (const bool dark : {false, true}) {
    const HeatMap& map = heatMap(dark);
    CHECK(map[0] == Theme::color(Theme::Ink::surface, dark).rgb());
    double least = 1e9;
    double most = 0.0;
    constexpr std::size_t stride = 15;  // 8-bit rounding hides single steps
    for (std::size_t i = 0; i + stride < map.size(); i += stride) {
      const Oklab a = oklab(map[i]);
      const Oklab b = oklab(map[i + stride]);
      if (dark) {
        CHECK(b.l > a.l);
      } else {
        CHECK(b.l < a.l);
      }
      const double step = std::hypot(b.l - a.l, b.a - a.a, b.b - a.b);
      least = std::min(least, step);
      most = std::max(most, step);
    }
    CHECK(most < 1.25 * least);
    CHECK(std::fabs(oklab(map[255]).l - oklab(map[0]).l) > 0.6);
  }
}

TEST_CASE("clip view: clicks, keys and paging", "[ui]") {
  auto clip = std::make_shared<audio::Clip>();
  clip->sample_rate_hz = 22'050.0;
  clip->samples.assign(60'000, 0.25F);
  clip->loop = frame_range(20'000, 40'000);
  ClipView view;
  view.resize(604, 140);
  view.setClip(clip);
  view.setMarks(
      {{FrameIndex(30'000), QStringLiteral("b")}, {FrameIndex(10'000), QStringLiteral("a")}});
  view.show();
  REQUIRE(QTest::qWaitForWindowExposed(&view));
  REQUIRE(view.shownRange() == frame_range(0, 60'000));
  CHECK(view.accessibleDescription().contains(QStringLiteral("loop")));
  QSignalSpy placed(&view, &ClipView::playheadPlaced);
  const QRect lane = view.laneRect();
  REQUIRE(lane.width() == 600);
  QTest::mouseClick(&view, Qt::LeftButton, {}, lane.topLeft() + QPoint(150, 20));
  CHECK(view.playhead() == FrameIndex(15'000));
  REQUIRE(placed.count() == 1);
  view.setFocus();
  const auto at = [&](Qt::Key key, Qt::KeyboardModifiers modifiers = {}) {
    QTest::keyClick(&view, key, modifiers);
    return view.playhead().value();
  };
  CHECK(at(Qt::Key_Right) == 15'100);
  CHECK(at(Qt::Key_Right, Qt::ControlModifier) == 20'000);
  CHECK(at(Qt::Key_Right, Qt::ControlModifier) == 30'000);
  CHECK(at(Qt::Key_Left, Qt::ControlModifier) == 20'000);
  CHECK(at(Qt::Key_Left, Qt::ControlModifier) == 10'000);
  CHECK(at(Qt::Key_Left, Qt::ControlModifier) == 0);
  CHECK(at(Qt::Key_End) == 60'000);
  CHECK(at(Qt::Key_Home) == 0);
  view.zoom(10.0);
  const FrameRange page = view.shownRange();
  CHECK(page.start == FrameIndex(0));
  view.setPlayhead(page.end + FrameCount(100));
  CHECK(view.shownRange().start > page.start);
  CHECK(view.playhead() == page.end + FrameCount(100));
  // The loop is drawn where its frames stand.
  view.showAll();
  const QImage image = view.grab().toImage();
  const double ratio = view.devicePixelRatioF();
  const auto color = [&](FrameIndex frame) {
    return image.pixelColor(
        static_cast<int>(std::lround(lane.left() * ratio) + view.deviceXOf(frame)),
        static_cast<int>((lane.top() + 4) * ratio));
  };
  CHECK(color(FrameIndex(20'000)) == Theme::instance().color(Theme::Ink::loop));
  CHECK(color(FrameIndex(45'000)) == Theme::instance().color(Theme::Ink::surface));
  view.setClip(nullptr);
  view.grab();
  CHECK(view.accessibleDescription() == QStringLiteral("No sound is shown."));
}

TEST_CASE("clip view: a stretch is selected by drag, double click and keys", "[ui]") {
  auto clip = std::make_shared<audio::Clip>();
  clip->sample_rate_hz = 22'050.0;
  clip->samples.assign(60'000, 0.25F);
  ClipView view;
  view.resize(604, 140);
  view.setClip(clip);
  view.setMarks({{FrameIndex(10'000), {}}, {FrameIndex(30'000), {}}});
  view.show();
  REQUIRE(QTest::qWaitForWindowExposed(&view));
  view.setFocus();
  const auto at = [&](int x) { return view.laneRect().topLeft() + QPoint(x, 20); };
  const auto drag = [&](int from, int to, Qt::KeyboardModifiers modifiers = {}) {
    QTest::mousePress(&view, Qt::LeftButton, modifiers, at(from));
    QTest::mouseMove(&view, at(to));
    QTest::mouseRelease(&view, Qt::LeftButton, modifiers, at(to));
  };
  drag(100, 200);
  CHECK(view.selection() == frame_range(10'000, 20'000));
  CHECK(view.playhead() == FrameIndex(0));
  CHECK(view.accessibleDescription().contains(QStringLiteral("selection")));
  drag(200, 250);  // its edge
  CHECK(view.selection() == frame_range(10'000, 25'000));
  drag(50, 50, Qt::ShiftModifier);
  CHECK(view.selection() == frame_range(5'000, 25'000));
  // The edge that the playhead stands on goes along with shift.
  const auto key = [&](Qt::Key which, Qt::KeyboardModifiers modifiers = {}) {
    QTest::keyClick(&view, which, modifiers);
  };
  key(Qt::Key_Right, Qt::ControlModifier);
  CHECK(view.playhead() == FrameIndex(5'000));
  key(Qt::Key_Right, Qt::ShiftModifier);
  key(Qt::Key_Right, Qt::ShiftModifier);
  CHECK(view.selection() == frame_range(5'200, 25'000));
  QTest::mouseDClick(&view, Qt::LeftButton, {}, at(150));
  CHECK(view.selection() == frame_range(10'000, 30'000));
  QTest::mousePress(&view, Qt::LeftButton, {}, at(400));
  QTest::mouseMove(&view, at(500));
  CHECK(view.selection() == frame_range(40'000, 50'000));
  key(Qt::Key_Escape);
  CHECK(view.selection() == frame_range(10'000, 30'000));
  QTest::mouseRelease(&view, Qt::LeftButton, {}, at(500));
  key(Qt::Key_Escape);
  CHECK(view.selection() == std::nullopt);
  key(Qt::Key_A, Qt::ControlModifier);
  CHECK(view.selection() == frame_range(0, 60'000));
  view.zoom(10.0);
  const FrameRange page = view.shownRange();
  key(Qt::Key_PageDown);
  CHECK(view.shownRange().start == page.start + FrameCount(5'400));
  key(Qt::Key_PageUp);
  CHECK(view.shownRange() == page);
  key(Qt::Key_0);
  CHECK(view.shownRange() == frame_range(0, 60'000));
  view.setClip(std::make_shared<audio::Clip>(*clip));
  CHECK(view.selection() == std::nullopt);
}

TEST_CASE("clip view: what is scrolled to is drawn as if it had been shown at once",
          "[ui][pixels]") {
  Random random(3);
  auto clip = std::make_shared<audio::Clip>();
  clip->sample_rate_hz = 48'000.0;
  for (int i = 0; i < 60'000; ++i)
    clip->samples.push_back(static_cast<float>(random.uniform(-0.8, 0.8)));
  const double zoom = GENERATE(3.0, 40.0, 800.0);  // peaks, few frames a pixel, single samples
  const auto make = [&] {
    auto view = std::make_unique<ClipView>();
    view->resize(604, 140);
    view->setClip(clip);
    view->show();
    view->zoom(zoom);
    return view;
  };
  const auto scroll = [](ClipView& view, int by, Qt::KeyboardModifiers modifiers = {}) {
    const QPointF middle(300, 80);
    QWheelEvent wheel(middle, view.mapToGlobal(middle), {}, QPoint(0, by), Qt::NoButton, modifiers,
                      Qt::NoScrollPhase, false);
    QCoreApplication::sendEvent(&view, &wheel);
  };
  const auto walked = make();
  for (int i = 0; i < 40; ++i) {
    scroll(*walked, i % 4 == 3 ? 37 : -53);
    walked->grab();
  }
  const auto at_once = make();
  for (int i = 0; i < 40; ++i)
    scroll(*at_once, i % 4 == 3 ? 37 : -53);
  CHECK(walked->shownRange() == at_once->shownRange());
  CHECK(walked->shownRange().start > FrameIndex(0));
  const QImage before = at_once->grab().toImage();
  CHECK(walked->grab().toImage() == before);
  // And higher, by wheel and key alike.
  scroll(*walked, 120, Qt::ShiftModifier);
  CHECK(walked->grab().toImage() != before);
  scroll(*walked, -120, Qt::ShiftModifier);
  CHECK(walked->grab().toImage() == before);
  QTest::keyClick(walked.get(), Qt::Key_Up, Qt::ShiftModifier);
  CHECK(walked->grab().toImage() != before);
  QTest::keyClick(walked.get(), Qt::Key_Down, Qt::ShiftModifier);
  CHECK(walked->grab().toImage() == before);
}

TEST_CASE("views: playhead and edges stand out from the wave by a line of paper on either side",
          "[ui][pixels]") {
  const bool dark = GENERATE(false, true);
  Theme::instance().setMode(dark ? Theme::Mode::dark : Theme::Mode::light);
  const auto ink = [](Theme::Ink which) { return Theme::instance().color(which); };
  const QColor paper = ink(Theme::Ink::surface);
  /// An upright line: its first and last pixel, in a row of an image.
  const auto stands = [&](const QImage& image, int x, int wide, int y, Theme::Ink which) {
    CAPTURE(x, wide, y);
    CHECK(image.pixelColor(x, y) == ink(which));
    CHECK(image.pixelColor(x + wide - 1, y) == ink(which));
    CHECK(image.pixelColor(x - 1, y) == paper);
    CHECK(image.pixelColor(x + wide, y) == paper);
  };

  Shown shown;
  const double ratio = shown.view.devicePixelRatioF();
  const int hair = std::max(1, static_cast<int>(ratio));
  const int thick = static_cast<int>(std::lround(2.0 * ratio));
  shown.view.setZoom(10.0, FrameIndex(0));
  shown.view.setTrim(TrackTrim{frame_range(1000, 7500), {}, {}});
  shown.view.setLoop(TrackLoop{frame_range(2000, 6000), {}, false});
  shown.view.setPlayhead(FrameIndex(4000));
  const QImage track = shown.picture();
  const QRect lane = shown.view.laneRect(0);
  const auto x = [&](std::int64_t frame) {
    return static_cast<int>(std::lround(lane.left() * ratio) +
                            shown.view.deviceXOf(FrameIndex(frame)));
  };
  const int y = static_cast<int>((lane.center().y() - 5) * ratio);
  stands(track, x(4000), hair, y, Theme::Ink::playhead);
  stands(track, x(1000), thick, y, Theme::Ink::trim);
  stands(track, x(7500) - thick, thick, y, Theme::Ink::trim);
  stands(track, x(2000), thick, y, Theme::Ink::loop);
  stands(track, x(6000) - thick, thick, y, Theme::Ink::loop);

  Random random(4);
  auto clip = std::make_shared<audio::Clip>();
  clip->sample_rate_hz = 48'000.0;
  for (int i = 0; i < 60'000; ++i)
    clip->samples.push_back(static_cast<float>(random.uniform(-0.9, 0.9)));
  clip->loop = frame_range(20'000, 40'000);
  ClipView view;
  view.resize(604, 140);
  view.setClip(clip);
  view.show();
  view.setPlayhead(FrameIndex(30'000));
  const QImage image = view.grab().toImage();
  const auto inClip = [&](std::int64_t frame) {
    return static_cast<int>(std::lround(view.laneRect().left() * ratio) +
                            view.deviceXOf(FrameIndex(frame)));
  };
  const int row = static_cast<int>((view.laneRect().center().y() - 5) * ratio);
  CHECK(image.pixelColor(inClip(10'000), row) == ink(Theme::Ink::waveBody));
  stands(image, inClip(30'000), hair, row, Theme::Ink::playhead);
  stands(image, inClip(20'000), thick, row, Theme::Ink::loop);
  stands(image, inClip(40'000) - thick, thick, row, Theme::Ink::loop);
  Theme::instance().setMode(Theme::Mode::light);
}
