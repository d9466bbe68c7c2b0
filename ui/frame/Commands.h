// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "QuickFind.h"

class QMenuBar;
class QWidget;

namespace fourbeat::ui {

/// The commands of a window's menus, each with its keys.
[[nodiscard]] std::vector<Findable> commandsOf(const QMenuBar& menus);

/// What the buttons of a page do, those of its inner tabs too. pageName: for the list;
/// `show` brings the page to the front before the button is pressed. A button that cannot be
/// pressed then gets the keyboard, so that what it stands beside is seen.
[[nodiscard]] std::vector<Findable> commandsOf(const QWidget& page, const QString& pageName,
                                               const std::function<void()>& show);

}  // namespace fourbeat::ui
