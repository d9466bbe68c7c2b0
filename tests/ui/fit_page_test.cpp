// SPDX-License-Identifier: GPL-3.0-or-later
#include "Wording.h"
#include "models/FitSoundModel.h"
#include "page_rig.h"
#include "pages/FitPage.h"
#include "pages/ProfileForm.h"

#include "fourbeat/base/files.h"
#include "fourbeat/store/data_files.h"

#include <QAbstractItemModelTester>
#include <QComboBox>
#include <QDoubleSpinBox>
#include <QLabel>
#include <QLineEdit>
#include <QLocale>
#include <QPushButton>
#include <QSpinBox>
#include <QTableView>
#include <QTimer>
#include <algorithm>
#include <fstream>

using namespace fourbeat;
using namespace fourbeat::tests;
using ui::FitSoundModel;

namespace {

/// The data folder with one more decoder class, of 100 000 bytes.
class TinyDecoder {
 public:
  TinyDecoder() : before_(qgetenv("FOURBEAT_DATA")) {
    std::filesystem::copy(data_folder(), folder_ / "data",
                          std::filesystem::copy_options::recursive);
    std::ofstream(folder_ / "data" / "decoders" / "class-tiny.json") << R"json({
  "format": "fourbeat-decoder", "version": 1, "id": "class-tiny", "name": "Class tiny (invented)",
  "invented": true, "memory_bytes": 100000, "fixed_bytes": 4096, "sector_bytes": 256,
  "overhead_bytes": 16, "voices": 3, "output_rate_hz": 22050, "sample_rates_hz": [11025],
  "bits": [8], "highest_key": 28, "max_sounds": 64, "chuffs_may_overlap": true,
  "has_playback_gain": true, "loop": {"min_frames": 64, "multiple_of_frames": 16}
})json";
    qputenv("FOURBEAT_DATA", QByteArray::fromStdString((folder_ / "data").string()));
  }
  ~TinyDecoder() { qputenv("FOURBEAT_DATA", before_); }

 private:
  QByteArray before_;
  TempFolder folder_;
};

bool isFitted(PageRig& rig) {
  return waitUntil([&] {
    return rig.workspace.live().isCurrent() && rig.workspace.live().checked()->fitted.has_value();
  });
}

}  // namespace

TEST_CASE("fit: the model keeps the views' rules while the set and its fit change", "[ui]") {
  PageRig rig;
  FitSoundModel model(rig.workspace);
  const QAbstractItemModelTester tester(&model,
                                        QAbstractItemModelTester::FailureReportingMode::Fatal);
  REQUIRE(isFitted(rig));
  REQUIRE(model.rowCount() == 3);  // two sounds and the chuffs
  rig.shake(12);
  model::Sound louder = rig.project().sounds[1];
  louder.importance = 4.0;
  REQUIRE(rig.document().perform(QStringLiteral("t"), {model::Replace<model::Sound>{louder}}));
  REQUIRE(waitUntil([&] { return rig.workspace.live().isCurrent(); }));
  std::int64_t bytes = 0;
  for (int row = 0; row < model.rowCount(); ++row) {
    const auto& group = model.rows()[static_cast<std::size_t>(row)].group;
    if (row > 0) CHECK(group.bytes <= model.rows()[static_cast<std::size_t>(row - 1)].group.bytes);
    bytes += group.bytes;
  }
  const auto& fitted = *rig.workspace.live().checked()->fitted;
  CHECK(bytes + fitted.profile.fixed_bytes == fitted.fit.bytes_used);
}

TEST_CASE("fit: the decoder and the importances are edits", "[ui]") {
  PageRig rig;
  ui::FitPage page(rig.workspace);
  showActive(page);
  auto& decoder = named<QComboBox>(page, "Decoder profile");
  REQUIRE(decoder.currentData().toString() == QLatin1String("class-b"));
  rig.operate(
      "decoder", [&] { QTest::keyClick(&decoder, Qt::Key_Down); },
      [&] { return rig.project().decoder == "class-c"; });
  CHECK(decoder.currentData().toString() == QLatin1String("class-b"));
  REQUIRE(isFitted(rig));
  auto& table = named<QTableView>(page, "Sounds by bytes");
  for (int row = 0; row < table.model()->rowCount(); ++row) {
    const QString name = table.model()->index(row, FitSoundModel::nameColumn).data().toString();
    rig.operate(
        "importance",
        [&] {
          editCell<QDoubleSpinBox>(table, row, FitSoundModel::importanceColumn,
                                   [](QDoubleSpinBox& box) { box.setValue(7.5); });
        },
        [&] {
          if (name == QLatin1String("All chuffs")) return rig.project().chuffs.importance == 7.5;
          return std::any_of(rig.project().sounds.begin(), rig.project().sounds.end(),
                             [&](const model::Sound& sound) {
                               return QString::fromStdString(sound.name) == name &&
                                      sound.importance == 7.5;
                             });
        });
  }
}

