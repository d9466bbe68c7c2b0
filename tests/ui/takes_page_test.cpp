// SPDX-License-Identifier: GPL-3.0-or-later
#include "Wording.h"
#include "models/ChannelListModel.h"
#include "models/MarkListModel.h"
#include "models/TakeListModel.h"
#include "page_fixture.h"
#include "pages/BeatPanel.h"
#include "pages/Fields.h"
#include "pages/MarkPanel.h"
#include "pages/PassPanel.h"
#include "pages/TakeReportPanel.h"
#include "pages/TakesPage.h"
#include "views/TrackView.h"

#include "fourbeat/audio/sound_file.h"

#include <QAbstractItemModelTester>
#include <QComboBox>
#include <QDragEnterEvent>
#include <QLabel>
#include <QLineEdit>
#include <QMimeData>
#include <QPlainTextEdit>
#include <QPushButton>
#include <QTabWidget>
#include <QTableView>
#include <QTest>
#include <fstream>

using namespace fourbeat;
using namespace fourbeat::tests;
using ui::TakesPage;

namespace {

struct TakesFixture : ShownPage<TakesPage> {
  QTableView* takes() { return named<QTableView>(QStringLiteral("Takes")); }
};

void writeTake(const std::filesystem::path& file) {
  const audio::Pcm pcm{48000.0, {std::vector<float>(4800, 0.1F)}};
  REQUIRE(audio::write_wav(file, pcm, audio::WavDepth::s16));
}

/// Types into the editor that F2 opens on a cell.
void typeInto(QTableView* table, const QModelIndex& index, const QString& words) {
  table->setCurrentIndex(index);
  table->edit(index);
  auto* editor = table->findChild<QComboBox*>();
  if (editor != nullptr) {
    editor->setEditText(words);
    QTest::keyClick(editor, Qt::Key_Return);
    return;
  }
  auto* line = table->findChild<QLineEdit*>();
  REQUIRE(line != nullptr);
  line->selectAll();
  QTest::keyClicks(line, words);
  QTest::keyClick(line, Qt::Key_Return);
  QCoreApplication::processEvents();  // the delegate takes the value in its own time
}

}  // namespace

TEST_CASE("takes page: its models hold through random edits and undos", "[ui]") {
  PageFixture f;
  ui::TakeListModel takes(f.workspace);
  ui::MarkListModel marks(f.workspace);
  ui::ChannelListModel channels(f.workspace);
  using Mode = QAbstractItemModelTester::FailureReportingMode;
  const QAbstractItemModelTester takesTester(&takes, Mode::Fatal);
  const QAbstractItemModelTester marksTester(&marks, Mode::Fatal);
  const QAbstractItemModelTester channelsTester(&channels, Mode::Fatal);
  marks.setTake(f.project().takes[1].id);
  channels.show(f.project().takes[0].id, nullptr);
  CHECK(takes.rowCount() == 3);
  CHECK(channels.rowCount() == 4);
  for (quint64 seed = 0; seed < 60; ++seed) {
    REQUIRE(f.workspace.perform(QStringLiteral("s"), {randomEdit(f.project(), seed)}));
    if (seed % 3 == 2) f.undo();
    int wanted = 0;
    for (const model::Mark& mark : f.project().marks)
      wanted += mark.take == f.project().takes[1].id ? 1 : 0;
    REQUIRE(marks.rowCount() == wanted);
  }
  CHECK(marks.rowCount() > 1);
  while (f.workspace.document().undoStack().canUndo())
    f.undo();
  CHECK(marks.rowCount() == 1);
}

