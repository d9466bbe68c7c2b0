// SPDX-License-Identifier: GPL-3.0-or-later
// What people expect of any window: that what is typed is kept and undone, that a file may be
// dropped anywhere, that the keyboard is seen, that keys are not given twice, that a layout stays.
#include "Page.h"
#include "Theme.h"
#include "frame/BudgetBar.h"
#include "frame/LevelMeter.h"
#include "frame/MessageBar.h"
#include "frame/QuickFind.h"
#include "frame/Settings.h"
#include "frame/WelcomePage.h"
#include "window_rig.h"

#include "fourbeat/model/cv_values.h"
#include "fourbeat/model/members.h"
#include "fourbeat/store/journal.h"
#include "fourbeat/store/project_file.h"

#include <QAction>
#include <QCheckBox>
#include <QComboBox>
#include <QCommandLinkButton>
#include <QDoubleSpinBox>
#include <QDragEnterEvent>
#include <QGroupBox>
#include <QHBoxLayout>
#include <QLabel>
#include <QLineEdit>
#include <QListWidget>
#include <QMenu>
#include <QMenuBar>
#include <QMimeData>
#include <QPlainTextEdit>
#include <QPushButton>
#include <QShortcut>
#include <QSlider>
#include <QSplitter>
#include <QTabBar>
#include <QTabWidget>
#include <QTimer>
#include <QUrl>
#include <set>

using namespace fourbeat;
using namespace fourbeat::tests;
using ui::MainWindow;
using ui::Theme;

namespace {

/// A key with what it works in.
struct GivenKey {
  QKeySequence keys;
  const QWidget* scope = nullptr;
  Qt::ShortcutContext context = Qt::WindowShortcut;
  QString what;
};

/// All keys that can be pressed while a window looks as it does.
std::vector<GivenKey> keys_of(MainWindow& window) {
  std::vector<GivenKey> given;
  const auto letter = [&](const QWidget* widget, const QString& words) {
    const QKeySequence keys = QKeySequence::mnemonic(words);
    if (!keys.isEmpty() && widget->isVisible())
      given.push_back({keys, widget, Qt::WindowShortcut, words});
  };
  for (const QMenu* menu :
       window.menuBar()->findChildren<QMenu*>(QString(), Qt::FindDirectChildrenOnly)) {
    letter(window.menuBar(), menu->title());
    for (const QAction* action : menu->actions()) {
      if (!action->shortcut().isEmpty())
        given.push_back({action->shortcut(), &window, Qt::WindowShortcut, action->text()});
    }
  }
  for (const QShortcut* shortcut : window.findChildren<QShortcut*>()) {
    const auto* scope = qobject_cast<QWidget*>(shortcut->parent());
    if (scope != nullptr && scope->isVisible())
      given.push_back({shortcut->key(), scope, shortcut->context(), scope->accessibleName()});
  }
  for (const auto* button : window.findChildren<QAbstractButton*>()) {
    if (button->isVisible() && !button->shortcut().isEmpty())
      given.push_back({button->shortcut(), button, Qt::WindowShortcut, button->text()});
  }
  for (const auto* label : window.findChildren<QLabel*>()) {
    if (label->buddy() != nullptr && label->textFormat() != Qt::PlainText)
      letter(label, label->text());
  }
  for (const auto* box : window.findChildren<QGroupBox*>())
    letter(box, box->title());
  return given;
}

/// Whether both would answer to one press, wherever the keyboard is.
bool meet(const GivenKey& a, const GivenKey& b) {
  if (a.keys != b.keys) return false;
  const auto wide = [](const GivenKey& key) {
    return key.context == Qt::WindowShortcut || key.context == Qt::ApplicationShortcut;
  };
  if (wide(a) && wide(b)) return true;
  if (wide(a) || wide(b)) return true;
  if (a.scope == b.scope) return true;
  return (a.context == Qt::WidgetWithChildrenShortcut && a.scope->isAncestorOf(b.scope)) ||
         (b.context == Qt::WidgetWithChildrenShortcut && b.scope->isAncestorOf(a.scope));
}

/// The greatest contrast between what two pictures of a thing show at one place.
double greatest_change(const QImage& before, const QImage& after) {
  double greatest = 1.0;
  for (int y = 0; y < before.height(); ++y) {
    for (int x = 0; x < before.width(); ++x) {
      greatest =
          std::max(greatest, Theme::contrast(before.pixelColor(x, y), after.pixelColor(x, y)));
    }
  }
  return greatest;
}

/// Drops a file at the middle of a widget, as a file manager does.
bool drop_on(QWidget& widget, const QString& file) {
  QMimeData files;
  files.setUrls({QUrl::fromLocalFile(file)});
  QDragEnterEvent enter(widget.rect().center(), Qt::CopyAction, &files, Qt::LeftButton,
                        Qt::NoModifier);
  QCoreApplication::sendEvent(&widget, &enter);
  if (!enter.isAccepted()) return false;
  QDropEvent drop(QPointF(widget.rect().center()), Qt::CopyAction, &files, Qt::LeftButton,
                  Qt::NoModifier);
  QCoreApplication::sendEvent(&widget, &drop);
  return drop.isAccepted();
}

}  // namespace

