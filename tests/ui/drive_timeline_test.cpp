// SPDX-License-Identifier: GPL-3.0-or-later
// The run along its axis while it grows.
#include "Theme.h"
#include "models/DriveEventModel.h"
#include "models/RunChart.h"
#include "support.h"
#include "support/catch.h"
#include "views/DriveTimeline.h"

#include <QAbstractItemModelTester>
#include <QElapsedTimer>
#include <QImage>
#include <QPaintEvent>
#include <QTest>
#include <QWheelEvent>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

constexpr int rate_hz = 1000;
constexpr double tick_s = 0.03;

/// Counts the pixels that a widget is asked to paint.
class PaintCount : public QObject {
 public:
  long pixels = 0;

 protected:
  bool eventFilter(QObject* watched, QEvent* event) override {
    if (event->type() == QEvent::Paint) {
      for (const QRect& rect : static_cast<QPaintEvent*>(event)->region())
        pixels += 1L * rect.width() * rect.height();
    }
    return QObject::eventFilter(watched, event);
  }
};

/// A drive as an engine tells it, tick by tick: speed ten times a second, beats and their voices
/// four, another state every 7 s, a key every 5, a CV every 11.
struct Drive {
  ui::ChartMaker maker{rate_hz, {}, 126, 60.0};
  ui::DriveTimeline timeline;
  double now_s = 0.0;
  int voice = 0;
  long events = 0;

  Drive() {
    timeline.resize(700, 400);
    timeline.setChart(maker.chart());
    timeline.show();
  }
  static bool comes(double from_s, double to_s, double every_s) {
    return std::floor(from_s / every_s) != std::floor(to_s / every_s);
  }
  drive::Event event(drive::EventKind kind) {
    ++events;
    drive::Event made;
    made.kind = kind;
    made.frame = std::llround(now_s * rate_hz);
    return made;
  }
  void beat() {
    drive::Event made = event(drive::EventKind::beat);
    made.effort = comes(now_s - 0.25, now_s, 3.0) ? model::Effort::hard : model::Effort::easy;
    maker.take(made);
    made = event(drive::EventKind::voice_end);
    made.number = voice;
    made.reason = "ended";
    maker.take(made);
    voice = (voice + 1) % 3;
    made = event(drive::EventKind::voice_start);
    made.number = voice;
    made.text = "chuff";
    made.reason = "beat";
    maker.take(made);
  }
  double tick() {
    const double before = now_s;
    now_s += tick_s;
    if (comes(before, now_s, 0.1)) {
      drive::Event speed = event(drive::EventKind::speed);
      speed.speed_kmh = 30.0 + 25.0 * std::sin(now_s / 9.0);
      maker.take(speed);
    }
    if (comes(before, now_s, 0.25)) beat();
    if (comes(before, now_s, 7.0)) {
      drive::Event state = event(drive::EventKind::state);
      state.text = comes(before, now_s, 14.0) ? "working" : "coasting";
      maker.take(state);
      maker.take(model::Move{now_s, model::MoveThrottle{static_cast<int>(now_s) % 126}});
    }
    if (comes(before, now_s, 5.0)) {
      drive::Event key = event(drive::EventKind::key);
      key.number = 2;
      key.value = static_cast<int>(now_s / 5.0) % 2;
      maker.take(key);
    }
    if (comes(before, now_s, 11.0)) {
      drive::Event cv = event(drive::EventKind::cv);
      cv.number = 112;
      cv.value = static_cast<int>(now_s / 11.0);
      maker.take(cv);
    }
    return maker.reach(now_s);
  }
  void grow(double seconds) {
    for (const double end_s = now_s + seconds; now_s < end_s;)
      timeline.grown(tick());
  }
  [[nodiscard]] QImage picture() { return timeline.grab().toImage(); }
  void drawAnew() { Q_EMIT ui::Theme::instance().changed(); }
};

}  // namespace

TEST_CASE("drive timeline: drawn bit by bit it looks as drawn at once", "[ui][pixels]") {
  Drive drive;
  for (const double seconds : {0.5, 1.0, 3.3, 6.0, 12.0, 15.0, 20.0}) {
    drive.grow(seconds);
    const QImage grown = drive.picture();
    drive.drawAnew();
    INFO("after " << drive.now_s << " s");
    const bool same = grown == drive.picture();
    CHECK(same);
  }
  CHECK(drive.timeline.chart()->voices.size() == 3);
  CHECK(drive.timeline.chart()->keys.size() == 1);
  // A CV's lane says its value from each change to the next.
  REQUIRE(drive.timeline.chart()->cvs.size() == 1);
  const ui::DriveChart::Lane& cv = drive.timeline.chart()->cvs[0];
  CHECK(cv.name == QStringLiteral("CV112"));
  REQUIRE(cv.spans.size() == 5);  // in 57.8 s
  for (std::size_t i = 0; i < cv.spans.size(); ++i) {
    CHECK(cv.spans[i].label == QString::number(i + 1));
    CHECK(cv.spans[i].from_s == Approx(11.0 * static_cast<double>(i + 1)).margin(tick_s));
    if (i > 0) CHECK(cv.spans[i - 1].to_s == cv.spans[i].from_s);
  }
  CHECK(cv.spans.back().to_s == ui::DriveChart::Span::open_s);
}

