// SPDX-License-Identifier: GPL-3.0-or-later
// The lists of triggers, layers and own states on the page of the keys, and their forms.
#include "Wording.h"
#include "models/SectionModel.h"
#include "pages/KeysPage.h"
#include "section_hand.h"

#include <QAbstractItemModelTester>
#include <QListWidget>
#include <QTableView>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

/// Operates a field of figures of a form.
void figure(PageRig& rig, QWidget& form, const char* name, double value,
            const std::function<bool()>& seen) {
  typeFigure(rig, form, name, value, seen);
}

void rename(PageRig& rig, QWidget& form, const std::function<bool()>& seen) {
  typeWords(rig, form, "Name", QStringLiteral("Other"), seen);
}

template <class T>
void shakeList(PageRig& rig, const std::vector<T>& some) {
  ui::SectionModel<T> model(
      rig.workspace, {{QStringLiteral("Name"), [](const T& each) { return ui::text(each.name); }}},
      QStringLiteral("Snags"), nullptr);
  const QAbstractItemModelTester tester(&model,
                                        QAbstractItemModelTester::FailureReportingMode::Fatal);
  const auto& list = model::list_of<T>(rig.project());
  for (std::size_t step = 0; step < 60; ++step) {
    const std::size_t at = list.empty() ? 0 : step * 7 % list.size();
    model::Edit edit = model::Add<T>{some[step % some.size()], at};
    if (step % 4 == 2 && !list.empty()) edit = model::Remove<T>{list[at].id};
    if (step % 4 == 3 && !list.empty()) {
      T other = list[at];
      other.name += "'";
      edit = model::Replace<T>{other};
    }
    REQUIRE(rig.document().perform(QStringLiteral("t"), {edit}));
    if (step % 5 == 0) rig.document().undoStack().undo();
    REQUIRE(model.rows() == list);
  }
  while (rig.document().undoStack().canUndo())
    rig.document().undoStack().undo();
  CHECK(model.rowCount() == 0);
}

}  // namespace

TEST_CASE("sections: the lists keep the views' rules under edits and undos", "[ui]") {
  PageRig rig;
  model::Trigger trigger;
  trigger.name = "Depart";
  trigger.sound = rig.project().sounds[0].id;
  shakeList<model::Trigger>(rig, {trigger});
  model::Layer layer;
  layer.name = "Fire";
  layer.sounds = {rig.project().sounds[0].id};
  shakeList<model::Layer>(rig, {layer});
  model::OwnState state;
  state.name = "Long rest";
  shakeList<model::OwnState>(rig, {state});
}

