// SPDX-License-Identifier: GPL-3.0-or-later
#include "MainWindow.h"
#include "Page.h"
#include "Theme.h"
#include "Wording.h"
#include "frame/BudgetBar.h"
#include "frame/LevelMeter.h"
#include "frame/MessageBar.h"
#include "frame/QuickFind.h"
#include "frame/Settings.h"
#include "frame/SnagPanel.h"
#include "models/SnagListModel.h"
#include "window_rig.h"

#include "fourbeat/store/journal.h"
#include "fourbeat/store/project_file.h"

#include <sys/mount.h>

#include <QAbstractItemModelTester>
#include <QAccessible>
#include <QCheckBox>
#include <QDir>
#include <QKeySequence>
#include <QLabel>
#include <QLineEdit>
#include <QListView>
#include <QListWidget>
#include <QPushButton>
#include <QTabBar>
#include <QTest>
#include <cerrno>
#include <fstream>

using namespace fourbeat;
using namespace fourbeat::tests;
using ui::MainWindow;
using ui::Theme;

namespace {

/// Figures as a language writes them, while the object lives.
class Spoken {
 public:
  explicit Spoken(QLocale::Language language) { QLocale::setDefault(QLocale(language)); }
  ~Spoken() { QLocale::setDefault(before_); }
  Spoken(const Spoken&) = delete;
  Spoken& operator=(const Spoken&) = delete;

 private:
  QLocale before_;
};

std::string title_on_disk(const SmallProject& small) {
  return store::load_project(small.path())->title;
}

}  // namespace

TEST_CASE("theme: an empty check box is seen on its ground, light and dark", "[ui]") {
  for (const Theme::Mode mode : {Theme::Mode::light, Theme::Mode::dark}) {
    Theme::instance().setMode(mode);
    QWidget ground;
    auto* box = new QCheckBox(&ground);
    box->setGeometry(10, 10, 40, 40);
    ground.resize(60, 60);
    const QImage image = ground.grab().toImage();
    double best = 0.0;
    for (int y = 0; y < image.height(); ++y) {
      for (int x = 0; x < image.width(); ++x) {
        best = std::max(best, Theme::contrast(image.pixelColor(x, y), image.pixelColor(0, 0)));
      }
    }
    CAPTURE(static_cast<int>(mode));
    CHECK(best >= 3.0);
  }
  Theme::instance().setMode(Theme::Mode::system);
}

TEST_CASE("theme: text on every ground has a contrast of 4.5 and signs of 3, light and dark",
          "[ui]") {
  // WCAG 2.1, success criteria 1.4.3 (text) and 1.4.11 (non-text).
  CHECK(Theme::contrast(Qt::black, Qt::white) == Approx(21.0));
  CHECK(Theme::contrast(QColor(0x77, 0x77, 0x77), Qt::white) == Approx(4.48).margin(0.01));
  using Ink = Theme::Ink;
  for (const bool dark : {false, true}) {
    const auto contrast = [dark](Ink a, Ink b) {
      return Theme::contrast(Theme::color(a, dark), Theme::color(b, dark));
    };
    for (const Ink ground : {Ink::window, Ink::surface, Ink::raised, Ink::selection}) {
      for (const Ink words : {Ink::text, Ink::error, Ink::warning, Ink::hint, Ink::good}) {
        CAPTURE(dark, static_cast<int>(ground), static_cast<int>(words));
        CHECK(contrast(words, ground) >= 4.5);
      }
    }
    for (const Ink ground : {Ink::window, Ink::surface, Ink::raised}) {
      CHECK(contrast(Ink::mutedText, ground) >= 4.5);
      for (const Ink sign : {Ink::focus, Ink::accent, Ink::playhead, Ink::trim, Ink::loop,
                             Ink::beat, Ink::mark, Ink::waveBody}) {
        CAPTURE(dark, static_cast<int>(ground), static_cast<int>(sign));
        CHECK(contrast(sign, ground) >= 3.0);
      }
    }
    CHECK(contrast(Ink::onAccent, Ink::accent) >= 4.5);
  }
}

