// SPDX-License-Identifier: GPL-3.0-or-later
// How the set drives, and its duties: the two forms on the page of the keys.
#include "Wording.h"
#include "models/PartsModel.h"
#include "pages/KeysPage.h"
#include "section_hand.h"

#include "fourbeat/drive/neglect.h"
#include "fourbeat/model/cv_targets.h"

#include <QAbstractItemModelTester>
#include <QLabel>
#include <QLocale>
#include <QScrollArea>
#include <QTableView>

using namespace fourbeat;
using namespace fourbeat::tests;
using model::Driving;
using model::Duties;

namespace {

constexpr int drivingTab = 4;
constexpr int dutiesTab = 5;

struct OpenTab {
  OpenTab(PageRig& rig, int tab) : page(rig.workspace) {
    page.resize(1200, 760);
    showActive(page);
    form = &openTab(page, tab);
  }
  ui::KeysPage page;
  QWidget* form = nullptr;
};

void tick(PageRig& rig, QWidget& form, const char* name, const std::function<bool()>& seen) {
  auto& box = named<QCheckBox>(form, name);
  INFO(name);
  REQUIRE(box.isVisible());
  rig.operate(
      name,
      [&] {
        box.setFocus();
        QTest::keyClick(&box, Qt::Key_Space);
      },
      seen);
}

}  // namespace

TEST_CASE("settings: each figure of how it drives is typed, an undoable step", "[ui]") {
  PageRig rig;
  OpenTab open(rig, drivingTab);
  QWidget& form = *open.form;
  const auto one = [&]() -> const Driving& { return rig.project().driving; };
  const auto put = [&](const Driving& driving) {
    REQUIRE(rig.document().perform(QStringLiteral("t"), {model::SetDriving{driving}}));
  };
  typeFigure(rig, form, "Cylinder cocks open for", 6.5,
             [&] { return one().cocks_open_turns == 6.5; });
  typeFigure(rig, form, "Heavy from a load of", 80, [&] { return one().heavy_start_load == 0.8; });
  typeFigure(rig, form, "An effort lasts", 1.25, [&] { return one().effort_hold_s == 1.25; });
  typeFigure(rig, form, "A state lasts", 0.75, [&] { return one().state_hold_s == 0.75; });
  typeFigure(rig, form, "A full brake takes", 9, [&] { return one().full_brake_s == 9; });
  typeFigure(rig, form, "Sound in reserve", 2, [&] { return one().power_reserve_s == 2; });
  typeFigure(rig, form, "Fades out over", 1.5, [&] { return one().power_fade_s == 1.5; });
  typeFigure(rig, form, "Falls asleep after", 12, [&] { return one().sleeps_after_s == 12; });
  typeFigure(rig, form, "Rows follow after", 0.25, [&] { return one().sync.row_delay_s == 0.25; });
  tick(rig, form, "Drifts without chuffs", [&] { return one().drifting_without_chuffs; });

  CHECK_FALSE(named<QDoubleSpinBox>(form, "Rolls on for").isVisible());
  tick(rig, form, "Rolls on until braked", [&] { return one().coasts_until_braked; });
  Driving driving = one();
  driving.coasts_until_braked = true;
  put(driving);
  typeFigure(rig, form, "Rolls on for", 20, [&] { return one().coasting_factor == 20; });

  CHECK_FALSE(named<QDoubleSpinBox>(form, "Pulses a turn").isVisible());
  CHECK_FALSE(named<QDoubleSpinBox>(form, "Beats too many").isVisible());
  rig.operate(
      "sensor", [&] { choose(form, "The wheel is known", QStringLiteral("by a wheel sensor")); },
      [&] { return one().sync.kind == model::SyncKind::sensor; });
  choose(form, "The wheel is known", QStringLiteral("by a wheel sensor"));
  typeFigure(rig, form, "Pulses a turn", 8, [&] { return one().sync.pulses_per_turn == 8; });
  choose(form, "The wheel is known", QStringLiteral("by reckoning"));
  CHECK_FALSE(named<QDoubleSpinBox>(form, "Pulses a turn").isVisible());
  typeFigure(rig, form, "Beats too many", -5, [&] { return one().sync.error_percent == -5; });

  CHECK_FALSE(named<QDoubleSpinBox>(form, "Chance of a slip").isVisible());
  tick(rig, form, "Wheels slip", [&] { return one().slip.has_value(); });
  driving.slip.emplace();
  put(driving);
  typeFigure(rig, form, "Chance of a slip", 30, [&] { return one().slip->chance == 0.3; });
  typeFigure(rig, form, "Wheels race by", 40, [&] { return one().slip->wheel_kmh == 40; });
  typeFigure(rig, form, "Slip grows over", 0.6, [&] { return one().slip->rises_s == 0.6; });
  typeFigure(rig, form, "Slip lasts", 1.1, [&] { return one().slip->lasts_s == 1.1; });
  typeFigure(rig, form, "Grip is back after", 0.9, [&] { return one().slip->recovers_s == 0.9; });

  driving.extra["later"] = "1";
  put(driving);
  rig.operate(
      "usual figures", [&] { click(form, "Usual figures"); },
      [&] {
        Driving usual;
        usual.extra = driving.extra;  // what another version wrote stays
        return one() == usual;
      });
}

