// SPDX-License-Identifier: GPL-3.0-or-later
#include "Wording.h"
#include "models/CleanStepModel.h"
#include "models/LoopCandidateModel.h"
#include "models/MixModel.h"
#include "models/SegmentListModel.h"
#include "models/SoundListModel.h"
#include "page_fixture.h"
#include "pages/Fields.h"
#include "pages/LoopPanel.h"
#include "pages/SegmentPanel.h"
#include "pages/SegmentTable.h"
#include "pages/SegmentsPage.h"
#include "pages/SoundPanel.h"
#include "views/TrackView.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/model/piece.h"
#include "fourbeat/work/loop_kinds.h"
#include "fourbeat/work/segments.h"

#include <QAbstractItemModelTester>
#include <QComboBox>
#include <QLabel>
#include <QLineEdit>
#include <QLocale>
#include <QMimeData>
#include <QMouseEvent>
#include <QPushButton>
#include <QSignalSpy>
#include <QTabWidget>
#include <QTableView>
#include <QTest>
#include <QUrl>

using namespace fourbeat;
using namespace fourbeat::tests;
using ui::SegmentsPage;

namespace {

struct SegmentsFixture : ShownPage<SegmentsPage> {
  bool set(QTableView* table, int row, int column, const QVariant& value, int role = Qt::EditRole) {
    return table->model()->setData(table->model()->index(row, column), value, role);
  }
  QTableView* table() { return named<QTableView>(QStringLiteral("Segments")); }
  [[nodiscard]] const model::Segment& segment(std::size_t place) const {
    return project().segments.at(place);
  }
};

}  // namespace

TEST_CASE("segments page: its models hold through random edits and undos", "[ui]") {
  PageFixture f;
  ui::SegmentListModel segments(f.workspace);
  ui::SoundListModel sounds(f.workspace);
  ui::MixModel mix(f.workspace);
  ui::CleanStepModel clean(f.workspace);
  using Mode = QAbstractItemModelTester::FailureReportingMode;
  const QAbstractItemModelTester segmentsTester(&segments, Mode::Fatal);
  const QAbstractItemModelTester soundsTester(&sounds, Mode::Fatal);
  const QAbstractItemModelTester mixTester(&mix, Mode::Fatal);
  const QAbstractItemModelTester cleanTester(&clean, Mode::Fatal);
  const Id<model::Segment> id = f.project().segments[3].id;
  mix.setSegment(id);
  clean.setSegment(id);
  CHECK(segments.rowCount() == 5);
  CHECK(sounds.rowCount() == 2);
  CHECK(mix.rowCount() == 2);
  for (quint64 seed = 0; seed < 60; ++seed) {
    REQUIRE(f.workspace.perform(QStringLiteral("s"), {randomEdit(f.project(), seed)}));
    if (seed % 7 == 0) clean.add(model::HighPass{});
    if (seed % 11 == 0) clean.remove(0);
    if (seed % 5 == 4) {
      REQUIRE(f.workspace.perform(
          QStringLiteral("r"),
          work::edits_to_remove_segment(f.project(), f.project().segments[4].id)));
      f.undo();
    }
    if (seed % 3 == 2) f.undo();
    REQUIRE(clean.rowCount() ==
            static_cast<int>(model::find(f.project(), id)->source.clean.size()));
  }
  CHECK(clean.rowCount() > 0);
  while (f.workspace.document().undoStack().canUndo())
    f.undo();
  CHECK(clean.rowCount() == 0);
  CHECK(segments.rowCount() == 5);
}