TEST_CASE("takes page: a dropped folder adds the recordings below it as one step", "[ui]") {
  TakesFixture f;
  const TempFolder dropped;
  std::filesystem::create_directories(dropped / "deep");
  writeTake(dropped / "one.wav");
  writeTake(dropped / "deep" / "two.wav");
  std::ofstream(dropped / "slate.txt") << "slate";
  QMimeData mime;
  mime.setUrls({QUrl::fromLocalFile(ui::pathText(dropped.path()))});
  QDragEnterEvent enter({10, 10}, Qt::CopyAction, &mime, Qt::LeftButton, Qt::NoModifier);
  QApplication::sendEvent(&f.page, &enter);
  CHECK(enter.isAccepted());
  const std::string before = f.state();
  QDropEvent drop({10, 10}, Qt::CopyAction, &mime, Qt::LeftButton, Qt::NoModifier);
  QApplication::sendEvent(&f.page, &drop);
  REQUIRE(waitUntil([&] { return f.project().takes.size() == 5; }));
  CHECK(f.project().passes.size() == 5);
  CHECK(f.page.chosen() == f.project().takes[3].id);
  CHECK(f.takes()->model()->rowCount() == 5);
  CHECK(f.takes()->model()->index(3, 0).data().toString() == QStringLiteral("two.wav"));
  f.undo();
  CHECK(f.state() == before);
  CHECK(f.takes()->model()->rowCount() == 3);
}

TEST_CASE("takes page: a file that is no recording is told in one line, the others come in",
          "[ui]") {
  TakesFixture f;
  const TempFolder folder;
  writeTake(folder / "good.wav");
  std::ofstream(folder / "bad.wav") << "no sound at all";
  f.page.questions().files = [&] {
    return QStringList{ui::pathText(folder / "bad.wav"), ui::pathText(folder / "good.wav")};
  };
  QTest::mouseClick(f.page.findChild<QPushButton*>(QStringLiteral("add take")), Qt::LeftButton);
  REQUIRE(waitUntil([&] { return f.project().takes.size() == 4 && !f.told.isEmpty(); }));
  CHECK(f.told.last().contains(QStringLiteral("bad.wav")));
  CHECK_FALSE(f.told.last().contains(QLatin1Char('\n')));
  // Once more: it is there already, and no step is made.
  const int steps = f.workspace.document().undoStack().index();
  f.told.clear();
  f.page.addFiles({ui::pathText(folder / "good.wav")});
  REQUIRE(waitUntil([&] { return !f.told.isEmpty(); }));
  CHECK(f.workspace.document().undoStack().index() == steps);
  // The take that was added can be removed; one that segments are cut from cannot.
  f.takes()->setFocus();
  f.edits([&] { QTest::keyClick(f.takes(), Qt::Key_Delete); },
          [&] { return f.project().takes.size() == 3 && f.project().passes.size() == 3; });
  f.page.choose(f.project().takes[1].id);
  f.told.clear();
  QTest::mouseClick(f.named<QPushButton>(QStringLiteral("Remove")), Qt::LeftButton);
  REQUIRE(f.told.size() == 1);
  CHECK(f.project().takes.size() == 4);
}

