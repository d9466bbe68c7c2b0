// SPDX-License-Identifier: GPL-3.0-or-later
#include "Wording.h"
#include "page_rig.h"
#include "pages/NotesPage.h"
#include "views/SheetView.h"

#include "fourbeat/base/files.h"
#include "fourbeat/deliver/bundle.h"

#include <QCheckBox>
#include <QLabel>
#include <QLineEdit>
#include <QListWidget>
#include <QPlainTextEdit>
#include <QPushButton>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

QString previewOf(QWidget& page) {
  return named<ui::SheetView>(page, "Preview of the user notes").toPlainText();
}

void press(QWidget& page, const char* button) {
  QTest::mouseClick(&named<QPushButton>(page, button), Qt::LeftButton);
}

std::string content(const std::filesystem::path& file) {
  const Result<std::string> read = read_text_file(file, 50'000'000);
  return read ? *read : std::string();
}

}  // namespace

TEST_CASE("notes: every field makes one step that can be undone", "[ui]") {
  PageRig rig;
  ui::NotesPage page(rig.workspace);
  showActive(page);
  const auto type = [&](const char* name, const QString& words) {
    auto& field = named<QLineEdit>(page, name);
    field.setFocus();
    field.selectAll();
    QTest::keyClicks(&field, words);
    QTest::keyClick(&field, Qt::Key_Return);
  };
  rig.operate(
      "title", [&] { type("Title", QStringLiteral("Another set")); },
      [&] { return rig.project().title == "Another set"; });
  rig.operate(
      "author", [&] { type("Author", QStringLiteral("B. Listener")); },
      [&] { return rig.project().author == "B. Listener"; });
  rig.operate(
      "date", [&] { type("Date", QStringLiteral("2025-06-07")); },
      [&] { return rig.project().date == "2025-06-07"; });
  rig.operate(
      "today", [&] { press(page, "Today"); },
      [&] { return rig.project().date == ui::utf8(QDate::currentDate().toString(Qt::ISODate)); });
  auto& words = named<QPlainTextEdit>(page, "Your words for the buyer");
  rig.operate(
      "notes",
      [&] {
        words.setFocus();
        words.moveCursor(QTextCursor::End);
        QTest::keyClicks(&words, QStringLiteral(" Also **at night**."));
        rig.document().endMerge();
      },
      [&] {
        return rig.project().user_notes == "Whistle *gently* in tunnels. Also **at night**.";
      });
  CHECK(words.toPlainText() == QLatin1String("Whistle *gently* in tunnels."));
}

TEST_CASE("notes: a date that is none is told and changes nothing", "[ui]") {
  PageRig rig;
  ui::NotesPage page(rig.workspace);
  showActive(page);
  QString told;
  QObject::connect(&rig.workspace, &ui::Workspace::told, &page,
                   [&](const QString& line, bool) { told = line; });
  auto& date = named<QLineEdit>(page, "Date");
  date.setFocus();
  date.selectAll();
  QTest::keyClicks(&date, QStringLiteral("1 May 2025"));
  QTest::keyClick(&date, Qt::Key_Return);
  CHECK(rig.project().date == "2025-05-01");
  CHECK_FALSE(told.isEmpty());
  CHECK(date.text() == QLatin1String("1 May 2025"));
}

TEST_CASE("notes: the preview follows the project", "[ui]") {
  PageRig rig;
  ui::NotesPage page(rig.workspace);
  showActive(page);
  CHECK(previewOf(page).contains(QLatin1String("while the key is held")));
  CHECK(previewOf(page).contains(QLatin1String("Whistle gently in tunnels.")));
  model::Key key = rig.project().keys[0];
  REQUIRE(key.mode == model::KeyMode::momentary);
  key.mode = model::KeyMode::latching;
  REQUIRE(rig.document().perform(QStringLiteral("t"), {model::Replace<model::Key>{key}}));
  CHECK(waitUntil([&] {
    return previewOf(page).contains(QLatin1String("until the key is switched off")) &&
           !previewOf(page).contains(QLatin1String("while the key is held"));
  }));
}

TEST_CASE("notes: sheets are written as HTML and PDF", "[ui]") {
  PageRig rig;
  const TempFolder out;
  ui::NotesPage page(rig.workspace);
  showActive(page);
  std::filesystem::path file;
  page.questions().saveFile = [&](const QString&, const QString&, const QString&) {
    return ui::pathText(file);
  };
  const auto write = [&](const char* button, const char* name) {
    file = out / name;
    press(page, button);
    REQUIRE(waitUntil([&] { return !rig.workspace.jobs().isBusy(); }));
    return content(file);
  };
  CHECK(write("User notes …", "notes.html").rfind("<!DOCTYPE html>", 0) == 0);
  CHECK(write("User notes …", "notes.pdf").rfind("%PDF-", 0) == 0);
  CHECK(write("Loading sheet …", "loading.pdf").rfind("%PDF-", 0) == 0);
  CHECK(write("Day sheet …", "day.html").find("chimney") != std::string::npos);
}

TEST_CASE("notes: pack writes a bundle that is proved", "[ui]") {
  PageRig rig;
  const TempFolder out;
  ui::NotesPage page(rig.workspace);
  showActive(page);
  auto& target = named<QLineEdit>(page, "Where the bundle goes");
  page.questions().folder = [&](const QString&, const QString&) {
    return ui::pathText(out / "bundle");
  };
  press(page, "Choose …");
  REQUIRE(target.text() == ui::pathText(out / "bundle"));
  press(page, "Pack the set");
  REQUIRE(waitUntil([&] { return named<QPushButton>(page, "Pack the set").isEnabled(); }, 60000));
  JobControl job;
  const Result<deliver::Proof> proof = deliver::prove(out / "bundle", job);
  REQUIRE(proof);
  CHECK(proof->sound);
  auto& lines = named<QListWidget>(page, "What was packed");
  CHECK(lines.findItems(QStringLiteral("manifest.json"), Qt::MatchExactly).size() == 1);
  CHECK(lines.count() >= proof->files);
}

TEST_CASE("notes: an error snag keeps the set from being packed, and is a click away", "[ui]") {
  PageRig rig;
  const TempFolder out;
  model::Key key = rig.project().keys[0];
  key.number = 60;  // the decoder has 28
  REQUIRE(rig.document().perform(QStringLiteral("t"), {model::Replace<model::Key>{key}}));
  ui::NotesPage page(rig.workspace);
  showActive(page);
  QString revealed;
  QObject::connect(&rig.workspace, &ui::Workspace::revealRequested, &page,
                   [&](const QString& pointer) { revealed = pointer; });
  auto& target = named<QLineEdit>(page, "Where the bundle goes");
  target.setText(ui::pathText(out / "bundle"));
  press(page, "Pack the set");
  REQUIRE(waitUntil([&] { return named<QPushButton>(page, "Pack the set").isEnabled(); }, 60000));
  CHECK_FALSE(std::filesystem::exists(out / "bundle"));
  auto& lines = named<QListWidget>(page, "What was packed");
  REQUIRE(lines.count() == 1);
  CHECK(lines.item(0)->text().contains(QLatin1String("F28")));
  QTest::mouseClick(lines.viewport(), Qt::LeftButton, {},
                    lines.visualItemRect(lines.item(0)).center());
  CHECK(revealed == QLatin1String("/keys/0"));
}
