// SPDX-License-Identifier: GPL-3.0-or-later
// The review of the seams by the keyboard alone, on an X display of its own.
#include "MainWindow.h"
#include "Page.h"
#include "fourbeat_demo/demo.h"
#include "hand.h"
#include "review/ReviewDesk.h"
#include "review/SeamReview.h"
#include "support.h"
#include "watchdog.h"

#include "fourbeat/model/piece.h"

#include <algorithm>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

/// Every seam of a project reviewed by single keys; returns what held the window up longest.
WatchedApplication::Longest reviewAll(const std::filesystem::path& file, std::size_t least) {
  ui::MainWindow window;
  window.setGeometry(0, 24, 1280, 800);
  window.show();
  REQUIRE(window.openProject(file));
  const auto project = [&]() -> const model::Project& { return window.workspace()->project(); };
  const auto desk = [&]() -> ui::ReviewDesk* {
    auto* review = window.findChild<ui::SeamReview*>();
    return review != nullptr ? &review->desk() : nullptr;
  };
  const auto decided = [&] { return desk()->queue().decided(); };
  std::size_t seams = 0;
  std::size_t verdictsBefore = 0;
  const QString failed = Hand::run([&](Hand& hand) {
    hand.waitFor(
        QStringLiteral("the check"), [&] { return window.workspace()->live().isCurrent(); },
        300'000);
    hand.waitFor(QStringLiteral("the eight pages"),
                 [&] { return window.findChildren<ui::Page*>().size() == 8; });
    hand.ask([&] {
      WatchedApplication::forget();
      seams = model::looped_pieces(project()).size();
      verdictsBefore = project().verdicts.size();
    });
    hand.keys({QStringLiteral("ctrl+shift+r")});
    hand.waitFor(QStringLiteral("the review"), [&] {
      return desk() != nullptr &&
             QApplication::activeWindow() == window.findChild<ui::SeamReview*>();
    });
    // As stored, and through a speaker where there is one; the first one with a note.
    hand.keys({QStringLiteral("d"), QStringLiteral("t")});
    hand.type(QStringLiteral("smooth"));
    hand.keys({QStringLiteral("Return")});
    for (std::size_t i = 0; i < seams; ++i) {
      hand.keys({QStringLiteral("a")});
      hand.waitFor(QStringLiteral("the seam to be heard"), [&] { return desk()->heard(); });
      hand.keys({i % 3 == 1 ? QStringLiteral("r") : QStringLiteral("s")});
      hand.waitFor(QStringLiteral("the verdict"),
                   [&] { return decided() == static_cast<int>(i + 1); });
    }
    // Another loop for the last one, heard against the one before, and given back.
    hand.keys({QStringLiteral("n")});
    hand.waitFor(QStringLiteral("another loop"),
                 [&] { return decided() == static_cast<int>(seams) - 1 && desk()->canCompare(); });
    hand.keys({QStringLiteral("c")});
    hand.waitFor(QStringLiteral("two takes"), [&] { return desk()->isChoosing(); });
    hand.keys({QStringLiteral("2")});
    hand.waitFor(QStringLiteral("the choice"), [&] { return !desk()->isChoosing(); });
    hand.keys({QStringLiteral("ctrl+z")});
    hand.waitFor(QStringLiteral("the loop to be back"),
                 [&] { return decided() == static_cast<int>(seams); });
    hand.keys({QStringLiteral("Escape")});
    hand.waitFor(QStringLiteral("the review to close"), [&] { return desk() == nullptr; });
  });
  INFO(failed.toStdString());
  REQUIRE(failed.isEmpty());
  WatchedApplication::Longest longest = WatchedApplication::longest();
  CHECK(seams >= least);
  REQUIRE(project().verdicts.size() == verdictsBefore + seams);
  const model::Verdict& first = project().verdicts[verdictsBefore];
  CHECK(first.note == "smooth");
  CHECK(first.sample_rate_hz > 0);
  for (std::size_t i = 0; i < seams; ++i) {
    CHECK((project().verdicts[verdictsBefore + i].kind == model::VerdictKind::rejected) ==
          (i % 3 == 1));
  }
  window.questions().close = [](const QString&) { return ui::CloseChoice::discard; };
  window.closeProject();
  return longest;
}

}  // namespace

TEST_CASE("desk: seams are reviewed by the keyboard alone", "[desk][deep]") {
  const SmallProject small;
  checkQuick([&] { return reviewAll(small.path(), 1); });
}

TEST_CASE("desk: every seam of the demo is reviewed by the keyboard alone", "[.demo]") {
  const TempFolder folder;
  JobControl job;
  const auto made = demo::make_demo(folder.path(), job);
  REQUIRE(made);
  REQUIRE(demo::finish_demo(*made, job));
  checkQuick([&] { return reviewAll(*made, 5); });
}
