// SPDX-License-Identifier: GPL-3.0-or-later
// The whole job in the window, by pointer and keyboard alone, on an X display of its own.
#include "MainWindow.h"
#include "Page.h"
#include "Wording.h"
#include "frame/MessageBar.h"
#include "hand.h"
#include "support.h"
#include "watchdog.h"

#include "fourbeat/deliver/bundle.h"

#include <QApplication>
#include <QDrag>
#include <QLabel>
#include <QMimeData>
#include <QMouseEvent>
#include <QUrl>
#include <cstdio>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

/// What a file manager is to the window: a place that files are dragged from.
class FileSource : public QWidget {
 public:
  explicit FileSource(QList<QUrl> files) : files_(std::move(files)) {
    setWindowFlags(Qt::BypassWindowManagerHint | Qt::WindowStaysOnTopHint);
    setAccessibleName(QStringLiteral("files"));
    auto* face = new QWidget(this);
    face->setObjectName(QStringLiteral("the files"));
    face->setAttribute(Qt::WA_TransparentForMouseEvents);
    face->setGeometry(0, 0, 60, 60);
    setGeometry(1320, 400, 60, 60);
  }

 protected:
  void mousePressEvent(QMouseEvent* event) override { pressed_ = event->pos(); }
  void mouseMoveEvent(QMouseEvent* event) override {
    if ((event->pos() - pressed_).manhattanLength() < QApplication::startDragDistance()) return;
    auto* drag = new QDrag(this);
    auto* urls = new QMimeData;
    urls->setUrls(files_);
    drag->setMimeData(urls);
    drag->exec(Qt::CopyAction);
  }

 private:
  QList<QUrl> files_;
  QPoint pressed_;
};