TEST_CASE("sections: triggers are added, changed, duplicated and removed by steps that undo",
          "[ui]") {
  PageRig rig;
  ui::KeysPage page(rig.workspace);
  showActive(page);
  QWidget& form = openTab(page, 1);
  const auto& list = rig.project().triggers;
  CHECK(page.need().contains(QLatin1String("No trigger yet")));
  const auto one = [&]() -> const model::Trigger& { return list.at(0); };
  rig.operate(
      "add", [&] { click(form, "Add trigger"); }, [&] { return list.size() == 1; });
  click(form, "Add trigger");
  REQUIRE(list.size() == 1);
  rename(rig, form, [&] { return one().name == "Other"; });
  rig.operate(
      "duplicate", [&] { click(form, "Duplicate trigger"); },
      [&] { return list.size() == 2 && list[1].event == list[0].event; });
  page.reveal(QStringLiteral("/triggers/0/event"));
  rig.operate(
      "remove", [&] { click(form, "Remove trigger"); }, [&] { return list.empty(); });
  page.reveal(QStringLiteral("/triggers/0"));

  figure(rig, form, "Holds the engine up to", 4, [&] { return one().holds_motion_s == 4; });
  figure(rig, form, "Delay", 1.5, [&] { return one().delay_s == 1.5; });
  figure(rig, form, "Chance", 50, [&] { return one().chance == 0.5; });
  figure(rig, form, "Gain", -3, [&] { return one().gain_db == -3; });
  const auto set = [&](const char* name, const QString& words, const std::function<bool()>& seen) {
    rig.operate(
        name, [&] { choose(form, name, words); }, seen);
    choose(form, name, words);
  };
  set("Event", ui::word(model::TriggerEvent::every),
      [&] { return one().event == model::TriggerEvent::every && one().every.has_value(); });
  CHECK_FALSE(named<QDoubleSpinBox>(form, "Holds the engine up to").isVisibleTo(&form));
  figure(rig, form, "At least after", 90,
         [&] { return one().every->from_s == 90 && one().every->to_s == 90; });
  figure(rig, form, "At most after", 10,
         [&] { return one().every->from_s == 10 && one().every->to_s == 10; });
  set("Event", ui::word(model::TriggerEvent::speed_falls),
      [&] { return one().event == model::TriggerEvent::speed_falls && !one().every; });
  figure(rig, form, "Speed", 25, [&] { return one().speed_kmh == 25; });
  set("Event", ui::word(model::TriggerEvent::state_left),
      [&] { return one().event == model::TriggerEvent::state_left; });
  set("State", ui::word(model::State::braking),
      [&] { return one().state == model::State::braking; });
  model::OwnState rest;
  rest.name = "Long rest";
  REQUIRE(rig.document().perform(QStringLiteral("t"),
                                 {model::Add<model::OwnState>{rest, std::nullopt}}));
  set("State", QStringLiteral("Long rest"),
      [&] { return one().own_state == rig.project().states[0].id; });
  // What another event has no use for does not stay behind, where it would hold the state fast.
  set("Event", ui::word(model::TriggerEvent::reversing),
      [&] { return one().event == model::TriggerEvent::reversing && !one().own_state.is_set(); });
  rig.operate(
      "sound", [&] { choose(form, "Sound", ui::text(rig.project().sounds[1].name)); },
      [&] { return one().sound == rig.project().sounds[1].id; });
  rig.operate(
      "lasts", [&] { named<QCheckBox>(form, "A held sound is let go after a time").click(); },
      [&] { return one().lasts.has_value(); });
  named<QCheckBox>(form, "A held sound is let go after a time").click();
  figure(rig, form, "Lasts at most", 9, [&] { return one().lasts->to_s == 9; });
  set("Action", ui::word(model::TriggerAction::swap), [&] {
    return one().action == model::TriggerAction::swap && one().instead_of.is_set() &&
           one().instead_of != one().sound;
  });
  figure(rig, form, "Fades over", 2, [&] { return one().fade_s == 2; });
  rig.operate(
      "in place of", [&] { choose(form, "In place of", ui::text(rig.project().sounds[0].name)); },
      [&] { return one().instead_of == rig.project().sounds[0].id; });
  set("Action", ui::word(model::TriggerAction::stop),
      [&] { return one().action == model::TriggerAction::stop && !one().instead_of.is_set(); });
  auto& states = named<QListWidget>(form, "In states (none: any)");
  rig.operate(
      "when", [&] { states.item(0)->setCheckState(Qt::Checked); },
      [&] { return one().when.states == std::vector{model::State::standing}; });
}

