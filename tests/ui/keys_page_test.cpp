// SPDX-License-Identifier: GPL-3.0-or-later
#include "Wording.h"
#include "models/KeyMapModel.h"
#include "page_rig.h"
#include "pages/KeysPage.h"
#include "section_hand.h"

#include <QAbstractItemModelTester>
#include <QCheckBox>
#include <QComboBox>
#include <QLineEdit>
#include <QListWidget>
#include <QPushButton>
#include <QSpinBox>
#include <QTabWidget>
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

namespace {

/// An option and a state of the set's own beside what every rig has.
void giveOptionAndState(PageRig& rig) {
  model::Option option;
  option.name = "Bell";
  option.cv = 130;
  option.choices = {{0, "Off", {}}, {1, "On", {}}};
  model::OwnState state;
  state.name = "Long rest";
  state.during = {model::State::standing};
  REQUIRE(rig.document().perform(QStringLiteral("t"),
                                 {model::Add<model::Option>{option, std::nullopt},
                                  model::Add<model::OwnState>{state, std::nullopt}}));
}

/// The tab of the keys: others have fields of the same names.
QWidget& keysTab(const ui::KeysPage& page) {
  return *page.findChild<QTabWidget*>()->widget(0);
}

/// The page on its first key, with an option and a state to ask for.
struct FirstKey {
  PageRig rig;
  ui::KeysPage page{rig.workspace};

  FirstKey() {
    giveOptionAndState(rig);
    showActive(page);
    page.select(rig.project().keys[0].id);
  }
  [[nodiscard]] QWidget& form() const { return keysTab(page); }
};

void tick(QListWidget& list, int row) {
  QListWidgetItem* item = list.item(row);
  REQUIRE(item != nullptr);
  item->setCheckState(item->checkState() == Qt::Checked ? Qt::Unchecked : Qt::Checked);
}

}  // namespace

TEST_CASE("keys: each task is chosen, with its own figures, and undone", "[ui]") {
  FirstKey open;
  PageRig& rig = open.rig;
  const auto& keys = rig.project().keys;
  QWidget& form = open.form();
  const auto task = [&]<class Task>(const char* words, Task wanted) {
    rig.operate(
        words, [&] { choose(form, "Does", QString::fromUtf8(words)); },
        [&] { return keys[0].task == model::KeyTask(wanted); });
    REQUIRE(rig.document().perform(QStringLiteral("t"), {model::Replace<model::Key>{[&] {
                                     model::Key key = keys[0];
                                     key.task = wanted;
                                     return key;
                                   }()}}));
    CHECK_FALSE(ui::taskText(rig.project(), keys[0].task).isEmpty());
  };
  const auto figure = [&](const char* name, double value, const std::function<bool()>& seen) {
    auto& field = named<QDoubleSpinBox>(form, name);
    REQUIRE(field.isVisible());
    rig.operate(
        name, [&] { field.setValue(value); }, seen);
  };
  const auto of = [&]<class Task>(Task) { return std::get<Task>(*keys[0].task); };
  task("Brake", model::BrakeKey{});
  figure("Strength", 40, [&] { return of(model::BrakeKey{}).strength == 0.4; });
  figure("Grows over", 2.5, [&] { return of(model::BrakeKey{}).grows_s == 2.5; });
  CHECK_FALSE(named<QDoubleSpinBox>(form, "Softer by").isVisible());
  task("Direct control", model::DirectControlKey{});
  figure("Momentum left", 25, [&] { return of(model::DirectControlKey{}).momentum == 0.25; });
  task("Silence", model::SilenceKey{});
  figure("Fades over", 3, [&] { return of(model::SilenceKey{}).fade_s == 3.0; });
  task("Soften", model::SoftenKey{});
  figure("Softer by", 20, [&] { return of(model::SoftenKey{}).by_db == 20.0; });
  task("Slip", model::SlipKey{});
  figure("Slip", 150, [&] { return of(model::SlipKey{}).strength == 1.5; });
  task("Chore", model::ChoreKey{});
  rig.operate(
      "chore", [&] { choose(form, "Chore", QStringLiteral("Feed: water into the boiler")); },
      [&] { return of(model::ChoreKey{}).chore == model::Chore::feed; });
  task("Effort", model::EffortKey{});
  rig.operate(
      "effort", [&] { choose(form, "Effort", QStringLiteral("Drifting")); },
      [&] { return of(model::EffortKey{}).effort == model::Effort::drifting; });
  task("Wake", model::WakeKey{});
  rig.operate(
      "asleep", [&] { named<QCheckBox>(form, "Asleep until first put on").click(); },
      [&] { return !of(model::WakeKey{}).starts_asleep; });
  task("Option", model::OptionKey{rig.project().options[0].id, 1, {}});
  figure("Its value", 7, [&] { return of(model::OptionKey{}).value == 7; });
  CHECK(named<QDoubleSpinBox>(form, "Its value").suffix().contains(QLatin1String("On")));
  rig.operate(
      "nothing", [&] { choose(form, "Does", QStringLiteral("Nothing more")); },
      [&] { return !keys[0].task; });
  // An option is asked for: the refusal is told, and the form shows what the project has.
  QString told;
  QObject::connect(&rig.workspace, &ui::Workspace::told, [&](const QString& line) { told = line; });
  const std::string before = rig.text();
  choose(form, "Option", QStringLiteral("No option"));
  CHECK(told.contains(QLatin1String("option")));
  const bool same = rig.text() == before;
  CHECK(same);
  CHECK(named<QComboBox>(form, "Option").currentText() == QLatin1String("Bell"));
}