TEST_CASE("wording: times, sizes and levels read as people write them", "[ui]") {
  const Spoken german(QLocale::German);
  CHECK(ui::timeText(75.25, 3) == QStringLiteral("1:15,250"));
  const Spoken english(QLocale::English);
  CHECK(ui::timeText(0.0, 1) == QStringLiteral("0:00.0"));
  CHECK(ui::timeText(59.96, 1) == QStringLiteral("1:00.0"));
  CHECK(ui::timeText(75.25, 3) == QStringLiteral("1:15.250"));
  CHECK(ui::timeText(3723.4, 1) == QStringLiteral("1:02:03.4"));
  CHECK(ui::timeText(-3.0, 0) == QStringLiteral("-0:03"));
  CHECK(ui::decibelText(std::nullopt) == QStringLiteral("—"));
  CHECK(ui::decibelText(-3.45, 1) == QStringLiteral("-3.5 dB"));
  CHECK(ui::truePeakText(std::nullopt) == QStringLiteral("—"));
  CHECK(ui::truePeakText(-0.5) == QStringLiteral("-0.5 dBTP"));
}

TEST_CASE("find: words at any place, the start of a word first, accents and case aside", "[ui]") {
  CHECK(ui::matchScore(QStringLiteral("whi lo"), QStringLiteral("Whistle, long")) > 0);
  CHECK(ui::matchScore(QStringLiteral("whi xy"), QStringLiteral("Whistle, long")) == 0);
  CHECK(ui::matchScore(QStringLiteral("kuhl"), QStringLiteral("Kühl")) > 0);
  CHECK(ui::matchScore(QStringLiteral("valve"), QStringLiteral("Valve gear")) >
        ui::matchScore(QStringLiteral("valve"), QStringLiteral("Safety valve")));
  CHECK(ui::matchScore(QStringLiteral("valve"), QStringLiteral("Safety valve")) >
        ui::matchScore(QStringLiteral("alve"), QStringLiteral("Safety valve")));
}

TEST_CASE("find: everything of a project is found and leads to its place", "[ui]") {
  const SmallProject small;
  QStringList went;
  auto all = ui::findablesOf(small.project(), [&](const QString& at) { went << at; });
  const auto& p = small.project();
  CHECK(all.size() == p.takes.size() + p.segments.size() + p.sounds.size() + p.chuffs.rows.size() +
                          p.keys.size() + p.cvs.size());
  ui::QuickFind dialog(std::move(all));
  auto* words = dialog.findChild<QLineEdit*>();
  QTest::keyClicks(words, QStringLiteral("f2 whis"));
  CHECK(dialog.findChild<QListWidget*>()->count() == 1);
  QTest::keyClick(words, Qt::Key_Return);
  CHECK(went == QStringList{QStringLiteral("/keys/0")});
}

TEST_CASE("find: the very name comes first", "[ui]") {
  QStringList went;
  std::vector<ui::Findable> all;
  for (const char* name : {"Bell, begin", "Bell, hold", "Bell"}) {
    const QString found = QLatin1String(name);
    all.push_back({found, QStringLiteral("Sound"), QStringLiteral("volume"),
                   [&went, found] { went << found; }});
  }
  ui::QuickFind dialog(std::move(all));
  auto* words = dialog.findChild<QLineEdit*>();
  QTest::keyClicks(words, QStringLiteral("bell"));
  QTest::keyClick(words, Qt::Key_Return);
  CHECK(went == QStringList{QStringLiteral("Bell")});
}

TEST_CASE("window: undo reaches the project from a field that has nothing to undo", "[ui]") {
  const SmallProject small;
  auto window = window_that_asks_nothing();
  window->show();
  REQUIRE(QTest::qWaitForWindowExposed(window.get()));
  window->activateWindow();
  REQUIRE(window->openProject(small.path()));
  REQUIRE(window->workspace()->perform(QStringLiteral("d"), {model::SetDate{"2030-01-02"}}));
  window->showPage(7);
  QLineEdit* title = nullptr;
  for (QLineEdit* line : window->currentPage()->findChildren<QLineEdit*>())
    if (line->accessibleName() == QStringLiteral("Title")) title = line;
  REQUIRE(title != nullptr);
  title->setFocus();
  QTest::keyClick(title, Qt::Key_Z, Qt::ControlModifier);
  CHECK(window->workspace()->project().date == small.project().date);
}