TEST_CASE("settings: the measured speeds are rows that stay in order", "[ui]") {
  PageRig rig;
  OpenTab open(rig, drivingTab);
  QWidget& form = *open.form;
  const auto curve = [&]() -> const std::vector<model::SpeedPoint>& {
    return rig.project().driving.speed_curve;
  };
  const auto add = [&](const std::function<bool()>& seen) {
    rig.operate(
        "add", [&] { click(form, "Add row: Measured speeds"); }, seen);
    click(form, "Add row: Measured speeds");
  };
  add([&] { return curve().size() == 1 && curve()[0].level == 0 && curve()[0].speed_kmh == 0; });
  add([&] { return curve().size() == 2 && curve()[1].level == 255 && curve()[1].speed_kmh == 60; });
  add([&] {
    return curve().size() == 3 && curve()[1].level == 127.5 && curve()[1].speed_kmh == 30;
  });
  auto& table = named<QTableView>(form, "Measured speeds");
  rig.operate(
      "speed",
      [&] { editCell<QDoubleSpinBox>(table, 1, 1, [](QDoubleSpinBox& box) { box.setValue(20); }); },
      [&] { return curve()[1].speed_kmh == 20; });
  rig.operate(
      "level",
      [&] { editCell<QDoubleSpinBox>(table, 1, 0, [](QDoubleSpinBox& box) { box.setValue(90); }); },
      [&] { return curve()[1].level == 90; });
  table.selectRow(1);
  rig.operate(
      "remove", [&] { click(form, "Remove row: Measured speeds"); },
      [&] { return curve().size() == 2; });
  // A speed below the one before would send a faster level slower: refused and told.
  QString told;
  QObject::connect(&rig.workspace, &ui::Workspace::told, [&](const QString& line) { told = line; });
  CHECK_FALSE(table.model()->setData(table.model()->index(1, 1), 299.0));
  CHECK(told.contains(QLatin1String("speed_curve")));
  CHECK(curve()[1].speed_kmh == 30);

  const QAbstractItemModelTester tester(table.model(),
                                        QAbstractItemModelTester::FailureReportingMode::Fatal);
  for (int i = 0; i < 40; ++i) {
    Driving driving = rig.project().driving;
    driving.speed_curve.clear();
    for (int each = 0; each < i * 7 % 6; ++each)
      driving.speed_curve.push_back({10.0 * each + i, 5.0 * each, {}});
    REQUIRE(rig.document().perform(QStringLiteral("t"), {model::SetDriving{driving}}));
    CHECK(table.model()->rowCount() == static_cast<int>(driving.speed_curve.size()));
    if (i % 3 == 0) rig.document().undoStack().undo();
  }
}

