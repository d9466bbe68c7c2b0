// SPDX-License-Identifier: GPL-3.0-or-later
#include "page_fixture.h"
#include "review/ReviewDesk.h"
#include "review/SeamMeasures.h"
#include "review/SeamQueueModel.h"
#include "review/SeamReview.h"
#include "review/SeamView.h"
#include "review/SpeakerForm.h"

#include "fourbeat/model/piece.h"

#include <QAbstractItemModelTester>
#include <QCheckBox>
#include <QComboBox>
#include <QLabel>
#include <QLineEdit>
#include <QLocale>
#include <QPointer>
#include <QPushButton>
#include <QTableView>
#include <QTableWidget>
#include <QTest>

using namespace fourbeat;
using namespace fourbeat::tests;
using ui::SeamDecision;

namespace {

/// The small project with two loops that sounds play and a fused row, under review.
struct ReviewFixture : PageFixture {
  ReviewFixture() {
    model::Segment second = project().segments.at(1);
    second.id = {};
    second.name = "Second hold";
    second.gain_db -= 1.0;
    REQUIRE(
        workspace.perform(QStringLiteral("a"), {model::Add<model::Segment>{second, std::nullopt}}));
    model::Sound sound;
    sound.name = "Second";
    sound.kind = model::SoundKind::held;
    sound.hold = model::last_drawn<model::Segment>(project());
    REQUIRE(
        workspace.perform(QStringLiteral("b"), {model::Add<model::Sound>{sound, std::nullopt}}));
    model::ChuffRow row = project().chuffs.rows.back();
    const model::Segment& hold = project().segments.at(1);
    row.id = {};
    row.from_kmh = row.to_kmh;
    row.to_kmh += 20.0;
    row.revolutions.clear();
    row.fused = model::FusedLoop{hold.source, hold.range, *hold.loop, 50.0, -2.0, {}};
    REQUIRE(
        workspace.perform(QStringLiteral("c"), {model::Add<model::ChuffRow>{row, std::nullopt}}));
    const auto speakers = store::load_speakers();
    REQUIRE(speakers);
    REQUIRE(workspace.perform(QStringLiteral("d"), {model::SetSpeaker{speakers->front()}}));
    review = new ui::SeamReview(workspace, 0);
    review->show();
    review->activateWindow();
    REQUIRE(QTest::qWaitForWindowActive(review));
    // The first check of a program fits the whole set.
    REQUIRE(waitUntil(
        [this] {
          return workspace.live().isCurrent() && desk().canHear({true, true});
        },
        60'000));
  }
  ~ReviewFixture() { delete review; }
  ReviewFixture(const ReviewFixture&) = delete;
  ReviewFixture& operator=(const ReviewFixture&) = delete;

  [[nodiscard]] ui::ReviewDesk& desk() const { return review->desk(); }
  template <class Widget>
  Widget* named(const QString& name) {
    return childNamed<Widget>(*review, name);
  }
  void key(int key) { QTest::keyClick(review, static_cast<Qt::Key>(key)); }
  /// Presses A, and waits until the seam has been rendered and heard as it is.
  void hear() {
    key(Qt::Key_A);
    REQUIRE(waitUntil([this] { return desk().heard() && desk().study(); }));
  }
  [[nodiscard]] SeamDecision decision(int row) const {
    return desk().queue().rows().at(static_cast<std::size_t>(row)).decision;
  }
  [[nodiscard]] const model::Verdict& last() const { return project().verdicts.back(); }
  [[nodiscard]] model::Loop loop(int row) const {
    return *model::looped_pieces(project()).at(static_cast<std::size_t>(row)).loop;
  }

  QPointer<ui::SeamReview> review;
};

}  // namespace

TEST_CASE("review: the queue holds every loop of the set, through random edits and undos",
          "[ui][deep]") {
  ReviewFixture f;
  ui::SeamQueueModel& queue = f.desk().queue();
  const QAbstractItemModelTester tester(&queue,
                                        QAbstractItemModelTester::FailureReportingMode::Fatal);
  REQUIRE(queue.rowCount() == 3);
  CHECK(queue.index(0, 0).data().toString() ==
        QString::fromStdString(f.project().segments[1].name));
  CHECK(queue.index(2, 0).data().toString().startsWith(QStringLiteral("Fused chuffs")));
  CHECK(queue.index(0, 1).data().toString() == QStringLiteral("Unsigned"));
  for (quint64 seed = 0; seed < 60; ++seed) {
    REQUIRE(f.workspace.perform(QStringLiteral("s"), {randomEdit(f.project(), seed)}));
    if (seed % 3 == 2) f.undo();
    REQUIRE(queue.rowCount() == static_cast<int>(model::looped_pieces(f.project()).size()));
  }
}

TEST_CASE("review: a seam is signed, or sent back, by one key once it has been heard", "[ui]") {
  ReviewFixture f;
  const std::string before = f.state();
  CHECK_FALSE(f.named<QPushButton>(QStringLiteral("Sign"))->isEnabled());
  f.key(Qt::Key_S);
  f.key(Qt::Key_R);
  CHECK(f.state() == before);  // not heard yet
  f.hear();
  CHECK(f.transport.request().key == QStringLiteral("review"));
  f.edits([&] { f.key(Qt::Key_S); },
          [&] {
            // As recorded is better than the fit stores it.
            return f.decision(0) == SeamDecision::signedHigher && f.last().recipe.size() == 64 &&
                   f.last().sample_rate_hz == 0 && f.last().speaker.empty();
          });
  // Signing went on to the next one that is open; back to the first.
  CHECK(f.desk().row() == 1);
  f.key(Qt::Key_B);
  REQUIRE(f.desk().row() == 0);
  f.hear();
  f.edits(
      [&] {
        f.named<QLineEdit>(QStringLiteral("Note for the verdict"))
            ->setText(QStringLiteral("ticks"));
        f.key(Qt::Key_R);
      },
      [&] {
        return f.decision(0) == SeamDecision::needsWork && f.last().note == "ticks" &&
               f.last().kind == model::VerdictKind::rejected;
      });
}

TEST_CASE("review: the whole set by keys alone, fused rows too, and each verdict is one undo",
          "[ui][deep]") {
  ReviewFixture f;
  const std::string before = f.state();
  auto* progress = f.named<QLabel>(QStringLiteral("How far the review has come"));
  CHECK(progress->text() == QStringLiteral("0 of 3 decided"));
  for (int i = 0; i < 3; ++i) {
    f.hear();
    f.key(i == 1 ? Qt::Key_R : Qt::Key_S);
  }
  CHECK(progress->text() == QStringLiteral("3 of 3 decided"));
  REQUIRE(f.project().verdicts.size() >= 3);
  CHECK(f.last().row == f.project().chuffs.rows.back().id);
  CHECK_FALSE(f.last().segment.is_set());
  CHECK(f.desk().told() == QStringLiteral("Every seam is decided on."));
  for (int i = 0; i < 3; ++i)
    QTest::keySequence(f.review, QKeySequence::Undo);
  CHECK(f.state() == before);
}

TEST_CASE("review: the verdict notes the rate, depth and speaker that were heard", "[ui][deep]") {
  ReviewFixture f;
  f.key(Qt::Key_D);
  f.key(Qt::Key_P);
  CHECK(f.desk().way() == work::Way{true, true});
  f.hear();
  const fit::Encoding stored = *f.desk().study()->hearing.encoding;
  f.key(Qt::Key_S);
  CHECK(f.last().sample_rate_hz == stored.sample_rate_hz);
  CHECK(f.last().bits == stored.bits);
  CHECK(f.last().speaker == f.project().speaker->name);
  // Heard as the fit stores it: nothing is lower. Heard as recorded: a hint.
  REQUIRE(waitUntil([&] { return f.workspace.live().isCurrent(); }));
  CHECK(f.decision(0) == SeamDecision::signedOff);
  f.key(Qt::Key_D);
  f.key(Qt::Key_P);
  f.hear();
  f.key(Qt::Key_S);
  REQUIRE(waitUntil([&] { return f.decision(1) == SeamDecision::signedHigher; }));
}

TEST_CASE("review: the four ways are as loud as each other, and a chosen depth is heard",
          "[ui][deep]") {
  ReviewFixture f;
  for (const work::Way way : {work::Way{false, false}, work::Way{true, false},
                              work::Way{false, true}, work::Way{true, true}})
    CHECK(f.desk().canHear(way));
  auto* encoding = f.named<QComboBox>(QStringLiteral("Rate and depth to hear"));
  REQUIRE(encoding->count() > 2);
  const int lowest = encoding->count() - 1;
  const QSize wanted = encoding->itemData(lowest).toSize();
  encoding->setCurrentIndex(lowest);
  Q_EMIT encoding->activated(lowest);
  REQUIRE(waitUntil([&] {
    const auto study = f.desk().study();
    return study && study->hearing.encoding == fit::Encoding{wanted.width(), wanted.height()};
  }));
  CHECK(encoding->currentIndex() == lowest);
}

TEST_CASE("review: the speaker is chosen by an edit", "[ui][deep]") {
  ReviewFixture f;
  auto* speaker = f.named<QComboBox>(QStringLiteral("The set's speaker"));
  f.edits([&] { Q_EMIT speaker->activated(2); },
          [&] { return f.project().speaker->name == speaker->itemText(2).toStdString(); });
  f.edits([&] { Q_EMIT speaker->activated(0); }, [&] { return !f.project().speaker; });
}

TEST_CASE("review: the speaker's figures are a key away, heard at once, and undone", "[ui][deep]") {
  ReviewFixture f;
  f.key(Qt::Key_E);
  auto* form = f.review->findChild<ui::SpeakerForm*>();
  REQUIRE(form != nullptr);
  REQUIRE(QTest::qWaitForWindowActive(form));
  auto* field = [&]() -> QDoubleSpinBox* {
    for (auto* each : form->findChildren<QDoubleSpinBox*>()) {
      if (each->accessibleName() == QStringLiteral("High-pass frequency")) return each;
    }
    return nullptr;
  }();
  REQUIRE(field != nullptr);
  const auto before = f.desk().study();
  f.edits(
      [&] {
        field->setValue(1500.0);
        REQUIRE(waitUntil([&] { return f.desk().study() != before; }));
        QTest::keyClick(form, Qt::Key_Return, Qt::ControlModifier);
        REQUIRE(waitUntil([&] { return f.desk().heard(); }));
      },
      [&] {
        const auto study = f.desk().study();
        return f.project().speaker->high_pass_hz == 1500.0 && f.desk().way().speaker &&
               study->hearing.speaker == f.project().speaker->name &&
               study->hearing.clip({false, true})->samples !=
                   before->hearing.clip({false, true})->samples;
      });
}

TEST_CASE("review: the next loop is set by an edit, heard, and its verdict lapses", "[ui][deep]") {
  ReviewFixture f;
  f.hear();
  f.key(Qt::Key_S);
  REQUIRE(f.decision(0) == SeamDecision::signedHigher);
  f.key(Qt::Key_B);
  REQUIRE(f.desk().row() == 0);
  const model::Loop first = f.loop(0);
  const std::string before = f.state();
  f.key(Qt::Key_N);
  REQUIRE(waitUntil([&] { return f.loop(0) != first; }));
  CHECK(f.decision(0) == SeamDecision::lapsed);
  f.undo();
  CHECK(f.state() == before);
  CHECK(f.decision(0) == SeamDecision::signedHigher);
  // A fused row's, too.
  f.desk().go(2, false);
  const model::Loop fused = f.loop(2);
  f.key(Qt::Key_N);
  REQUIRE(waitUntil([&] { return f.loop(2) != fused; }));
  f.undo();
  CHECK(f.state() == before);
}

TEST_CASE("review: two takes are compared blind, and the order is told only after the choice",
          "[ui][deep]") {
  ReviewFixture f;
  f.hear();
  CHECK_FALSE(f.desk().canCompare());  // nothing to compare with
  const model::Loop first = f.loop(0);
  f.key(Qt::Key_N);
  REQUIRE(
      waitUntil([&] { return f.loop(0) != first && f.desk().study() && f.desk().canCompare(); }));
  auto* told = f.named<QLabel>(QStringLiteral("What happened last"));
  int keeps = 0;
  for (quint64 seed = 0; seed < 6; ++seed) {
    f.desk().setSeed(seed);
    f.key(Qt::Key_C);
    REQUIRE(waitUntil([&] { return f.desk().isChoosing(); }));
    // Nothing that is shown, said or named gives the order away.
    const QString asked = told->text();
    CHECK(asked.contains(QStringLiteral("the first (1) or the second (2)")));
    CHECK_FALSE(asked.contains(QStringLiteral("came")));
    CHECK(f.transport.request().title == QStringLiteral("Two takes of one seam"));
    CHECK_FALSE(f.desk().canTakeChosen());
    f.key(Qt::Key_1);
    CHECK_FALSE(f.desk().isChoosing());
    const bool swapped = told->text().startsWith(QStringLiteral("First came the loop before"));
    CHECK(swapped != told->text().startsWith(QStringLiteral("First came the present loop")));
    CHECK(swapped == told->text().contains(QStringLiteral("You chose the loop before")));
    CHECK(f.desk().canTakeChosen() == swapped);
    keeps += swapped ? 1 : 0;
  }
  CHECK(keeps > 0);
  CHECK(keeps < 6);
  f.desk().setSeed(0);
  f.key(Qt::Key_C);
  REQUIRE(waitUntil([&] { return f.desk().isChoosing(); }));
  f.key(Qt::Key_1);
  if (!f.desk().canTakeChosen()) {
    f.key(Qt::Key_C);
    REQUIRE(waitUntil([&] { return f.desk().isChoosing(); }));
    f.key(Qt::Key_2);
    if (!f.desk().canTakeChosen()) {
      f.key(Qt::Key_C);
      REQUIRE(waitUntil([&] { return f.desk().isChoosing(); }));
      f.key(Qt::Key_1);
    }
  }
  REQUIRE(f.desk().canTakeChosen());
  f.edits([&] { f.key(Qt::Key_K); }, [&] { return f.loop(0) == first; });
}

TEST_CASE("review: letters typed into the note are the note's, not commands", "[ui][deep]") {
  ReviewFixture f;
  f.hear();
  const std::string before = f.state();
  auto* note = f.named<QLineEdit>(QStringLiteral("Note for the verdict"));
  f.key(Qt::Key_T);
  REQUIRE(note->hasFocus());
  QTest::keyClicks(note, QStringLiteral("sr nb"));
  CHECK(note->text() == QStringLiteral("sr nb"));
  CHECK(f.state() == before);
  QTest::keyClick(note, Qt::Key_Return);
  CHECK_FALSE(note->hasFocus());
  f.key(Qt::Key_S);
  CHECK(f.last().note == "sr nb");
  CHECK(note->text().isEmpty());
}

TEST_CASE("review: the seam is drawn, described and zoomed; its measures are told in words",
          "[ui]") {
  ReviewFixture f;
  auto* view = f.named<ui::SeamView>(QStringLiteral("The seam, magnified"));
  CHECK(view->accessibleDescription().startsWith(QStringLiteral("Crossfade of")));
  const double whole = view->halfSpanSeconds();
  f.key(Qt::Key_Plus);
  CHECK(view->halfSpanSeconds() < 0.7 * whole);
  f.key(Qt::Key_Minus);
  CHECK(view->halfSpanSeconds() == whole);
  auto* measures = f.named<QTableWidget>(QStringLiteral("Measures of the seam"));
  const dsp::SeamReport& report = f.desk().study()->report;
  REQUIRE(measures->rowCount() == static_cast<int>(report.measures.size()));
  for (int row = 0; row < measures->rowCount(); ++row) {
    const std::string& name = report.measures[static_cast<std::size_t>(row)].name;
    CHECK(measures->item(row, 0)->text() != QString::fromStdString(name));  // in words
  }
  CHECK(ui::measureWord("of tomorrow") == QStringLiteral("of tomorrow"));
}

TEST_CASE("review: a clean seam is not told to stand out, and drift is told in words", "[ui]") {
  dsp::SeamReport report;
  report.state = dsp::SeamState::clean;
  report.measures = {{"rms_50ms", 1.0, 0.4}, {"sample_step", 0.1, 0.9}, {"spectrum_fine", 3, 1.3}};
  QTableWidget table;
  ui::setUpMeasures(&table);
  const auto words = [&] {
    ui::showMeasures(&table, &report);
    QStringList all;
    for (int row = 0; row < table.rowCount(); ++row)
      all << table.item(row, 3)->text();
    return all;
  };
  CHECK(words() == QStringList{QStringLiteral("usual"), QStringLiteral("strong, but usual"),
                               QStringLiteral("seldom, but found inside too")});
  CHECK_FALSE(ui::measuresSummary(report).contains(QStringLiteral("quarter")));
  report.state = dsp::SeamState::unclean;
  report.level_drift_db = -2.5;
  report.tone_drift_db = 1.5;
  report.octave_drift_db = -3.0;
  report.octave_hz = 630.0;
  CHECK(words().last() == QStringLiteral("stands out"));
  CHECK(ui::measuresSummary(report).contains(
      QStringLiteral("Its last quarter is %1 dB softer").arg(QLocale().toString(2.5, 'f', 1))));
  CHECK(ui::measuresSummary(report).contains(
      QStringLiteral("Its last quarter is %1 dB brighter").arg(QLocale().toString(1.5, 'f', 1))));
  CHECK(
      ui::measuresSummary(report).contains(QStringLiteral("The octave about 630 Hz falls by %1 dB")
                                               .arg(QLocale().toString(3.0, 'f', 1))));
}

TEST_CASE("review: every widget that takes the keyboard has a name", "[ui][deep]") {
  ReviewFixture f;
  for (const QWidget* widget : f.review->findChildren<QWidget*>()) {
    if (widget->focusPolicy() == Qt::NoFocus || !widget->isVisible()) continue;
    if (widget->parentWidget() != nullptr &&
        widget->parentWidget()->inherits("QAbstractScrollArea"))
      continue;
    INFO(widget->metaObject()->className());
    const auto* button = qobject_cast<const QAbstractButton*>(widget);
    CHECK(
        (!widget->accessibleName().isEmpty() || (button != nullptr && !button->text().isEmpty())));
  }
}