/// The whole job by hand; returns what held the window up longest, once its pages were made.
WatchedApplication::Longest doTheJob() {
  const SmallProject recordings;  // its takes stand for files on a recorder's card
  const TempFolder work;
  QList<QUrl> files;
  for (const model::Take& take : recordings.project().takes) {
    files << QUrl::fromLocalFile(
        QString::fromStdString((recordings.folder() / take.path).string()));
  }
  ui::MainWindow window;
  window.setGeometry(0, 24, 1280, 800);
  window.show();
  FileSource source(files);
  source.show();
  const auto project = [&]() -> const model::Project& { return window.workspace()->project(); };
  const QString card = QString::fromStdString((work / "drive.json").string());
  const QString file = QString::fromStdString((work / "mine.fourbeat").string());

  const QString failed = Hand::run([&](Hand& hand) {
    hand.click(QStringLiteral("New project …"));
    hand.waitFor(QStringLiteral("the file dialog"),
                 [] { return QApplication::activeModalWidget() != nullptr; });
    hand.keys({QStringLiteral("ctrl+a")});
    hand.type(file);
    hand.keys({QStringLiteral("Return")});
    hand.waitFor(QStringLiteral("the new project"), [&] { return window.workspace() != nullptr; });
    // Making the widgets of eight pages can be no job; once they are made the watchdog counts.
    hand.waitFor(QStringLiteral("the eight pages"),
                 [&] { return window.findChildren<ui::Page*>().size() == 8; });
    hand.ask([] { WatchedApplication::forget(); });

    hand.drag(QStringLiteral("the files"), {0.5, 0.5}, QStringLiteral("Takes"), {0.5, 0.5});
    hand.waitFor(QStringLiteral("three takes"), [&] { return project().takes.size() == 3; });

    // Beats, and a chuff table of the running engine.
    hand.clickRow(QStringLiteral("Takes"), QStringLiteral("running"));
    hand.clickTab(QStringLiteral("About the take"), QStringLiteral("Engine and beats"));
    hand.click(QStringLiteral("Find beats"));
    hand.waitFor(QStringLiteral("beats"), [] {
      const auto* summary = qobject_cast<QLabel*>(Hand::find(QStringLiteral("Beats in short")));
      return summary != nullptr && summary->text().contains(QStringLiteral("beats in"));
    });
    hand.keys({QStringLiteral("ctrl+3")});
    hand.clickRow(QStringLiteral("Takes to build from"), QStringLiteral("running"));
    hand.keys({QStringLiteral("space")});
    hand.click(QStringLiteral("Build table"));
    hand.waitFor(QStringLiteral("a chuff table"), [&] { return !project().chuffs.rows.empty(); });

    // Two held sounds, cut, looped and given keys.
    const auto loop = [&](const QString& take, const QString& name) {
      const std::size_t before = project().segments.size();
      hand.keys({QStringLiteral("ctrl+2")});
      hand.choose(QStringLiteral("Take to cut from"), take);
      const QString view = QStringLiteral("The take, with the segment");
      hand.click(view, {0.5, 0.6});
      hand.keys({QStringLiteral("Escape"), QStringLiteral("Home")});
      hand.drag(view, {0.3, 0.6}, view, {0.85, 0.6});
      hand.click(QStringLiteral("Name of the next segment"));
      hand.type(name);
      hand.click(QStringLiteral("Cut"));
      hand.waitFor(QStringLiteral("the segment “%1”").arg(name),
                   [&] { return project().segments.size() == before + 1; });
      hand.clickTab(QStringLiteral("About the segment"), QStringLiteral("Loop"));
      hand.click(QStringLiteral("Find loops"));
      hand.clickRow(QStringLiteral("Loops found, best first"), QString());
      hand.click(QStringLiteral("Set loop"));
      hand.waitFor(QStringLiteral("its loop"),
                   [&] { return project().segments.back().loop.has_value(); });
      hand.clickTab(QStringLiteral("About the segment"), QStringLiteral("Sounds"));
      hand.click(QStringLiteral("New held sound"));
      hand.waitFor(QStringLiteral("its sound"),
                   [&] { return project().sounds.size() == before + 1; });
    };
    loop(QStringLiteral("whistle"), QStringLiteral("Whistle"));
    loop(QStringLiteral("hiss"), QStringLiteral("Blower"));

    // A key for the whistle, made momentary or latching by its list, and tried.
    hand.keys({QStringLiteral("ctrl+4")});
    hand.click(QStringLiteral("Add key"));
    hand.waitFor(QStringLiteral("a key"), [&] { return project().keys.size() == 1; });

    // The decoder, a drive, the figures.
    hand.keys({QStringLiteral("ctrl+7")});
    hand.choose(QStringLiteral("Decoder profile"), QStringLiteral("Class B"));
    hand.waitFor(QStringLiteral("the decoder"), [&] { return project().decoder == "class-b"; });
    hand.keys({QStringLiteral("ctrl+6")});
    hand.click(QStringLiteral("New …"));
    hand.waitFor(QStringLiteral("the file dialog"),
                 [] { return QApplication::activeModalWidget() != nullptr; });
    hand.keys({QStringLiteral("ctrl+a")});
    hand.type(card);
    hand.keys({QStringLiteral("Return")});
    hand.waitFor(QStringLiteral("the run card"), [&] { return project().run_cards.size() == 1; });
    hand.click(QStringLiteral("Render"));
    hand.waitFor(QStringLiteral("the run to be rendered"), [] {
      const QWidget* play = Hand::find(QStringLiteral("Play the run (space bar)"));
      const QWidget* button = play != nullptr ? play : Hand::find(QStringLiteral("Export …"));
      return button != nullptr && button->isEnabled();
    });

    // Words for the buyer, and the bundle.
    hand.keys({QStringLiteral("ctrl+8")});
    hand.click(QStringLiteral("Your words for the buyer"));
    hand.type(QStringLiteral("Whistle gently."));
    hand.waitFor(QStringLiteral("the notes"),
                 [&] { return project().user_notes.find("Whistle gently.") != std::string::npos; });
    hand.click(QStringLiteral("Pack the set"));
    hand.waitFor(QStringLiteral("the bundle"),
                 [&] { return std::filesystem::exists(work / "bundle" / "SHA256SUMS"); });
    hand.keys({QStringLiteral("ctrl+s")});
    hand.waitFor(QStringLiteral("the project to be saved"),
                 [&] { return !window.isWindowModified(); });
  });
  INFO(failed.toStdString() << " | message: " << window.messages().line().toStdString());
  if (!failed.isEmpty()) window.grab().save(QStringLiteral("desk_test_failed.png"));
  REQUIRE(failed.isEmpty());
  WatchedApplication::Longest longest = WatchedApplication::longest();
  JobControl job;
  const Result<deliver::Proof> proof = deliver::prove(work / "bundle", job);
  if (!proof) FAIL(to_line(proof.error()));
  CHECK(proof->faults.empty());
  CHECK(project().chuffs.rows.size() >= 2);
  CHECK(project().segments.size() == 2);
  window.questions().close = [](const QString&) { return ui::CloseChoice::discard; };
  window.closeProject();
  return longest;
}

}  // namespace

TEST_CASE("desk: from three recordings to a proved bundle, by pointer and keyboard alone",
          "[desk]") {
  const WatchedApplication::Longest longest = checkQuick(doTheJob);
  CHECK(longest.opening_cpu_ms > 0.0);
  CHECK(longest.opening_cpu_ms < 500.0);
}