TEST_CASE("settings: every field may hold what the model allows, and no more", "[ui]") {
  PageRig rig;
  OpenTab open(rig, drivingTab);
  const auto& brake = named<QDoubleSpinBox>(*open.form, "A full brake takes");
  const model::MemberRule rule = model::rule_of(&Driving::full_brake_s);
  CHECK(brake.minimum() == Approx(rule.low));
  CHECK(brake.maximum() == Approx(rule.high));
  const auto& load = named<QDoubleSpinBox>(*open.form, "Heavy from a load of");
  CHECK(load.maximum() == Approx(100.0));
  int fields = 0;
  for (const QDoubleSpinBox* field : open.form->findChildren<QDoubleSpinBox*>()) {
    ++fields;
    INFO(field->accessibleName().toStdString());
    CHECK(field->maximum() > field->minimum());
    CHECK_FALSE(field->accessibleName().isEmpty());
    CHECK_FALSE(field->accessibleDescription().isEmpty());
    CHECK(field->focusPolicy() == Qt::StrongFocus);
  }
  CHECK(fields == 17);
}

TEST_CASE("settings: duties are given and taken away, and each figure is typed", "[ui]") {
  PageRig rig;
  OpenTab open(rig, dutiesTab);
  QWidget& form = *open.form;
  const auto& duties = rig.project().duties;
  REQUIRE_FALSE(duties);
  CHECK_FALSE(named<QDoubleSpinBox>(form, "Starts at").isVisible());
  CHECK_FALSE(named<QPushButton>(form, "Usual figures").isVisible());
  tick(rig, form, "The set has duties", [&] { return duties && duties->on; });
  REQUIRE(rig.document().perform(QStringLiteral("t"), {model::SetDuties{Duties{}}}));
  REQUIRE(named<QDoubleSpinBox>(form, "Starts at").isVisible());
  tick(rig, form, "The set has duties", [&] { return !duties; });
  tick(rig, form, "On as it ships", [&] { return duties->on; });

  struct Figure {
    const char* name;
    double shown;
    double Duties::*at;
    double value;
  };
  const Figure figures[] = {{"Starts at", 9.5, &Duties::start_bar, 9.5},
                            {"Safety valves lift at", 14, &Duties::lift_bar, 14},
                            {"Safety valves shut at", 11, &Duties::reseat_bar, 11},
                            {"Pulls less below", 7, &Duties::weak_bar, 7},
                            {"Stands still at", 3, &Duties::stalled_bar, 3},
                            {"A full fire raises", 4.25, &Duties::heat_bar_per_min, 4.25},
                            {"Lost at all times", 0.45, &Duties::standing_bar_per_min, 0.45},
                            {"Used at full work", 2.5, &Duties::working_bar_per_min, 2.5},
                            {"Safety valve lets out", 5, &Duties::valve_bar_per_min, 5},
                            {"Fire at the start", 60, &Duties::start_fire, 0.6},
                            {"Burns at rest", 5.5, &Duties::burn_per_min, 0.055},
                            {"More when blown", 15, &Duties::working_burn_per_min, 0.15},
                            {"A charge of coal", 30, &Duties::charge, 0.3},
                            {"Coal catches after", 40, &Duties::kindling_s, 40},
                            {"A charge costs", 0.5, &Duties::charge_bar, 0.5},
                            {"Can be lit after", 90, &Duties::relight_s, 90},
                            {"Water at the start", 50, &Duties::start_water, 0.5},
                            {"Water used at full work", 10, &Duties::working_water_per_min, 0.1},
                            {"Feeding brings", 40, &Duties::feed_water_per_min, 0.4},
                            {"Feeding costs", 2, &Duties::feed_bar_per_min, 2},
                            {"Low water", 20, &Duties::low_water, 0.2},
                            {"High water", 85, &Duties::high_water, 0.85},
                            {"Time to feed", 45, &Duties::grace_s, 45}};
  CHECK(std::size(figures) == 23);
  for (const Figure& figure : figures) {
    typeFigure(rig, form, figure.name, figure.shown, [&] {
      return duties && (*duties).*figure.at == Approx(figure.value).epsilon(1e-12);
    });
  }
  // Valves that shut above where they lift: refused, told, and the field shows what holds.
  QString told;
  QObject::connect(&rig.workspace, &ui::Workspace::told, [&](const QString& line) { told = line; });
  auto& shut = named<QDoubleSpinBox>(form, "Safety valves shut at");
  shut.setValue(20);
  CHECK(told.contains(QLatin1String("reseat_bar")));
  CHECK(shut.value() == 11.5);

  Duties other;
  other.on = true;
  other.charge = 0.9;
  other.extra["later"] = "1";
  REQUIRE(rig.document().perform(QStringLiteral("t"), {model::SetDuties{other}}));
  rig.operate(
      "usual figures", [&] { click(form, "Usual figures"); },
      [&] {
        Duties usual;
        usual.on = true;
        usual.extra = other.extra;
        return duties == usual;
      });
}

