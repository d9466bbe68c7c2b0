// SPDX-License-Identifier: GPL-3.0-or-later
#include "models/CvTableModel.h"
#include "page_rig.h"
#include "pages/CvTablePage.h"
#include "views/SpeedCurve.h"

#include "fourbeat/model/cv_values.h"

#include <QAbstractItemModelTester>
#include <QCheckBox>
#include <QLabel>
#include <QLineEdit>
#include <QLocale>
#include <QPushButton>
#include <QSpinBox>
#include <QTableView>

using namespace fourbeat;
using namespace fourbeat::tests;
using ui::CvTableModel;

namespace {

/// "9.0 s from rest to full speed", as the user's locale writes it.
QString fromRest(double seconds) {
  return QStringLiteral("%1 s from rest to full speed").arg(QLocale().toString(seconds, 'f', 1));
}

}  // namespace

TEST_CASE("cv table: the model keeps the views' rules under random edits, undos and redos",
          "[ui]") {
  PageRig rig;
  CvTableModel model(rig.workspace);
  const QAbstractItemModelTester tester(&model,
                                        QAbstractItemModelTester::FailureReportingMode::Fatal);
  rig.shake();
  REQUIRE(model.rowCount() == static_cast<int>(rig.project().cvs.size()));
  CHECK(model.standardName(3) == QLatin1String("Momentum when speeding up"));
}

TEST_CASE("cv table: every cell and button makes one step that can be undone", "[ui]") {
  PageRig rig;
  ui::CvTablePage page(rig.workspace);
  showActive(page);
  auto& table = named<QTableView>(page, "CVs of the set");
  const auto value = [&](int number) { return model::cv_value(rig.project(), number); };
  auto& number = named<QSpinBox>(page, "Number of the new CV");
  number.setValue(63);
  rig.operate(
      "add", [&] { QTest::mouseClick(&named<QPushButton>(page, "Add"), Qt::LeftButton); },
      [&] { return value(63).has_value() && page.current()->number == 63; });
  table.selectRow(0);
  rig.operate(
      "remove", [&] { QTest::mouseClick(&named<QPushButton>(page, "Remove"), Qt::LeftButton); },
      [&] { return !value(3); });
  const auto spin = [&](int column, int wanted) {
    editCell<QSpinBox>(table, 0, column, [&](QSpinBox& box) { box.setValue(wanted); });
  };
  rig.operate(
      "number", [&] { spin(CvTableModel::numberColumn, 5); }, [&] { return value(5) == 10; });
  rig.operate(
      "value", [&] { spin(CvTableModel::valueColumn, 77); }, [&] { return value(3) == 77; });
  const auto write = [&](int column, const QString& words) {
    editCell<QLineEdit>(table, 0, column, [&](QLineEdit& line) {
      line.clear();
      QTest::keyClicks(&line, words);
    });
  };
  rig.operate(
      "name", [&] { write(CvTableModel::nameColumn, QStringLiteral("Heavy start")); },
      [&] { return rig.project().cvs[0].name == "Heavy start"; });
  rig.operate(
      "note", [&] { write(CvTableModel::noteColumn, QStringLiteral("for long trains")); },
      [&] { return rig.project().cvs[0].note == "for long trains"; });
}

TEST_CASE("cv table: a value out of range is kept, and is a snag", "[ui]") {
  PageRig rig;
  ui::CvTablePage page(rig.workspace);
  showActive(page);
  auto& table = named<QTableView>(page, "CVs of the set");
  editCell<QSpinBox>(table, 0, CvTableModel::valueColumn, [](QSpinBox& box) {
    box.selectAll();
    QTest::keyClicks(&box, QStringLiteral("300"));
  });
  CHECK(rig.project().cvs[0].value == 300);
  CHECK(waitUntil([&] {
    return table.model()
        ->index(0, CvTableModel::snagColumn)
        .data()
        .toString()
        .contains(QLatin1String("300 is outside 0 to 255"));
  }));
}

TEST_CASE("cv table: momentum is set by its control, and told in seconds", "[ui]") {
  PageRig rig;
  ui::CvTablePage page(rig.workspace);
  showActive(page);
  auto& control = named<QSpinBox>(page, "CV3, momentum when speeding up");
  REQUIRE(control.value() == 10);
  CHECK(control.accessibleDescription() == fromRest(8.96));
  rig.operate(
      "step up", [&] { QTest::keyClick(&control, Qt::Key_Up); },
      [&] { return rig.project().cvs[0].value == 11; });
  CHECK(control.value() == 10);
  control.setFocus();
  rig.operate(
      "typed",
      [&] {
        control.selectAll();
        QTest::keyClicks(&control, QStringLiteral("30"));
        QTest::keyClick(&control, Qt::Key_Return);
      },
      [&] {
        // S-9.2.2: 30 × 0.896 s for the whole sweep.
        return rig.project().cvs[0].value == 30 &&
               control.accessibleDescription() == fromRest(26.88);
      });
  // CV23 with its sign bit takes away: 10 - 5.
  REQUIRE(rig.document().perform(QStringLiteral("t"), {model::SetCv{23, 0x85}}));
  CHECK(control.accessibleDescription() == fromRest(4.48) + QLatin1String(", CV23 counted in"));
}

