// SPDX-License-Identifier: GPL-3.0-or-later
#include "PageParts.h"

#include "Fields.h"
#include "Page.h"

#include <QCoreApplication>
#include <QHeaderView>
#include <QShortcut>
#include <QStyle>
#include <QTabBar>
#include <QTabWidget>
#include <QTableView>
#include <QVBoxLayout>
#include <initializer_list>

namespace fourbeat::ui {

QPushButton* makeButton(QWidget* parent, const QString& iconName, const QString& label,
                        const QString& toolTip, std::function<void()> pressed,
                        const QKeySequence& key, QWidget* scope) {
  QPushButton* button = makeButton(parent, iconName, label, toolTip);
  QString tip = toolTip;
  if (!key.isEmpty() && scope != nullptr) {
    tip += QStringLiteral(" (%1)").arg(key.toString(QKeySequence::NativeText));
    auto* shortcut = new QShortcut(key, scope);
    const bool pages = qobject_cast<Page*>(scope) != nullptr;
    shortcut->setContext(pages ? Qt::WindowShortcut : Qt::WidgetWithChildrenShortcut);
    QObject::connect(shortcut, &QShortcut::activated, button, [button] { button->click(); });
  }
  button->setToolTip(tip);
  button->setAccessibleDescription(toolTip);
  QObject::connect(button, &QPushButton::clicked, parent, [run = std::move(pressed)] { run(); });
  return button;
}

QLabel* makeLabel(QWidget* parent, const QString& content, const char* role) {
  auto* label = new QLabel(content, parent);
  label->setWordWrap(true);
  label->setTextFormat(Qt::PlainText);
  setRole(label, role);
  return label;
}

void setRole(QLabel* label, const char* role) {
  if (label->property("role").toString() == QLatin1String(role)) return;
  label->setProperty("role", QString::fromLatin1(role));
  label->style()->unpolish(label);
  label->style()->polish(label);
}

QLabel* makeHeading(QWidget* parent, const QString& content) {
  auto* label = new QLabel(content, parent);
  label->setTextFormat(Qt::PlainText);
  label->setWordWrap(true);
  label->setFont(Theme::instance().titleFont());
  return label;
}

QTabWidget* makePageTabs(QWidget* page) {
  auto* whole = new QVBoxLayout(page);
  whole->setContentsMargins(Theme::margin, Theme::gap, Theme::margin, Theme::margin);
  auto* tabs = new QTabWidget(page);
  tabs->setDocumentMode(true);
  for (QWidget* part : std::initializer_list<QWidget*>{tabs, tabs->tabBar()})
    part->setAccessibleName(QCoreApplication::translate("PageParts", "Parts of the page"));
  whole->addWidget(tabs);
  return tabs;
}

void setUpTable(QTableView* table, const QString& name) {
  setUpRows(table, name);
  table->setEditTriggers(table->editTriggers() | QAbstractItemView::AnyKeyPressed |
                         QAbstractItemView::SelectedClicked);
  table->setHorizontalScrollMode(QAbstractItemView::ScrollPerPixel);
  table->verticalHeader()->setDefaultSectionSize(table->fontMetrics().height() + Theme::wide);
  table->horizontalHeader()->setStretchLastSection(true);
}

}  // namespace fourbeat::ui