TEST_CASE("takes page: M marks the selection, with the kind and label chosen", "[ui]") {
  TakesFixture f;
  f.page.choose(f.project().takes[1].id);
  auto* panel = f.page.findChild<ui::MarkPanel*>();
  f.openTab(panel);
  f.page.track().setSelection(frame_range(1'000, 9'000));
  auto* kind = f.named<QComboBox>(QStringLiteral("Kind of the next mark"));
  kind->setCurrentIndex(kind->findData(static_cast<int>(model::MarkKind::injector)));
  f.edits(
      [&] {
        auto* label = f.named<QLineEdit>(QStringLiteral("Label of the next mark"));
        label->clear();
        QTest::keyClicks(label, QStringLiteral("sings"));
        QTest::keyClick(f.takes(), Qt::Key_M);
      },
      [&] {
        const model::Mark& mark = f.project().marks.back();
        return mark.kind == model::MarkKind::injector && mark.label == "sings" &&
               mark.range == frame_range(1'000, 9'000) && mark.take == f.page.chosen();
      });
  // Without a selection: a point at the playhead.
  f.page.track().setSelection(std::nullopt);
  f.page.track().setPlayhead(FrameIndex(777));
  f.edits(
      [&] { QTest::mouseClick(f.named<QPushButton>(QStringLiteral("Add mark")), Qt::LeftButton); },
      [&] { return f.project().marks.back().range == frame_range(777, 777); });
  f.edits(
      [&] {
        typeInto(panel->table(), panel->table()->model()->index(0, ui::MarkListModel::labelColumn),
                 QStringLiteral("short"));
      },
      [&] { return f.project().marks[0].label == "short"; });
  f.edits(
      [&] {
        panel->table()->model()->setData(
            panel->table()->model()->index(0, ui::MarkListModel::kindColumn),
            static_cast<int>(model::MarkKind::unusable), Qt::EditRole);
      },
      [&] { return f.project().marks[0].kind == model::MarkKind::unusable; });
  const qint64 id = f.project().marks[0].id.value();
  f.edits(
      [&] {
        Q_EMIT f.page.track().spanMoved(id * 4, frame_range(5'000, 170'000), false);
        Q_EMIT f.page.track().spanMoved(id * 4, frame_range(5'100, 160'000), true);
      },
      [&] { return f.project().marks[0].range == frame_range(5'100, 160'000); });
  // Start and length by their figures, in seconds: the one moves the mark, the other its end.
  const auto set = [&](int column, double seconds) {
    panel->table()->model()->setData(panel->table()->model()->index(0, column), seconds,
                                     Qt::EditRole);
  };
  const FrameRange range = f.project().marks[0].range;
  f.edits([&] { set(ui::MarkListModel::startColumn, 0.2); },
          [&] {
            return f.project().marks[0].range ==
                   FrameRange{FrameIndex(9'600), FrameIndex(9'600) + range.length()};
          });
  f.edits([&] { set(ui::MarkListModel::lengthColumn, 0.25); },
          [&] {
            return f.project().marks[0].range ==
                   FrameRange{range.start, range.start + FrameCount(12'000)};
          });
  const FrameCount frames = model::find(f.project(), f.project().marks[0].take)->frames;
  f.edits([&] { set(ui::MarkListModel::startColumn, 1e4); },
          [&] { return f.project().marks[0].range.end == FrameIndex(0) + frames; });
  f.edits([&] { set(ui::MarkListModel::lengthColumn, 1e4); },
          [&] {
            return f.project().marks[0].range == FrameRange{range.start, FrameIndex(0) + frames};
          });
  panel->choose(f.project().marks[0].id);
  panel->table()->setFocus();
  f.edits([&] { QTest::keyClick(panel->table(), Qt::Key_Delete); },
          [&] { return f.project().marks.empty(); });
}

TEST_CASE("takes page: the report is made once in view, and positions are set in its cells",
          "[ui]") {
  TakesFixture f;
  f.page.choose(f.project().takes[0].id);
  auto* panel = f.page.findChild<ui::TakeReportPanel*>();
  f.openTab(panel);
  const QAbstractItemModel* model = panel->table()->model();
  const auto cell = [&](int row, int column) {
    return model->index(row, column).data().toString();
  };
  REQUIRE(waitUntil(
      [&] { return cell(0, ui::ChannelListModel::peakColumn).endsWith(QStringLiteral("dBTP")); }));
  CHECK(model->rowCount() == 4);
  CHECK(cell(0, ui::ChannelListModel::positionColumn) == QStringLiteral("chimney"));
  CHECK(cell(3, ui::ChannelListModel::loudnessColumn).endsWith(QStringLiteral("LUFS")));
  CHECK_FALSE(panel->summary().isEmpty());
  f.edits(
      [&] {
        typeInto(panel->table(), model->index(1, ui::ChannelListModel::positionColumn),
                 QStringLiteral("tender"));
      },
      [&] { return f.project().takes[0].microphones[1] == "tender"; });
}

TEST_CASE("takes page: pass, log, rights and engine are edited and undone", "[ui]") {
  TakesFixture f;
  f.page.choose(f.project().takes[0].id);
  f.openTab(f.page.findChild<ui::PassPanel*>());
  const auto type = [&](const QString& name, const QString& words) {
    auto* line = f.named<QLineEdit>(name);
    line->setFocus();
    line->selectAll();
    QTest::keyClicks(line, words);
    QTest::keyClick(line, Qt::Key_Return);
  };
  const auto pass = [&]() -> const model::Pass& { return f.project().passes[0]; };
  f.edits([&] { type(QStringLiteral("Name of the pass"), QStringLiteral("up the bank")); },
          [&] { return pass().name == "up the bank"; });
  f.edits([&] { type(QStringLiteral("Who gave permission"), QStringLiteral("the society")); },
          [&] { return pass().rights && pass().rights->owner == "the society"; });
  f.edits(
      [&] { type(QStringLiteral("What the recording may be used for"), QStringLiteral("all")); },
      [&] { return pass().rights && pass().rights->purpose == "all"; });
  f.edits([&] { type(QStringLiteral("Until when, as a date"), QStringLiteral("2031-01-31")); },
          [&] { return pass().rights && pass().rights->until == "2031-01-31"; });
  const std::string before = f.state();
  f.told.clear();
  type(QStringLiteral("Until when, as a date"), QStringLiteral("soon"));
  CHECK(f.told.size() == 1);
  CHECK(f.state() == before);
  CHECK(f.named<QLineEdit>(QStringLiteral("Until when, as a date"))->text().isEmpty());
  f.edits(
      [&] {
        auto* log = f.named<QPlainTextEdit>(QStringLiteral("Log of the pass"));
        log->setFocus();
        QTest::keyClicks(log, QStringLiteral("notch 3, 25 %"));
        f.takes()->setFocus();
      },
      [&] { return pass().log == "notch 3, 25 %"; });
  f.edits(
      [&] {
        f.named<QDoubleSpinBox>(QStringLiteral("Place of the take on the clock of the pass"))
            ->setValue(0.5);
      },
      [&] { return pass().takes[0].offset_frames == FrameCount(24'000); });

  f.openTab(f.page.findChild<ui::BeatPanel*>());
  const auto number = [&](const QString& name, double value) {
    f.named<QDoubleSpinBox>(name)->setValue(value);
  };
  const auto engine = [&]() -> const model::Engine& { return f.project().engine; };
  f.edits([&] { number(QStringLiteral("Driver diameter"), 1520); },
          [&] { return engine().driver_diameter_mm == 1520.0; });
  f.edits([&] { number(QStringLiteral("Top speed"), 75); },
          [&] { return engine().top_speed_kmh == 75.0; });
  const QString scale = QStringLiteral("Scale of the model, real length over its own");
  f.edits([&] { number(scale, 87); }, [&] { return engine().scale_ratio == 87.0; });
  number(scale, 76.2);
  Q_EMIT f.named<QDoubleSpinBox>(scale)->editingFinished();  // else both are one step
  f.edits([&] { number(scale, 0); }, [&] { return !engine().scale_ratio.has_value(); });
  f.undo();
  f.edits([&] { number(QStringLiteral("Beats a revolution"), 6); },
          [&] { return engine().beats_per_rev == 6 && engine().beat_angles_deg.empty(); });
  f.edits([&] { type(QStringLiteral("Name of the engine"), QStringLiteral("Number four")); },
          [&] { return engine().name == "Number four"; });
  f.edits(
      [&] { type(QStringLiteral("Beat angles in degrees"), QStringLiteral("0; 92; 178; 273")); },
      [&] {
        return engine().beat_angles_deg == std::vector<double>{0, 92, 178, 273};
      });
}

TEST_CASE("takes page: beats are found in the channel at the chimney, with their speed", "[ui]") {
  TakesFixture f;
  f.page.choose(f.project().takes[0].id);
  auto* panel = f.page.findChild<ui::BeatPanel*>();
  f.openTab(panel);
  CHECK(f.named<QComboBox>(QStringLiteral("Channel to hear beats in"))->currentData() == 1);
  QTest::keyClick(f.takes(), Qt::Key_B, Qt::ControlModifier);
  REQUIRE(waitUntil([&] { return panel->track() != nullptr; }));
  CHECK(panel->track()->beats.size() > 40);
  CHECK(f.named<QLabel>(QStringLiteral("Beats in short"))->text().contains(QStringLiteral("km/h")));
  panel->showSpeedAt(panel->track()->beats[20].frame);
  CHECK(f.named<QLabel>(QStringLiteral("Speed at the playhead"))
            ->text()
            .contains(QStringLiteral("mph)")));
  f.named<QDoubleSpinBox>(QStringLiteral("Scale of the model, real length over its own"))
      ->setValue(87);
  CHECK(f.named<QLabel>(QStringLiteral("Speed at the playhead"))
            ->text()
            .contains(QStringLiteral(" mm/s at 1:87")));
  f.page.choose(f.project().takes[1].id);
  CHECK(panel->track() == nullptr);
  f.page.choose(f.project().takes[0].id);
  CHECK(panel->track() != nullptr);
}

TEST_CASE("takes page: its keys work wherever in the window the keyboard is", "[ui]") {
  TakesFixture f;
  QWidget window;
  auto* outside = new QPushButton(&window);
  f.page.setParent(&window);
  window.resize(1000, 640);
  f.page.show();
  window.show();
  REQUIRE(QTest::qWaitForWindowExposed(&window));
  window.activateWindow();
  f.page.choose(f.project().takes[1].id);
  f.page.track().setSelection(frame_range(2'000, 3'000));
  outside->setFocus();
  f.edits([&] { QTest::keyClick(outside, Qt::Key_M); },
          [&] { return f.project().marks.back().range == frame_range(2'000, 3'000); });
  f.page.hide();  // another page is in view
  const std::string before = f.state();
  QTest::keyClick(outside, Qt::Key_M);
  CHECK(f.state() == before);
  f.page.setParent(nullptr);
}

TEST_CASE("takes page: plays the take from the playhead, or the selection", "[ui]") {
  TakesFixture f;
  f.page.choose(f.project().takes[1].id);
  f.page.track().setPlayhead(FrameIndex(500));
  f.page.playRequested();
  const ui::PlayRequest& request = f.transport.request();
  CHECK(request.key == QStringLiteral("take/%1").arg(f.page.chosen().value()));
  CHECK(request.from == FrameIndex(500));
  const auto* source = std::get_if<ui::TakeSource>(&request.source);
  REQUIRE(source != nullptr);
  CHECK(source->path.filename() == "whistle.wav");
  CHECK(source->gains == std::vector<float>{1.0F});
  f.page.track().setSelection(frame_range(2'000, 4'000));
  f.page.playRequested();
  CHECK(f.transport.request().range == frame_range(2'000, 4'000));
  Q_EMIT f.transport.positionChanged(FrameIndex(3'000));
  CHECK(f.page.track().playhead() == FrameIndex(3'000));
  f.transport.stop();
}

TEST_CASE("takes page: a take that has moved is told, and found again in a folder", "[ui]") {
  TakesFixture f;
  std::filesystem::create_directories(f.small.folder() / "moved");
  std::filesystem::rename(f.small.folder() / "takes" / "hiss.wav",
                          f.small.folder() / "moved" / "hiss.wav");
  f.workspace.live().refresh();
  auto* button = f.named<QPushButton>(QStringLiteral("Relink …"));
  REQUIRE(waitUntil([&] { return button->isEnabled(); }));
  CHECK(f.takes()->model()->index(2, ui::TakeListModel::stateColumn).data() ==
        QStringLiteral("Missing"));
  CHECK(f.page.need().contains(QStringLiteral("Relink")));
  f.page.questions().folder = [&] { return ui::pathText(f.small.folder() / "moved"); };
  const std::string before = f.state();
  const int steps = f.workspace.document().undoStack().index();
  QTest::mouseClick(button, Qt::LeftButton);
  REQUIRE(waitUntil([&] { return f.project().takes[2].path == "moved/hiss.wav"; }));
  REQUIRE(waitUntil([&] {
    return f.takes()->model()->index(2, ui::TakeListModel::stateColumn).data() ==
           QStringLiteral("There");
  }));
  CHECK(f.workspace.document().undoStack().index() == steps + 1);
  f.undo();
  CHECK(f.state() == before);
  CHECK(f.project().takes[2].path == "takes/hiss.wav");
}

TEST_CASE("takes page: pointers of takes, marks, passes and the engine lead here", "[ui]") {
  TakesFixture f;
  CHECK_FALSE(f.page.shows(QStringLiteral("/segments/0")));
  REQUIRE(f.page.shows(QStringLiteral("/takes/2/path")));
  f.page.reveal(QStringLiteral("/takes/2/path"));
  CHECK(f.page.chosen() == f.project().takes[2].id);
  f.page.reveal(QStringLiteral("/marks/0"));
  CHECK(f.page.chosen() == f.project().takes[1].id);
  f.page.reveal(QStringLiteral("/passes/0/rights"));
  CHECK(f.page.chosen() == f.project().takes[0].id);
  f.page.reveal(QStringLiteral("/takes/99"));
  f.page.reveal(QStringLiteral("/marks/99"));
  CHECK(f.page.shows(QStringLiteral("/engine")));
}
