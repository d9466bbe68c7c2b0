// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QString>
#include <vector>

namespace fourbeat::ui {

class Page;
class Workspace;

/// The pages, in the order of the job: their places along the top.
enum PagePlace {
  takesPlace,
  segmentsPlace,
  chuffsPlace,
  keysPlace,
  cvTablePlace,
  trialRunPlace,
  fitPlace,
  notesPlace
};

/// A page as it is offered before it is made.
struct PageKind {
  QString name;                         ///< as on its tab
  QString icon;                         ///< a name of Theme::icon()
  Page* (*make)(Workspace&) = nullptr;  ///< a new page on an open project, without a parent
};

/// One entry a PagePlace, in that order.
[[nodiscard]] std::vector<PageKind> pageKinds();

}  // namespace fourbeat::ui