TEST_CASE("settings: the note tells what the core plays of the duties", "[ui]") {
  PageRig rig;
  OpenTab open(rig, dutiesTab);
  const auto& note = named<QLabel>(*open.form, "With no chore done");
  CHECK_FALSE(note.isVisible());
  Duties duties;
  REQUIRE(rig.document().perform(QStringLiteral("t"), {model::SetDuties{duties}}));
  REQUIRE(note.isVisible());
  const auto minutes = [](const std::optional<double>& seconds) {
    return QLocale().toString(seconds.value_or(0.0) / 60.0, 'f', 1);
  };
  const drive::Neglect rest = drive::neglect(duties, {0.0, model::Effort::easy, true});
  CHECK(note.text().contains(
      QStringLiteral("At rest\nwarns after %1 min\npulls less after %2 min\n"
                     "stands still after %3 min")
          .arg(minutes(rest.warns_s), minutes(rest.weakens_s), minutes(rest.stands_s))));
  const drive::Neglect hard = drive::neglect(duties, {1.0, model::Effort::hard, false});
  CHECK(note.text().contains(
      QStringLiteral("drops its fire after %1 min").arg(minutes(hard.drops_s))));
  duties.heat_bar_per_min = 0.0;
  duties.standing_bar_per_min = 0.0;
  REQUIRE(rig.document().perform(QStringLiteral("t"), {model::SetDuties{duties}}));
  CHECK(note.text().startsWith(QLatin1String("At rest\nnothing is amiss for 2 h")));
}

TEST_CASE("settings: a snag's place leads to its field, by the keyboard as well", "[ui]") {
  PageRig rig;
  ui::KeysPage page(rig.workspace);
  page.resize(1000, 420);  // the form has to scroll
  showActive(page);
  auto* tabs = page.findChild<QTabWidget*>();
  CHECK(page.shows(QStringLiteral("/driving/coasts_until_braked")));
  CHECK(page.shows(QStringLiteral("/duties")));
  page.reveal(QStringLiteral("/driving/sleeps_after_s"));
  CHECK(tabs->currentIndex() == drivingTab);
  const auto& last = named<QDoubleSpinBox>(*tabs->currentWidget(), "Falls asleep after");
  CHECK(last.hasFocus());
  CHECK_FALSE(last.visibleRegion().isEmpty());
  CHECK(page.need().contains(QLatin1String("How the engine moves")));
  page.reveal(QStringLiteral("/duties/lift_bar"));  // it has none: the tab alone
  CHECK(tabs->currentIndex() == dutiesTab);
  // The tab key goes from field to field in the order they are read.
  tabs->setCurrentIndex(drivingTab);
  auto& first = named<QDoubleSpinBox>(*tabs->currentWidget(), "Cylinder cocks open for");
  first.setFocus();
  QTest::keyClick(&first, Qt::Key_Tab);
  CHECK(named<QDoubleSpinBox>(*tabs->currentWidget(), "Heavy from a load of").hasFocus());
}