TEST_CASE("level meter: shows the peak, falls back, and says when it was over full scale", "[ui]") {
  ui::LevelMeter meter;
  meter.setPeak(0.5F);
  CHECK(meter.shownDb() == Approx(-6.02).margin(0.01));
  CHECK(waitUntil([&] { return meter.shownDb() < -8.0; }, 2000));
}

TEST_CASE("snag list: the model holds its promises while edits and undos play", "[ui]") {
  const SmallProject small;
  auto document = small.open();
  ui::SnagListModel model;
  QAbstractItemModelTester tester(&model, QAbstractItemModelTester::FailureReportingMode::Fatal);
  JobControl job;
  for (quint64 seed = 0; seed < 12; ++seed) {
    REQUIRE(document->perform(QStringLiteral("s"), {randomEdit(document->project(), seed)}));
    if (seed % 3 == 2) document->undoStack().undo();
    check::Facts facts;
    model.setSnags(check::run_rules(document->project(), facts));
    for (int row = 1; row < model.rowCount(); ++row) {
      CHECK(model.index(row - 1, 0).data(ui::SnagListModel::severityRole).toInt() <=
            model.index(row, 0).data(ui::SnagListModel::severityRole).toInt());
    }
  }
  CHECK(model.rowCount() > 0);
}

TEST_CASE("window: a project opens with its pages, its snags and its budget", "[ui]") {
  const SmallProject small;
  auto window = window_that_asks_nothing();
  window->show();
  REQUIRE(window->openProject(small.path()));
  CHECK(window->findChild<QTabBar*>(QStringLiteral("pages"))->count() == 8);
  CHECK(window->windowTitle().contains(QStringLiteral("Small set")));
  auto* budget = window->findChild<ui::BudgetBar*>();
  auto* snags = window->findChild<ui::SnagPanel*>();
  REQUIRE(waitUntil([&] { return window->workspace()->live().isCurrent(); }));
  CHECK(budget->figures().contains(QStringLiteral("Memory")));
  CHECK(
      budget->figures().contains(QStringLiteral("of %1 MiB").arg(QLocale().toString(3.6, 'f', 2))));
  const auto& found = window->workspace()->live().checked()->snags;
  CHECK(snags->model().rowCount() == static_cast<int>(found.size()));
  // Gone live: a contradiction appears, and is gone when it is undone.
  model::Key twin = window->workspace()->project().keys[0];
  twin.id = {};
  twin.sound = window->workspace()->project().sounds[1].id;
  twin.mode = model::KeyMode::latching;
  const int before = snags->model().rowCount();
  REQUIRE(window->workspace()->perform(QStringLiteral("k"),
                                       {model::Add<model::Key>{twin, std::nullopt}}));
  REQUIRE(waitUntil([&] { return window->workspace()->live().isCurrent(); }));
  CHECK(snags->model().rowCount() > before);
  window->workspace()->document().undoStack().undo();
  REQUIRE(waitUntil([&] { return window->workspace()->live().isCurrent(); }));
  CHECK(snags->model().rowCount() == before);
  REQUIRE(window->closeProject());
}

TEST_CASE("window: pages are reached by key, by tab and from a snag", "[ui]") {
  const SmallProject small;
  auto window = window_that_asks_nothing();
  window->show();
  REQUIRE(QTest::qWaitForWindowExposed(window.get()));
  window->activateWindow();
  REQUIRE(window->openProject(small.path()));
  for (int i = 7; i >= 0; --i) {
    QTest::keyClick(window.get(), static_cast<Qt::Key>(Qt::Key_1 + i), Qt::ControlModifier);
    CHECK(window->currentPage() == window->page(i));
  }
  window->reveal(QStringLiteral("/keys/1"));
  CHECK(window->currentPage()->shows(QStringLiteral("/keys/1")));
}

TEST_CASE("window: changes are asked about when it is closed, and each answer is kept", "[ui]") {
  const SmallProject small;
  auto window = window_that_asks_nothing();
  REQUIRE(window->openProject(small.path()));
  const auto change = [&](const char* title) {
    REQUIRE(window->workspace()->perform(QStringLiteral("t"), {model::SetTitle{title}}));
  };
  change("first");
  window->questions().close = [](const QString&) { return ui::CloseChoice::cancel; };
  CHECK_FALSE(window->closeProject());
  REQUIRE(window->workspace() != nullptr);
  window->questions().close = [](const QString&) { return ui::CloseChoice::discard; };
  CHECK(window->closeProject());
  CHECK(title_on_disk(small) == "Small set");
  CHECK_FALSE(std::filesystem::exists(store::journal_path(small.path())));
  REQUIRE(window->openProject(small.path()));
  change("second");
  window->questions().close = [](const QString&) { return ui::CloseChoice::save; };
  CHECK(window->closeProject());
  CHECK(title_on_disk(small) == "second");
}

