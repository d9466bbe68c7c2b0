// SPDX-License-Identifier: GPL-3.0-or-later
#include "Wording.h"
#include "models/DriveCvModel.h"
#include "models/DriveEventModel.h"
#include "models/DriveKeyModel.h"
#include "page_rig.h"
#include "pages/TrialRunPage.h"
#include "support/lively_project.h"
#include "views/DriveTimeline.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/files.h"

#include <QAbstractItemModelTester>
#include <QCheckBox>
#include <QComboBox>
#include <QLabel>
#include <QPushButton>
#include <QSignalSpy>
#include <QTableView>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

void press(QWidget& page, const char* button) {
  QTest::mouseClick(&named<QPushButton>(page, button), Qt::LeftButton);
}

struct TrialRig : PageRig {
  ui::TrialRunPage page{workspace};
  TrialRig() {
    page.resize(1200, 800);
    showActive(page);
  }
  void render() {
    press(page, "Render");
    REQUIRE(waitUntil([&] { return page.run() != nullptr; }, 60000));
  }
  [[nodiscard]] ui::DriveTimeline& timeline() {
    return named<ui::DriveTimeline>(page, "The run along its time axis");
  }
};

}  // namespace

TEST_CASE("trial run: a card is rendered, drawn, listed and played", "[ui]") {
  TrialRig rig;
  CHECK(named<QComboBox>(rig.page, "Run card").currentData().toString() ==
        QLatin1String("cards/short.json"));
  rig.render();
  const auto& output = rig.page.run()->output;
  const auto& chart = *rig.timeline().chart();
  CHECK(chart.seconds == Approx(12.0));
  REQUIRE(chart.regulator.size() == 2);
  CHECK(chart.regulator[0].value == 60.0);
  CHECK(chart.speed.size() > 100);
  REQUIRE(chart.keys.size() == 1);
  CHECK(chart.keys[0].name == QLatin1String("F2 Whistle"));
  REQUIRE(chart.keys[0].spans.size() == 1);
  CHECK(chart.keys[0].spans[0].from_s == Approx(3.0).margin(0.001));
  CHECK(chart.keys[0].spans[0].to_s == Approx(4.0).margin(0.001));
  CHECK(static_cast<int>(chart.voices.size()) == output.voices_peak);
  CHECK(chart.states.front().label == QLatin1String("Standing"));
  CHECK_FALSE(chart.efforts.empty());
  CHECK(chart.line(3.5).contains(QLatin1String("regulator 60")));
  CHECK(chart.line(3.5).contains(QLatin1String("whistle")));

  // All that the log tells can be listed.
  auto& list = named<QTableView>(rig.page, "What happened in the run");
  for (QCheckBox* box : rig.page.findChildren<QCheckBox*>())
    box->setChecked(true);
  CHECK(list.model()->rowCount() == static_cast<int>(output.events.size()));
  for (QCheckBox* box : rig.page.findChildren<QCheckBox*>()) {
    if (box->text() != QLatin1String("Keys")) QTest::mouseClick(box, Qt::LeftButton);
  }
  REQUIRE(list.model()->rowCount() == 2);
  CHECK(list.model()->index(0, 2).data().toString() == QLatin1String("F2 Whistle on"));

  // A click on an event goes there, and playing starts there.
  list.setCurrentIndex(list.model()->index(1, 0));
  CHECK(rig.timeline().playhead() == Approx(4.0).margin(0.001));
  press(rig.page, "Play");
  const ui::PlayRequest& request = rig.transport.request();
  CHECK(request.key == QLatin1String("trial/cards/short.json"));
  const auto& source = std::get<ui::ClipSource>(request.source);
  CHECK(source.clip->samples.size() == output.mix.size());
  CHECK(request.from.value() == Approx(4.0 * output.sample_rate_hz).margin(2));
}

TEST_CASE("trial run: a mix over full scale is told, with when", "[ui]") {
  TrialRig rig;
  rig.render();
  const auto told = [&] {
    for (const QLabel* label : rig.page.findChildren<QLabel*>()) {
      if (label->text().contains(QLatin1String("voices of"))) return label->text();
    }
    return QString();
  };
  const double over_db = rig.page.run()->output.true_peak_dbtp.value();
  REQUIRE(over_db > 0.0);
  CHECK(told().contains(QLatin1String("true peak ") + ui::truePeakText(over_db)));
  CHECK(told().contains(QLatin1String("At ") + ui::timeText(rig.page.run()->output.true_peak_s) +
                        QLatin1String(" the mix goes over full scale")));
  rig.makeQuieter(over_db + 6.0);
  press(rig.page, "Render");
  REQUIRE(waitUntil([&] { return !rig.page.isStale(); }, 60000));
  REQUIRE(rig.page.run()->output.true_peak_dbtp.value() < 0.0);
  CHECK_FALSE(told().contains(QLatin1String("over full scale")));
}

