// SPDX-License-Identifier: GPL-3.0-or-later
// The options and the CVs that change figures, on the page of the CV table.
#include "CvWording.h"
#include "Wording.h"
#include "models/CvTableModel.h"
#include "models/SectionModel.h"
#include "pages/CvTablePage.h"
#include "section_hand.h"

#include "fourbeat/model/cv_targets.h"
#include "fourbeat/model/cv_values.h"

#include <QAbstractItemModelTester>
#include <QLabel>
#include <QListWidget>
#include <QLocale>
#include <QTableView>

using namespace fourbeat;
using namespace fourbeat::tests;
using model::CvTarget;
using ui::CvTableModel;

namespace {

constexpr int optionsTab = 1;
constexpr int effectsTab = 2;

template <class T>
Id<T> give(PageRig& rig, const T& value) {
  REQUIRE(rig.document().perform(QStringLiteral("t"), {model::Add<T>{value, std::nullopt}}));
  return model::last_drawn<T>(rig.project());
}

/// The page on one of its tabs, with the one entity that its button adds.
struct OpenTab {
  explicit OpenTab(PageRig& rig, int tab) : page(rig.workspace) {
    page.resize(1200, 760);
    showActive(page);
    form = &openTab(page, tab);
  }
  ui::CvTablePage page;
  QWidget* form = nullptr;
};

}  // namespace

TEST_CASE("cv sections: options are added, copied and removed with their CVs, each one step",
          "[ui]") {
  PageRig rig;
  OpenTab open(rig, optionsTab);
  const auto& options = rig.project().options;
  const auto value = [&](int number) { return model::cv_value(rig.project(), number); };
  CHECK(open.page.need().contains(QLatin1String("No option yet")));
  rig.operate(
      "add", [&] { click(*open.form, "Add option"); },
      [&] { return options.size() == 1 && options[0].cv == 112 && value(112) == 0; });
  click(*open.form, "Add option");
  REQUIRE(options.size() == 1);
  rig.operate(
      "duplicate", [&] { click(*open.form, "Duplicate option"); },
      [&] {
        return options.size() == 2 && options[1].choices == options[0].choices &&
               options[1].cv == 113 && value(113) == 0;
      });
  open.page.reveal(QStringLiteral("/options/0"));
  rig.operate(
      "remove", [&] { click(*open.form, "Remove option"); },
      [&] { return options.empty() && !value(112); });
  // A key that asks for it keeps the option, and its CV.
  open.page.reveal(QStringLiteral("/options/0"));
  model::Key key = rig.project().keys[0];
  key.when.option = options[0].id;
  REQUIRE(rig.document().perform(QStringLiteral("t"), {model::Replace<model::Key>{key}}));
  QString told;
  QObject::connect(&rig.workspace, &ui::Workspace::told, [&](const QString& line) { told = line; });
  click(*open.form, "Remove option");
  CHECK(options.size() == 1);
  CHECK(value(112) == 0);
  CHECK_FALSE(told.isEmpty());
}

