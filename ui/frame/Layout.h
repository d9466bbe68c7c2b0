// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QString>

class QWidget;

/// How a user arranged the inside of a page: where the splitters stand, how wide the columns are,
/// which tab is in front. Remembered between runs, for every project alike.

namespace fourbeat::ui::layout {

/// Notes how `page` is arranged. name: the page's own, of letters.
void keep(const QWidget& page, const QString& name);
/// Arranges a page as it was left; what has changed its parts since is left as it is made.
void restore(const QWidget& page, const QString& name);

/// Lets Tab go through all of a part in reading order: by the layouts, tabs before what they show.
/// before: what has the keyboard before it; null: nothing.
void orderTabs(QWidget* before, QWidget& part);

}  // namespace fourbeat::ui::layout
