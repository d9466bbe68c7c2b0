// SPDX-License-Identifier: GPL-3.0-or-later
#include "Layout.h"

#include "Settings.h"

#include <QAbstractSpinBox>
#include <QComboBox>
#include <QHeaderView>
#include <QLayout>
#include <QList>
#include <QSplitter>
#include <QTabBar>
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

bool takesTab(const QWidget& widget) {
  return (widget.focusPolicy() & Qt::TabFocus) != 0 && widget.focusProxy() == nullptr;
}

void collect(QWidget& widget, QList<QWidget*>& order);

void collectLaidOut(const QLayout& layout, QList<QWidget*>& order) {
  for (int i = 0; i < layout.count(); ++i) {
    QLayoutItem* item = layout.itemAt(i);
    if (QWidget* widget = item->widget()) collect(*widget, order);
    if (const QLayout* inner = item->layout()) collectLaidOut(*inner, order);
  }
}

void collect(QWidget& widget, QList<QWidget*>& order) {
  if (order.contains(&widget)) return;
  if (takesTab(widget)) order << &widget;
  // These are one stop, whatever they are made of.
  if (qobject_cast<QAbstractSpinBox*>(&widget) || qobject_cast<QComboBox*>(&widget) ||
      qobject_cast<QAbstractItemView*>(&widget) || qobject_cast<QTabBar*>(&widget)) {
    return;
  }
  if (auto* tabs = qobject_cast<QTabWidget*>(&widget)) {
    collect(*tabs->tabBar(), order);
    for (int i = 0; i < tabs->count(); ++i)
      collect(*tabs->widget(i), order);
    return;
  }
  if (const auto* split = qobject_cast<QSplitter*>(&widget)) {
    for (int i = 0; i < split->count(); ++i)
      collect(*split->widget(i), order);
    return;
  }
  if (const QLayout* layout = widget.layout()) collectLaidOut(*layout, order);
  for (QObject* child : widget.children()) {
    auto* inner = qobject_cast<QWidget*>(child);
    if (inner != nullptr && !inner->isWindow()) collect(*inner, order);
  }
}

}  // namespace

void orderTabs(QWidget* before, QWidget& part) {
  QList<QWidget*> order;
  collect(part, order);
  for (QWidget* widget : order) {
    if (before != nullptr) QWidget::setTabOrder(before, widget);
    before = widget;
  }
}

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