TEST_CASE("sections: layers show what applies to their kind, each field an undoable step", "[ui]") {
  PageRig rig;
  ui::KeysPage page(rig.workspace);
  showActive(page);
  QWidget& form = openTab(page, 2);
  const auto& list = rig.project().layers;
  const auto one = [&]() -> const model::Layer& { return list.at(0); };
  rig.operate(
      "add", [&] { click(form, "Add layer"); }, [&] { return list.size() == 1; });
  click(form, "Add layer");
  REQUIRE(list.size() == 1);
  rename(rig, form, [&] { return one().name == "Other"; });
  rig.operate(
      "duplicate", [&] { click(form, "Duplicate layer"); }, [&] { return list.size() == 2; });
  page.reveal(QStringLiteral("/layers/0"));
  rig.operate(
      "remove", [&] { click(form, "Remove layer"); }, [&] { return list.empty(); });
  page.reveal(QStringLiteral("/layers/0"));

  figure(rig, form, "Fades over", 2, [&] { return one().fade_s == 2; });
  figure(rig, form, "From speed", 10, [&] { return one().from_kmh == 10; });
  figure(rig, form, "To below", 80, [&] { return one().to_kmh == 80; });
  figure(rig, form, "For turns after rest", 6, [&] { return one().first_turns == 6; });
  figure(rig, form, "Gain", -6, [&] { return one().gain_db == -6; });
  figure(rig, form, "Drifting", -7, [&] { return one().drifting_db == -7; });
  figure(rig, form, "Easy", -8, [&] { return one().easy_db == -8; });
  figure(rig, form, "Hard", -9, [&] { return one().hard_db == -9; });
  const auto addRow = [&](const char* name, const std::function<bool()>& seen) {
    rig.operate(
        name, [&] { click(form, name); }, seen);
    click(form, name);
  };
  const auto cell = [&](const char* name, int row, int column, const QVariant& value,
                        const std::function<bool()>& seen) {
    QAbstractItemModel* model = named<QTableView>(form, name).model();
    rig.operate(
        name, [&] { REQUIRE(model->setData(model->index(row, column), value)); }, seen);
  };
  addRow("Add row: Levels by speed", [&] { return one().levels.size() == 1; });
  addRow("Add row: Levels by speed", [&] { return one().levels.size() == 2; });
  cell("Levels by speed", 0, 0, 70.0,
       [&] { return one().levels[0].speed_kmh == 20 && one().levels[1].speed_kmh == 70; });
  cell("Levels by speed", 1, 1, -5.0, [&] { return one().levels[1].gain_db == -5; });
  addRow("Add row: Sounds", [&] { return one().sounds.size() == 2; });
  cell("Sounds", 1, 0, static_cast<qlonglong>(rig.project().sounds[1].id.value()),
       [&] { return one().sounds[1] == rig.project().sounds[1].id; });
  named<QTableView>(form, "Sounds").selectRow(0);
  rig.operate(
      "remove row", [&] { click(form, "Remove row: Sounds"); },
      [&] { return one().sounds.size() == 1; });

  const auto kind = [&](model::LayerKind wanted, const std::function<bool()>& seen) {
    rig.operate(
        "kind", [&] { choose(form, "Runs", ui::word(wanted)); }, seen);
    choose(form, "Runs", ui::word(wanted));
  };
  CHECK_FALSE(named<QTableView>(form, "Wheel angles").isVisibleTo(&form));
  kind(model::LayerKind::wheel, [&] { return one().angles_deg == std::vector{0.0}; });
  CHECK_FALSE(named<QDoubleSpinBox>(form, "Fades over").isVisibleTo(&form));
  addRow("Add row: Wheel angles", [&] { return one().angles_deg.size() == 2; });
  cell("Wheel angles", 0, 0, 200.0, [&] { return one().angles_deg == std::vector{90.0, 200.0}; });
  kind(model::LayerKind::distance,
       [&] { return one().angles_deg.empty() && one().joint_m >= 1.0; });
  figure(rig, form, "Between rail joints", 25, [&] { return one().joint_m == 25; });
  addRow("Add row: Axles", [&] { return one().axles_m == std::vector{0.0}; });
  // The first axle is at 0: another place is refused, told, and the list is as it was.
  QString told;
  QObject::connect(&rig.workspace, &ui::Workspace::told, [&](const QString& line) { told = line; });
  QAbstractItemModel* axles = named<QTableView>(form, "Axles").model();
  CHECK_FALSE(axles->setData(axles->index(0, 0), 3.0));
  CHECK(told.contains(QLatin1String("first axle")));
  CHECK(one().axles_m == std::vector{0.0});
}