TEST_CASE("window: work left by a crash is offered back, and each answer is kept", "[ui]") {
  const SmallProject small;
  model::Project unsaved = small.project();
  unsaved.title = "unsaved";
  auto window = window_that_asks_nothing();
  const auto leave_journal = [&] { REQUIRE(store::write_journal(small.path(), unsaved)); };

  leave_journal();
  window->questions().recovery = [](const QString& title, const QString&) {
    CHECK(title == QStringLiteral("unsaved"));
    return ui::RecoveryChoice::cancel;
  };
  CHECK_FALSE(window->openProject(small.path()));
  CHECK(std::filesystem::exists(store::journal_path(small.path())));

  window->questions().recovery = [](const QString&, const QString&) {
    return ui::RecoveryChoice::take;
  };
  REQUIRE(window->openProject(small.path()));
  CHECK(window->workspace()->project().title == "unsaved");
  CHECK(window->isWindowModified());
  CHECK(title_on_disk(small) == "Small set");
  window->questions().close = [](const QString&) { return ui::CloseChoice::discard; };
  REQUIRE(window->closeProject());

  leave_journal();
  window->questions().recovery = [](const QString&, const QString&) {
    return ui::RecoveryChoice::setAside;
  };
  REQUIRE(window->openProject(small.path()));
  CHECK(window->workspace()->project().title == "Small set");
  CHECK_FALSE(std::filesystem::exists(store::journal_path(small.path())));
  CHECK(std::filesystem::exists(store::journal_path(small.path()).string() + ".aside"));
}

TEST_CASE("window: a journal that cannot be read is set aside and the project opens", "[ui]") {
  const SmallProject small;
  REQUIRE(store::write_journal(small.path(), small.project()));
  const std::filesystem::path file = store::journal_path(small.path());
  std::filesystem::resize_file(file, std::filesystem::file_size(file) / 2);
  auto window = window_that_asks_nothing();
  REQUIRE(window->openProject(small.path()));
  CHECK(window->workspace()->project().title == "Small set");
  CHECK(window->messages().line().contains(QStringLiteral("set aside")));
  CHECK(std::filesystem::exists(file.string() + ".aside"));
}

TEST_CASE("window: a project that another window has open is refused in one line", "[ui]") {
  const SmallProject small;
  auto first = window_that_asks_nothing();
  auto second = window_that_asks_nothing();
  REQUIRE(first->openProject(small.path()));
  CHECK_FALSE(second->openProject(small.path()));
  CHECK(second->messages().line().contains(QStringLiteral("small.fourbeat")));
  CHECK_FALSE(second->messages().line().contains(QLatin1Char('\n')));
  REQUIRE(first->closeProject());
  CHECK(second->openProject(small.path()));
}

TEST_CASE("window: a project that cannot be opened leaves the open one in view", "[ui]") {
  const SmallProject small;
  auto window = window_that_asks_nothing();
  REQUIRE(window->openProject(small.path()));
  CHECK_FALSE(window->openProject(small.folder() / "none.fourbeat"));
  CHECK(window->messages().line().contains(QStringLiteral("none.fourbeat")));
  CHECK_FALSE(window->openProject(small.folder() / "takes" / "hiss.wav"));
  REQUIRE(window->workspace() != nullptr);
  CHECK(window->workspace()->project().title == "Small set");
}

TEST_CASE("window: a new project, and recent projects, newest first", "[ui]") {
  const SmallProject small;
  const TempFolder folder;
  auto window = window_that_asks_nothing();
  REQUIRE(window->openProject(small.path()));
  window->questions().newFile = [&](const QString&) {
    return QString::fromStdString((folder / "mine").string());
  };
  QTest::keyClick(window.get(), Qt::Key_N, Qt::ControlModifier);
  window->show();
  REQUIRE(QTest::qWaitForWindowExposed(window.get()));
  window->activateWindow();
  QTest::keyClick(window.get(), Qt::Key_N, Qt::ControlModifier);
  REQUIRE(window->workspace() != nullptr);
  CHECK(window->workspace()->project().title == "mine");
  CHECK(std::filesystem::exists(folder / "mine.fourbeat"));
  const QStringList recent = ui::settings::recentProjects();
  REQUIRE(recent.size() >= 2);
  CHECK(recent[0].endsWith(QStringLiteral("mine.fourbeat")));
  CHECK(recent[1].endsWith(QStringLiteral("small.fourbeat")));
}