TEST_CASE("keys: when a key serves, its gain and its variants are edits that undo takes back",
          "[ui]") {
  FirstKey open;
  PageRig& rig = open.rig;
  const auto& keys = rig.project().keys;
  QWidget& form = open.form();
  auto& states = named<QListWidget>(form, "In states (none: any)");
  REQUIRE(states.count() == 9);
  rig.operate(
      "state", [&] { tick(states, 3); },
      [&] { return keys[0].when.states == std::vector{model::State::coasting}; });
  CHECK(states.item(3)->checkState() == Qt::Unchecked);
  rig.operate(
      "own state", [&] { tick(states, 8); },
      [&] { return keys[0].when.own_states == std::vector{rig.project().states[0].id}; });
  rig.operate(
      "option", [&] { choose(form, "While option", QStringLiteral("Bell")); },
      [&] { return keys[0].when.option == rig.project().options[0].id; });
  rig.operate(
      "gain", [&] { named<QDoubleSpinBox>(form, "Gain").setValue(-4.5); },
      [&] { return keys[0].gain_db == -4.5; });
  // A drag is one step until the field is left.
  const int steps = rig.document().undoStack().index();
  for (const double value : {1.0, 2.0, 3.0})
    named<QDoubleSpinBox>(form, "Gain").setValue(value);
  CHECK(rig.document().undoStack().index() == steps + 1);
  rig.document().undoStack().undo();

  const auto add = [&] {
    QTest::mouseClick(&named<QPushButton>(form, "Add row: By speed"), Qt::LeftButton);
  };
  rig.operate("variant", add, [&] {
    return keys[0].by_speed.size() == 1 && keys[0].by_speed[0].sound == keys[0].sound;
  });
  add();
  add();
  REQUIRE(keys[0].by_speed.size() == 2);
  auto& table = named<QTableView>(form, "By speed");
  rig.operate(
      "from speed: the list stays in order",
      [&] { editCell<QDoubleSpinBox>(table, 0, 0, [](QDoubleSpinBox& box) { box.setValue(90); }); },
      [&] { return keys[0].by_speed[0].from_kmh == 40 && keys[0].by_speed[1].from_kmh == 90; });
  rig.operate(
      "its sound",
      [&] { REQUIRE(table.model()->setData(table.model()->index(0, 1), qlonglong{0})); },
      [&] { return !keys[0].by_speed[0].sound.is_set(); });
  table.selectRow(0);
  rig.operate(
      "remove",
      [&] { QTest::mouseClick(&named<QPushButton>(form, "Remove row: By speed"), Qt::LeftButton); },
      [&] { return keys[0].by_speed.size() == 1 && keys[0].by_speed[0].from_kmh == 40; });
}

TEST_CASE("keys: the list of a key's variants keeps the views' rules", "[ui]") {
  PageRig rig;
  ui::KeysPage page(rig.workspace);
  page.select(rig.project().keys[0].id);
  QWidget& form = keysTab(page);
  auto& table = named<QTableView>(form, "By speed");
  const QAbstractItemModelTester tester(table.model(),
                                        QAbstractItemModelTester::FailureReportingMode::Fatal);
  const Id<model::Key> id = rig.project().keys[0].id;
  for (int i = 0; i < 40; ++i) {
    model::Key key = *model::find(rig.project(), id);
    key.by_speed.clear();
    for (int each = 0; each < i * 7 % 5; ++each)
      key.by_speed.push_back({10.0 + 10.0 * each + i, key.sound, {}});
    REQUIRE(rig.document().perform(QStringLiteral("t"), {model::Replace<model::Key>{key}}));
    CHECK(table.model()->rowCount() == static_cast<int>(key.by_speed.size()));
    if (i % 3 == 0) rig.document().undoStack().undo();
  }
  while (rig.document().undoStack().canUndo())
    rig.document().undoStack().undo();
  CHECK(table.model()->rowCount() == 0);
}
