// SPDX-License-Identifier: GPL-3.0-or-later
#include "Wording.h"
#include "models/ChuffRowModel.h"
#include "models/RevolutionModel.h"
#include "page_fixture.h"
#include "pages/BeatEditor.h"
#include "pages/ChuffHearing.h"
#include "pages/ChuffTablePanel.h"
#include "pages/ChuffsPage.h"
#include "pages/CoverageView.h"
#include "pages/Fields.h"
#include "pages/RevolutionPanel.h"
#include "views/ClipView.h"
#include "views/SpeedStrip.h"
#include "views/TrackView.h"

#include "fourbeat/base/wheel.h"
#include "fourbeat/work/row_preview.h"
#include "fourbeat/work/sweep.h"

#include <QAbstractItemModelTester>
#include <QCheckBox>
#include <QComboBox>
#include <QListWidget>
#include <QLocale>
#include <QPushButton>
#include <QSignalSpy>
#include <QTableView>
#include <QTest>

using namespace fourbeat;
using namespace fourbeat::tests;
using ui::ChuffsPage;

namespace {

struct ChuffsFixture : ShownPage<ChuffsPage> {
  QTableView* table() { return named<QTableView>(QStringLiteral("Rows of the chuff table")); }
  QListWidget* takes() { return named<QListWidget>(QStringLiteral("Takes to build from")); }
  [[nodiscard]] const model::ChuffTable& chuffs() const { return project().chuffs; }
};

}  // namespace

TEST_CASE("chuffs page: its model holds through random edits and undos", "[ui]") {
  PageFixture f;
  ui::ChuffRowModel rows(f.workspace);
  const QAbstractItemModelTester tester(&rows,
                                        QAbstractItemModelTester::FailureReportingMode::Fatal);
  const auto count = static_cast<int>(f.project().chuffs.rows.size());
  REQUIRE(count > 1);
  for (quint64 seed = 0; seed < 40; ++seed) {
    REQUIRE(f.workspace.perform(QStringLiteral("s"), {randomEdit(f.project(), seed)}));
    if (seed % 4 == 3) {
      model::ChuffRow row = f.project().chuffs.rows.front();
      row.id = {};
      REQUIRE(f.workspace.perform(QStringLiteral("a"), {model::Add<model::ChuffRow>{row, 1}}));
      REQUIRE(f.workspace.perform(QStringLiteral("r"),
                                  {model::Remove<model::ChuffRow>{f.project().chuffs.rows[0].id}}));
    }
    if (seed % 3 == 2) f.undo();
    REQUIRE(rows.rowCount() == static_cast<int>(f.project().chuffs.rows.size()));
    REQUIRE(rows.idAt(0) == f.project().chuffs.rows[0].id.value());
  }
  while (f.workspace.document().undoStack().canUndo())
    f.undo();
  CHECK(rows.rowCount() == count);
}

TEST_CASE("chuffs page: speeds and effort of a row, and the table's own figures, are edited",
          "[ui]") {
  ChuffsFixture f;
  const auto set = [&](int row, int column, const QVariant& value) {
    f.table()->model()->setData(f.table()->model()->index(row, column), value, Qt::EditRole);
  };
  const auto row = [&](std::size_t place) -> const model::ChuffRow& {
    return f.chuffs().rows.at(place);
  };
  f.edits([&] { set(0, ui::ChuffRowModel::fromColumn, 2.0); },
          [&] { return row(0).from_kmh == 2.0; });
  f.edits([&] { set(0, ui::ChuffRowModel::toColumn, 77.0); },
          [&] { return row(0).to_kmh == 77.0; });
  const auto other = static_cast<int>(
      row(0).effort == model::Effort::drifting ? model::Effort::easy : model::Effort::drifting);
  f.edits([&] { set(0, ui::ChuffRowModel::effortColumn, other); },
          [&] { return static_cast<int>(row(0).effort) == other; });
  const std::int64_t start = row(0).revolutions[0].chuffs[0].range.start.value();
  const std::int64_t beat = row(0).revolutions[0].chuffs[0].beat_frame.value();
  f.edits([&] { f.number(QStringLiteral("Lead: how long before its beat a chuff begins"), 8.0); },
          [&] {
            const model::Chuff& chuff = row(0).revolutions[0].chuffs[0];
            return f.chuffs().lead_ms == 8.0 && chuff.range.start.value() == beat - 384 &&
                   chuff.range.start.value() != start;
          });
  f.edits([&] { f.number(QStringLiteral("Gain of the chuffs"), -3.0); },
          [&] { return f.chuffs().gain_db == -3.0; });
  f.edits([&] { f.number(QStringLiteral("Priority of the chuffs"), 55); },
          [&] { return f.chuffs().priority == 55; });
  f.edits([&] { f.number(QStringLiteral("Importance of the chuffs"), 4.0); },
          [&] { return f.chuffs().importance == 4.0; });
  const std::size_t count = f.chuffs().rows.size();
  f.page.choose(row(1).id);
  f.table()->setFocus();
  f.edits([&] { QTest::keyClick(f.table(), Qt::Key_Delete); },
          [&] { return f.chuffs().rows.size() == count - 1; });
  f.page.choose(row(0).id);
  f.edits([&] { f.press(QStringLiteral("Remove row")); },
          [&] { return f.chuffs().rows.size() == count - 1; });
}