TEST_CASE("habits: Ctrl+Z in a number field undoes the project's last step once nothing is typed",
          "[ui]") {
  const SmallProject small;
  auto window = window_on(small);
  window->showPage(ui::cvTablePlace);
  auto* field = named<QSpinBox>(*window->currentPage(), "CV3, momentum when speeding up");
  REQUIRE(field != nullptr);
  const std::string before = undoableText(window->workspace()->project());
  field->setFocus();
  field->selectAll();
  QTest::keyClicks(field, QStringLiteral("77"));
  QTest::keyClick(field, Qt::Key_Return);
  REQUIRE(model::cv_value(window->workspace()->project(), 3) == 77);
  QTest::keyClick(field, Qt::Key_Z, Qt::ControlModifier);
  CHECK(undoableText(window->workspace()->project()) == before);
  CHECK(field->value() != 77);
  // A field that was left and come back to has no typing of its own any more.
  field->selectAll();
  QTest::keyClicks(field, QStringLiteral("78"));
  QTest::keyClick(field, Qt::Key_Tab);
  REQUIRE_FALSE(field->hasFocus());
  field->setFocus();
  QTest::keyClick(field, Qt::Key_Z, Qt::ControlModifier);
  CHECK(undoableText(window->workspace()->project()) == before);
  QTest::keySequence(field, QKeySequence::Redo);
  CHECK(model::cv_value(window->workspace()->project(), 3) == 78);
  window->questions().close = [](const QString&) { return ui::CloseChoice::discard; };
}

TEST_CASE("habits: saving and closing take what is being typed", "[ui]") {
  const SmallProject small;
  auto window = window_on(small);
  window->showPage(ui::takesPlace);
  auto* purpose = named<QLineEdit>(*window->currentPage(), "What the recording may be used for");
  REQUIRE(purpose != nullptr);
  for (auto* tabs : window->currentPage()->findChildren<QTabWidget*>()) {
    for (int i = 0; i < tabs->count(); ++i) {
      if (tabs->widget(i)->isAncestorOf(purpose)) tabs->setCurrentIndex(i);
    }
  }
  purpose->setFocus();
  purpose->selectAll();
  QTest::keyClicks(purpose, QStringLiteral("one sound set"));
  QTest::keyClick(purpose, Qt::Key_S, Qt::ControlModifier);
  CHECK_FALSE(window->isWindowModified());
  CHECK(purpose->hasFocus());
  const auto saved = [&] {
    const auto project = store::load_project(small.path());
    return std::any_of(project->passes.begin(), project->passes.end(), [](const auto& pass) {
      return pass.rights && pass.rights->purpose == "one sound set";
    });
  };
  CHECK(saved());
  // Typed and closed at once: it is asked about.
  purpose->selectAll();
  QTest::keyClicks(purpose, QStringLiteral("another"));
  bool asked = false;
  window->questions().close = [&](const QString&) {
    asked = true;
    return ui::CloseChoice::discard;
  };
  CHECK(window->closeProject());
  CHECK(asked);
  CHECK(saved());
}

