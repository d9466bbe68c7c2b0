// SPDX-License-Identifier: GPL-3.0-or-later
#include "PageList.h"

#include "ChuffsPage.h"
#include "CvTablePage.h"
#include "FitPage.h"
#include "KeysPage.h"
#include "NotesPage.h"
#include "SegmentsPage.h"
#include "TakesPage.h"
#include "TrialRunPage.h"

#include <QCoreApplication>

namespace fourbeat::ui {

namespace {

template <class PageType>
PageKind kind(const char* name, const char* icon) {
  return {QCoreApplication::translate("Pages", name), QString::fromLatin1(icon),
          [](Workspace& workspace) -> Page* { return new PageType(workspace); }};
}

}  // namespace

std::vector<PageKind> pageKinds() {
  return {kind<TakesPage>(QT_TRANSLATE_NOOP("Pages", "Takes"), "takes"),
          kind<SegmentsPage>(QT_TRANSLATE_NOOP("Pages", "Segments"), "segments"),
          kind<ChuffsPage>(QT_TRANSLATE_NOOP("Pages", "Chuffs"), "chuffs"),
          kind<KeysPage>(QT_TRANSLATE_NOOP("Pages", "Keys"), "keys"),
          kind<CvTablePage>(QT_TRANSLATE_NOOP("Pages", "CV table"), "cvs"),
          kind<TrialRunPage>(QT_TRANSLATE_NOOP("Pages", "Trial run"), "trial"),
          kind<FitPage>(QT_TRANSLATE_NOOP("Pages", "Fit"), "fit"),
          kind<NotesPage>(QT_TRANSLATE_NOOP("Pages", "Notes"), "notes")};
}

}  // namespace fourbeat::ui