TEST_CASE("cv table: the basic settings are the bits of CV29", "[ui]") {
  PageRig rig;
  ui::CvTablePage page(rig.workspace);
  showActive(page);
  int all = 0;
  int boxes = 0;
  for (QCheckBox* box : page.findChildren<QCheckBox*>()) {
    ++boxes;
    rig.operate(
        "bit", [&] { QTest::keyClick(box, Qt::Key_Space); },
        [&] {
          const int value = model::cv_value(rig.project(), 29).value_or(0);
          all |= value;
          return box->isChecked() && value != 0 && (value & (value - 1)) == 0;
        });
    CHECK_FALSE(box->isChecked());
  }
  CHECK(boxes == 6);
  CHECK(all == 0b0011'1111);
  // Other bits stay as they are.
  REQUIRE(rig.document().perform(QStringLiteral("t"), {model::SetCv{29, 6}}));
  auto& reversed = named<QCheckBox>(page, "Direction reversed");
  QTest::keyClick(&reversed, Qt::Key_Space);
  CHECK(model::cv_value(rig.project(), 29) == 7);
}

TEST_CASE("cv table: a long address sets CV17 and CV18 together", "[ui]") {
  PageRig rig;
  ui::CvTablePage page(rig.workspace);
  showActive(page);
  auto& address = named<QSpinBox>(page, "Long address");
  CHECK(address.value() == 0);
  address.setFocus();
  rig.operate(
      "address",
      [&] {
        address.selectAll();
        QTest::keyClicks(&address, QStringLiteral("1000"));
        QTest::keyClick(&address, Qt::Key_Return);
      },
      [&] {
        return model::cv_value(rig.project(), 17) == 195 &&
               model::cv_value(rig.project(), 18) == 232;
      });
  REQUIRE(
      rig.document().perform(QStringLiteral("t"), {model::SetCv{17, 196}, model::SetCv{18, 210}}));
  CHECK(address.value() == 1234);
}

TEST_CASE("cv table: the speed curve is moved by mouse and keys, a drag is one step", "[ui]") {
  PageRig rig;
  ui::CvTablePage page(rig.workspace);
  page.resize(1200, 900);
  showActive(page);
  auto& curve = named<ui::SpeedCurve>(page, "Speed table");
  const auto level = [&](int step) { return model::cv_value(rig.project(), 66 + step); };
  REQUIRE_FALSE(level(1));
  rig.operate(
      "straight line",
      [&] { QTest::mouseClick(&named<QPushButton>(page, "Straight line"), Qt::LeftButton); },
      [&] { return level(1) == 9 && level(14) == 128 && level(28) == 255; });
  curve.setFocus();
  rig.operate(
      "key",
      [&] {
        for (int i = 0; i < 6; ++i)
          QTest::keyClick(&curve, Qt::Key_Right);
        QTest::keyClick(&curve, Qt::Key_Down);
      },
      // The first move puts the other steps in on a straight line.
      [&] { return level(7) == 63 && level(6) == 55 && level(28) == 255; });
  rig.operate(
      "drag",
      [&] {
        const auto at = [&](int value) { return curve.place(13, value).toPoint(); };
        QTest::mousePress(&curve, Qt::LeftButton, {}, at(120));
        for (int value = 120; value >= 60; value -= 5)
          QTest::mouseMove(&curve, at(value));
        QTest::mouseRelease(&curve, Qt::LeftButton, {}, at(60));
      },
      [&] { return std::abs(level(14).value_or(0) - 60) <= 2; });
  CHECK(curve.current() == 13);
  QTest::keyClick(&curve, Qt::Key_End);
  CHECK(curve.accessibleDescription() == QLatin1String("Step 28 of 28: level 255"));
}

TEST_CASE("cv table: a snag's place leads to its CV", "[ui]") {
  PageRig rig;
  ui::CvTablePage page(rig.workspace);
  showActive(page);
  CHECK(page.shows(QStringLiteral("/cvs/1/value")));
  CHECK_FALSE(page.shows(QStringLiteral("/keys/1")));
  page.reveal(QStringLiteral("/cvs/1/value"));
  REQUIRE(page.current() != nullptr);
  CHECK(page.current()->number == 4);
}