TEST_CASE("cv sections: each field of an option is an undoable step", "[ui]") {
  PageRig rig;
  OpenTab open(rig, optionsTab);
  click(*open.form, "Add option");
  const auto& options = rig.project().options;
  REQUIRE(options.size() == 1);
  const auto one = [&]() -> const model::Option& { return options[0]; };
  const auto value = [&](int number) { return model::cv_value(rig.project(), number); };
  typeWords(rig, *open.form, "Name", QStringLiteral("Whistle"),
            [&] { return one().name == "Whistle"; });

  auto& cv = named<QComboBox>(*open.form, "CV");
  CHECK(cv.findText(QStringLiteral("CV3")) < 0);    // momentum's
  CHECK(cv.findText(QStringLiteral("CV300")) < 0);  // paged
  CHECK(cv.findText(QStringLiteral("CV47")) >= 0);
  give(rig, model::Cv{{}, 114, 0, "Taken", {}, {}, {}});
  CHECK(cv.findText(QStringLiteral("CV114")) < 0);
  rig.operate(
      "cv", [&] { choose(*open.form, "CV", QStringLiteral("CV200")); },
      // The set's entry goes along.
      [&] { return one().cv == 200 && value(200) == 0 && !value(112); });

  rig.operate(
      "ships with", [&] { choose(*open.form, "Ships with", QStringLiteral("1 another")); },
      [&] { return value(112) == 1; });

  auto& table = named<QTableView>(*open.form, "Choices");
  rig.operate(
      "add choice", [&] { click(*open.form, "Add row: Choices"); },
      [&] { return one().choices.size() == 3 && one().choices[2].value == 2; });
  rig.operate(
      "name of a choice",
      [&] {
        editCell<QLineEdit>(table, 1, 1, [](QLineEdit& line) {
          line.clear();
          QTest::keyClicks(&line, QStringLiteral("the shunting whistle"));
        });
      },
      [&] { return one().choices[1].name == "the shunting whistle"; });
  rig.operate(
      "value of a choice: they stay in order",
      [&] { editCell<QDoubleSpinBox>(table, 0, 0, [](QDoubleSpinBox& box) { box.setValue(9); }); },
      [&] { return one().choices[0].value == 1 && one().choices[1].value == 9; });
  table.selectRow(0);
  rig.operate(
      "remove choice", [&] { click(*open.form, "Remove row: Choices"); },
      [&] { return one().choices.size() == 1 && one().choices[0].value == 1; });
  // Two choices of one value cannot be told apart: refused, told, and shown as it is.
  QString told;
  QObject::connect(&rig.workspace, &ui::Workspace::told, [&](const QString& line) { told = line; });
  CHECK_FALSE(table.model()->setData(table.model()->index(0, 0), 1.0));
  CHECK(told.contains(QLatin1String("twice")));
  CHECK(one().choices[0].value == 0);
}

TEST_CASE("cv sections: an option names what asks for it, and leads there", "[ui]") {
  PageRig rig;
  OpenTab open(rig, optionsTab);
  click(*open.form, "Add option");
  const Id<model::Option> id = rig.project().options.at(0).id;
  auto& list = named<QListWidget>(*open.form, "Asked for by");
  REQUIRE(list.count() == 1);
  CHECK(list.item(0)->flags() == Qt::NoItemFlags);
  model::Trigger trigger;
  trigger.name = "Depart";
  trigger.when.option = id;
  trigger.when.option_value = 1;
  give(rig, trigger);
  model::Layer layer;
  layer.name = "Fire";
  layer.sounds = {rig.project().sounds[0].id};
  layer.when.option = id;
  give(rig, layer);
  model::Key key = rig.project().keys[1];
  key.when.option = id;
  key.task = model::OptionKey{id, 1, {}};
  REQUIRE(rig.document().perform(QStringLiteral("t"), {model::Replace<model::Key>{key}}));
  REQUIRE(list.count() == 4);
  CHECK(list.item(0)->text().contains(QLatin1String("in force while it is 0")));
  CHECK(list.item(1)->text().contains(QLatin1String("makes it 1")));
  CHECK(list.item(2)->text().contains(QLatin1String("Trigger Depart")));
  CHECK(list.item(3)->text().contains(QLatin1String("Layer Fire")));
  QString asked;
  QObject::connect(&rig.workspace, &ui::Workspace::revealRequested,
                   [&](const QString& pointer) { asked = pointer; });
  list.setCurrentRow(2);
  list.setFocus();
  QTest::keyClick(&list, Qt::Key_Return);
  CHECK(asked == QLatin1String("/triggers/0"));
}

