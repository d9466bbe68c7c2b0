// SPDX-License-Identifier: GPL-3.0-or-later
// The set driven by hand, on the trial run page.
#include "models/DriveKeyModel.h"
#include "models/RunChart.h"
#include "page_rig.h"
#include "pages/DrivePanel.h"
#include "pages/HandDrive.h"
#include "pages/TrialRunPage.h"
#include "sound/Player.h"
#include "sound_record.h"
#include "support/realtime_guard.h"

#include "fourbeat/store/data_files.h"

#include <QCheckBox>
#include <QLabel>
#include <QProgressBar>
#include <QPushButton>
#include <QRadioButton>
#include <QSlider>
#include <QSpinBox>
#include <QTabWidget>
#include <QTableView>
#include <algorithm>
#include <cmath>
#include <tuple>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

/// The page with the sound thread's part done by the test: as many frames as it wants.
struct HandRig : PageRig {
  ui::TrialRunPage page{workspace};
  ui::Player player;
  std::vector<float> heard;
  long calls = 0;  ///< that an audio thread must not make

  HandRig() {
    page.resize(1200, 800);
    page.hand().play = [this](const ui::PlayRequest& request) {
      const auto& live = std::get<ui::LiveSource>(request.source);
      return player.playLive(live.sound, live.sample_rate_hz) != 0;
    };
    showActive(page);
  }
  QPushButton& drive = named<QPushButton>(page, "Drive by hand");
  [[nodiscard]] ui::DrivePanel& panel() {
    return named<ui::DrivePanel>(page, "The driver's place");
  }
  [[nodiscard]] QSlider& regulator() { return named<QSlider>(page, "Regulator"); }
  [[nodiscard]] const model::Project& set() const { return workspace.project(); }
  void begin() {
    QTest::mouseClick(&drive, Qt::LeftButton);
    REQUIRE(waitUntil([&] { return page.hand().isDriving(); }, 60'000));
    REQUIRE(panel().isVisible());
  }
  void stop() {
    QTest::mouseClick(&drive, Qt::LeftButton);
    REQUIRE_FALSE(page.hand().isDriving());
  }
  /// In blocks of uneven length, as a device asks for them; then the window catches up.
  void run(double seconds) {
    const int rate = page.hand().live()->sampleRateHz();
    auto left = static_cast<std::size_t>(std::lround(seconds * rate));
    static constexpr std::array<std::size_t, 4> blocks = {441, 37, 700, 64};
    for (std::size_t i = 0; left > 0; ++i) {
      const std::size_t count = std::min(left, blocks[i % blocks.size()]);
      heard.resize(heard.size() + count);
      const std::span<float> block = std::span(heard).last(count);
      {
        const RealtimeGuard guard;
        player.render(block, rate);
        calls += RealtimeGuard::calls();
      }
      left -= count;
    }
    double told_s = -1.0;
    const auto following = QObject::connect(&page.hand(), &ui::HandDrive::clock, &page,
                                            [&told_s](double now_s) { told_s = now_s; });
    const double now_s = static_cast<double>(page.hand().live()->frames()) / rate;
    REQUIRE(waitUntil([&] { return told_s >= now_s; }));
    QObject::disconnect(following);
  }
  [[nodiscard]] bool listed(const char* line) {
    const auto* model = named<QTableView>(page, "What happened in the run").model();
    for (int row = 0; row < model->rowCount(); ++row) {
      if (model->index(row, 2).data().toString() == QLatin1String(line)) return true;
    }
    return false;
  }
};

}  // namespace

TEST_CASE("by hand: driving starts, the regulator gives speed, and stopping ends it", "[ui]") {
  HandRig rig;
  CHECK_FALSE(rig.panel().isVisible());
  rig.begin();
  CHECK(rig.drive.accessibleName() == QLatin1String("Stop driving"));
  auto& speed = named<QProgressBar>(rig.page, "Speed");
  auto& voices = named<QProgressBar>(rig.page, "Voices");
  auto& state = named<QLabel>(rig.page, "State and effort");
  CHECK(speed.value() == 0);
  CHECK(state.text() == QLatin1String("Standing"));
  CHECK_FALSE(named<QProgressBar>(rig.page, "Pressure").isVisible());  // the set has no duties
  rig.run(0.5);
  CHECK(speed.value() == 0);  // nobody has opened the regulator

  // Anywhere in the window, up opens it and home shuts it.
  for (int i = 0; i < 60; ++i)
    QTest::keyClick(&rig.page, Qt::Key_Up);
  CHECK(rig.regulator().value() == 60);
  int most = 0;
  int slower = 0;
  for (int i = 0; i < 10; ++i) {
    rig.run(0.8);
    slower += speed.value() < most ? 1 : 0;
    most = std::max(most, speed.value());
  }
  CHECK(slower == 0);
  CHECK(most > 100);  // 10 km/h
  CHECK(speed.accessibleDescription().contains(QLatin1String("km/h")));
  CHECK(state.text().startsWith(QLatin1String("Working")));
  CHECK(voices.maximum() == 5);  // of class-b
  CHECK(*std::max_element(rig.heard.begin(), rig.heard.end()) > 0.01F);
  const int rows = named<QTableView>(rig.page, "What happened in the run").model()->rowCount();
  CHECK(rows > 10);

  QTest::keyClick(&rig.page, Qt::Key_Home);
  CHECK(rig.regulator().value() == 0);
  rig.run(4.0);
  CHECK(speed.value() < most);
  CHECK(named<QTableView>(rig.page, "What happened in the run").model()->rowCount() > rows);
  rig.stop();
  CHECK_FALSE(rig.panel().isVisible());
  CHECK(rig.drive.accessibleName() == QLatin1String("Drive by hand"));
  // What happened stays to be read, and keys are the window's again.
  CHECK(named<QTableView>(rig.page, "What happened in the run").model()->rowCount() > rows);
  QTest::keyClick(&rig.page, Qt::Key_Up);
  CHECK(rig.regulator().value() == 0);
  CHECK(rig.calls == 0);
}

TEST_CASE("by hand: keys of the set work by key, pointer and space bar, each in its manner",
          "[ui]") {
  HandRig rig;
  rig.begin();
  const ui::DriveKeyModel& keys = rig.panel().keys();
  REQUIRE(keys.rowCount() == 2);
  auto& list = named<QTableView>(rig.page, "Keys of the set");
  CHECK(list.model()->index(0, ui::DriveKeyModel::shortcutColumn).data() ==
        QVariant(QStringLiteral("2")));
  // F2 is held while pressed.
  QTest::keyPress(&rig.page, Qt::Key_2);
  CHECK(keys.row(0).on);
  rig.run(0.2);
  CHECK(rig.listed("F2 Whistle on"));
  CHECK_FALSE(rig.listed("F2 Whistle off"));
  QTest::keyRelease(&rig.page, Qt::Key_2);
  CHECK_FALSE(keys.row(0).on);
  rig.run(0.2);
  CHECK(rig.listed("F2 Whistle off"));
  // F5 stays until pressed again: by the pointer, then by the space bar.
  const QPoint place = list.visualRect(list.model()->index(1, 1)).center();
  QTest::mouseClick(list.viewport(), Qt::LeftButton, {}, place);
  CHECK(keys.row(1).on);
  rig.run(0.2);
  CHECK(rig.listed("F5 Safety valve on"));
  CHECK(named<QProgressBar>(rig.page, "Voices").value() >= 1);
  list.setFocus();
  QTest::keyClick(&list, Qt::Key_Space);
  CHECK_FALSE(keys.row(1).on);
  // One that is held is let go of with the window.
  QTest::mousePress(list.viewport(), Qt::LeftButton, {},
                    list.visualRect(list.model()->index(0, 1)).center());
  CHECK(keys.row(0).on);
  rig.page.hide();
  CHECK_FALSE(keys.row(0).on);
  CHECK(rig.calls == 0);
}

TEST_CASE("by hand: an emergency stop is one key away, and lasts until the regulator moves",
          "[ui]") {
  HandRig rig;
  rig.begin();
  rig.regulator().setValue(100);
  rig.run(4.0);
  auto& speed = named<QProgressBar>(rig.page, "Speed");
  REQUIRE(speed.value() > 0);
  named<QTableView>(rig.page, "What happened in the run").setFocus();  // wherever the focus is
  QTest::keyClick(QApplication::focusWidget(), Qt::Key_Escape);
  CHECK(rig.regulator().value() == 0);
  rig.run(0.5);
  CHECK(speed.value() == 0);
  rig.regulator().setValue(100);
  rig.run(2.0);
  CHECK(speed.value() > 0);
  QTest::mouseClick(&named<QPushButton>(rig.page, "Emergency stop"), Qt::LeftButton);
  rig.run(0.5);
  CHECK(speed.value() == 0);
}

TEST_CASE("by hand: what was recorded drives the set again, sample for sample", "[ui]") {
  HandRig rig;
  QTest::mouseClick(&named<QCheckBox>(rig.page, "Record the drive"), Qt::LeftButton, {},
                    QPoint(8, named<QCheckBox>(rig.page, "Record the drive").height() / 2));
  REQUIRE(rig.page.hand().isRecording());
  rig.begin();
  const int rate = rig.page.hand().live()->sampleRateHz();
  struct Done {
    std::size_t frame;
    model::Move move;
  };
  std::vector<Done> done;
  const auto now = [&](auto what) {
    const std::size_t frame = rig.heard.size();
    done.push_back({frame, {static_cast<double>(frame) / rate, what}});
  };
  rig.run(0.3);
  now(model::MoveThrottle{90});
  rig.regulator().setValue(90);
  rig.run(1.0);
  now(model::MoveKey{2, true});
  QTest::keyPress(&rig.page, Qt::Key_2);
  now(model::MoveLoad{0.4});
  named<QSlider>(rig.page, "Load").setValue(40);
  rig.run(1.217);
  now(model::MoveKey{2, false});
  QTest::keyRelease(&rig.page, Qt::Key_2);
  rig.run(0.513);
  now(model::MoveGradient{1.5});
  named<QSlider>(rig.page, "Gradient").setValue(15);
  rig.run(1.0);
  now(model::MoveStop{});
  QTest::keyClick(&rig.page, Qt::Key_Escape);
  rig.run(0.4);
  now(model::MoveDirection{false});
  named<QRadioButton>(rig.page, "Reverse").click();
  rig.run(0.3);
  rig.stop();

  REQUIRE(rig.set().run_cards.size() == 2);
  CHECK(rig.set().run_cards[1] == "cards/by-hand-1.json");
  const auto card = work::load_listed_card(rig.small.folder(), "cards/by-hand-1.json");
  REQUIRE(card);
  CHECK(std::llround(card->seconds * rate) == static_cast<long long>(rig.heard.size()));
  REQUIRE(card->moves.size() == done.size());
  for (std::size_t i = 0; i < done.size(); ++i) {
    INFO("move " << i);
    CHECK(card->moves[i] == done[i].move);
  }
  JobControl job;
  const auto again = work::trial_run(rig.set(), rig.small.folder(), *card, false, job);
  REQUIRE(again);
  CHECK(*std::max_element(rig.heard.begin(), rig.heard.end()) > 0.01F);
  const bool same = again->output.mix == rig.heard;
  CHECK(same);
  // On the list by one step, which can be undone; the file stays.
  rig.document().undoStack().undo();
  CHECK(rig.set().run_cards.size() == 1);
  CHECK(std::filesystem::exists(rig.small.folder() / "cards" / "by-hand-1.json"));
}

TEST_CASE("by hand: the axis grows while one drives, and shows what a rendered card shows",
          "[ui]") {
  HandRig rig;
  QTest::mouseClick(&named<QCheckBox>(rig.page, "Record the drive"), Qt::LeftButton, {},
                    QPoint(8, named<QCheckBox>(rig.page, "Record the drive").height() / 2));
  rig.begin();
  auto& timeline = named<ui::DriveTimeline>(rig.page, "The run along its time axis");
  CHECK(timeline.isVisible());
  const std::shared_ptr<const ui::DriveChart> chart = timeline.chart();
  REQUIRE(chart);
  CHECK(chart->seconds == 0.0);
  rig.regulator().setValue(90);
  rig.run(1.5);
  CHECK(chart->seconds == Approx(1.5).margin(0.01));
  CHECK(timeline.playhead() == chart->seconds);
  QTest::keyPress(&rig.page, Qt::Key_2);
  rig.run(0.7);
  REQUIRE(chart->keys.size() == 1);
  CHECK(chart->keys[0].spans.back().to_s == ui::DriveChart::Span::open_s);
  QTest::keyRelease(&rig.page, Qt::Key_2);
  rig.run(3.0);
  QTest::keyClick(&rig.page, Qt::Key_Escape);
  rig.run(1.0);
  rig.stop();
  CHECK(timeline.chart() == chart);  // it stays to be looked at
  CHECK_FALSE(chart->grows);

  const auto card = work::load_listed_card(rig.small.folder(), "cards/by-hand-1.json");
  REQUIRE(card);
  JobControl job;
  const auto run = work::trial_run(rig.set(), rig.small.folder(), *card, false, job);
  REQUIRE(run);
  const auto same = ui::chartOf(*run, ui::keyNamesOf(rig.set()));
  CHECK(chart->seconds == Approx(same->seconds).margin(0.01));
  const auto points = [](const std::vector<ui::DriveChart::Point>& list) {
    std::vector<std::pair<double, double>> all;
    all.reserve(list.size());
    for (const auto& point : list)
      all.emplace_back(std::round(point.time_s * 1e5), point.value);
    return all;
  };
  CHECK(points(chart->regulator) == points(same->regulator));
  CHECK(chart->regulator.back().value == 0.0);  // the stop shut it
  CHECK(points(chart->speed) == points(same->speed));
  const auto spans = [](const std::vector<ui::DriveChart::Span>& list) {
    std::vector<std::tuple<double, double, QString, QString>> all;
    all.reserve(list.size());
    for (const auto& span : list)  // the end of the card has a reason of its own
      all.emplace_back(std::round(span.from_s * 1e5), std::round(span.to_s * 100.0), span.label,
                       span.starts);
    return all;
  };
  CHECK(spans(chart->states) == spans(same->states));
  CHECK(spans(chart->efforts) == spans(same->efforts));
  REQUIRE(chart->keys.size() == same->keys.size());
  CHECK(chart->keys[0].name == same->keys[0].name);
  CHECK(spans(chart->keys[0].spans) == spans(same->keys[0].spans));
  REQUIRE(chart->voices.size() == same->voices.size());
  REQUIRE(chart->voices.size() > 1);
  for (std::size_t i = 0; i < chart->voices.size(); ++i)
    CHECK(spans(chart->voices[i].spans) == spans(same->voices[i].spans));
  // Playing the card puts it on the axis again.
  QTest::mouseClick(&named<QPushButton>(rig.page, "Render"), Qt::LeftButton);
  REQUIRE(waitUntil([&] { return rig.page.run() != nullptr; }, 60'000));
  CHECK(timeline.chart() != chart);
}

TEST_CASE("by hand: the set's own CVs and the track power change what is heard, and are kept",
          "[ui]") {
  HandRig rig;
  model::Cv cv;
  cv.number = 140;
  cv.value = 255;
  cv.effect = model::CvEffect{model::CvTarget::set_gain, {}, {}, {}, {}, -60.0, 0.0, {}};
  model::Option option;
  option.name = "Whistle";
  option.cv = 141;
  option.choices = {{0, "own", {}}, {1, "shunting", {}}};
  REQUIRE(rig.document().perform(
      QStringLiteral("t"),
      {model::Add<model::Cv>{cv, std::nullopt}, model::Add<model::Option>{option, std::nullopt}}));
  QTest::mouseClick(&named<QCheckBox>(rig.page, "Record the drive"), Qt::LeftButton, {},
                    QPoint(8, named<QCheckBox>(rig.page, "Record the drive").height() / 2));
  rig.begin();
  const auto* model = named<QTableView>(rig.page, "CVs of the set").model();
  REQUIRE(model->rowCount() == 2);  // CV3 and CV4 are the standard's
  CHECK(model->index(0, 0).data() == QVariant(QStringLiteral("CV140")));
  CHECK(model->index(0, 1).data().toString().contains(QLatin1String("whole set")));
  CHECK(model->index(1, 1).data().toString().contains(QLatin1String("Whistle")));
  auto& value = named<QSpinBox>(rig.page, "Value of CV140");
  CHECK(value.value() == 255);
  QTest::keyPress(&rig.page, Qt::Key_2);
  const auto loudness = [&] {
    const std::size_t from = rig.heard.size();
    rig.run(0.5);
    double sum = 0.0;
    for (std::size_t i = from + (rig.heard.size() - from) / 2; i < rig.heard.size(); ++i)
      sum += std::abs(static_cast<double>(rig.heard[i]));
    return sum;
  };
  const double loud = loudness();
  value.setValue(128);
  const double soft = loudness();
  CHECK(soft < 0.1 * loud);
  CHECK(soft > 0.0);
  CHECK(rig.listed("CV140 = 128"));
  CHECK(model->index(0, 2).data(Qt::EditRole).toInt() == 128);
  // Return gives the keyboard back to the regulator; digits typed here are no keys of the set.
  rig.panel().findChild<QTabWidget*>()->setCurrentIndex(1);
  value.setFocus();
  value.selectAll();
  QTest::keyClicks(&value, QStringLiteral("255"));
  QTest::keyClick(&value, Qt::Key_Return);
  CHECK(value.value() == 255);
  CHECK(rig.regulator().hasFocus());
  CHECK(loudness() > 5.0 * soft);

  auto& power = named<QCheckBox>(rig.page, "Track power");
  CHECK(power.isChecked());
  rig.regulator().setValue(100);
  rig.run(2.0);
  auto& speed = named<QProgressBar>(rig.page, "Speed");
  REQUIRE(speed.value() > 0);
  power.click();
  rig.run(0.5);
  CHECK(speed.value() == 0);
  CHECK(named<QLabel>(rig.page, "State and effort").text().startsWith(QLatin1String("No power")));
  CHECK(rig.listed("Off"));
  power.click();
  rig.run(0.5);
  rig.stop();
  CHECK(rig.calls == 0);

  const auto card = work::load_listed_card(rig.small.folder(), "cards/by-hand-1.json");
  REQUIRE(card);
  std::vector<int> values;
  std::vector<bool> powers;
  for (const model::Move& move : card->moves) {
    if (const auto* of_cv = std::get_if<model::MoveCv>(&move.what)) values.push_back(of_cv->value);
    if (const auto* of_power = std::get_if<model::MovePower>(&move.what))
      powers.push_back(of_power->on);
  }
  CHECK(values == std::vector<int>{128, 255});
  CHECK(powers == std::vector<bool>{false, true});
  JobControl job;
  const auto again = work::trial_run(rig.set(), rig.small.folder(), *card, false, job);
  REQUIRE(again);
  const bool same = again->output.mix == rig.heard;
  CHECK(same);
  // In the drive alone: the set ships with what it had.
  for (const model::Cv& each : rig.set().cvs) {
    if (each.number == 140) CHECK(each.value == 255);
  }
}

TEST_CASE("by hand: a recording begun under way starts with how all stands", "[ui]") {
  using drive::Command;
  using drive::CommandKind;
  const std::vector<Command> obeyed{{10, CommandKind::throttle_step, 0, 50, 0.0},
                                    {20, CommandKind::key, 3, 1, 0.0},
                                    {30, CommandKind::key, 4, 1, 0.0},
                                    {40, CommandKind::key, 3, 0, 0.0},
                                    {50, CommandKind::load, 0, 0, 0.25},
                                    {60, CommandKind::throttle_step, 0, 70, 0.0},
                                    {1100, CommandKind::key, 4, 0, 0.0},
                                    {1300, CommandKind::throttle_step, 0, 0, 0.0},
                                    {2000, CommandKind::key, 5, 1, 0.0}};
  const model::RunCard card = ui::cardOf(obeyed, 1000, 2000, 1000);
  CHECK(card.seconds == 1.0);
  const std::vector<model::Move> wanted{{0.0, model::MoveThrottle{70}},
                                        {0.0, model::MoveKey{4, true}},
                                        {0.0, model::MoveLoad{0.25}},
                                        {0.1, model::MoveKey{4, false}},
                                        {0.3, model::MoveThrottle{0}}};
  CHECK(card.moves == wanted);
  // After an emergency stop the engine does not run on.
  const model::RunCard stopped = ui::cardOf(
      {{10, CommandKind::throttle_step, 0, 50, 0.0}, {20, CommandKind::emergency_stop, 0, 0, 0.0}},
      1000, 2000, 1000);
  CHECK(stopped.moves == std::vector<model::Move>{{0.0, model::MoveStop{}}});
}

TEST_CASE("by hand: the device plays what is driven, as it is driven", "[ui][sound][deep]") {
  if (SoundServer::instance() == nullptr) return;
  const Sink sink("byhand");
  PageRig rig;
  ui::TrialRunPage page(rig.workspace);
  page.resize(1200, 800);
  showActive(page);
  REQUIRE(opened(rig.transport));
  Monitor monitor(*SoundServer::instance(), QStringLiteral("byhand"));
  auto& button = named<QPushButton>(page, "Drive by hand");
  QTest::mouseClick(&button, Qt::LeftButton);
  REQUIRE(waitUntil([&] { return page.hand().isDriving(); }, 60'000));
  QTest::mouseClick(&named<QCheckBox>(page, "Record the drive"), Qt::LeftButton, {},
                    QPoint(8, named<QCheckBox>(page, "Record the drive").height() / 2));
  REQUIRE(page.hand().isRecording());
  const std::size_t from = monitor.count();
  QTest::qWait(500);
  const auto loudest = [&](std::size_t first) {
    float most = 0.0F;
    const std::vector<float> record = monitor.frames();
    for (std::size_t i = first; i < record.size(); ++i)
      most = std::max(most, std::abs(record[i]));
    return most;
  };
  const float still = loudest(from);
  named<QSlider>(page, "Regulator").setValue(100);
  QTest::qWait(4000);
  const float chuffing = loudest(from);
  CAPTURE(still, chuffing);
  CHECK(chuffing > 0.02F);
  CHECK(chuffing > 10.0F * still);
  CHECK(named<QProgressBar>(page, "Speed").value() > 0);
  rig.transport.toggle();  // the space bar
  CHECK_FALSE(page.hand().isDriving());
  CHECK(rig.project().run_cards.size() == 2);
  QTest::qWait(200);
  const std::size_t after = monitor.count();
  QTest::qWait(300);
  CHECK(loudest(after) < 1e-4F);
}
