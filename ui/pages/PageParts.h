// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Theme.h"

#include <QAbstractItemView>
#include <QKeySequence>
#include <QLabel>
#include <QPushButton>
#include <QString>
#include <functional>

class QTabWidget;
class QTableView;

namespace fourbeat::ui {

/// What the pages are put together from.

/// A button with its tool tip and, where there is one, its key: the key works while the focus is
/// in `scope`, or anywhere in the window while a page that is the scope is in view; the tool tip
/// names it.
QPushButton* makeButton(QWidget* parent, const QString& iconName, const QString& label,
                        const QString& toolTip, std::function<void()> pressed,
                        const QKeySequence& key = {}, QWidget* scope = nullptr);

/// A label that wraps. role: "", "muted", "error", "warning", "good", as the style sheet has them.
QLabel* makeLabel(QWidget* parent, const QString& content = {}, const char* role = "");
/// Another role for a label that is already shown.
void setRole(QLabel* label, const char* role);

/// A heading inside a page.
QLabel* makeHeading(QWidget* parent, const QString& content);

/// Tabs that fill a page.
QTabWidget* makePageTabs(QWidget* page);

/// Looks and manners of the pages' tables: whole rows, one selected, cells edited by double click,
/// F2 or typing; `name` for screen readers.
void setUpTable(QTableView* table, const QString& name);

}  // namespace fourbeat::ui