TEST_CASE("fit: a set that is too big says by how much, and names the largest sounds",
          "[ui][deep]") {
  const TinyDecoder tiny;
  PageRig rig;
  ui::FitPage page(rig.workspace);
  showActive(page);
  REQUIRE(isFitted(rig));
  CHECK(page.verdict().startsWith(QLatin1String("It fits, with ")));
  REQUIRE(rig.document().perform(QStringLiteral("t"), {model::SetDecoder{"class-tiny"}}));
  CHECK(page.verdict().contains(QLatin1String("Checking again")));
  REQUIRE(waitUntil([&] { return rig.workspace.live().isCurrent(); }));
  const auto& fit = rig.workspace.live().checked()->fitted->fit;
  REQUIRE_FALSE(fit.fits);
  const QString over =
      QLocale().toString(static_cast<qlonglong>(fit.bytes_used - fit.bytes_available));
  CHECK(page.verdict().contains(over + QLatin1String(" bytes")));
  CHECK(page.verdict().contains(QLatin1String("The largest: ")));
  CHECK(page.verdict().contains(QLatin1String("Safety valve lifts (")));
  CHECK(page.need().startsWith(QLatin1String("Shorten or remove what is largest")));
}

TEST_CASE("fit: the head room of the run cards is told, and a mix over full scale is a snag",
          "[ui]") {
  PageRig rig;
  ui::FitPage page(rig.workspace);
  showActive(page);
  REQUIRE(isFitted(rig));
  const auto headRoomDb = [&] {
    const auto* loudest = work::loudest_card(rig.workspace.live().checked()->cards);
    REQUIRE(loudest != nullptr);
    return -loudest->peak->true_peak_dbtp;
  };
  const auto snags = [&] {
    const auto& all = rig.workspace.live().checked()->snags;
    return std::count_if(all.begin(), all.end(),
                         [](const check::Snag& snag) { return snag.rule == "no_head_room"; });
  };
  const double over_db = -headRoomDb();
  REQUIRE(over_db > 0.0);
  CHECK(page.verdict().contains(QLatin1String("A run card drives the mix ") +
                                ui::decibelText(over_db) + QLatin1String(" over full scale.")));
  CHECK(snags() == 1);

  rig.makeQuieter(over_db + 6.0);
  REQUIRE(waitUntil([&] { return rig.workspace.live().isCurrent(); }));
  const double room_db = headRoomDb();
  REQUIRE(room_db > 0.0);
  CHECK(page.verdict().contains(QLatin1String("The run cards leave ") + ui::decibelText(room_db) +
                                QLatin1String(" of head room.")));
  CHECK(snags() == 0);
}

TEST_CASE("fit: a sound is heard as it is stored", "[ui]") {
  PageRig rig;
  ui::FitPage page(rig.workspace);
  showActive(page);
  REQUIRE(isFitted(rig));
  QTest::mouseClick(&named<QPushButton>(page, "Hear it as stored"), Qt::LeftButton);
  REQUIRE(waitUntil([&] { return rig.transport.request().key.startsWith(QLatin1String("fit/")); }));
  const auto& clip = *std::get<ui::ClipSource>(rig.transport.request().source).clip;
  const auto& sound = rig.workspace.live().checked()->fitted->fit.sounds.front();
  CHECK(clip.sample_rate_hz == sound.encoding.sample_rate_hz);
  CHECK_FALSE(clip.samples.empty());
}

TEST_CASE("fit page: a profile of one's own is entered, chosen in one step, and changed", "[ui]") {
  PageRig rig;
  ui::FitPage page(rig.workspace);
  page.setVisible(true);
  const auto button = [&](const char* words) {
    for (auto* each : page.findChildren<QPushButton*>()) {
      if (each->accessibleName() == QString::fromUtf8(words)) return each;
    }
    FAIL("no button " << words);
    return static_cast<QPushButton*>(nullptr);
  };
  CHECK_FALSE(button("Change …")->isVisible());
  /// Fills the form that opens, by the names of its fields, and saves.
  const auto fill = [&](const std::vector<std::pair<const char*, QString>>& figures) {
    QTimer::singleShot(0, &page, [&page, figures] {
      auto* form = page.findChild<ui::ProfileForm*>();
      REQUIRE(form != nullptr);
      for (const auto& [name, value] : figures) {
        for (auto* field : form->findChildren<QWidget*>()) {
          if (field->accessibleName() != QLatin1String(name)) continue;
          if (auto* line = qobject_cast<QLineEdit*>(field)) line->setText(value);
          if (auto* number = qobject_cast<QSpinBox*>(field)) number->setValue(value.toInt());
        }
      }
      form->accept();
      if (!form->isVisible()) return;
      const QString said = form->findChild<QLabel*>(QStringLiteral("trouble"))->text();
      CHECK(said.startsWith(QStringLiteral("Depths that it stores, rising is 8")));
      form->reject();
    });
  };
  const std::string before = rig.text();
  fill({{"Depths that it stores, rising", QStringLiteral("16, 8")},
        {"Name of the profile", QStringLiteral("Wrong")}});
  button("Own profile …")->click();
  CHECK(rig.text() == before);
  rig.operate(
      "own profile",
      [&] {
        fill({{"Name of the profile", QStringLiteral("Mine, 2 MiB")},
              {"Memory for sounds", QStringLiteral("2097152")}});
        button("Own profile …")->click();
      },
      [&] { return rig.project().decoder == "mine-2-mib"; });
  REQUIRE(rig.document().perform(QStringLiteral("d"), {model::SetDecoder{"mine-2-mib"}}));
  CHECK(button("Change …")->isVisible());
  fill({{"Memory for sounds", QStringLiteral("3145728")}});
  button("Change …")->click();
  CHECK(store::load_decoder_profile("mine-2-mib")->memory_bytes == 3145728);
  CHECK_FALSE(store::load_decoder_profile("mine-2-mib")->invented);
  REQUIRE(isFitted(rig));
  CHECK(rig.workspace.live().checked()->fitted->profile.memory_bytes == 3145728);
}