TEST_CASE("window: takes outside the project's folder are asked about once", "[ui]") {
  const SmallProject small;
  const TempFolder elsewhere;
  std::filesystem::create_directories(elsewhere / "set");
  model::Project project = small.project();
  for (model::Take& take : project.takes) {
    take.path = std::filesystem::relative(small.folder() / take.path, elsewhere / "set").string();
  }
  const std::filesystem::path file = elsewhere / "set" / "stranger.fourbeat";
  project.run_cards.clear();
  REQUIRE(store::save_project(file, project));
  auto window = window_that_asks_nothing();
  int asked = 0;
  window->questions().trust = [&](const QString&) { return ++asked < 0; };
  REQUIRE(window->openProject(file));
  CHECK(asked == 1);
  REQUIRE(waitUntil([&] { return window->workspace()->live().isCurrent(); }));
  const auto errors = [&] {
    int count = 0;
    for (const check::Snag& snag : window->workspace()->live().checked()->snags)
      count += snag.severity == check::Severity::error ? 1 : 0;
    return count;
  };
  CHECK(errors() >= 3);
  REQUIRE(window->closeProject());
  window->questions().trust = [&](const QString&) { return true; };
  REQUIRE(window->openProject(file));
  REQUIRE(waitUntil([&] { return window->workspace()->live().isCurrent(); }));
  CHECK(errors() == 0);
  REQUIRE(window->closeProject());
  window->questions().trust = [](const QString&) {
    FAIL("asked again");
    return false;
  };
  REQUIRE(window->openProject(file));
}

TEST_CASE("window: a take deleted under it is a snag, and none when it is back", "[ui]") {
  const SmallProject small;
  auto window = window_that_asks_nothing();
  REQUIRE(window->openProject(small.path()));
  const auto missing = [&] {
    if (!window->workspace()->live().isCurrent()) return -1;
    int count = 0;
    for (const check::Snag& snag : window->workspace()->live().checked()->snags)
      count += snag.rule == "missing_take" ? 1 : 0;
    return count;
  };
  REQUIRE(waitUntil([&] { return missing() == 0; }));
  const std::filesystem::path take = small.folder() / "takes" / "whistle.wav";
  const std::filesystem::path away = small.folder() / "whistle.away";
  std::filesystem::rename(take, away);
  CHECK(waitUntil([&] { return missing() == 1; }));
  std::filesystem::rename(away, take);
  CHECK(waitUntil([&] { return missing() == 0; }));
}

TEST_CASE("window: every widget that takes the keyboard has a name for screen readers", "[ui]") {
  const SmallProject small;
  auto window = window_that_asks_nothing();
  window->show();
  REQUIRE(window->openProject(small.path()));
  int seen = 0;
  for (int i = ui::takesPlace; i <= ui::notesPlace; ++i) {
    window->showPage(i);
    for (const QWidget* widget : window->findChildren<QWidget*>()) {
      if (widget->focusPolicy() == Qt::NoFocus || !widget->isVisibleTo(window.get())) continue;
      if (qobject_cast<const QLineEdit*>(widget) != nullptr &&
          (widget->parentWidget()->inherits("QAbstractSpinBox") ||
           widget->parentWidget()->inherits("QComboBox"))) {
        continue;  // their owner is named
      }
      if (widget->objectName().startsWith(QStringLiteral("qt_"))) continue;  // Qt's own insides
      QAccessibleInterface* reader = QAccessible::queryAccessibleInterface(
          const_cast<QWidget*>(widget));  // NOLINT: Qt asks for it so, and changes nothing
      if (reader == nullptr) continue;
      ++seen;
      CAPTURE(i, widget->metaObject()->className(), widget->objectName().toStdString());
      CHECK_FALSE(reader->text(QAccessible::Name).isEmpty());
    }
  }
  CHECK(seen > 10);
}