TEST_CASE("segments page: a selection is cut to the frame, on the clock of its pass", "[ui]") {
  SegmentsFixture f;
  // The take enters its pass at frame 1000.
  model::Pass pass = f.project().passes[0];
  pass.takes[0].offset_frames = FrameCount(1'000);
  REQUIRE(f.workspace.perform(QStringLiteral("p"), {model::Replace<model::Pass>{pass}}));
  auto* takes = f.named<QComboBox>(QStringLiteral("Take to cut from"));
  f.page.showTake(f.project().takes[0].id);
  CHECK(takes->currentText() == QStringLiteral("running.wav"));
  auto* channel = f.named<QComboBox>(QStringLiteral("Channel to cut from"));
  CHECK(channel->currentData() == 1);  // the chimney
  channel->setCurrentIndex(2);
  f.page.track().setSelection(frame_range(10'001, 20'003));
  f.edits(
      [&] {
        QTest::keyClicks(f.named<QLineEdit>(QStringLiteral("Name of the next segment")),
                         QStringLiteral("Rod clank"));
        f.press(QStringLiteral("Cut"));
      },
      [&] {
        const model::Segment& cut = f.project().segments.back();
        return cut.name == "Rod clank" && cut.range == frame_range(11'001, 21'003) &&
               cut.source.mix.front().channel == 3 && cut.source.pass == pass.id &&
               f.page.chosen() == cut.id && f.page.track().trim() &&
               f.page.track().trim()->range == frame_range(10'001, 20'003);
      });
  CHECK(f.table()->model()->rowCount() == 5);
  f.page.showTake(f.project().takes[0].id);
  f.page.track().setSelection(frame_range(10'001, 20'003));
  f.table()->setFocus();
  f.edits([&] { QTest::keyClick(f.table(), Qt::Key_Insert); },
          [&] { return f.project().segments.back().range == frame_range(11'001, 21'003); });
}

TEST_CASE("segments page: edges, fades and gain are changed by hand and by figures", "[ui]") {
  SegmentsFixture f;
  f.page.choose(f.segment(3).id);
  REQUIRE(f.page.track().trim());
  f.edits(
      [&] {
        Q_EMIT f.page.track().trimMoved({frame_range(13'000, 190'000), {}, {}}, false);
        Q_EMIT f.page.track().trimMoved(
            {frame_range(14'000, 190'000), FrameCount(480), FrameCount(960)}, true);
      },
      [&] {
        return f.segment(3).range == frame_range(14'000, 190'000) &&
               f.segment(3).fade_in_frames == FrameCount(480) &&
               f.segment(3).fade_out_frames == FrameCount(960);
      });
  f.edits([&] { f.number(QStringLiteral("Start of the segment in its take"), 1.0); },
          [&] { return f.segment(3).range.start == FrameIndex(48'000); });
  f.edits([&] { f.number(QStringLiteral("End of the segment in its take"), 2.0); },
          [&] { return f.segment(3).range.end == FrameIndex(96'000); });
  f.edits([&] { f.number(QStringLiteral("Gain of the segment"), -4.5); },
          [&] { return f.segment(3).gain_db == -4.5; });
  f.edits([&] { f.number(QStringLiteral("Fade in"), 10.0); },
          [&] { return f.segment(3).fade_in_frames == FrameCount(480); });
  f.edits([&] { f.number(QStringLiteral("Fade out"), 20.0); },
          [&] { return f.segment(3).fade_out_frames == FrameCount(960); });
  f.edits(
      [&] {
        auto* name = f.named<QLineEdit>(QStringLiteral("Name of the segment"));
        name->selectAll();
        QTest::keyClicks(name, QStringLiteral("Blows off"));
        QTest::keyClick(name, Qt::Key_Return);
      },
      [&] { return f.segment(3).name == "Blows off"; });
  f.page.track().setSelection(frame_range(30'000, 60'000));
  f.edits([&] { f.press(QStringLiteral("Trim to selection")); },
          [&] { return f.segment(3).range == frame_range(30'000, 60'000); });
  f.table()->setFocus();
  f.edits([&] { QTest::keyClick(f.table(), Qt::Key_T, Qt::ControlModifier); },
          [&] { return f.segment(3).range == frame_range(30'000, 60'000); });
  f.edits([&] { f.set(f.table(), 3, ui::SegmentListModel::gainColumn, 3.0); },
          [&] { return f.segment(3).gain_db == 3.0; });
  f.edits([&] { f.set(f.table(), 3, ui::SegmentListModel::nameColumn, QStringLiteral("x")); },
          [&] { return f.segment(3).name == "x"; });
  // A refused figure is put back.
  const std::string before = f.state();
  f.number(QStringLiteral("End of the segment in its take"), 0.1);
  CHECK(f.state() == before);
  CHECK(f.named<QDoubleSpinBox>(QStringLiteral("End of the segment in its take"))->value() ==
        Approx(200'000 / 48'000.0).margin(1e-4));
}

TEST_CASE("segments page: microphones are mixed and clean steps added, changed and removed",
          "[ui]") {
  SegmentsFixture f;
  f.page.choose(f.segment(3).id);
  auto* panel = f.page.findChild<ui::SegmentPanel*>();
  QTableView* mix = panel->mixTable();
  REQUIRE(mix->model()->rowCount() == 2);
  const auto inputs = [&]() -> const std::vector<model::MixInput>& {
    return f.segment(3).source.mix;
  };
  f.edits([&] { f.set(mix, 1, ui::MixModel::microphoneColumn, Qt::Checked, Qt::CheckStateRole); },
          [&] { return inputs().size() == 2 && inputs()[1].channel == 2; });
  f.told.clear();
  CHECK_FALSE(f.set(mix, 0, ui::MixModel::microphoneColumn, Qt::Unchecked, Qt::CheckStateRole));
  CHECK(f.told.size() == 1);  // the last microphone stays in
  f.edits([&] { f.set(mix, 0, ui::MixModel::gainColumn, -6.0); },
          [&] { return inputs()[0].gain_db == -6.0; });
  f.edits([&] { f.set(mix, 0, ui::MixModel::delayColumn, 2.5); },
          [&] { return inputs()[0].delay_frames == FrameCount(120); });
  f.edits([&] { f.set(mix, 0, ui::MixModel::polarityColumn, true); },
          [&] { return inputs()[0].inverted; });
  CHECK_FALSE(f.set(mix, 1, ui::MixModel::gainColumn, -6.0));  // not in the mix

  const auto steps = [&]() -> const std::vector<model::CleanStep>& {
    return f.segment(3).source.clean;
  };
  f.edits([&] { f.press(QStringLiteral("High-pass")); },
          [&] { return steps() == std::vector<model::CleanStep>{model::HighPass{}}; });
  f.edits([&] { f.press(QStringLiteral("Hum notch")); },
          [&] { return steps() == std::vector<model::CleanStep>{model::HumNotch{}}; });
  f.press(QStringLiteral("High-pass"));
  f.press(QStringLiteral("Hum notch"));
  QTableView* clean = panel->cleanTable();
  f.edits([&] { f.set(clean, 0, ui::CleanStepModel::frequencyColumn, 90.0); },
          [&] { return std::get<model::HighPass>(steps()[0]).cutoff_hz == 90.0; });
  f.edits([&] { f.set(clean, 0, ui::CleanStepModel::strengthColumn, 8.0); },
          [&] { return std::get<model::HighPass>(steps()[0]).order == 8; });
  f.edits([&] { f.set(clean, 1, ui::CleanStepModel::strengthColumn, 9.0); },
          [&] { return std::get<model::HumNotch>(steps()[1]).harmonics == 9; });
  f.edits([&] { f.set(clean, 1, ui::CleanStepModel::qualityColumn, 60.0); },
          [&] { return std::get<model::HumNotch>(steps()[1]).q == 60.0; });
  ui::selectRow(clean, 0);
  f.edits([&] { f.press(QStringLiteral("Remove step")); },
          [&] { return steps() == std::vector<model::CleanStep>{model::HumNotch{}}; });
}

TEST_CASE("segments page: the list of loops tells what drift is taken out and what is left",
          "[ui]") {
  ui::LoopCandidateModel model;
  const QAbstractItemModelTester tester(&model,
                                        QAbstractItemModelTester::FailureReportingMode::Fatal);
  dsp::LoopCandidate even;
  dsp::LoopCandidate ramp;
  ramp.loop.drift_db = -2.0;
  dsp::LoopCandidate duller = ramp;
  duller.loop.octave_drift_db = {1.0, 1.0, -1.5, -2.0};
  dsp::LoopCandidate dying;
  dying.seam.level_drift_db = -4.5;
  dying.seam.tone_drift_db = 1.5;
  dsp::LoopCandidate hollow;
  hollow.loop.octave_drift_db = {0.5, 0.5, -2.0, 0.5, 0.5};
  hollow.seam.octave_drift_db = -1.5;
  model.setCandidates({even, ramp, dying, duller, hollow}, 48'000.0);
  const auto drift = [&](int row) {
    return model.index(row, ui::LoopCandidateModel::driftColumn).data().toString();
  };
  const auto db = [](double figure) { return QLocale().toString(figure, 'f', 1); };
  CHECK(drift(0) == QStringLiteral("none"));
  CHECK(drift(1) == QStringLiteral("%1 dB").arg(db(-2.0)));
  CHECK(drift(2) == QStringLiteral("left %1 dB, left tone %2 dB").arg(db(-4.5), db(1.5)));
  CHECK(drift(3) == QStringLiteral("%1 dB, tone %2 dB").arg(db(-2.0), db(-2.75)));
  CHECK(drift(4) ==
        QStringLiteral("octaves apart by %1 dB, left octave %2 dB").arg(db(2.5), db(-1.5)));
}

TEST_CASE("segments page: the shortest loop offered is that of the segment's kind", "[ui]") {
  SegmentsFixture f;
  f.openTab(f.page.findChild<ui::LoopPanel*>());
  auto* shortest = f.named<QDoubleSpinBox>(QStringLiteral("Shortest loop"));
  f.page.choose(f.segment(1).id);
  CHECK(shortest->value() == work::shortest_loop_s(model::Category::whistle));
  f.page.choose(f.segment(3).id);
  CHECK(shortest->value() == work::shortest_loop_s(model::Category::safety_valve));
  CHECK(work::shortest_loop_s(model::Category::whistle) !=
        work::shortest_loop_s(model::Category::safety_valve));
  // A figure of one's own stays until the kind changes.
  f.number(QStringLiteral("Shortest loop"), 0.75);
  model::Sound sound = f.project().sounds.at(1);
  sound.name = "Another name";
  REQUIRE(f.workspace.perform(QStringLiteral("a"), {model::Replace<model::Sound>{sound}}));
  CHECK(shortest->value() == 0.75);
  sound.category = model::Category::pump;
  REQUIRE(f.workspace.perform(QStringLiteral("b"), {model::Replace<model::Sound>{sound}}));
  CHECK(shortest->value() == work::shortest_loop_s(model::Category::pump));
}

TEST_CASE("segments page: loops are found, heard through their seam, set, moved and removed",
          "[ui]") {
  SegmentsFixture f;
  const Id<model::Segment> hiss = f.segment(3).id;
  f.page.choose(hiss);
  auto* panel = f.page.findChild<ui::LoopPanel*>();
  f.openTab(panel);
  f.number(QStringLiteral("Shortest loop"), 0.5);
  f.number(QStringLiteral("Longest loop"), 1.5);
  f.table()->setFocus();
  f.page.findChild<QTabWidget*>()->setCurrentIndex(0);
  QTest::keyClick(f.table(), Qt::Key_L, Qt::ControlModifier);  // as the button does
  CHECK(panel->isVisible());
  QTableView* table = panel->table();
  REQUIRE(waitUntil([&] { return table->model()->rowCount() > 0; }, 60'000));
  const auto& model = dynamic_cast<const ui::LoopCandidateModel&>(*table->model());
  CHECK(ui::selectedRow(table) == 0);
  CHECK(model.index(0, ui::LoopCandidateModel::seamColumn).data().toString() ==
        ui::word(model.candidate(0)->seam.state));

  f.press(QStringLiteral("Hear loop"));
  const QString key = QStringLiteral("segment/%1").arg(hiss.value());
  REQUIRE(waitUntil([&] { return f.transport.request().key == key; }));
  const auto* loop = std::get_if<ui::ClipSource>(&f.transport.request().source);
  REQUIRE(loop != nullptr);
  CHECK(f.transport.request().repeat);
  CHECK(f.transport.request().range == model.candidate(0)->loop.range);
  CHECK(loop->clip->loop == model.candidate(0)->loop.range);
  f.press(QStringLiteral("Hear seam"));
  const QString seamKey = QStringLiteral("seam/%1").arg(hiss.value());
  REQUIRE(waitUntil([&] { return f.transport.request().key == seamKey; }));
  const auto* seam = std::get_if<ui::ClipSource>(&f.transport.request().source);
  REQUIRE(seam != nullptr);
  CHECK(seam->clip->samples.size() == std::size_t{4} * 48'000);
  f.transport.stop();
  QTest::keyClick(f.table(), Qt::Key_Return, Qt::ControlModifier);
  REQUIRE(waitUntil([&] { return f.transport.request().key == key; }));
  QTest::keyClick(f.table(), Qt::Key_Return, Qt::ShiftModifier);
  REQUIRE(waitUntil([&] { return f.transport.request().key == seamKey; }));
  f.transport.stop();

  const FrameRange wanted{
      f.segment(3).range.start + (model.candidate(0)->loop.range.start - FrameIndex(0)),
      f.segment(3).range.start + (model.candidate(0)->loop.range.end - FrameIndex(0))};
  f.edits([&] { f.press(QStringLiteral("Set loop")); },
          [&] {
            return f.segment(3).loop && f.segment(3).loop->range == wanted &&
                   f.page.track().loop().has_value() &&
                   !model.index(0, ui::LoopCandidateModel::placeColumn)
                        .data(Qt::DecorationRole)
                        .isNull();
          });
  CHECK(model.index(0, ui::LoopCandidateModel::placeColumn).data(Qt::DecorationRole).isNull());
  CHECK(table->model()->rowCount() > 0);  // still what was found in this material
  panel->setChosenLoop();
  f.edits(
      [&] {
        Q_EMIT f.page.track().loopMoved({frame_range(50'000, 90'000), FrameCount(900), true},
                                        false);
        Q_EMIT f.page.track().loopMoved({frame_range(51'000, 90'000), FrameCount(900), true}, true);
      },
      [&] {
        return f.segment(3).loop->range == frame_range(51'000, 90'000) &&
               f.segment(3).loop->crossfade_at == model::CrossfadeAt::start;
      });
  f.edits([&] { f.number(QStringLiteral("Length of the loop"), 0.75); },
          [&] { return f.segment(3).loop->range.length() == FrameCount(36'000); });
  f.edits([&] { f.number(QStringLiteral("Start of the loop in the segment"), 0.25); },
          [&] { return f.segment(3).loop->range.start == FrameIndex(24'000); });
  f.edits([&] { f.number(QStringLiteral("Crossfade"), 12.5); },
          [&] { return f.segment(3).loop->crossfade_frames == FrameCount(600); });
  f.edits(
      [&] {
        auto* at = f.named<QComboBox>(QStringLiteral("Where the crossfade lies"));
        at->setFocus();
        QTest::keyClick(at, at->currentIndex() == 0 ? Qt::Key_Down : Qt::Key_Up);
      },
      [&] { return f.segment(3).loop.has_value(); });
  f.edits([&] { f.press(QStringLiteral("Remove loop")); },
          [&] { return !f.segment(3).loop.has_value(); });
  f.page.track().setSelection(frame_range(60'000, 84'000));
  f.edits([&] { f.press(QStringLiteral("Loop selection")); },
          [&] { return f.segment(3).loop->range == frame_range(60'000, 84'000); });
  // Another segment and back: what was found is still there.
  const int listed = table->model()->rowCount();
  f.page.choose(f.segment(0).id);
  CHECK(table->model()->rowCount() == 0);
  f.page.choose(hiss);
  CHECK(table->model()->rowCount() == listed);
  // Another material: what was found is dropped.
  REQUIRE(f.workspace.perform(QStringLiteral("g"), {model::SetSegmentGain{hiss, -3.0}}));
  CHECK(table->model()->rowCount() == 0);
}

TEST_CASE("segments page: a seam is signed once it has been heard, and the verdict lapses",
          "[ui]") {
  SegmentsFixture f;
  const Id<model::Segment> hold = f.segment(1).id;
  REQUIRE(f.segment(1).loop);
  f.page.choose(hold);
  auto* panel = f.page.findChild<ui::LoopPanel*>();
  f.openTab(panel);
  auto* sign = f.named<QPushButton>(QStringLiteral("Sign"));
  CHECK_FALSE(sign->isEnabled());  // never heard
  panel->signSeam();
  CHECK(f.project().verdicts.empty());
  f.press(QStringLiteral("Hear seam"));
  REQUIRE(waitUntil([&] { return sign->isEnabled(); }));
  // The wrap, two seconds into what plays, is where the loop begins.
  CHECK(panel->placeAboutSeam(FrameIndex(96'000)) == f.segment(1).loop->range.start);
  CHECK(panel->placeAboutSeam(FrameIndex(95'999)) == f.segment(1).loop->range.end - FrameCount(1));
  f.transport.stop();
  f.edits([&] { f.press(QStringLiteral("Sign")); },
          [&] {
            const model::Verdict* verdict = model::verdict_in_force(f.project(), f.segment(1));
            return verdict != nullptr && verdict->kind == model::VerdictKind::signed_off;
          });
  panel->signSeam();
  REQUIRE(model::verdict_in_force(f.project(), f.segment(1)) != nullptr);
  f.edits([&] { f.press(QStringLiteral("Reject")); },
          [&] {
            return model::verdict_in_force(f.project(), f.segment(1))->kind ==
                   model::VerdictKind::rejected;
          });
  model::Loop moved = *f.segment(1).loop;
  moved.crossfade_frames = FrameCount(1'200);
  REQUIRE(f.workspace.perform(QStringLiteral("m"), {model::SetLoop{hold, moved}}));
  CHECK(model::verdict_in_force(f.project(), f.segment(1)) == nullptr);
  CHECK_FALSE(sign->isEnabled());
}

TEST_CASE("segments page: sounds are made from a segment, put together, weighed and heard",
          "[ui]") {
  SegmentsFixture f;
  f.page.choose(f.segment(4).id);
  auto* panel = f.page.findChild<ui::SoundPanel*>();
  f.openTab(panel);
  f.edits([&] { f.press(QStringLiteral("New one-shot")); },
          [&] {
            const model::Sound& made = f.project().sounds.back();
            return made.kind == model::SoundKind::one_shot && made.segment == f.segment(4).id &&
                   made.name == "Spare hiss";
          });
  f.edits([&] { f.press(QStringLiteral("New held sound")); },
          [&] {
            const model::Sound& made = f.project().sounds.back();
            return made.kind == model::SoundKind::held && made.hold == f.segment(4).id;
          });
  QTableView* table = panel->table();
  using Column = ui::SoundListModel::Column;
  const auto sound = [&](std::size_t place) -> const model::Sound& {
    return f.project().sounds.at(place);
  };
  f.edits([&] { f.set(table, 0, Column::nameColumn, QStringLiteral("Deep whistle")); },
          [&] { return sound(0).name == "Deep whistle"; });
  f.edits([&] { f.set(table, 0, Column::categoryColumn, static_cast<int>(model::Category::bell)); },
          [&] { return sound(0).category == model::Category::bell; });
  f.edits([&] { f.set(table, 0, Column::beginColumn, qlonglong{0}); },
          [&] { return !sound(0).begin.is_set(); });
  f.edits(
      [&] { f.set(table, 0, Column::mainColumn, static_cast<qlonglong>(f.segment(4).id.value())); },
      [&] { return sound(0).hold == f.segment(4).id; });
  f.edits([&] { f.set(table, 0, Column::releaseColumn, qlonglong{0}); },
          [&] { return !sound(0).release.is_set(); });
  f.edits([&] { f.set(table, 0, Column::gainColumn, -2.0); },
          [&] { return sound(0).gain_db == -2.0; });
  f.edits([&] { f.set(table, 0, Column::priorityColumn, 70.0); },
          [&] { return sound(0).priority == 70; });
  f.edits([&] { f.set(table, 0, Column::importanceColumn, 3.5); },
          [&] { return sound(0).importance == 3.5; });
  f.edits(
      [&] { f.set(table, 0, Column::kindColumn, static_cast<int>(model::SoundKind::one_shot)); },
      [&] { return sound(0).segment == f.segment(1).id && !sound(0).hold.is_set(); });
  CHECK_FALSE(f.set(table, 1, Column::beginColumn, qlonglong{1}));  // a one-shot has no begin

  panel->choose(sound(0).id);
  f.press(QStringLiteral("Hear sound"));
  const QString key = QStringLiteral("sound/%1").arg(sound(0).id.value());
  REQUIRE(waitUntil([&] { return f.transport.request().key == key; }));
  const auto* clip = std::get_if<ui::ClipSource>(&f.transport.request().source);
  REQUIRE(clip != nullptr);
  CHECK(clip->hold);
  REQUIRE(clip->clip->loop);
  CHECK(clip->clip->loop->length() == FrameCount(24'000));
  f.transport.stop();
  f.told.clear();
  f.press(QStringLiteral("Remove sound"));  // a key plays it
  CHECK(f.told.size() == 1);
  panel->choose(sound(1).id);
  REQUIRE(f.workspace.perform(QStringLiteral("k"),
                              {model::Remove<model::Key>{f.project().keys[1].id}}));
  f.edits([&] { f.press(QStringLiteral("Remove sound")); },
          [&] { return f.project().sounds.size() == 1; });
}

TEST_CASE("segments page: plays the segment, or the stretch of the take that is selected", "[ui]") {
  SegmentsFixture f;
  f.page.choose(f.segment(3).id);
  f.page.playRequested();
  const QString key = QStringLiteral("segment/%1").arg(f.segment(3).id.value());
  REQUIRE(waitUntil([&] { return f.transport.request().key == key; }));
  const auto* clip = std::get_if<ui::ClipSource>(&f.transport.request().source);
  REQUIRE(clip != nullptr);
  CHECK(clip->clip->samples.size() == 188'000);
  Q_EMIT f.transport.positionChanged(FrameIndex(1'000));
  CHECK(f.page.track().playhead() == FrameIndex(13'000));
  f.page.track().setSelection(frame_range(100, 900));
  f.page.playRequested();
  CHECK(std::holds_alternative<ui::TakeSource>(f.transport.request().source));
  CHECK(f.transport.request().range == frame_range(100, 900));
  f.transport.stop();
}

TEST_CASE("segments page: a segment plays from a playhead inside it, and seeks where one clicks",
          "[ui]") {
  SegmentsFixture f;
  f.page.choose(f.segment(3).id);
  const QString key = QStringLiteral("segment/%1").arg(f.segment(3).id.value());
  // Frames 12 000 to 200 000 of the take; the answer is where the transport stands.
  const auto playedFrom = [&](std::int64_t playhead) {
    f.page.track().setPlayhead(FrameIndex(playhead));
    const QSignalSpy begun(&f.transport, &ui::Transport::stateChanged);
    f.page.playRequested();
    REQUIRE(waitUntil([&] { return !begun.isEmpty(); }));
    CHECK(f.transport.request().key == key);
    f.transport.stop();
    return f.transport.position().value();
  };
  CHECK(playedFrom(62'000) >= 50'000);
  CHECK(playedFrom(62'000) < 100'000);
  CHECK(playedFrom(5'000) < 50'000);
  CHECK(playedFrom(199'999) < 50'000);
  CHECK(playedFrom(250'000) < 50'000);
}

TEST_CASE("segments page: a segment is removed unless a sound plays it; pointers lead here",
          "[ui]") {
  SegmentsFixture f;
  f.page.reveal(QStringLiteral("/segments/4/range"));
  CHECK(f.page.chosen() == f.segment(4).id);
  f.edits([&] { f.press(QStringLiteral("Remove")); },
          [&] { return f.project().segments.size() == 4; });
  f.page.reveal(QStringLiteral("/segments/1/loop"));
  f.told.clear();
  f.press(QStringLiteral("Remove"));
  CHECK(f.told.size() == 1);
  CHECK(f.project().segments.size() == 5);
  f.page.reveal(QStringLiteral("/sounds/1"));
  CHECK(ui::selectedRow(f.page.findChild<ui::SoundPanel*>()->table()) == 1);
  f.page.reveal(QStringLiteral("/segments/99"));
  CHECK(f.page.shows(QStringLiteral("/sounds/0/hold")));
  CHECK_FALSE(f.page.shows(QStringLiteral("/takes/0")));
}

TEST_CASE("segments page: seams and loudness of the live check are shown in words", "[ui]") {
  SegmentsFixture f;
  const auto cell = [&](int row, int column) {
    return f.table()->model()->index(row, column).data().toString();
  };
  REQUIRE(waitUntil(
      [&] { return cell(1, ui::SegmentListModel::seamColumn).contains(QStringLiteral("rank")); },
      60'000));
  CHECK(cell(1, ui::SegmentListModel::kindColumn) == QStringLiteral("Loop"));
  CHECK(cell(0, ui::SegmentListModel::seamColumn) == QStringLiteral("—"));
  REQUIRE(waitUntil([&] {
    return cell(3, ui::SegmentListModel::loudnessColumn).contains(QStringLiteral("LUFS"));
  }));
}

TEST_CASE("segments page: a segment is dragged out and saved as a WAV, and never over a take",
          "[ui]") {
  SegmentsFixture f;
  auto* table = static_cast<ui::SegmentTable*>(f.table());
  f.page.choose(f.segment(3).id);
  std::vector<QUrl> carried;
  table->carry() = [&](QMimeData* data) {
    carried.push_back(data->urls().value(0));
    delete data;
  };
  const auto check = [&](const QString& file) {
    const auto reader = audio::SoundFileReader::open(ui::textPath(file));
    REQUIRE(reader);
    CHECK(reader->info().frames == f.segment(1).range.length());
    CHECK(reader->info().loops == std::vector{frame_range(48'000, 72'000)});
  };
  // The very first press on another row, dragged at once.
  const std::filesystem::path file = table->fileOf(f.segment(1));
  std::filesystem::remove(file);
  const QPoint place = table->visualRect(table->model()->index(1, 0)).center();
  const auto drag = [&] {
    QTest::mousePress(table->viewport(), Qt::LeftButton, {}, place);
    for (int by = 5; by <= 30; by += 5) {
      QMouseEvent move(QEvent::MouseMove, place + QPoint(0, by),
                       table->viewport()->mapToGlobal(place + QPoint(0, by)), Qt::NoButton,
                       Qt::LeftButton, Qt::NoModifier);
      QCoreApplication::sendEvent(table->viewport(), &move);
    }
  };
  drag();
  CHECK(f.page.chosen() == f.segment(1).id);
  REQUIRE(waitUntil([&] { return std::filesystem::exists(file) && !f.workspace.jobs().isBusy(); }));
  CHECK(carried.size() == 1);
  QTest::mouseRelease(table->viewport(), Qt::LeftButton, {}, place);
  // Let go of before it is there: told, once it is.
  std::filesystem::remove(file);
  carried.clear();
  drag();
  QTest::mouseRelease(table->viewport(), Qt::LeftButton, {}, place);
  REQUIRE(waitUntil([&] { return !f.told.isEmpty(); }));
  CHECK(f.told.last().contains(QStringLiteral("drag it out")));
  CHECK(carried.empty());
  // From then on at once.
  carried.clear();
  f.told.clear();
  drag();
  REQUIRE(carried.size() == 1);
  CHECK(f.told.isEmpty());
  CHECK(carried.front().fileName() == QStringLiteral("whistle_hold.wav"));
  CHECK(ui::textPath(carried.front().toLocalFile()) == file);
  CHECK(file.string().starts_with(ui::cacheFolder().string()));
  check(carried.front().toLocalFile());
  QTest::mouseRelease(table->viewport(), Qt::LeftButton, {}, place);
  // Another sound is another file; what was dragged before stays.
  REQUIRE(f.workspace.perform(QStringLiteral("g"), {model::SetSegmentGain{f.segment(1).id, -3.0}}));
  CHECK(table->fileOf(f.segment(1)) != file);
  f.undo();
  CHECK(std::filesystem::exists(file));

  auto* panel = f.page.findChild<ui::SegmentPanel*>();
  QString out = ui::pathText(f.small.folder() / "mine");
  panel->saveFile() = [&](const QString&) { return out; };
  f.press(QStringLiteral("Save WAV …"));
  REQUIRE(waitUntil([&] { return !f.told.isEmpty(); }));
  check(out + QStringLiteral(".wav"));
  f.told.clear();
  panel->saveFile() = [&](const QString&) {
    return ui::pathText(f.small.folder() / "takes" / "hiss.wav");
  };
  f.press(QStringLiteral("Save WAV …"));
  REQUIRE(waitUntil([&] { return !f.told.isEmpty(); }));
  CHECK(f.told.last().contains(QStringLiteral("hiss.wav")));
  const auto reader = audio::SoundFileReader::open(f.small.folder() / "takes" / "hiss.wav");
  REQUIRE(reader);
  CHECK(reader->info().channels == 2);
}

TEST_CASE("segments page: the uncleaned segment is heard, and what cleaning takes told in dB",
          "[ui]") {
  SegmentsFixture f;
  f.page.choose(f.segment(3).id);
  auto* button = f.named<QPushButton>(QStringLiteral("Hear uncleaned"));
  CHECK_FALSE(button->isEnabled());
  f.press(QStringLiteral("High-pass"));
  REQUIRE(button->isEnabled());
  f.press(QStringLiteral("Hear uncleaned"));
  const QString key = QStringLiteral("uncleaned/%1").arg(f.segment(3).id.value());
  REQUIRE(waitUntil([&] { return f.transport.request().key == key; }));
  CHECK(f.named<QLabel>(QStringLiteral("What the clean steps take away"))
            ->text()
            .contains(QStringLiteral("dB")));
  f.transport.stop();
}