TEST_CASE("habits: recordings can be dropped on every page, on fields of text too", "[ui]") {
  const SmallProject small;
  auto window = window_on(small);
  const TempFolder elsewhere;
  window->questions().trust = [](const QString&) { return true; };
  int dropped = 0;
  for (int place = ui::takesPlace; place <= ui::notesPlace; ++place) {
    const std::filesystem::path file = elsewhere / ("drop" + std::to_string(place) + ".wav");
    std::filesystem::copy_file(small.folder() / "takes" / "hiss.wav", file);
    window->showPage(place);
    const std::size_t before = window->workspace()->project().takes.size();
    CAPTURE(place);
    QWidget* onto = window->currentPage();
    if (place == ui::notesPlace) {
      onto = named<QPlainTextEdit>(*onto, "Your words for the buyer")->viewport();
    } else if (auto* line = onto->findChild<QLineEdit*>();
               line != nullptr && line->isVisible() && line->isEnabled()) {
      onto = line;
    }
    const std::string words = window->workspace()->project().user_notes;
    CHECK(drop_on(*onto, QString::fromStdString(file.string())));
    CHECK(waitUntil([&] { return window->workspace()->project().takes.size() == before + 1; }));
    CHECK(window->workspace()->project().user_notes == words);
    dropped += 1;
  }
  CHECK(dropped == 8);
  window->questions().close = [](const QString&) { return ui::CloseChoice::discard; };
}

TEST_CASE(
    "habits: recordings dropped on the welcome page begin a project, and are forgotten when "
    "it cannot be made",
    "[ui]") {
  const SmallProject small;
  const TempFolder folder;
  const QString take = QString::fromStdString((small.folder() / "takes" / "hiss.wav").string());
  auto window = window_that_asks_nothing();
  window->questions().trust = [](const QString&) { return true; };
  window->show();
  REQUIRE(QTest::qWaitForWindowExposed(window.get()));
  window->questions().newFile = [&](const QString&) {
    return QString::fromStdString(small.path().string());  // there already: refused
  };
  auto* welcome = window->findChild<ui::WelcomePage*>();
  CHECK(drop_on(*welcome, take));
  CHECK(window->workspace() == nullptr);
  CHECK_FALSE(window->messages().line().isEmpty());
  CHECK(window->newProject(folder / "plain.fourbeat"));
  QTest::qWait(50);
  CHECK(window->workspace()->project().takes.empty());
  REQUIRE(window->closeProject());
  window->questions().newFile = [&](const QString&) {
    return QString::fromStdString((folder / "begun").string());
  };
  CHECK(drop_on(*welcome, take));
  REQUIRE(window->workspace() != nullptr);
  CHECK(waitUntil([&] { return window->workspace()->project().takes.size() == 1; }));
  window->questions().close = [](const QString&) { return ui::CloseChoice::discard; };
}

TEST_CASE("habits: a project that cannot be made leaves the open one in view", "[ui]") {
  const SmallProject small;
  auto window = window_on(small);
  CHECK_FALSE(window->newProject(small.path()));
  REQUIRE(window->workspace() != nullptr);
  CHECK(window->workspace()->project().title == "Small set");
  // Nor is a file left where the open one is kept after all.
  REQUIRE(window->workspace()->perform(QStringLiteral("t"), {model::SetTitle{"changed"}}));
  window->questions().close = [](const QString&) { return ui::CloseChoice::cancel; };
  const std::filesystem::path unwanted = small.folder() / "unwanted.fourbeat";
  CHECK_FALSE(window->newProject(unwanted));
  CHECK(window->workspace()->project().title == "changed");
  CHECK_FALSE(std::filesystem::exists(unwanted));
  window->questions().close = [](const QString&) { return ui::CloseChoice::discard; };
}

TEST_CASE("habits: no key is given twice on any page", "[ui]") {
  const SmallProject small;
  auto window = window_on(small);
  int seen = 0;
  const auto check = [&] {
    const std::vector<GivenKey> given = keys_of(*window);
    seen += static_cast<int>(given.size());
    for (std::size_t i = 0; i < given.size(); ++i) {
      for (std::size_t j = i + 1; j < given.size(); ++j) {
        CAPTURE(given[i].keys.toString().toStdString(), given[i].what.toStdString(),
                given[j].what.toStdString());
        CHECK_FALSE(meet(given[i], given[j]));
      }
    }
  };
  for (int place = ui::takesPlace; place <= ui::notesPlace; ++place) {
    window->showPage(place);
    CAPTURE(place);
    const auto tabs = window->currentPage()->findChildren<QTabWidget*>();
    if (tabs.isEmpty()) check();
    for (QTabWidget* each : tabs) {
      for (int tab = 0; tab < each->count(); ++tab) {
        each->setCurrentIndex(tab);
        CAPTURE(tab);
        check();
      }
    }
  }
  CHECK(seen > 200);
}

