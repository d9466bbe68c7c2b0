// SPDX-License-Identifier: GPL-3.0-or-later
#include "GuideDialog.h"

#include "Theme.h"

#include <QDialogButtonBox>
#include <QFile>
#include <QTextBrowser>
#include <QVBoxLayout>

namespace fourbeat::ui {

namespace {

constexpr int guideWidthPx = 760;
constexpr int guideHeightPx = 620;

/// The guide without its chapter of pictures, which are not inside the program.
QString guideText() {
  QFile file(QStringLiteral(":/fourbeat/guide/desk.md"));
  if (!file.open(QIODevice::ReadOnly)) return {};
  const QString whole = QString::fromUtf8(file.readAll());
  return whole.section(QStringLiteral("\n## Pictures"), 0, 0);
}

}  // namespace

GuideDialog::GuideDialog(QWidget* parent) : QDialog(parent) {
  setWindowTitle(tr("Guide"));
  resize(guideWidthPx, guideHeightPx);
  auto* column = new QVBoxLayout(this);
  column->setContentsMargins(Theme::margin, Theme::margin, Theme::margin, Theme::margin);
  auto* words = new QTextBrowser(this);
  words->setAccessibleName(tr("Guide to the editor"));
  words->setMarkdown(guideText());
  column->addWidget(words, 1);
  auto* buttons = new QDialogButtonBox(QDialogButtonBox::Close, this);
  connect(buttons, &QDialogButtonBox::rejected, this, &QDialog::reject);
  column->addWidget(buttons);
}

}  // namespace fourbeat::ui