TEST_CASE("trial run: the time axis is zoomed, scrolled and walked", "[ui]") {
  TrialRig rig;
  rig.render();
  ui::DriveTimeline& timeline = rig.timeline();
  CHECK(timeline.shownSeconds() == Approx(12.0));
  double placed = -1.0;
  QObject::connect(&timeline, &ui::DriveTimeline::playheadPlaced, &rig.page,
                   [&](double time_s) { placed = time_s; });
  const int middle = timeline.height() / 2;
  QTest::mouseClick(&timeline, Qt::LeftButton, {},
                    QPoint(static_cast<int>(std::lround(timeline.xOf(6.0))), middle));
  CHECK(placed == Approx(6.0).margin(0.05));
  timeline.setFocus();
  QTest::keyClick(&timeline, Qt::Key_Right);
  CHECK(timeline.playhead() == Approx(placed));
  QTest::keyClick(&timeline, Qt::Key_Home);
  CHECK(timeline.playhead() == 0.0);
  QTest::keyClick(&timeline, Qt::Key_Right, Qt::ControlModifier);
  CHECK(timeline.playhead() == Approx(0.5).margin(0.05));  // the regulator opens
  QTest::keyClick(&timeline, Qt::Key_End);
  CHECK(timeline.playhead() == Approx(12.0));
  QTest::keyClick(&timeline, Qt::Key_Up);
  CHECK(timeline.shownSeconds() < 12.0);
  const QPoint pointer(static_cast<int>(timeline.xOf(timeline.shownFrom() + 1.0)), middle);
  QWheelEvent closer(pointer, timeline.mapToGlobal(pointer), {}, QPoint(0, 120), Qt::NoButton,
                     Qt::ControlModifier, Qt::NoScrollPhase, false);
  const double before = timeline.shownSeconds();
  const double about = timeline.shownFrom() + 1.0;
  const double x = timeline.xOf(about);
  QCoreApplication::sendEvent(&timeline, &closer);
  CHECK(timeline.shownSeconds() < before);
  CHECK(timeline.xOf(about) == Approx(x).margin(3.0));
  QTest::keyClick(&timeline, Qt::Key_0);
  CHECK(timeline.shownSeconds() == Approx(12.0));
}

TEST_CASE("trial run: a stretch of the run is selected and played", "[ui]") {
  TrialRig rig;
  rig.render();
  ui::DriveTimeline& timeline = rig.timeline();
  using Stretch = ui::DriveTimeline::Stretch;
  const auto at = [&](double time_s) {
    return QPoint(static_cast<int>(std::lround(timeline.xOf(time_s))), timeline.height() / 2);
  };
  const auto drag = [&](double from_s, double to_s) {
    QTest::mousePress(&timeline, Qt::LeftButton, {}, at(from_s));
    QTest::mouseMove(&timeline, at(to_s));
    QTest::mouseRelease(&timeline, Qt::LeftButton, {}, at(to_s));
  };
  const auto selects = [&](double from_s, double to_s) {
    REQUIRE(timeline.selection());
    CHECK(timeline.selection()->start == Approx(from_s).margin(0.05));
    CHECK(timeline.selection()->end == Approx(to_s).margin(0.05));
  };
  drag(3.0, 5.0);
  selects(3.0, 5.0);
  CHECK(timeline.accessibleDescription().contains(QStringLiteral("selection")));
  const double rate = rig.page.run()->output.sample_rate_hz;
  const auto plays = [&] {
    rig.page.playRequested();
    const ui::PlayRequest& request = rig.transport.request();
    CHECK(static_cast<double>(request.range.start.value()) ==
          Approx(timeline.selection()->start * rate).margin(1.0));
    CHECK(static_cast<double>(request.range.end.value()) ==
          Approx(timeline.selection()->end * rate).margin(1.0));
    CHECK(request.from == request.range.start);
    rig.transport.stop();
  };
  plays();
  drag(5.0, 7.0);
  selects(3.0, 7.0);
  timeline.setFocus();
  timeline.setPlayhead(timeline.selection()->end, false);
  QTest::keyClick(&timeline, Qt::Key_Left, Qt::ShiftModifier);
  selects(3.0, 6.0);
  plays();
  QTest::keyClick(&timeline, Qt::Key_Escape);
  CHECK_FALSE(timeline.selection());
  rig.page.playRequested();
  CHECK(rig.transport.request().range.empty());
  rig.transport.stop();
  // What goes on under the pointer, or at the playhead.
  QTest::mouseDClick(&timeline, Qt::LeftButton, {}, at(8.0));
  const auto state = timeline.selection();
  REQUIRE(state);
  CHECK(state->start < 8.0);
  CHECK(state->end > 8.0);
  QTest::keyClick(&timeline, Qt::Key_A, Qt::ControlModifier);
  CHECK(timeline.selection() == Stretch{0.0, timeline.chart()->seconds});
  QTest::keyClick(&timeline, Qt::Key_Up);
  const double from = timeline.shownFrom();
  QTest::keyClick(&timeline, Qt::Key_PageUp);
  CHECK(timeline.shownFrom() < from);
  QTest::keyClick(&timeline, Qt::Key_PageDown);
  CHECK(timeline.shownFrom() > 0.0);
}