TEST_CASE("habits: a page's key works wherever the keyboard is, while the page is in view",
          "[ui]") {
  const SmallProject small;
  auto window = window_on(small);
  window->showPage(ui::trialRunPlace);
  auto* tabs = window->findChild<QTabBar*>(QStringLiteral("pages"));
  tabs->setFocus();
  QTest::keyClick(tabs, Qt::Key_Return, Qt::ControlModifier);
  CHECK(window->workspace()->jobs().hasJobs());
}

TEST_CASE("habits: the current page's tab is drawn whole, its stroke below it too", "[ui]") {
  const SmallProject small;
  auto window = window_on(small);
  auto* tabs = window->findChild<QTabBar*>(QStringLiteral("pages"));
  window->showPage(ui::chuffsPlace);
  QCoreApplication::processEvents();
  const QRect tab = tabs->tabRect(ui::chuffsPlace);
  CHECK(tab.bottom() < tabs->height());
  const QImage image = tabs->grab(tab).toImage();
  const QColor stroke = image.pixelColor(image.width() / 2, image.height() - 2);
  CHECK(Theme::contrast(stroke, Theme::instance().color(Theme::Ink::accent)) < 1.1);
}

TEST_CASE("habits: what has the keyboard is seen, light and dark", "[ui]") {
  // WCAG 2.1, 2.4.7 and 1.4.11: the sign of the focus has a contrast of 3 to what it takes the
  // place of.
  for (const Theme::Mode mode : {Theme::Mode::light, Theme::Mode::dark}) {
    Theme::instance().setMode(mode);
    QWidget ground;
    auto* column = new QVBoxLayout(&ground);
    auto* idle = new QPushButton(QStringLiteral("idle"), &ground);
    auto* list = new QComboBox(&ground);
    list->addItems({QStringLiteral("one"), QStringLiteral("two")});
    auto* typed = new QComboBox(&ground);
    typed->setEditable(true);
    auto* tabs = new QTabBar(&ground);
    tabs->addTab(QStringLiteral("first"));
    tabs->addTab(QStringLiteral("second"));
    auto* rows = new QListWidget(&ground);
    rows->addItems({QStringLiteral("one"), QStringLiteral("two")});
    auto* meter = new ui::LevelMeter(&ground);
    const std::vector<QWidget*> all{list,
                                    typed,
                                    new QDoubleSpinBox(&ground),
                                    new QCheckBox(QStringLiteral("check"), &ground),
                                    new QSlider(Qt::Horizontal, &ground),
                                    new QLineEdit(&ground),
                                    new QPushButton(QStringLiteral("button"), &ground),
                                    tabs,
                                    rows,
                                    meter};
    column->addWidget(idle);
    for (QWidget* widget : all) {
      widget->setFocusPolicy(Qt::StrongFocus);
      column->addWidget(widget);
    }
    ground.show();
    REQUIRE(QTest::qWaitForWindowActive(&ground));
    for (QWidget* widget : all) {
      CAPTURE(static_cast<int>(mode), widget->metaObject()->className());
      idle->setFocus(Qt::TabFocusReason);
      const QImage before = widget->grab().toImage();
      widget->setFocus(Qt::TabFocusReason);
      REQUIRE(widget->hasFocus());
      CHECK(greatest_change(before, widget->grab().toImage()) >= 3.0);
    }
  }
  Theme::instance().setMode(Theme::Mode::system);
}

TEST_CASE("habits: light or dark follows what the desktop says while the program runs", "[ui]") {
  // freedesktop.org, XDG Desktop Portal, "org.freedesktop.appearance" "color-scheme": 0 none, 1
  // dark, 2 light.
  Theme& theme = Theme::instance();
  const auto says = [&](const char* group, uint scheme) {
    QMetaObject::invokeMethod(&theme, "systemSettingChanged", Q_ARG(QString, QLatin1String(group)),
                              Q_ARG(QString, QStringLiteral("color-scheme")),
                              Q_ARG(QDBusVariant, QDBusVariant(scheme)));
  };
  const char* const appearance = "org.freedesktop.appearance";
  theme.setMode(Theme::Mode::system);
  says(appearance, 1);
  CHECK(theme.isDark());
  says("org.gnome.desktop.interface", 2);
  CHECK(theme.isDark());
  says(appearance, 2);
  CHECK_FALSE(theme.isDark());
  theme.setMode(Theme::Mode::dark);
  int changes = 0;
  const auto told = QObject::connect(&theme, &Theme::changed, [&] { ++changes; });
  says(appearance, 2);
  CHECK(theme.isDark());
  CHECK(changes == 0);
  QObject::disconnect(told);
  theme.setMode(Theme::Mode::system);
  CHECK_FALSE(theme.isDark());
  says(appearance, 0);
}

