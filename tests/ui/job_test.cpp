// SPDX-License-Identifier: GPL-3.0-or-later
#include "JobRunner.h"
#include "frame/JobBar.h"
#include "page_fixture.h"
#include "support.h"

#include <QElapsedTimer>
#include <QLabel>
#include <QPointer>
#include <QProgressBar>
#include <QSignalSpy>
#include <QTest>
#include <QThread>
#include <QToolButton>
#include <atomic>

using namespace fourbeat;
using namespace fourbeat::tests;
using ui::JobKind;
using ui::JobRunner;

namespace {

/// A job that goes on until it is let go or cancelled, and then answers with its number.
struct Long {
  std::atomic<bool> begun{false};
  std::atomic<bool> go{false};
  std::optional<Result<int>> answer;

  JobRunner::Ticket start(JobRunner& runner, QObject* context, int number, const QString& lane = {},
                          JobKind kind = JobKind::shown) {
    return runner.run<int>(
        QStringLiteral("Job %1").arg(number), context,
        [this, number](JobControl& job) -> Result<int> {
          begun = true;
          job.progress(0.25 * number, "halfway");
          while (!go) {
            if (job.cancelled()) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
            QThread::msleep(1);
          }
          return number;
        },
        [this](Result<int> done) { answer.emplace(std::move(done)); }, lane, kind);
  }
  [[nodiscard]] bool answers(int number) const { return answer && *answer && **answer == number; }
  [[nodiscard]] bool wasCancelled() const {
    return answer && !*answer && answer->error().code == ErrorCode::cancelled;
  }
};

}  // namespace

TEST_CASE("jobs: progress and the end are told, and the answer is given in the window's thread",
          "[ui]") {
  Long one;
  Long quiet;
  JobRunner runner;
  QSignalSpy started(&runner, &JobRunner::started);
  QSignalSpy progressed(&runner, &JobRunner::progressed);
  QSignalSpy finished(&runner, &JobRunner::finished);
  const auto ticket = one.start(runner, &runner, 2);
  CHECK(started.count() == 1);
  CHECK(runner.isBusy());
  REQUIRE(waitUntil([&] { return progressed.count() == 1; }));
  CHECK(progressed[0][0].toULongLong() == ticket);
  CHECK(progressed[0][1].toDouble() == 0.5);
  CHECK(progressed[0][2].toString() == QStringLiteral("halfway"));
  CHECK(finished.isEmpty());
  one.go = true;
  REQUIRE(waitUntil([&] { return one.answer.has_value(); }));
  CHECK(one.answers(2));
  CHECK(finished.count() == 1);
  CHECK_FALSE(runner.isBusy());
  quiet.go = true;
  quiet.start(runner, &runner, 1, {}, JobKind::quiet);
  CHECK_FALSE(runner.isBusy());
  CHECK(runner.hasJobs());
  REQUIRE(waitUntil([&] { return quiet.answer.has_value(); }));
  CHECK(started.count() == 1);
  CHECK(progressed.count() == 1);
  CHECK(finished.count() == 1);
}

TEST_CASE("jobs: one is cancelled by hand and says so; of a lane the newest alone answers",
          "[ui]") {
  Long one;
  Long two;
  Long three;
  Long other;
  Long orphan;
  JobRunner runner;
  const auto ticket = one.start(runner, &runner, 1);
  other.start(runner, &runner, 2, QStringLiteral("other"));
  runner.cancel(ticket);
  REQUIRE(waitUntil([&] { return one.answer.has_value(); }));
  CHECK(one.wasCancelled());
  CHECK_FALSE(other.answer);
  two.start(runner, &runner, 3, QStringLiteral("lane"));
  three.go = true;
  three.start(runner, &runner, 4, QStringLiteral("lane"));
  REQUIRE(waitUntil([&] { return three.answer.has_value(); }));
  other.go = true;
  REQUIRE(waitUntil([&] { return !runner.hasJobs(); }));
  CHECK(three.answers(4));
  CHECK(other.answers(2));
  CHECK_FALSE(two.answer);
  // Who asked is gone: nobody is told.
  auto context = std::make_unique<QObject>();
  orphan.start(runner, context.get(), 5);
  context.reset();
  orphan.go = true;
  REQUIRE(waitUntil([&] { return !runner.hasJobs(); }));
  CHECK_FALSE(orphan.answer);
}

