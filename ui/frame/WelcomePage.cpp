// SPDX-License-Identifier: GPL-3.0-or-later
#include "WelcomePage.h"

#include "Settings.h"
#include "Theme.h"
#include "Wording.h"

#include "fourbeat/store/journal.h"

#include <QCommandLinkButton>
#include <QFileInfo>
#include <QLabel>
#include <QVBoxLayout>

namespace fourbeat::ui {

namespace {

constexpr int columnWidth = 560;

QLabel* heading(const QString& text, QWidget* parent) {
  auto* label = new QLabel(text, parent);
  QFont font = Theme::instance().bodyFont();
  font.setBold(true);
  label->setFont(font);
  return label;
}

QPushButton* lead(const QString& icon, const QString& text, bool primary, QWidget* parent) {
  auto* button = new QPushButton(text, parent);
  const Theme& theme = Theme::instance();
  button->setIcon(theme.icon(icon, primary ? Theme::Ink::onAccent : Theme::Ink::text));
  button->setProperty("primary", primary);
  button->setAccessibleName(text);
  return button;
}

}  // namespace

WelcomePage::WelcomePage(QWidget* parent) : QWidget(parent) {
  setAccessibleName(tr("Welcome"));
  auto* outer = new QHBoxLayout(this);
  outer->addStretch(1);
  auto* middle = new QWidget(this);
  middle->setFixedWidth(columnWidth);
  outer->addWidget(middle);
  outer->addStretch(1);
  auto* column = new QVBoxLayout(middle);
  column->setSpacing(Theme::wide);
  column->addStretch(1);
  auto* title = new QLabel(tr("From recordings of a real engine to a sound set"), middle);
  title->setFont(Theme::instance().titleFont());
  title->setWordWrap(true);
  column->addWidget(title);
  auto* words = new QLabel(
      tr("Drop recordings anywhere in this window to begin a project with them. They are read, "
         "never changed."),
      middle);
  words->setWordWrap(true);
  words->setProperty("role", QStringLiteral("muted"));
  column->addWidget(words);
  auto* row = new QHBoxLayout;
  row->setSpacing(Theme::gap);
  begin_ = lead(QStringLiteral("new"), tr("New project …"), true, middle);
  auto* open = lead(QStringLiteral("open"), tr("Open …"), false, middle);
  auto* demo = lead(QStringLiteral("demo"), tr("Open the demo"), false, middle);
  demo->setToolTip(tr("An invented engine, its takes made on this machine in half a minute"));
  row->addWidget(begin_);
  row->addWidget(open);
  row->addWidget(demo);
  row->addStretch(1);
  column->addLayout(row);
  lists_ = new QVBoxLayout;
  lists_->setSpacing(Theme::tight);
  column->addSpacing(Theme::wide);
  column->addLayout(lists_);
  column->addStretch(2);
  connect(begin_, &QPushButton::clicked, this, &WelcomePage::newWanted);
  connect(open, &QPushButton::clicked, this, &WelcomePage::openWanted);
  connect(demo, &QPushButton::clicked, this, &WelcomePage::demoWanted);
}

void WelcomePage::showEvent(QShowEvent* event) {
  QWidget::showEvent(event);
  refresh();
  begin_->setFocus(Qt::OtherFocusReason);
}

void WelcomePage::refresh() {
  while (QLayoutItem* item = lists_->takeAt(0)) {
    delete item->widget();
    delete item;
  }
  const auto entry = [this](const QString& icon, const QString& name, const QString& place) {
    auto* button = new QCommandLinkButton(name, place, this);
    button->setIcon(Theme::instance().icon(icon));
    button->setAccessibleName(tr("%1, %2").arg(name, place));
    lists_->addWidget(button);
    return button;
  };
  const auto unsaved = [&](const QString& title, const std::vector<store::JournalFile>& journals,
                           void (WelcomePage::*wanted)(const QString&)) {
    if (!journals.empty()) lists_->addWidget(heading(title, this));
    for (const store::JournalFile& journal : journals) {
      const QString file = pathText(journal.file);
      const QString place = journal.project_path.empty() ? tr("cannot be read: %1").arg(file)
                                                         : pathText(journal.project_path);
      const QString name =
          journal.title.empty() ? tr("A project without a title") : text(journal.title);
      connect(entry(QStringLiteral("recover"), name, place), &QCommandLinkButton::clicked, this,
              [this, file, wanted] { (this->*wanted)(file); });
    }
  };
  unsaved(tr("Unsaved work"), store::list_journals(), &WelcomePage::unsavedWanted);
  const std::vector<store::JournalFile> aside = store::list_journals_aside();
  unsaved(tr("Changes kept aside"), aside, &WelcomePage::asideWanted);
  if (!aside.empty()) {
    auto* forget = new QPushButton(tr("Delete what is kept aside …"), this);
    forget->setIcon(Theme::instance().icon(QStringLiteral("remove")));
    lists_->addWidget(forget, 0, Qt::AlignLeft);
    connect(forget, &QPushButton::clicked, this, &WelcomePage::asideUnwanted);
  }
  const QStringList recent = settings::recentProjects();
  if (!recent.isEmpty()) lists_->addWidget(heading(tr("Recent projects"), this));
  for (const QString& path : recent) {
    const QFileInfo info(path);
    auto* button = entry(QStringLiteral("open"), info.completeBaseName(), info.absolutePath());
    connect(button, &QCommandLinkButton::clicked, this,
            [this, path] { Q_EMIT projectWanted(path); });
  }
}

}  // namespace fourbeat::ui