TEST_CASE("cv sections: CVs that change figures are added, copied and removed by steps", "[ui]") {
  PageRig rig;
  OpenTab open(rig, effectsTab);
  const auto& cvs = rig.project().cvs;
  const std::size_t before = cvs.size();
  auto& table = named<QTableView>(*open.form, "What CVs change");
  CHECK(table.model()->rowCount() == 0);  // momentum changes nothing of the set's own
  rig.operate(
      "add", [&] { click(*open.form, "Add CV"); },
      [&] { return cvs.size() == before + 1 && cvs.back().number == 112 && cvs.back().effect; });
  click(*open.form, "Add CV");
  REQUIRE(table.model()->rowCount() == 1);
  rig.operate(
      "duplicate", [&] { click(*open.form, "Duplicate CV"); },
      [&] { return cvs.back().number == 113 && cvs.back().effect == cvs[before].effect; });
  table.selectRow(0);
  rig.operate(
      "remove", [&] { click(*open.form, "Remove CV"); }, [&] { return cvs.size() == before; });
  // One that an option asks for stays in the set, and changes nothing any more.
  table.selectRow(0);
  model::Option option;
  option.name = "Whistle";
  option.cv = cvs.back().number;
  option.choices = {{0, "low", {}}, {1, "high", {}}};
  const Id<model::Option> asks = give(rig, option);
  rig.operate(
      "remove one that an option asks for", [&] { click(*open.form, "Remove CV"); },
      [&] { return cvs.size() == before + 1 && cvs.back().number == 112 && !cvs.back().effect; });
  REQUIRE(rig.document().perform(QStringLiteral("t"), {model::Remove<model::Option>{asks}}));
  // One that loses its effect leaves the list while its form is open.
  table.selectRow(0);
  model::Cv plain = cvs.back();
  plain.effect.reset();
  REQUIRE(rig.document().perform(QStringLiteral("t"), {model::Replace<model::Cv>{plain}}));
  CHECK(table.model()->rowCount() == 0);
}

TEST_CASE("cv sections: each field of what a CV changes is an undoable step", "[ui]") {
  PageRig rig;
  model::Layer layer;
  layer.name = "Fire";
  layer.sounds = {rig.project().sounds[0].id};
  const Id<model::Layer> fire = give(rig, layer);
  model::OwnState rest;
  rest.name = "Long rest";
  const Id<model::OwnState> longRest = give(rig, rest);
  model::Trigger trigger;
  trigger.name = "Valve";
  trigger.event = model::TriggerEvent::every;
  trigger.every = model::TimeSpan{30, 60, {}};
  const Id<model::Trigger> valve = give(rig, trigger);
  OpenTab open(rig, effectsTab);
  QWidget& form = *open.form;
  click(form, "Add CV");
  const Id<model::Cv> id = model::last_drawn<model::Cv>(rig.project());
  const auto one = [&]() -> const model::Cv& { return *model::find(rig.project(), id); };
  typeWords(rig, form, "Name", QStringLiteral("Loudness"),
            [&] { return one().name == "Loudness"; });
  typeWords(rig, form, "Note", QStringLiteral("51 steps a 10 dB"),
            [&] { return one().note == "51 steps a 10 dB"; });
  rig.operate(
      "cv", [&] { choose(form, "CV", QStringLiteral("CV50")); },
      [&] { return one().number == 50; });
  typeFigure(rig, form, "Ships with", 128, [&] { return one().value == 128; });
  typeFigure(rig, form, "At value 0", -40, [&] { return one().effect->at_0 == -40; });
  typeFigure(rig, form, "At value 255", 6, [&] { return one().effect->at_255 == 6; });
  CHECK(named<QLabel>(form, "That is").text() ==
        ui::figureText(CvTarget::set_gain, one().effect->at_255));

  // Every target: chosen, with its range, and what it is a figure of; undone.
  for (std::size_t i = 1; i < model::EnumNames<CvTarget>::list.size(); ++i) {
    const auto target = static_cast<CvTarget>(i);
    rig.operate(
        "target", [&] { choose(form, "Changes", ui::word(target)); },
        [&] { return one().effect->target == target; });
    choose(form, "Changes", ui::word(target));
    REQUIRE(one().effect->target == target);
    const model::MemberRule rule = model::range_of(rig.project(), *one().effect);
    const auto& end = named<QDoubleSpinBox>(form, "At value 255");
    CHECK(end.minimum() == Approx(rule.low));
    CHECK(end.maximum() == Approx(rule.high));
    CHECK(end.suffix() == ui::figureOf(target).suffix);
    CHECK(one().effect->at_0 >= rule.low);
    CHECK(one().effect->at_255 <= rule.high);
    CHECK(one().effect->at_0 < one().effect->at_255);
    CHECK((one().effect->layer == fire) == (target == CvTarget::layer_gain));
    CHECK((one().effect->state == longRest) ==
          (target == CvTarget::state_speed || target == CvTarget::state_time));
    CHECK((one().effect->trigger == valve) == (target == CvTarget::trigger_time));
    const auto shown = [&](const char* name) { return named<QComboBox>(form, name).isVisible(); };
    CHECK(shown("Sound") == (target == CvTarget::sound_gain));
    CHECK(shown("Layer") == one().effect->layer.is_set());
    CHECK(shown("State") == one().effect->state.is_set());
    CHECK(shown("Trigger") == one().effect->trigger.is_set());
  }
  choose(form, "Changes", ui::word(CvTarget::sound_gain));
  rig.operate(
      "sound", [&] { choose(form, "Sound", ui::text(rig.project().sounds[1].name)); },
      [&] { return one().effect->sound == rig.project().sounds[1].id; });
}