TEST_CASE("jobs: what is to be heard does not wait behind long ones", "[ui]") {
  std::vector<std::unique_ptr<Long>> all;
  Long heard;
  JobRunner runner;
  for (int i = 0; i < 2 * std::max(2, QThread::idealThreadCount()); ++i) {
    all.push_back(std::make_unique<Long>());
    all.back()->start(runner, &runner, 1);
  }
  Long behind;
  behind.go = true;
  behind.start(runner, &runner, 2);
  heard.go = true;
  heard.start(runner, &runner, 3, {}, JobKind::heard);
  REQUIRE(waitUntil([&] { return heard.answer.has_value(); }, 5'000));
  CHECK(heard.answers(3));
  CHECK_FALSE(behind.answer);
  CHECK_FALSE(behind.begun);
  for (const auto& each : all)
    each->go = true;
  REQUIRE(waitUntil([&] { return !runner.hasJobs(); }));
  CHECK(behind.answers(2));
}

TEST_CASE("jobs: a runner that goes cancels what runs", "[ui]") {
  Long one;
  Long heard;
  QElapsedTimer clock;
  {
    JobRunner runner;
    one.start(runner, &runner, 1);
    heard.start(runner, &runner, 2, {}, JobKind::heard);
    REQUIRE(waitUntil([&] { return one.begun && heard.begun; }));
    clock.start();
  }
  CHECK(clock.elapsed() < 2'000);
  CHECK_FALSE(one.answer);
}

TEST_CASE("job bar: the oldest job is in view, all are in a list, each with its own cancel",
          "[ui]") {
  Long one;
  Long two;
  Long three;
  JobRunner runner;
  ui::JobBar bar;
  bar.setRunner(&runner);
  CHECK(bar.isHidden());
  one.start(runner, &runner, 1, {}, JobKind::heard);
  REQUIRE_FALSE(bar.isHidden());
  REQUIRE(QTest::qWaitForWindowExposed(&bar));
  auto* progress = childNamed<QProgressBar>(bar, QStringLiteral("Progress of Job 1"));
  REQUIRE(waitUntil([&] { return progress->value() == 250; }));
  CHECK(progress->maximum() == 1000);
  QPointer<QToolButton> more;
  for (auto* button : bar.findChildren<QToolButton*>()) {
    if (button->accessibleName().contains(QStringLiteral("more"))) more = button;
  }
  two.start(runner, &runner, 2);
  three.start(runner, &runner, 3);
  more = childNamed<QToolButton>(bar, QStringLiteral("and 2 more"));
  REQUIRE(more->isVisible());
  more->setFocus();
  QTest::keyClick(more, Qt::Key_Space);
  auto* list = childNamed<QWidget>(bar, QStringLiteral("All running work"));
  REQUIRE(list->isVisible());
  CHECK(list->findChildren<QProgressBar*>().size() == 3);
  const auto cancelOf = [&](int number) {
    return childNamed<QToolButton>(*list, QStringLiteral("Cancel Job %1").arg(number));
  };
  CHECK(cancelOf(1)->hasFocus());
  QTest::keyClick(cancelOf(2), Qt::Key_Space);
  REQUIRE(waitUntil([&] { return two.answer.has_value(); }));
  CHECK(two.wasCancelled());
  CHECK_FALSE(one.answer);
  CHECK_FALSE(three.answer);
  CHECK(list->findChildren<QProgressBar*>().size() == 2);
  QTest::keyClick(list, Qt::Key_Escape);
  CHECK_FALSE(list->isVisible());
  // The one in view.
  QTest::mouseClick(childNamed<QToolButton>(bar, QStringLiteral("Cancel Job 1")), Qt::LeftButton);
  REQUIRE(waitUntil([&] { return one.answer.has_value(); }));
  CHECK(one.wasCancelled());
  CHECK_FALSE(more->isVisible());
  three.go = true;
  REQUIRE(waitUntil([&] { return bar.isHidden(); }));
  CHECK(three.answers(3));
}
