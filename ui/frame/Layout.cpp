// SPDX-License-Identifier: GPL-3.0-or-later
#include "Layout.h"

#include "Settings.h"

#include <QHeaderView>
#include <QList>
#include <QSplitter>
#include <QTabWidget>
#include <QTableView>

namespace fourbeat::ui::layout {

namespace {

/// What a user can arrange, with a name that the next run gives it too: parts of one kind are
/// counted in the order in which the page made them. `shown`: only what was in view once; the rest
/// has no sizes yet.
template <class Part, class Do>
void each(const QWidget& page, const QString& name, const QString& kind, bool shown, Do act) {
  int place = 0;
  for (Part* part : page.findChildren<Part*>()) {
    const QString key = QStringLiteral("%1/%2-%3").arg(name, kind).arg(place++);
    if (!shown || part->testAttribute(Qt::WA_WState_Polished)) act(part, key);
  }
}

/// The columns that a user can draw wider or narrower.
QList<int> freeColumns(const QHeaderView& header) {
  QList<int> columns;
  for (int i = 0; i < header.count(); ++i) {
    if (header.sectionResizeMode(i) == QHeaderView::Interactive && !header.isSectionHidden(i))
      columns << i;
  }
  return columns;
}

}  // namespace

void keep(const QWidget& page, const QString& name) {
  each<QSplitter>(
      page, name, QStringLiteral("split"), true,
      [](QSplitter* part, const QString& key) { settings::keepArrangement(key, part->sizes()); });
  each<QTabWidget>(page, name, QStringLiteral("tab"), true,
                   [](QTabWidget* part, const QString& key) {
                     settings::keepArrangement(key, {part->count(), part->currentIndex()});
                   });
  each<QTableView>(page, name, QStringLiteral("columns"), true,
                   [](QTableView* part, const QString& key) {
                     const QHeaderView& header = *part->horizontalHeader();
                     QList<int> widths;
                     for (const int column : freeColumns(header))
                       widths << header.sectionSize(column);
                     settings::keepArrangement(key, widths);
                   });
}

void restore(const QWidget& page, const QString& name) {
  each<QSplitter>(page, name, QStringLiteral("split"), false,
                  [](QSplitter* part, const QString& key) {
                    const QList<int> sizes = settings::arrangement(key);
                    if (sizes.size() == part->count()) part->setSizes(sizes);
                  });
  each<QTabWidget>(page, name, QStringLiteral("tab"), false,
                   [](QTabWidget* part, const QString& key) {
                     const QList<int> kept = settings::arrangement(key);
                     if (kept.size() == 2 && kept[0] == part->count())
                       part->setCurrentIndex(kept[1]);
                   });
  each<QTableView>(page, name, QStringLiteral("columns"), false,
                   [](QTableView* part, const QString& key) {
                     QHeaderView& header = *part->horizontalHeader();
                     const QList<int> widths = settings::arrangement(key);
                     const QList<int> columns = freeColumns(header);
                     if (widths.size() != columns.size()) return;
                     for (qsizetype i = 0; i < columns.size(); ++i)
                       header.resizeSection(columns[i], widths[i]);
                   });
}

}  // namespace fourbeat::ui::layout
