// SPDX-License-Identifier: GPL-3.0-or-later
#include "Commands.h"

#include <QAbstractButton>
#include <QCheckBox>
#include <QCoreApplication>
#include <QMenu>
#include <QMenuBar>
#include <QPointer>
#include <QPushButton>
#include <QTabWidget>
#include <QToolButton>

namespace fourbeat::ui {

namespace {

QString commandWord() {
  return QCoreApplication::translate("Commands", "Command");
}

/// Brings what a widget stands in to the front of its tabs.
void bringForward(QWidget* widget) {
  for (QWidget* at = widget; at != nullptr; at = at->parentWidget()) {
    // A tab's page lies in a stack of the tabs' own.
    auto* tabs = at->parentWidget() != nullptr
                     ? qobject_cast<QTabWidget*>(at->parentWidget()->parentWidget())
                     : nullptr;
    if (tabs != nullptr && tabs->indexOf(at) >= 0) tabs->setCurrentWidget(at);
  }
}

QString nameOf(const QAbstractButton& button) {
  QString name = button.accessibleName().isEmpty() ? button.text() : button.accessibleName();
  return name.remove(QLatin1Char('&'));
}

}  // namespace

std::vector<Findable> commandsOf(const QMenuBar& menus) {
  std::vector<Findable> all;
  for (const QMenu* menu : menus.findChildren<QMenu*>(QString(), Qt::FindDirectChildrenOnly)) {
    for (QAction* action : menu->actions()) {
      if (action->isSeparator() || action->menu() != nullptr || !action->isEnabled()) continue;
      QString name = action->text().section(QLatin1Char('\t'), 0, 0);
      name.remove(QLatin1Char('&'));
      if (!action->shortcut().isEmpty()) {
        name += QStringLiteral("  (%1)").arg(action->shortcut().toString(QKeySequence::NativeText));
      }
      all.push_back({name, commandWord(), QStringLiteral("keys"), [action] { action->trigger(); }});
    }
  }
  return all;
}

std::vector<Findable> commandsOf(const QWidget& page, const QString& pageName,
                                 const std::function<void()>& show) {
  std::vector<Findable> all;
  for (QAbstractButton* button : page.findChildren<QAbstractButton*>()) {
    const bool pressed = qobject_cast<QPushButton*>(button) || qobject_cast<QToolButton*>(button) ||
                         qobject_cast<QCheckBox*>(button);
    const QString name = nameOf(*button);
    if (!pressed || name.isEmpty() || button->focusPolicy() == Qt::NoFocus) continue;
    all.push_back({name, QCoreApplication::translate("Commands", "%1 page").arg(pageName),
                   QStringLiteral("keys"), [show, at = QPointer<QAbstractButton>(button)] {
                     show();
                     if (!at) return;
                     bringForward(at);
                     at->setFocus(Qt::OtherFocusReason);
                     if (at->isVisible() && at->isEnabled()) at->click();
                   }});
  }
  return all;
}

}  // namespace fourbeat::ui