TEST_CASE("habits: how a page is arranged stays, from one window to the next", "[ui]") {
  const SmallProject small;
  const auto splitter = [](MainWindow& window) {
    window.showPage(ui::notesPlace);
    QCoreApplication::processEvents();
    return window.currentPage()->findChild<QSplitter*>();
  };
  const auto tabs = [](MainWindow& window) {
    window.showPage(ui::keysPlace);
    return window.currentPage()->findChild<QTabWidget*>();
  };
  QList<int> sizes;
  QByteArray state;
  {
    auto window = window_on(small);
    QSplitter* split = splitter(*window);
    REQUIRE(split != nullptr);
    sizes = split->sizes();
    sizes[0] += 60;
    sizes[1] -= 60;
    split->setSizes(sizes);
    sizes = split->sizes();
    tabs(*window)->setCurrentIndex(2);
    // The project closed first, then the window: the layout is kept all the same.
    REQUIRE(window->closeProject());
    window->close();
  }
  auto window = window_on(small);
  CHECK(tabs(*window)->currentIndex() == 2);
  CHECK(splitter(*window)->sizes() == sizes);
  tabs(*window)->setCurrentIndex(0);
  REQUIRE(window->closeProject());
}

TEST_CASE("habits: the monitor volume stays", "[ui]") {
  {
    MainWindow window;
    named<QSlider>(window, "Monitor volume")->setValue(-9);
  }
  MainWindow window;
  CHECK(named<QSlider>(window, "Monitor volume")->value() == -9);
  named<QSlider>(window, "Monitor volume")->setValue(0);
}

TEST_CASE("find: the pages' own buttons are commands, and lead to their page and tab", "[ui]") {
  const SmallProject small;
  auto window = window_on(small);
  for (int place = ui::takesPlace; place <= ui::notesPlace; ++place)
    static_cast<void>(window->page(place));
  window->showPage(ui::takesPlace);
  const std::size_t before = window->workspace()->project().keys.size();
  QTimer::singleShot(0, window.get(), [&] {
    auto* dialog = window->findChild<ui::QuickFind*>();
    REQUIRE(dialog != nullptr);
    QTest::keyClicks(dialog->findChild<QLineEdit*>(), QStringLiteral("add key"));
    QTest::keyClick(dialog->findChild<QLineEdit*>(), Qt::Key_Return);
  });
  QTest::keyClick(window.get(), Qt::Key_F, Qt::ControlModifier);
  CHECK(window->currentPage() == window->page(ui::keysPlace));
  CHECK(window->workspace()->project().keys.size() == before + 1);
  window->questions().close = [](const QString&) { return ui::CloseChoice::discard; };
}

TEST_CASE("welcome: changes that were kept aside can be taken up again, or deleted", "[ui]") {
  const SmallProject small;
  for (const store::JournalFile& earlier : store::list_journals_aside())
    std::filesystem::remove(earlier.file);
  model::Project unsaved = small.project();
  unsaved.title = "aside";
  REQUIRE(store::write_journal(small.path(), unsaved));
  REQUIRE(store::set_journal_aside(store::journal_path(small.path())));
  auto window = window_that_asks_nothing();
  window->show();
  REQUIRE(QTest::qWaitForWindowExposed(window.get()));
  const auto link = [&]() -> QCommandLinkButton* {
    for (auto* button : window->findChildren<QCommandLinkButton*>()) {
      if (button->text() == QStringLiteral("aside")) return button;
    }
    return nullptr;
  };
  REQUIRE(link() != nullptr);
  window->questions().recovery = [](const QString&, const QString&) {
    return ui::RecoveryChoice::take;
  };
  link()->click();
  REQUIRE(window->workspace() != nullptr);
  CHECK(window->workspace()->project().title == "aside");
  CHECK(window->isWindowModified());
  window->questions().close = [](const QString&) { return ui::CloseChoice::discard; };
  REQUIRE(window->closeProject());
  CHECK(link() == nullptr);
  CHECK(store::load_project(small.path())->title == "Small set");
  // Deleted only when that is wanted.
  REQUIRE(store::write_journal(small.path(), unsaved));
  REQUIRE(store::set_journal_aside(store::journal_path(small.path())));
  auto* welcome = window->findChild<ui::WelcomePage*>();
  welcome->refresh();
  const auto forget = [&] {
    for (auto* button : welcome->findChildren<QPushButton*>()) {
      if (button->text().startsWith(QStringLiteral("Delete what"))) return button->click();
    }
    FAIL("no button");
  };
  bool wanted = false;
  window->questions().forget = [&](int count) {
    CHECK(count == 1);
    return wanted;
  };
  forget();
  CHECK(store::list_journals_aside().size() == 1);
  wanted = true;
  forget();
  CHECK(store::list_journals_aside().empty());
}