TEST_CASE("trial run: a run is stale once the project has changed", "[ui]") {
  TrialRig rig;
  rig.render();
  CHECK_FALSE(rig.page.isStale());
  REQUIRE(rig.document().perform(QStringLiteral("t"), {model::SetCv{3, 40}}));
  CHECK(rig.page.isStale());
  CHECK(named<QLabel>(rig.page, "State of the run").text().startsWith(QLatin1String("Stale")));
  const auto first = rig.page.run();
  rig.page.playRequested();  // renders again, then plays
  REQUIRE(waitUntil([&] { return rig.page.run() != first; }, 60000));
  CHECK_FALSE(rig.page.isStale());
  CHECK(rig.transport.request().key == QLatin1String("trial/cards/short.json"));
}

TEST_CASE("trial run: a run is stale once its card has changed on the disk", "[ui]") {
  TrialRig rig;
  rig.render();
  REQUIRE_FALSE(rig.page.isStale());
  const std::filesystem::path card = rig.small.folder() / "cards" / "short.json";
  std::string words = *read_text_file(card, 1 << 20);
  words.replace(words.find("\"throttle_step\": 60"), 19, "\"throttle_step\": 90");
  REQUIRE(write_file_atomically(card, words));
  REQUIRE(waitUntil([&] { return rig.page.isStale(); }));
  press(rig.page, "Render");
  CHECK(waitUntil([&] { return !rig.page.isStale(); }, 60'000));
}

TEST_CASE("trial run: the list of cards is edited, files are not", "[ui]") {
  TrialRig rig;
  auto& card = named<QComboBox>(rig.page, "Run card");
  const auto& cards = rig.project().run_cards;
  rig.operate(
      "remove", [&] { press(rig.page, "Remove"); }, [&] { return cards.empty(); });
  CHECK(std::filesystem::exists(rig.small.folder() / "cards" / "short.json"));
  const std::filesystem::path fresh = rig.small.folder() / "cards" / "fresh.json";
  rig.page.questions().saveFile = [&](const QString&, const QString&, const QString&) {
    return QString::fromStdString(fresh.string());
  };
  rig.operate(
      "new", [&] { press(rig.page, "New …"); },
      [&] {
        return cards.size() == 2 && cards[1] == "cards/fresh.json" &&
               card.currentData().toString() == QLatin1String("cards/fresh.json");
      });
  CHECK(work::load_listed_card(rig.small.folder(), "cards/fresh.json"));
  rig.page.questions().openFile = [&](const QString&, const QString&) {
    return QString::fromStdString(fresh.string());
  };
  rig.operate(
      "add", [&] { press(rig.page, "Add …"); }, [&] { return cards.size() == 2; });

  // A file that is no card is told, and not listed.
  QString told;
  QObject::connect(&rig.workspace, &ui::Workspace::told, &rig.page,
                   [&](const QString& line, bool) { told = line; });
  rig.page.questions().openFile = [&](const QString&, const QString&) {
    return QString::fromStdString(rig.small.path().string());
  };
  press(rig.page, "Add …");
  CHECK(cards.size() == 1);
  CHECK_FALSE(told.isEmpty());
}

TEST_CASE("trial run: a set without cards is offered the standard ones, in one step", "[ui]") {
  TrialRig rig;
  press(rig.page, "Remove");
  REQUIRE(rig.project().run_cards.empty());
  auto& offer = named<QPushButton>(rig.page, "Add the standard cards");
  CHECK(offer.isVisible());
  QString told;
  QObject::connect(&rig.workspace, &ui::Workspace::told, &rig.page,
                   [&](const QString& line, bool) { told = line; });
  const auto& cards = rig.project().run_cards;
  rig.operate(
      "standard cards",
      [&] {
        QTest::mouseClick(&offer, Qt::LeftButton);
        REQUIRE(waitUntil([&] { return !cards.empty(); }));
      },
      [&] { return cards.size() == 5; });
  CHECK(told == QLatin1String("Standard cards: 5 written, 5 added to the list."));
  CHECK(offer.isVisible());  // the step was undone
  CHECK(work::load_listed_card(rig.small.folder(), "cards/standard-every_key_once.json"));
  // Again, from the bar: the files are there, so nothing is asked and nothing written.
  rig.page.questions().cardsInTheWay = [](const QStringList&) {
    FAIL("asked");
    return work::CardInTheWay::refuse;
  };
  press(rig.page, "Standard cards");
  REQUIRE(waitUntil([&] { return cards.size() == 5; }));
  CHECK_FALSE(offer.isVisible());
  CHECK(told == QLatin1String("Standard cards: 0 written, 5 added to the list."));
  CHECK(named<QComboBox>(rig.page, "Run card").currentData().toString() ==
        QLatin1String("cards/standard-start_run_stop.json"));
  rig.render();
}

TEST_CASE("trial run: no card of another's is written over unasked", "[ui]") {
  TrialRig rig;
  const std::filesystem::path file = rig.small.folder() / "cards" / "standard-shunting.json";
  REQUIRE(write_file_atomically(file, "mine"));
  const auto mine = [&] { return *read_text_file(file, 100'000) == "mine"; };
  QStringList asked;
  work::CardInTheWay answer = work::CardInTheWay::refuse;
  rig.page.questions().cardsInTheWay = [&](const QStringList& files) {
    asked += files;
    return answer;
  };
  const auto& cards = rig.project().run_cards;
  const auto add = [&] {
    asked.clear();
    press(rig.page, "Standard cards");
    REQUIRE(waitUntil([&] { return !asked.isEmpty() && !rig.workspace.jobs().isBusy(); }));
    QCoreApplication::processEvents();
  };
  add();
  CHECK(asked == QStringList{QStringLiteral("cards/standard-shunting.json")});
  CHECK(cards.size() == 1);
  CHECK(mine());
  answer = work::CardInTheWay::keep;
  add();
  REQUIRE(waitUntil([&] { return cards.size() == 5; }));  // its own, and four of five
  CHECK(mine());
  answer = work::CardInTheWay::replace;
  add();
  REQUIRE(waitUntil([&] { return cards.size() == 6; }));
  CHECK_FALSE(mine());
}

TEST_CASE("trial run: the run is written with its log", "[ui]") {
  TrialRig rig;
  rig.render();
  const TempFolder out;
  rig.page.questions().saveFile = [&](const QString&, const QString&, const QString&) {
    return QString::fromStdString((out / "run.wav").string());
  };
  press(rig.page, "Export …");
  REQUIRE(waitUntil([&] { return !rig.workspace.jobs().isBusy(); }));
  const auto wav = audio::SoundFileReader::open(out / "run.wav");
  REQUIRE(wav);
  CHECK(wav->info().frames.value() == static_cast<std::int64_t>(rig.page.run()->output.mix.size()));
  const auto log = read_text_file(out / "run.json", 50'000'000);
  REQUIRE(log);
  CHECK(*log == work::drive_log(rig.page.run()->output));
}

TEST_CASE("trial run: the list of events is a model that views can trust", "[ui]") {
  TrialRig rig;
  ui::DriveEventModel model;
  const QAbstractItemModelTester tester(&model,
                                        QAbstractItemModelTester::FailureReportingMode::Fatal);
  rig.render();
  model.setRun(rig.page.run(), {});
  const int rows = model.rowCount();
  REQUIRE(rows > 4);
  CHECK(model.rowAt(0.0) >= 0);
  CHECK(model.rowAt(1000.0) == rows - 1);
  model.setKinds(ui::DriveEventModel::beats);
  CHECK(model.rowCount() > 10);
  model.setRun(nullptr, {});
  CHECK(model.rowCount() == 0);
}

TEST_CASE("trial run: keys and CVs of a drive are models that views can trust", "[ui]") {
  using Mode = QAbstractItemModelTester::FailureReportingMode;
  ui::DriveKeyModel keys;
  ui::DriveCvModel cvs;
  const QAbstractItemModelTester keysTester(&keys, Mode::Fatal);
  const QAbstractItemModelTester cvsTester(&cvs, Mode::Fatal);
  const model::Project lively = lively_project();
  for (int round = 0; round < 2; ++round) {
    keys.setProject(lively);
    cvs.setProject(lively);
    REQUIRE(keys.rowCount() > 0);
    REQUIRE(cvs.rowCount() > 0);
    QSignalSpy changed(&keys, &QAbstractItemModel::dataChanged);
    const int last = keys.rowCount() - 1;
    keys.setOn(last, true);
    CHECK(keys.row(last).on);
    CHECK(changed.count() == 1);
    CHECK(keys.rowOfShortcut(keys.row(0).shortcut) == 0);
    cvs.setValue(0, 77);
    CHECK(cvs.row(0).value == 77);
    CHECK(cvs.index(0, ui::DriveCvModel::valueColumn).data(Qt::EditRole) == 77);
    keys.setProject({});
    cvs.setProject({});
    CHECK(keys.rowCount() == 0);
    CHECK(cvs.rowCount() == 0);
  }
}