TEST_CASE("cv sections: a target that the set has nothing for is not on offer", "[ui]") {
  PageRig rig;
  OpenTab open(rig, effectsTab);
  click(*open.form, "Add CV");
  auto& box = named<QComboBox>(*open.form, "Changes");
  CHECK(box.findText(ui::word(CvTarget::layer_gain)) < 0);
  CHECK(box.findText(ui::word(CvTarget::trigger_time)) < 0);
  CHECK(box.findText(ui::word(CvTarget::sound_gain)) >= 0);
}

TEST_CASE("cv sections: a figure beyond its range is shown as it is", "[ui]") {
  PageRig rig;
  model::Cv cv;
  cv.number = 120;
  cv.name = "Brake";
  cv.effect.emplace();
  cv.effect->target = CvTarget::full_brake;  // 0.1 to 600 s; a new effect starts at -60
  give(rig, cv);
  OpenTab open(rig, effectsTab);
  open.page.reveal(QStringLiteral("/cvs/%1/effect/at_0").arg(rig.project().cvs.size() - 1));
  CHECK(named<QDoubleSpinBox>(*open.form, "At value 0").value() == -60);
  CHECK(rig.project().cvs.back().effect->at_0 == -60);
}

TEST_CASE("cv sections: the table tells what a CV of the set's own changes", "[ui]") {
  PageRig rig;
  ui::CvTablePage page(rig.workspace);
  auto& table = named<QTableView>(page, "CVs of the set");
  const auto meaning = [&] {
    return table.model()
        ->index(table.model()->rowCount() - 1, CvTableModel::meaningColumn)
        .data()
        .toString();
  };
  CHECK(meaning() == QLatin1String("Momentum when slowing down"));
  REQUIRE(rig.document().perform(QStringLiteral("t"), {model::Replace<model::Cv>{[&] {
                                   model::Cv slowing = rig.project().cvs.back();
                                   slowing.name.clear();
                                   return slowing;
                                 }()}}));
  CHECK(meaning().isEmpty());  // the standard's name tells it
  model::Cv cv;
  cv.number = 120;
  cv.effect.emplace();
  cv.effect->target = CvTarget::sound_gain;
  cv.effect->sound = rig.project().sounds[0].id;
  give(rig, cv);
  CHECK(meaning() == QStringLiteral("Level of a sound: %1, %2 dB at 0, %3 dB at 255")
                         .arg(ui::text(rig.project().sounds[0].name),
                              QLocale().toString(-60.0, 'f', 1), QLocale().toString(0.0, 'f', 1)));
  model::Option option;
  option.name = "Whistle";
  option.cv = 120;
  option.choices = {{0, "her own", {}}, {1, "another", {}}};
  give(rig, option);
  CHECK(meaning().endsWith(QLatin1String("; Whistle: 0 her own, 1 another")));
  CHECK_FALSE(table.model()->flags(table.model()->index(0, CvTableModel::meaningColumn)) &
              Qt::ItemIsEditable);
}