TEST_CASE("window: a label with a letter to press names the field it leads to", "[ui]") {
  const SmallProject small;
  auto window = window_that_asks_nothing();
  window->show();
  REQUIRE(window->openProject(small.path()));
  int seen = 0;
  for (int i = ui::takesPlace; i <= ui::notesPlace; ++i)
    window->showPage(i);
  for (const QLabel* label : window->findChildren<QLabel*>()) {
    if (QKeySequence::mnemonic(label->text()).isEmpty()) continue;
    ++seen;
    INFO(label->text().toStdString());  // without one the sign itself is shown
    CHECK(label->buddy() != nullptr);
  }
  CHECK(seen > 10);
}

TEST_CASE("window: a disk that is full while saving loses nothing and says so in one line",
          "[ui]") {
  const SmallProject small;
  auto window = window_that_asks_nothing();
  REQUIRE(window->openProject(small.path()));
  REQUIRE(window->workspace()->perform(QStringLiteral("t"), {model::SetTitle{"kept"}}));
  window->workspace()->document().flushJournal();
  set_write_fault_for_tests([] { return ENOSPC; });
  QTest::keyClick(window.get(), Qt::Key_S, Qt::ControlModifier);
  window->show();
  REQUIRE(QTest::qWaitForWindowExposed(window.get()));
  window->activateWindow();
  QTest::keyClick(window.get(), Qt::Key_S, Qt::ControlModifier);
  set_write_fault_for_tests(nullptr);
  CHECK(window->messages().line().contains(QStringLiteral("full")));
  CHECK_FALSE(window->messages().line().contains(QLatin1Char('\n')));
  CHECK(window->isWindowModified());
  CHECK(window->workspace()->project().title == "kept");
  CHECK(title_on_disk(small) == "Small set");
  CHECK(store::read_journal(store::journal_path(small.path()))->project.title == "kept");
  QTest::keyClick(window.get(), Qt::Key_S, Qt::ControlModifier);
  CHECK_FALSE(window->isWindowModified());
  CHECK(title_on_disk(small) == "kept");
}

TEST_CASE("window: saving to a file system of 1 MiB that has become full keeps the last good file",
          "[ui]") {
  const TempFolder folder;
  if (mount("tmpfs", folder.path().c_str(), "tmpfs", 0, "size=1m") != 0) {
    WARN("skipped: a file system can be mounted by root alone");
    return;
  }
  struct Unmount {
    const TempFolder& folder;
    ~Unmount() { umount2(folder.path().c_str(), MNT_DETACH); }
  } const unmount{folder};
  const std::filesystem::path path = folder / "small.fourbeat";
  auto window = window_that_asks_nothing();
  window->show();
  REQUIRE(QTest::qWaitForWindowExposed(window.get()));
  window->activateWindow();
  REQUIRE(window->newProject(path));
  ui::Workspace& workspace = *window->workspace();
  REQUIRE(workspace.perform(QStringLiteral("w"), {model::SetUserNotes{std::string(250'000, 'w')}}));
  QTest::keyClick(window.get(), Qt::Key_S, Qt::ControlModifier);
  REQUIRE_FALSE(window->isWindowModified());
  const std::string saved = store::project_text(*store::load_project(path));
  {
    std::ofstream filler(folder / "filler", std::ios::binary);
    const std::string block(4096, 'f');
    while (filler.write(block.data(), static_cast<std::streamsize>(block.size())).flush()) {
    }
  }
  REQUIRE(workspace.perform(QStringLiteral("t"), {model::SetTitle{"kept"}}));
  QTest::keyClick(window.get(), Qt::Key_S, Qt::ControlModifier);
  CHECK(window->messages().line().contains(QStringLiteral("full")));
  CHECK_FALSE(window->messages().line().contains(QLatin1Char('\n')));
  CHECK(window->isWindowModified());
  CHECK(store::project_text(*store::load_project(path)) == saved);
  CHECK(workspace.project().title == "kept");
  std::filesystem::remove(folder / "filler");
  QTest::keyClick(window.get(), Qt::Key_S, Qt::ControlModifier);
  CHECK_FALSE(window->isWindowModified());
  CHECK(store::load_project(path)->title == "kept");
  REQUIRE(window->closeProject());
}