TEST_CASE("sections: states of the set's own, each field an undoable step", "[ui]") {
  PageRig rig;
  ui::KeysPage page(rig.workspace);
  showActive(page);
  QWidget& form = openTab(page, 3);
  const auto& list = rig.project().states;
  const auto one = [&]() -> const model::OwnState& { return list.at(0); };
  rig.operate(
      "add", [&] { click(form, "Add state"); }, [&] { return list.size() == 1; });
  click(form, "Add state");
  REQUIRE(list.size() == 1);
  rename(rig, form, [&] { return one().name == "Other"; });
  rig.operate(
      "duplicate", [&] { click(form, "Duplicate state"); }, [&] { return list.size() == 2; });
  page.reveal(QStringLiteral("/states/0"));
  rig.operate(
      "remove", [&] { click(form, "Remove state"); }, [&] { return list.empty(); });
  page.reveal(QStringLiteral("/states/0"));
  rig.operate(
      "during",
      [&] { named<QListWidget>(form, "During (none: any)").item(2)->setCheckState(Qt::Checked); },
      [&] { return one().during == std::vector{model::State::working}; });
  rig.operate(
      "effort", [&] { choose(form, "Effort", ui::word(model::Effort::hard)); },
      [&] { return one().effort == model::Effort::hard; });
  CHECK_FALSE(named<QDoubleSpinBox>(form, "Ends beyond it by").isVisibleTo(&form));
  const auto edge = [&](const char* box, const char* field,
                        std::optional<double> model::OwnState::*member) {
    rig.operate(
        box, [&] { named<QCheckBox>(form, box).click(); },
        [&] { return (one().*member).has_value(); });
    named<QCheckBox>(form, box).click();
    figure(rig, form, field, 33, [&] { return one().*member == 33.0; });
  };
  edge("Only from a speed on", "From speed", &model::OwnState::from_kmh);
  edge("Only below a speed", "Below speed", &model::OwnState::below_kmh);
  figure(rig, form, "Ends beyond it by", 3, [&] { return one().hysteresis_kmh == 3; });
  figure(rig, form, "Begins after", 60, [&] { return one().after_s == 60; });
  figure(rig, form, "Lasts at least", 5, [&] { return one().hold_s == 5; });

  // A trigger that waits for it keeps it from being removed: the refusal is told.
  model::Trigger trigger;
  trigger.own_state = one().id;
  REQUIRE(rig.document().perform(QStringLiteral("t"),
                                 {model::Add<model::Trigger>{trigger, std::nullopt}}));
  QString told;
  QObject::connect(&rig.workspace, &ui::Workspace::told, [&](const QString& line) { told = line; });
  click(form, "Remove state");
  CHECK(list.size() == 1);
  CHECK_FALSE(told.isEmpty());
}

TEST_CASE("sections: a snag's place leads to its tab", "[ui]") {
  PageRig rig;
  ui::KeysPage page(rig.workspace);
  model::OwnState state;
  state.name = "Long rest";
  REQUIRE(rig.document().perform(QStringLiteral("t"),
                                 {model::Add<model::OwnState>{state, std::nullopt}}));
  auto* tabs = page.findChild<QTabWidget*>();
  REQUIRE(tabs != nullptr);
  for (const char* list : {"/keys", "/triggers", "/layers", "/states"})
    CHECK(page.shows(QString::fromLatin1(list) + QStringLiteral("/0")));
  CHECK_FALSE(page.shows(QStringLiteral("/statesmen/0")));
  page.reveal(QStringLiteral("/states/0/name"));
  CHECK(tabs->currentIndex() == 3);
  CHECK(page.need().contains(QLatin1String("state of the set's own")));
  // The space bar plays the key that is in view, and none behind another tab.
  page.playRequested();
  CHECK_FALSE(waitUntil([&] { return !rig.transport.request().key.isEmpty(); }, 300));
  page.reveal(QStringLiteral("/keys/0"));
  CHECK(tabs->currentIndex() == 0);
  page.playRequested();
  CHECK(waitUntil([&] { return !rig.transport.request().key.isEmpty(); }));
}
