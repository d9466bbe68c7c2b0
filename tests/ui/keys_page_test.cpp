// SPDX-License-Identifier: GPL-3.0-or-later
#include "models/KeyMapModel.h"
#include "page_rig.h"
#include "pages/KeysPage.h"

#include <QAbstractItemModelTester>
#include <QComboBox>
#include <QLineEdit>
#include <QPushButton>
#include <QSpinBox>
#include <QTableView>

using namespace fourbeat;
using namespace fourbeat::tests;
using ui::KeyMapModel;

TEST_CASE("keys: the model keeps the views' rules under random edits, undos and redos", "[ui]") {
  PageRig rig;
  KeyMapModel model(rig.workspace);
  const QAbstractItemModelTester tester(&model,
                                        QAbstractItemModelTester::FailureReportingMode::Fatal);
  rig.shake();
  REQUIRE(model.rowCount() == static_cast<int>(rig.project().keys.size()));
  for (int row = 1; row < model.rowCount(); ++row)
    CHECK(model.rows()[static_cast<std::size_t>(row - 1)].number <=
          model.rows()[static_cast<std::size_t>(row)].number);
}

TEST_CASE("keys: every control makes one step that can be undone", "[ui]") {
  PageRig rig;
  ui::KeysPage page(rig.workspace);
  showActive(page);
  auto& table = named<QTableView>(page, "Function keys");
  const auto& keys = rig.project().keys;
  REQUIRE(keys.size() == 2);

  rig.operate(
      "add", [&] { QTest::mouseClick(&named<QPushButton>(page, "Add key"), Qt::LeftButton); },
      [&] { return keys.size() == 3 && keys[2].number == 0 && page.current()->id == keys[2].id; });
  table.selectRow(0);
  rig.operate(
      "duplicate",
      [&] { QTest::mouseClick(&named<QPushButton>(page, "Duplicate"), Qt::LeftButton); },
      [&] { return keys.size() == 3 && keys[2].number == 3 && keys[2].label == "Whistle"; });
  table.selectRow(0);
  rig.operate(
      "remove", [&] { QTest::mouseClick(&named<QPushButton>(page, "Remove"), Qt::LeftButton); },
      [&] { return keys.size() == 1 && keys[0].number == 5; });
  table.selectRow(0);
  table.setFocus();
  rig.operate(
      "remove by key", [&] { QTest::keyClick(&table, Qt::Key_Delete); },
      [&] { return keys.size() == 1; });
  rig.operate(
      "number",
      [&] {
        editCell<QSpinBox>(table, 0, KeyMapModel::numberColumn,
                           [](QSpinBox& box) { box.setValue(12); });
      },
      [&] { return keys[0].number == 12; });
  rig.operate(
      "label",
      [&] {
        editCell<QLineEdit>(table, 0, KeyMapModel::labelColumn, [](QLineEdit& line) {
          line.clear();
          QTest::keyClicks(&line, QStringLiteral("Long whistle"));
        });
      },
      [&] { return keys[0].label == "Long whistle"; });
  const auto choose = [&](int column, Qt::Key key) {
    editCell<QComboBox>(table, 0, column, [&](QComboBox& box) { QTest::keyClick(&box, key); });
  };
  rig.operate(
      "action", [&] { choose(KeyMapModel::modeColumn, Qt::Key_Up); },
      [&] { return keys[0].mode == model::KeyMode::latching; });
  rig.operate(
      "direction", [&] { choose(KeyMapModel::directionColumn, Qt::Key_Down); },
      [&] { return keys[0].direction == model::KeyDirection::forward; });
  rig.operate(
      "sound", [&] { choose(KeyMapModel::soundColumn, Qt::Key_Down); },
      [&] { return keys[0].sound == rig.project().sounds[1].id; });
}

TEST_CASE("keys: a held key plays its joined sound, held, until it is let go", "[ui]") {
  PageRig rig;
  ui::KeysPage page(rig.workspace);
  showActive(page);
  page.select(rig.project().keys[0].id);
  QPushButton* button = nullptr;
  for (QPushButton* each : page.findChildren<QPushButton*>()) {
    if (each->text() == QLatin1String("Hold to sound")) button = each;
  }
  REQUIRE(button != nullptr);
  QTest::mousePress(button, Qt::LeftButton);
  const QString key = QStringLiteral("key/%1").arg(rig.project().keys[0].id.value());
  REQUIRE(waitUntil([&] { return rig.transport.request().key == key; }));
  const auto* source = std::get_if<ui::ClipSource>(&rig.transport.request().source);
  REQUIRE(source != nullptr);
  CHECK(source->hold);
  REQUIRE(source->clip->loop);
  CHECK(source->clip->loop->length() == FrameCount(24'000));
  QTest::mouseRelease(button, Qt::LeftButton);

  // The space bar plays it once, through.
  page.playRequested();
  REQUIRE(waitUntil([&] {
    const auto* again = std::get_if<ui::ClipSource>(&rig.transport.request().source);
    return again != nullptr && !again->hold;
  }));
}

TEST_CASE("keys: a key above the decoder's highest says so", "[ui]") {
  PageRig rig;
  ui::KeysPage page(rig.workspace);
  model::Key key = rig.project().keys[0];
  key.number = 60;
  REQUIRE(rig.document().perform(QStringLiteral("t"), {model::Replace<model::Key>{key}}));
  KeyMapModel model(rig.workspace);
  REQUIRE(waitUntil([&] { return model.snagsOf(key.id).contains(QLatin1String("F28")); }));
  const QModelIndex cell = model.index(model.rowOf(key.id), KeyMapModel::snagColumn);
  CHECK(cell.data().toString().contains(QLatin1String("up to F28")));
  // Sorted by number, it is the last one; a snag's place leads to it.
  CHECK(model.rowOf(key.id) == 1);
  page.reveal(QStringLiteral("/keys/0/number"));
  REQUIRE(page.current() != nullptr);
  CHECK(page.current()->id == key.id);
}
