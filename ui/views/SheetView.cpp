// SPDX-License-Identifier: GPL-3.0-or-later
#include "SheetView.h"

#include "Theme.h"

#include <QScrollBar>
#include <QTextDocument>
#include <utility>

namespace fourbeat::ui {

namespace {

constexpr double pageMargin = 20.0;

QString sheetStyle() {
  const Theme& theme = Theme::instance();
  const auto ink = [&](Theme::Ink which) { return theme.color(which).name(); };
  // What Qt's rich text knows of CSS; sizes in steps of the body's.
  return QStringLiteral(
             "body { color: %1; }"
             "a { color: %2; }"
             "h1 { font-size: x-large; font-weight: 600; margin-top: 0px; margin-bottom: 2px; }"
             "h2 { font-size: large; font-weight: 600; margin-top: 20px; margin-bottom: 6px; }"
             "h3, h4, h5, h6 { font-size: medium; font-weight: 600; margin-top: 14px;"
             " margin-bottom: 4px; }"
             "p, li { margin-top: 5px; margin-bottom: 5px; line-height: 130%; }"
             ".subtitle { color: %3; }"
             // Lines under the rows only: with collapsing borders a table takes twice as long.
             "table { margin-top: 6px; margin-bottom: 8px; }"
             "th { background-color: %5; text-align: left; }"
             "th, td { padding: 3px 6px; border-bottom-style: solid; border-bottom-width: 1px;"
             " border-bottom-color: %4; }"
             "code, pre { font-family: monospace; background-color: %5; }"
             "blockquote { color: %3; margin-left: 16px; }")
      .arg(ink(Theme::Ink::text), ink(Theme::Ink::accent), ink(Theme::Ink::mutedText),
           ink(Theme::Ink::line), ink(Theme::Ink::raised));
}

}  // namespace

SheetView::SheetView(QWidget* parent) : QTextBrowser(parent) {
  setOpenLinks(false);
  setOpenExternalLinks(false);
  setTabChangesFocus(true);
  connect(&Theme::instance(), &Theme::changed, this, &SheetView::draw);
}

void SheetView::setSheet(deliver::Sheet sheet) {
  sheet_ = std::move(sheet);
  draw();
}

void SheetView::draw() {
  const int place = verticalScrollBar()->value();
  // Filled before it is shown: a document that is shown is laid out anew while it fills.
  auto* filled = new QTextDocument(this);
  filled->setDocumentMargin(pageMargin);
  filled->setDefaultStyleSheet(sheetStyle());
  filled->setDefaultFont(Theme::instance().bodyFont());
  // Qt's rich text lets a table run out of the page unless its width is said; the border lies
  // outside it.
  filled->setHtml(QString::fromStdString(deliver::body_html_of(sheet_))
                      .replace(QStringLiteral("<table>"),
                               QStringLiteral("<table width=\"99%\" cellspacing=\"0\">")));
  setDocument(filled);
  delete std::exchange(filled_, filled);
  verticalScrollBar()->setValue(place);
}

}  // namespace fourbeat::ui