TEST_CASE("cv sections: a snag's place leads to its tab", "[ui]") {
  PageRig rig;
  model::Cv cv;
  cv.number = 120;
  cv.effect.emplace();
  give(rig, cv);
  model::Option option;
  option.name = "Whistle";
  option.cv = 121;
  give(rig, option);
  ui::CvTablePage page(rig.workspace);
  auto* tabs = page.findChild<QTabWidget*>();
  REQUIRE(tabs != nullptr);
  CHECK(page.shows(QStringLiteral("/options/0/cv")));
  CHECK(page.shows(QStringLiteral("/cvs")));
  CHECK_FALSE(page.shows(QStringLiteral("/optionsets/0")));
  page.reveal(QStringLiteral("/options/0/cv"));
  CHECK(tabs->currentIndex() == optionsTab);
  CHECK(page.need().contains(QLatin1String("buyer choose")));
  const QString last = QStringLiteral("/cvs/%1").arg(rig.project().cvs.size() - 1);
  page.reveal(last + QStringLiteral("/effect/target"));
  CHECK(tabs->currentIndex() == effectsTab);
  page.reveal(last + QStringLiteral("/value"));
  CHECK(tabs->currentIndex() == 0);
  REQUIRE(page.current() != nullptr);
  CHECK(page.current()->number == 120);
}

TEST_CASE("cv sections: the lists keep the views' rules under edits and undos", "[ui]") {
  PageRig rig;
  CvTableModel whole(rig.workspace);
  ui::SectionModel<model::Cv> some(
      rig.workspace,
      {{QStringLiteral("Name"), [](const model::Cv& each) { return ui::text(each.name); }}},
      QStringLiteral("Snags"), nullptr,
      [](const model::Cv& each) { return each.effect.has_value(); });
  ui::SectionModel<model::Option> options(
      rig.workspace,
      {{QStringLiteral("Name"), [](const model::Option& each) { return ui::text(each.name); }}},
      QStringLiteral("Snags"), nullptr);
  const auto fatal = QAbstractItemModelTester::FailureReportingMode::Fatal;
  const QAbstractItemModelTester first(&whole, fatal);
  const QAbstractItemModelTester second(&some, fatal);
  const QAbstractItemModelTester third(&options, fatal);
  const auto& cvs = rig.project().cvs;
  const auto& list = rig.project().options;
  for (std::size_t step = 0; step < 80; ++step) {
    model::Cv cv;
    cv.number = 112 + static_cast<int>(step);
    model::Option option;
    option.cv = cv.number;
    model::Edit edit = model::Add<model::Cv>{cv, step * 7 % (cvs.size() + 1)};
    if (step % 5 == 1) edit = model::Add<model::Option>{option, step * 3 % (list.size() + 1)};
    if (step % 5 == 2 && !cvs.empty()) {
      // Comes into the list of those with an effect, and leaves it.
      model::Cv other = cvs[step * 11 % cvs.size()];
      other.effect = other.effect ? std::nullopt : std::optional(model::CvEffect{});
      edit = model::Replace<model::Cv>{other};
    }
    if (step % 5 == 3 && !list.empty())
      edit = model::Remove<model::Option>{list[step % list.size()].id};
    if (step % 5 == 4) edit = randomEdit(rig.project(), step);
    REQUIRE(rig.document().perform(QStringLiteral("t"), {edit}));
    if (step % 3 == 0) rig.document().undoStack().undo();
    REQUIRE(options.rows() == list);
    std::vector<model::Cv> wanted = cvs;
    std::erase_if(wanted, [](const model::Cv& each) { return !each.effect; });
    REQUIRE(some.rows() == wanted);
    REQUIRE(whole.rowCount() == static_cast<int>(cvs.size()));
  }
  while (rig.document().undoStack().canUndo())
    rig.document().undoStack().undo();
  CHECK(options.rowCount() == 0);
  CHECK(some.rowCount() == 0);
}