TEST_CASE("budget: without a run card the voices are not known, and it says so", "[ui]") {
  const SmallProject small;
  auto window = window_on(small);
  auto* budget = window->findChild<ui::BudgetBar*>();
  REQUIRE(waitUntil([&] { return window->workspace()->live().isCurrent(); }));
  CHECK(budget->figures().contains(QStringLiteral("voices ")));
  REQUIRE(window->workspace()->perform(QStringLiteral("c"), {model::SetRunCards{{}}}));
  REQUIRE(waitUntil([&] { return window->workspace()->live().isCurrent(); }));
  CHECK(budget->figures().contains(QStringLiteral("no run card")));
  window->questions().close = [](const QString&) { return ui::CloseChoice::discard; };
}

TEST_CASE("level meter: an overload stays until Return is pressed on it, and is told", "[ui]") {
  ui::LevelMeter meter;
  meter.show();
  meter.setPeak(1.2F);
  CHECK_FALSE(meter.accessibleDescription().isEmpty());
  meter.setPeak(0.1F);
  CHECK_FALSE(meter.accessibleDescription().isEmpty());
  QTest::keyClick(&meter, Qt::Key_Return);
  CHECK(meter.accessibleDescription().isEmpty());
}

TEST_CASE("snags: whatever of a project a snag can point at, a page shows it", "[ui]") {
  const SmallProject small;
  auto window = window_on(small);
  int seen = 0;
  const auto check = [&](const auto& member) {
    const QString list = QLatin1Char('/') + QString::fromStdString(std::string(member.name));
    // No rule points at these: ids are the program's own, a verdict's snag is its segment's.
    for (const char* never : {"/next_id", "/speaker", "/verdicts"}) {
      if (list == QLatin1String(never)) return;
    }
    bool shown = false;
    for (int place = ui::takesPlace; place <= ui::notesPlace; ++place) {
      const ui::Page* page = window->page(place);
      shown = shown || page->shows(list) || page->shows(list + QStringLiteral("/0"));
    }
    CAPTURE(list.toStdString());
    CHECK(shown);
    ++seen;
  };
  std::apply([&](const auto&... members) { (check(members), ...); },
             model::Members<model::Project>::list);
  CHECK(seen > 20);
  // And by a click: the snag's page comes to the front.
  REQUIRE(waitUntil([&] { return window->workspace()->live().isCurrent(); }));
  for (const check::Snag& snag : window->workspace()->live().checked()->snags) {
    window->showPage(ui::notesPlace);
    window->reveal(QString::fromStdString(snag.pointer));
    CAPTURE(snag.rule, snag.pointer);
    CHECK(window->currentPage()->shows(QString::fromStdString(snag.pointer)));
  }
}

TEST_CASE("habits: Tab reaches every control of a page, and comes back", "[ui]") {
  const SmallProject small;
  auto window = window_on(small);
  for (int place = ui::takesPlace; place <= ui::notesPlace; ++place) {
    window->showPage(place);
    REQUIRE(waitUntil([&] { return !window->workspace()->jobs().hasJobs(); }));
    auto* tabs = window->findChild<QTabBar*>(QStringLiteral("pages"));
    tabs->setFocus();
    std::set<const QWidget*> reached;
    constexpr int most = 300;
    for (int i = 0; i < most && reached.insert(window->focusWidget()).second; ++i) {
      QTest::keyClick(window->focusWidget(), Qt::Key_Tab);
    }
    for (const QWidget* widget : window->currentPage()->findChildren<QWidget*>()) {
      const bool wanted = (widget->focusPolicy() & Qt::TabFocus) != 0 && widget->isEnabled() &&
                          widget->isVisible() && widget->focusProxy() == nullptr &&
                          !widget->objectName().startsWith(QStringLiteral("qt_"));
      if (!wanted) continue;
      CAPTURE(place, widget->metaObject()->className(), widget->accessibleName().toStdString());
      CHECK(reached.count(widget) == 1);
    }
  }
}