TEST_CASE("drive timeline: only what is new is painted, until the page is full", "[ui]") {
  Drive drive;
  REQUIRE(QTest::qWaitForWindowExposed(&drive.timeline));
  drive.grow(10.0);
  QCoreApplication::processEvents();
  PaintCount count;
  drive.timeline.installEventFilter(&count);
  constexpr int ticks = 60;
  for (int i = 0; i < ticks; ++i) {
    drive.timeline.grown(drive.tick());
    QCoreApplication::processEvents();
  }
  const long whole = 1L * drive.timeline.width() * drive.timeline.height();
  CAPTURE(count.pixels, whole);
  CHECK(count.pixels > 0);
  CHECK(count.pixels < ticks * whole / 8);
}

TEST_CASE("drive timeline: the view turns like a page, and stays where one has scrolled to",
          "[ui]") {
  Drive drive;
  ui::DriveTimeline& timeline = drive.timeline;
  drive.grow(29.0);
  CHECK(timeline.shownFrom() == 0.0);
  CHECK(timeline.shownSeconds() == 30.0);
  CHECK(timeline.playhead() == drive.now_s);
  drive.grow(2.0);
  CHECK(timeline.shownFrom() == Approx(20.0).margin(0.1));
  CHECK(timeline.shownSeconds() == 30.0);
  const QPointF middle(timeline.width() / 2.0, timeline.height() / 2.0);
  const auto turn = [&](int steps) {
    QWheelEvent wheel(middle, timeline.mapToGlobal(middle), {}, QPoint(0, 120 * steps),
                      Qt::NoButton, Qt::NoModifier, Qt::NoScrollPhase, false);
    QCoreApplication::sendEvent(&timeline, &wheel);
  };
  turn(20);
  CHECK(timeline.shownFrom() == 0.0);
  drive.grow(40.0);
  CHECK(timeline.shownFrom() == 0.0);
  turn(-40);
  CHECK(timeline.shownFrom() + timeline.shownSeconds() >= drive.now_s);
  drive.grow(60.0);
  CHECK(timeline.shownFrom() > 60.0);
  CHECK(timeline.shownFrom() + timeline.shownSeconds() >= drive.now_s);
  // Nothing of it is selected while it grows.
  timeline.setSelection(ui::DriveTimeline::Stretch{1.0, 2.0});
  CHECK_FALSE(timeline.selection());
  // At rest all of it can be looked at.
  drive.maker.end(drive.now_s);
  timeline.rest();
  timeline.showAll();
  CHECK(timeline.shownFrom() == 0.0);
  CHECK(timeline.shownSeconds() == Approx(drive.now_s));
}

TEST_CASE("drive timeline: hours of driving keep an hour, and no tick is slow", "[ui]") {
  Drive drive;
  drive.timeline.hide();
  QElapsedTimer clock;
  qint64 slowest_ms = 0;
  for (int i = 0; i < 300'000; ++i) {  // 2.5 h
    const double since_s = drive.tick();
    if (i % 100 != 0) continue;
    clock.start();
    drive.timeline.grown(since_s);
    slowest_ms = std::max(slowest_ms, clock.elapsed());
  }
  const ui::DriveChart& chart = *drive.maker.chart();
  constexpr double kept_s = 1.1 * ui::ChartMaker::kept_s;
  CHECK(chart.seconds > 8'900.0);
  CHECK(chart.seconds - chart.from_s <= kept_s + 1.0);
  CHECK(chart.seconds - chart.from_s >= ui::ChartMaker::kept_s);
  CHECK(static_cast<double>(chart.speed.size()) < kept_s * 10.0 + 10.0);
  std::size_t spans = 0;
  for (const auto& lane : chart.voices)
    spans += lane.spans.size();
  CHECK(static_cast<double>(spans) < kept_s * 4.0 + 20.0);
  CHECK(chart.regulator.front().time_s < chart.from_s);  // it tells how the regulator stood
  CHECK(chart.regulator[1].time_s >= chart.from_s);
  CAPTURE(slowest_ms);
  CHECK(slowest_ms < 50);
}

TEST_CASE("drive events: a growing list drops its oldest, and shows what it keeps", "[ui]") {
  ui::DriveEventModel model;
  const QAbstractItemModelTester tester(&model,
                                        QAbstractItemModelTester::FailureReportingMode::Fatal);
  model.beginLog(rate_hz, {});
  const auto append = [&](std::int64_t frame) {
    std::vector<drive::Event> events(1'000);
    for (std::size_t i = 0; i < events.size(); ++i) {
      events[i].frame = frame * 1'000 + static_cast<std::int64_t>(i);
      // One in ten is of a kind that the list shows.
      events[i].kind = i % 10 == 0 ? drive::EventKind::key : drive::EventKind::speed;
    }
    model.append(events);
  };
  constexpr std::int64_t thousands = 250;
  for (std::int64_t frame = 0; frame < thousands; ++frame)
    append(frame);
  const int most = static_cast<int>(ui::DriveEventModel::mostLogged) / 10;
  CHECK(model.rowCount() <= most);
  CHECK(model.rowCount() >= most * 8 / 10);
  const auto secondsAt = [&](int row) {
    return model.index(row, 0).data(ui::DriveEventModel::secondsRole).toDouble();
  };
  CHECK(secondsAt(model.rowCount() - 1) == Approx(249.990));
  for (int row = 1; row < model.rowCount(); ++row) {
    if (std::abs(secondsAt(row) - secondsAt(row - 1) - 0.01) > 1e-6) FAIL("a gap at row " << row);
  }
}