TEST_CASE("chuffs page: the table is built from the takes chosen, as one step", "[ui]") {
  ChuffsFixture f;
  REQUIRE(f.takes()->count() == 3);
  CHECK(f.takes()->item(0)->checkState() == Qt::Checked);  // the table is cut from it
  CHECK(f.takes()->item(1)->checkState() == Qt::Unchecked);
  const std::string built = f.state();
  const std::size_t rows = f.chuffs().rows.size();
  model::ChuffTable empty = f.chuffs();
  empty.rows.clear();
  REQUIRE(f.workspace.perform(QStringLiteral("e"), {model::SetChuffTable{empty}}));
  CHECK(f.page.need().contains(QStringLiteral("Build")));
  CHECK_FALSE(f.table()->isVisible());
  f.takes()->setFocus();
  f.takes()->setCurrentRow(0);
  CHECK(f.takes()->item(0)->checkState() == Qt::Checked);
  QTest::keyClick(f.takes(), Qt::Key_Return);
  CHECK(f.takes()->item(0)->checkState() == Qt::Unchecked);
  CHECK_FALSE(f.named<QPushButton>(QStringLiteral("Build table"))->isEnabled());
  QTest::keyClick(f.takes(), Qt::Key_Return);
  const int steps = f.workspace.document().undoStack().index();
  f.press(QStringLiteral("Build table"));
  REQUIRE(waitUntil([&] { return !f.chuffs().rows.empty(); }, 60'000));
  CHECK(f.chuffs().rows.size() == rows);
  CHECK(f.workspace.document().undoStack().index() == steps + 1);
  CHECK(f.told.last().contains(QStringLiteral("revolutions")));
  CHECK(f.page.chosen() == f.chuffs().rows[0].id);
  f.undo();
  CHECK(f.chuffs().rows.empty());
  f.undo();
  CHECK(f.state() == built);
  // A take without beats builds nothing, and says so.
  f.takes()->item(0)->setCheckState(Qt::Unchecked);
  f.takes()->item(2)->setCheckState(Qt::Checked);
  f.told.clear();
  f.press(QStringLiteral("Build table"));
  REQUIRE(waitUntil([&] { return !f.told.isEmpty(); }, 60'000));
  CHECK(f.state() == built);
}

TEST_CASE("chuffs page: effort is judged by what was heard, by figures kept of it, or by others",
          "[ui]") {
  ChuffsFixture f;
  f.page.findChild<QTabWidget*>()->setCurrentWidget(f.page.findChild<ui::ChuffTablePanel*>());
  const auto effort = [&]() -> const std::optional<model::EffortCalibration>& {
    return f.project().engine.effort;
  };
  const auto box = [&](const char* name) { return f.named<QCheckBox>(QString::fromUtf8(name)); };
  auto* own = box("Judge effort by figures of this engine");
  auto* keep = f.named<QPushButton>(QStringLiteral("Use what was heard"));
  const QString from = QStringLiteral("Level over background from which it works hard");
  auto* hard = f.named<QDoubleSpinBox>(from);
  REQUIRE_FALSE(effort().has_value());
  CHECK_FALSE(own->isChecked());
  CHECK_FALSE(hard->isEnabled());
  CHECK_FALSE(keep->isEnabled());  // nothing heard yet

  f.press(QStringLiteral("Build table"));
  REQUIRE(waitUntil([&] { return keep->isEnabled(); }, 60'000));
  f.edits([&] { QTest::mouseClick(keep, Qt::LeftButton); }, [&] { return effort().has_value(); });
  CHECK_FALSE(own->isChecked());
  QTest::mouseClick(own, Qt::LeftButton);
  REQUIRE(effort().has_value());
  CHECK(own->isChecked());
  auto* level = box("Level over background counts");
  if (level->isChecked()) QTest::mouseClick(level, Qt::LeftButton);
  CHECK_FALSE(effort()->hard_from_db.has_value());
  QTest::mouseClick(level, Qt::LeftButton);
  REQUIRE(effort()->hard_from_db.has_value());
  CHECK(hard->isEnabled());
  f.edits([&] { f.number(from, 31.5); }, [&] { return effort()->hard_from_db == 31.5; });
  // The lower of the two stays below the upper one.
  f.edits(
      [&] { f.number(QStringLiteral("Level over background below which the engine drifts"), 60); },
      [&] { return effort()->drifting_below_db == 60.0 && effort()->hard_from_db == 61.0; });
  f.edits([&] { f.number(QStringLiteral("Acceleration from which it works hard"), -1.0); },
          [&] { return effort()->hard_from_m_s2 == -1.0 && effort()->drifting_below_m_s2 < -1.0; });
  f.edits([&] { f.number(QStringLiteral("Acceleration below which the engine drifts"), 0.5); },
          [&] { return effort()->drifting_below_m_s2 == 0.5 && effort()->hard_from_m_s2 > 0.5; });
  f.edits(
      [&] { f.number(QStringLiteral("Length of a beat from which the engine works hard"), 45); },
      [&] { return effort()->hard_from_share == 0.45; });
  f.edits(
      [&] { f.number(QStringLiteral("Length of a beat below which the engine drifts"), 95); },
      [&] { return effort()->drifting_below_share == 0.95 && effort()->hard_from_share > 0.95; });
  QTest::mouseClick(own, Qt::LeftButton);
  CHECK_FALSE(effort().has_value());
}

TEST_CASE("chuffs page: a row plays at the speed asked for, with its beats shown", "[ui]") {
  ChuffsFixture f;
  const model::ChuffRow row = f.chuffs().rows.back();
  f.page.choose(row.id);
  auto* hearing = f.page.findChild<ui::ChuffHearing*>();
  CHECK(hearing->speedKmh() == Approx(work::middle_speed_kmh(row)).margin(0.06));
  REQUIRE(waitUntil([&] { return hearing->view().clip() != nullptr; }));
  f.number(QStringLiteral("Speed to hear the row at"), 30.0);
  f.page.playRequested();
  const QString key = QStringLiteral("chuffs/%1").arg(row.id.value());
  REQUIRE(waitUntil([&] { return f.transport.request().key == key; }));
  const auto* source = std::get_if<ui::ClipSource>(&f.transport.request().source);
  REQUIRE(source != nullptr);
  CHECK(source->clip == hearing->view().clip());
  JobControl job;
  const auto expected = work::preview_row(f.project(), f.small.folder(), row.id, 30.0, 6.0, job);
  REQUIRE(expected);
  CHECK(*source->clip == expected->clip);
  // Four beats a turn of a wheel of 1.2 m at 30 km/h, for six seconds.
  const double turn_s = wheel_circumference_m(1200.0) / (30.0 / 3.6);
  CHECK(static_cast<double>(expected->beats.size()) == Approx(6.0 / turn_s * 4.0).margin(4.0));
  Q_EMIT f.transport.positionChanged(FrameIndex(4'800));
  CHECK(hearing->view().playhead() == FrameIndex(4'800));
  f.transport.stop();
  hearing->view().setPlayhead(FrameIndex(9'600));
  f.page.playRequested();
  CHECK(f.transport.request().from == FrameIndex(9'600));
  f.transport.stop();
  // The picture of a row that is gone goes with it.
  REQUIRE(f.workspace.perform(QStringLiteral("r"), {model::Remove<model::ChuffRow>{row.id}}));
  REQUIRE(waitUntil([&] { return f.page.chosen() != row.id; }));
}

TEST_CASE("chuffs page: a sweep goes through the whole table and shows where rows change", "[ui]") {
  ChuffsFixture f;
  REQUIRE(f.workspace.perform(QStringLiteral("d"), {model::SetDecoder{""}}));  // it needs none
  f.table()->setFocus();
  QTest::keyClick(f.table(), Qt::Key_Return, Qt::ControlModifier);
  REQUIRE(waitUntil([&] { return f.transport.request().key == QStringLiteral("sweep"); }, 60'000));
  const auto* source = std::get_if<ui::ClipSource>(&f.transport.request().source);
  REQUIRE(source != nullptr);
  JobControl job;
  const auto expected = work::sweep_table(f.project(), f.small.folder(), {}, job);
  REQUIRE(expected);
  CHECK(*source->clip == expected->clip);
  REQUIRE_FALSE(expected->changes.empty());
  const auto& marks = f.page.findChild<ui::ChuffHearing*>()->view().marks();
  REQUIRE(marks.size() == expected->changes.size());
  CHECK(marks.front().frame == expected->beats[expected->changes.front()].frame);
  f.transport.stop();
  // Again from where the playhead was put, without driving it anew, by the space bar too.
  auto& view = f.page.findChild<ui::ChuffHearing*>()->view();
  view.setPlayhead(FrameIndex(96'000));
  const auto clip = source->clip;
  const QSignalSpy jobs(&f.workspace.jobs(), &ui::JobRunner::started);
  f.page.playRequested();
  CHECK(jobs.isEmpty());
  CHECK(std::get<ui::ClipSource>(f.transport.request().source).clip == clip);
  CHECK(f.transport.request().from == FrameIndex(96'000));
  f.transport.stop();
  view.setSelection(frame_range(48'000, 96'000));
  f.page.playRequested();
  CHECK(f.transport.request().range == frame_range(48'000, 96'000));
  CHECK(f.transport.request().from == FrameIndex(48'000));
  f.transport.stop();
  // The row, then the sweep that was driven before: from the beginning.
  f.press(QStringLiteral("Hear row"));
  REQUIRE(
      waitUntil([&] { return f.transport.request().key.startsWith(QStringLiteral("chuffs")); }));
  f.press(QStringLiteral("Hear sweep"));
  CHECK(std::get<ui::ClipSource>(f.transport.request().source).clip == clip);
  CHECK(f.transport.request().from == FrameIndex(0));
  f.transport.stop();
  // One that would go over full scale is softer, and says so.
  f.told.clear();
  model::ChuffTable loud = f.chuffs();
  loud.gain_db = 20.0;
  REQUIRE(f.workspace.perform(QStringLiteral("g"), {model::SetChuffTable{loud}}));
  QTest::keyClick(f.table(), Qt::Key_Return, Qt::ControlModifier);
  REQUIRE(waitUntil([&] { return !f.told.isEmpty(); }, 60'000));
  CHECK(f.told.last().contains(QStringLiteral("softer")));
  f.transport.stop();
}

TEST_CASE("chuffs page: revolutions are told apart by quality, swapped in, added and taken out",
          "[ui]") {
  ChuffsFixture f;
  auto* panel = f.page.findChild<ui::RevolutionPanel*>();
  f.openTab(panel);
  CHECK(panel->candidates().rowCount() == 0);
  f.press(QStringLiteral("Build table"));
  REQUIRE(waitUntil([&] { return !f.told.isEmpty(); }, 60'000));
  // A row with more to choose from than it plays.
  const auto more = [&] {
    for (const model::ChuffRow& row : f.chuffs().rows) {
      f.page.choose(row.id);
      if (panel->candidates().rowCount() > static_cast<int>(row.revolutions.size())) return true;
    }
    return false;
  };
  REQUIRE(more());
  const ui::RevolutionModel& model = panel->candidates();
  const auto row = [&]() -> const model::ChuffRow& {
    return *model::find(f.project(), f.page.chosen());
  };
  int played = 0;
  int other = -1;
  for (int i = 0; i < model.rowCount(); ++i) {
    const bool in = model.placeInRow(i) >= 0;
    played += in ? 1 : 0;
    if (!in && other < 0) other = i;
    CHECK(model.index(i, ui::RevolutionModel::takeColumn).data(Qt::DecorationRole).isNull() != in);
  }
  CHECK(played == static_cast<int>(row().revolutions.size()));
  REQUIRE(other >= 0);
  ui::selectRow(panel->table(), other);
  const model::Revolution wanted = model.candidate(other)->revolution;
  const std::size_t count = row().revolutions.size();
  const auto plays = [&] {
    return std::any_of(row().revolutions.begin(), row().revolutions.end(), [&](const auto& each) {
      return each.chuffs.front().beat_frame == wanted.chuffs.front().beat_frame;
    });
  };
  f.edits([&] { f.press(QStringLiteral("Swap in")); },
          [&] { return plays() && row().revolutions.size() == count; });
  f.edits([&] { f.press(QStringLiteral("Add to row")); },
          [&] { return plays() && row().revolutions.size() == count + 1; });
  panel->add();
  REQUIRE(plays());
  f.edits([&] { f.press(QStringLiteral("Take out")); },
          [&] { return !plays() && row().revolutions.size() == count; });
  panel->hear();
  CHECK(f.transport.request().key.startsWith(QStringLiteral("revolution/")));
  f.transport.stop();
}

TEST_CASE("chuffs page: a table built before is shown what else its rows could play", "[ui]") {
  ChuffsFixture f;
  f.press(QStringLiteral("Build table"));
  REQUIRE(waitUntil([&] { return !f.told.isEmpty(); }, 60'000));
  // The page as it is when the project is opened again; a row's speeds were changed since.
  f.workspace.perform(QStringLiteral("rows"), [&] {
    std::vector<model::Edit> edits;
    for (model::ChuffRow row : f.chuffs().rows) {
      if (row.derived || row.fused) continue;
      row.to_kmh *= 0.99;
      edits.emplace_back(model::Replace<model::ChuffRow>{row});
    }
    return edits;
  }());
  const model::ChuffTable before = f.chuffs();
  ui::ChuffsPage page(f.workspace);
  const auto row = std::find_if(before.rows.begin(), before.rows.end(),
                                [](const auto& each) { return !each.derived && !each.fused; });
  REQUIRE(row != before.rows.end());
  page.choose(row->id);
  auto* panel = page.findChild<ui::RevolutionPanel*>();
  REQUIRE(panel->candidates().rowCount() == 0);
  for (QPushButton* button : panel->findChildren<QPushButton*>())
    if (button->text() == QStringLiteral("Find others")) button->click();
  REQUIRE(waitUntil([&] { return panel->candidates().rowCount() > 0; }, 60'000));
  CHECK(f.chuffs() == before);
  for (int i = 0; i < panel->candidates().rowCount(); ++i) {
    const double kmh = panel->candidates().candidate(i)->speed_kmh;
    CHECK(kmh >= row->from_kmh);
    CHECK(kmh < row->to_kmh);
  }
}

TEST_CASE("chuffs page: the next build follows the figures given for it", "[ui]") {
  ChuffsFixture f;
  f.number(QStringLiteral("Upper over lower speed of a row"), 1.9);
  f.number(QStringLiteral("Revolutions where memory allows"), 1);
  CHECK(f.named<QDoubleSpinBox>(QStringLiteral("Revolutions a row has"))->value() == 1.0);
  f.named<QCheckBox>(QStringLiteral("Derive the rows that nothing was recorded for"))
      ->setChecked(false);
  const std::size_t before = f.chuffs().rows.size();
  f.press(QStringLiteral("Build table"));
  REQUIRE(waitUntil([&] { return !f.told.isEmpty(); }, 60'000));
  CHECK(f.chuffs().rows.size() < before);
  for (const model::ChuffRow& row : f.chuffs().rows) {
    CHECK_FALSE(row.derived);
    CHECK(row.revolutions.size() <= 1);
  }
}

TEST_CASE("chuffs page: beats are found, and corrected by hand with undo", "[ui]") {
  ChuffsFixture f;
  auto* beats = f.page.findChild<ui::BeatEditor*>();
  f.takes()->setCurrentRow(0);
  f.openTab(beats);
  const auto settled = [&](auto done) {
    return waitUntil([&] { return beats->tracked() && done(beats->tracked()->track.beats); },
                     60'000);
  };
  REQUIRE(settled([](const auto& all) { return all.size() > 20; }));
  const auto first = beats->tracked();
  CHECK(beats->strip().topKmh() > 0.0);
  CHECK_FALSE(beats->strip().efforts().empty());
  const std::vector<dsp::Beat> before = first->track.beats;
  const auto has = [](const std::vector<dsp::Beat>& all, FrameIndex at) {
    return std::any_of(all.begin(), all.end(), [at](const dsp::Beat& beat) {
      return std::abs((beat.frame - at).value()) < 240;
    });
  };
  const FrameIndex between =
      before[10].frame + FrameCount((before[11].frame - before[10].frame).value() / 2);
  // Each act is one step; the beats follow in the background, and go back with it.
  const auto acts = [&](const char* what, const std::function<void()>& act, auto done) {
    INFO(what);
    f.edits(act, [&] { return settled(done); });
    REQUIRE(waitUntil([&] { return beats->tracked() == first; }, 60'000));
  };
  beats->track().setPlayhead(between);
  acts(
      "insert", [&] { f.press(QStringLiteral("Insert beat")); },
      [&](const auto& all) { return all.size() == before.size() + 1 && has(all, between); });
  const auto key = [&](Qt::Key which, Qt::KeyboardModifiers modifiers = {}) {
    beats->track().setFocus();
    QTest::keyClick(&beats->track(), which, modifiers);
  };
  acts(
      "insert by key", [&] { key(Qt::Key_Insert); },
      [&](const auto& all) { return all.size() == before.size() + 1 && has(all, between); });
  beats->track().setPlayhead(before[10].frame);
  acts(
      "delete", [&] { f.press(QStringLiteral("Delete beat")); },
      [&](const auto& all) { return !has(all, before[10].frame); });
  acts(
      "delete by key", [&] { key(Qt::Key_Delete); },
      [&](const auto& all) { return !has(all, before[10].frame); });
  // Moves by keys that follow one another are one step; the playhead goes along.
  acts(
      "nudge",
      [&] {
        const int steps = f.workspace.document().undoStack().index();
        for (int i = 0; i < 20; ++i)
          key(Qt::Key_Right, Qt::AltModifier);
        key(Qt::Key_Left, Qt::AltModifier | Qt::ShiftModifier);
        CHECK(beats->track().playhead() == before[10].frame + FrameCount(959));
        CHECK(f.workspace.document().undoStack().index() == steps);
        REQUIRE(waitUntil([&] { return f.workspace.document().undoStack().index() > steps; }));
      },
      [&](const auto& all) {
        return std::any_of(all.begin(), all.end(), [&](const dsp::Beat& beat) {
          return beat.frame == before[10].frame + FrameCount(959);
        });
      });
  beats->track().setPlayhead(before[10].frame);
  const FrameIndex moved = before[10].frame + FrameCount(900);
  acts(
      "move",
      [&] {
        Q_EMIT beats->track().spanMoved(before[10].frame.value(), {moved, moved}, false);
        Q_EMIT beats->track().spanMoved(before[10].frame.value(), {moved, moved}, true);
      },
      [&](const auto& all) { return has(all, moved) && !has(all, before[10].frame); });
  beats->track().setSelection(
      FrameRange{before[8].frame - FrameCount(100), before[16].frame + FrameCount(100)});
  acts(
      "halve", [&] { f.press(QStringLiteral("Halve")); },
      [&](const auto& all) {  // of nine beats the softer half goes
        return all.size() == before.size() - 4 || all.size() == before.size() - 5;
      });
  acts(
      "double", [&] { f.press(QStringLiteral("Double")); },
      [&](const auto& all) { return all.size() == before.size() + 8; });
  acts(
      "halve by key", [&] { key(Qt::Key_D, Qt::ControlModifier); },
      [&](const auto& all) {
        return all.size() == before.size() - 4 || all.size() == before.size() - 5;
      });
  const auto pins = [&] {
    return std::count_if(f.project().marks.begin(), f.project().marks.end(),
                         [](const auto& mark) { return mark.kind == model::MarkKind::retracked; });
  };
  acts(
      "track between", [&] { f.press(QStringLiteral("Track between")); },
      [&](const auto&) { return pins() == 1; });
  acts(
      "track between by key", [&] { key(Qt::Key_K, Qt::ControlModifier); },
      [&](const auto&) { return pins() == 1; });
  acts(
      "effort",
      [&] {
        auto* combo = f.named<QComboBox>(QStringLiteral("Effort of the selection"));
        combo->setFocus();
        QTest::keyClick(combo, Qt::Key_Down);
        CHECK(combo->currentIndex() == 0);  // it asks, and shows nothing itself
      },
      [&](const auto&) { return beats->tracked()->efforts[12] == model::Effort::drifting; });
  beats->track().setSelection(std::nullopt);
  beats->track().setPlayhead(before[9].frame);
  acts(
      "revolution", [&] { f.press(QStringLiteral("First of the turn")); },
      [&](const auto& all) { return all[9].position == 0; });
  acts(
      "revolution by key", [&] { key(Qt::Key_G, Qt::ControlModifier); },
      [&](const auto& all) { return all[9].position == 0; });
  const bool source = first->chuff_source;
  acts(
      "source",
      [&] {
        QTest::mouseClick(f.named<QCheckBox>(QStringLiteral("Cut chuffs from this take")),
                          Qt::LeftButton, {}, {8, 8});
      },
      [&](const auto&) { return beats->tracked()->chuff_source != source; });
  // All that was set by hand goes as one step.
  beats->track().setPlayhead(between);
  beats->insertBeat();
  REQUIRE(settled([&](const auto& all) { return has(all, between); }));
  f.edits([&] { f.press(QStringLiteral("As tracked")); },
          [&] { return settled([&](const auto& all) { return !has(all, between); }); });
  f.page.playRequested();
  CHECK(f.transport.request().key.startsWith(QStringLiteral("beats/")));
  f.transport.stop();
}

TEST_CASE("chuffs page: what the table serves is told in words, and a bar chooses its row",
          "[ui]") {
  ChuffsFixture f;
  auto* view = f.page.findChild<ui::CoverageView*>();
  model::ChuffTable table = f.chuffs();
  table.rows.resize(2);
  table.rows[0].from_kmh = 0;
  table.rows[0].to_kmh = 20;
  table.rows[1].from_kmh = 30;
  table.rows[1].to_kmh = 60;
  table.rows[0].effort = table.rows[1].effort = model::Effort::easy;
  REQUIRE(f.workspace.perform(QStringLiteral("t"), {model::SetChuffTable{table}}));
  CHECK(view->accessibleDescription().contains(ui::word(model::Effort::easy)));
  CHECK(view->accessibleDescription().contains(
      QStringLiteral("missing %1 to %2 km/h")
          .arg(QLocale().toString(20.0, 'f', 1), QLocale().toString(30.0, 'f', 1))));
  CHECK(view->accessibleDescription().contains(QStringLiteral("no chuffs")));
  CHECK(f.page.need().contains(QLocale().toString(20.0, 'f', 1)));
  f.page.choose(f.chuffs().rows[0].id);
  Q_EMIT view->rowClicked(f.chuffs().rows[1].id);
  CHECK(f.page.chosen() == f.chuffs().rows[1].id);
  // A click into the lane of easy, near top speed, finds the second row.
  f.page.choose(f.chuffs().rows[0].id);
  QTest::mouseClick(view, Qt::LeftButton, {}, {view->width() - 30, 4 + 45});
  CHECK(f.page.chosen() == f.chuffs().rows[1].id);
  REQUIRE(f.page.shows(QStringLiteral("/chuffs/rows/0")));
  f.page.reveal(QStringLiteral("/chuffs/rows/0"));
  CHECK(f.page.chosen() == f.chuffs().rows[0].id);
  f.page.reveal(QStringLiteral("/chuffs/rows/99"));
}
