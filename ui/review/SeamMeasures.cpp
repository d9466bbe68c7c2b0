// SPDX-License-Identifier: GPL-3.0-or-later
#include "SeamMeasures.h"

#include "Wording.h"
#include "models/SegmentListModel.h"

#include <QCoreApplication>
#include <QHeaderView>
#include <QLocale>
#include <QStringList>
#include <QTableWidget>
#include <array>
#include <cmath>

namespace fourbeat::ui {

namespace {

QString say(const char* words) {
  return QCoreApplication::translate("SeamMeasures", words);
}

/// How the quotient of a measure is to be read: 1 is what 5 % of the moments inside pass. Under a
/// rank that makes the seam clean, the inside has such moments too.
QString quotientWord(double quotient, bool clean) {
  if (quotient <= 0.7) return say("usual");
  if (quotient <= 1.0) return say("strong, but usual");
  return clean ? say("seldom, but found inside too") : say("stands out");
}

}  // namespace

QString measureWord(const std::string& name) {
  struct Entry {
    const char* name;
    const char* words;
  };
  static constexpr std::array<Entry, 8> entries{
      {{"sample_step", QT_TRANSLATE_NOOP("SeamMeasures", "Step from sample to sample")},
       {"slope_step", QT_TRANSLATE_NOOP("SeamMeasures", "Bend in the waveform")},
       {"spectrum_fine", QT_TRANSLATE_NOOP("SeamMeasures", "Colour, 20 ms")},
       {"spectrum_low", QT_TRANSLATE_NOOP("SeamMeasures", "Colour below 250 Hz, 100 ms")},
       {"rms_50ms", QT_TRANSLATE_NOOP("SeamMeasures", "Level, 50 ms")},
       {"rms_500ms", QT_TRANSLATE_NOOP("SeamMeasures", "Level, 500 ms")},
       {"colour_500ms", QT_TRANSLATE_NOOP("SeamMeasures", "Colour, 500 ms")},
       {"rhythm", QT_TRANSLATE_NOOP("SeamMeasures", "Rhythm across half a second")}}};
  for (const Entry& entry : entries) {
    if (name == entry.name) return say(entry.words);
  }
  return text(name);
}

void setUpMeasures(QTableWidget* table) {
  table->setColumnCount(4);
  table->setHorizontalHeaderLabels(
      {say("Measure"), say("At the seam"), say("Over what is usual"), say("In words")});
  table->setAccessibleName(say("Measures of the seam"));
  table->setSelectionBehavior(QAbstractItemView::SelectRows);
  table->setSelectionMode(QAbstractItemView::SingleSelection);
  table->setEditTriggers(QAbstractItemView::NoEditTriggers);
  table->setTabKeyNavigation(false);
  table->setShowGrid(false);
  table->verticalHeader()->hide();
  table->verticalHeader()->setDefaultSectionSize(table->fontMetrics().height() + 6);
  table->horizontalHeader()->setSectionResizeMode(QHeaderView::ResizeToContents);
  table->horizontalHeader()->setStretchLastSection(true);
  table->setMinimumHeight(table->fontMetrics().height() * 5);
}

void showMeasures(QTableWidget* table, const dsp::SeamReport* report) {
  const QLocale locale;
  table->setRowCount(report == nullptr ? 0 : static_cast<int>(report->measures.size()));
  if (report == nullptr) return;
  int row = 0;
  for (const dsp::SeamMeasure& measure : report->measures) {
    const bool step = measure.name == "sample_step" || measure.name == "slope_step";
    const QString value = step ? say("%1 of full scale").arg(locale.toString(measure.value, 'g', 3))
                               : say("%1 dB").arg(locale.toString(measure.value, 'f', 2));
    const std::array<QString, 4> cells{
        measureWord(measure.name), value,
        say("%1 times").arg(locale.toString(measure.quotient, 'f', 2)),
        quotientWord(measure.quotient, report->state == dsp::SeamState::clean)};
    for (int column = 0; column < 4; ++column) {
      auto* item = new QTableWidgetItem(cells[static_cast<std::size_t>(column)]);
      if (column == 1 || column == 2) item->setTextAlignment(Qt::AlignRight | Qt::AlignVCenter);
      table->setItem(row, column, item);
    }
    ++row;
  }
}

QString measuresSummary(const dsp::SeamReport& report) {
  QString words =
      say("%1: the seam's worst moment is more conspicuous than %2 % of the stretches inside the "
          "loop. The loop's own most conspicuous event stands out by %3 dB.")
          .arg(word(report.state), QLocale().toString(report.rank, 'f', 0),
               QLocale().toString(report.tell_db, 'f', 1));
  const auto drifts = [&words](double db, const QString& more, const QString& less) {
    if (db == 0.0) return;
    words += QLatin1Char(' ');
    words += (db > 0.0 ? more : less).arg(QLocale().toString(std::abs(db), 'f', 1));
  };
  drifts(report.level_drift_db, say("Its last quarter is %1 dB louder than its first."),
         say("Its last quarter is %1 dB softer than its first."));
  drifts(report.tone_drift_db, say("Its last quarter is %1 dB brighter than its first."),
         say("Its last quarter is %1 dB duller than its first."));
  const QString hz = QLocale().toString(report.octave_hz, 'f', 0);
  drifts(report.octave_drift_db,
         say("The octave about %2 Hz rises by %1 dB against the others.")
             .arg(QStringLiteral("%1"), hz),
         say("The octave about %2 Hz falls by %1 dB against the others.")
             .arg(QStringLiteral("%1"), hz));
  if (!report.whole_periods) {
    words += QLatin1Char(' ');
    words += say("The loop does not span whole periods of its sound.");
  }
  if (!report.omitted.empty()) {
    QStringList names;
    for (const std::string& name : report.omitted)
      names << measureWord(name);
    words += QLatin1Char(' ');
    words += say("Not measured, the loop is too short: %1.").arg(names.join(say(", ")));
  }
  return words;
}

}  // namespace fourbeat::ui
