// SPDX-License-Identifier: GPL-3.0-or-later
#include "JobBar.h"

#include "JobRunner.h"
#include "Theme.h"

#include <QFrame>
#include <QGridLayout>
#include <QHBoxLayout>
#include <QLabel>
#include <QProgressBar>
#include <QShortcut>
#include <QToolButton>
#include <algorithm>

namespace fourbeat::ui {

namespace {
constexpr int barWidth = 120;
constexpr int titleWidth = 220;
constexpr int wholePermille = 1000;
}  // namespace

JobBar::JobBar(QWidget* parent)
    : QWidget(parent),
      more_(new QToolButton(this)),
      list_(new QFrame(this, Qt::Popup)),
      rows_(new QGridLayout(list_)) {
  setAccessibleName(tr("Running work"));
  first_ = makeLine(this, 0);
  auto* row = new QHBoxLayout(this);
  row->setContentsMargins(0, 0, 0, 0);
  row->setSpacing(Theme::gap);
  row->addWidget(first_.title);
  row->addWidget(more_);
  row->addWidget(first_.bar);
  row->addWidget(first_.cancel);
  more_->setAutoRaise(true);
  more_->setFocusPolicy(Qt::TabFocus);
  more_->setToolTip(tr("Show all running work, to cancel any of it"));
  connect(more_, &QToolButton::clicked, this, &JobBar::openList);
  static_cast<QFrame*>(list_)->setFrameShape(QFrame::StyledPanel);
  list_->setAccessibleName(tr("All running work"));
  rows_->setContentsMargins(Theme::gap, Theme::gap, Theme::gap, Theme::gap);
  rows_->setSpacing(Theme::gap);
  auto* close = new QShortcut(Qt::Key_Escape, list_);
  connect(close, &QShortcut::activated, list_, &QWidget::close);
  refresh();
}

JobBar::Line JobBar::makeLine(QWidget* parent, quint64 ticket) {
  Line line{new QLabel(parent), new QProgressBar(parent), new QToolButton(parent)};
  line.title->setMaximumWidth(titleWidth);
  line.bar->setFixedWidth(barWidth);
  line.bar->setTextVisible(false);
  line.cancel->setIcon(Theme::instance().icon(QStringLiteral("close")));
  line.cancel->setFocusPolicy(Qt::TabFocus);
  // 0: the oldest, whichever that is then.
  connect(line.cancel, &QToolButton::clicked, this,
          [this, ticket] { cancel(ticket == 0 && !jobs_.isEmpty() ? jobs_.firstKey() : ticket); });
  return line;
}

void JobBar::show(const Line& line, const Job& job) {
  line.title->setText(line.title->fontMetrics().elidedText(job.title, Qt::ElideRight, titleWidth));
  line.title->setToolTip(job.stage.isEmpty() ? job.title : tr("%1: %2").arg(job.title, job.stage));
  line.bar->setRange(0, job.fraction < 0 ? 0 : wholePermille);
  if (job.fraction >= 0) line.bar->setValue(static_cast<int>(job.fraction * wholePermille));
  line.bar->setAccessibleName(tr("Progress of %1").arg(job.title));
  line.cancel->setAccessibleName(tr("Cancel %1").arg(job.title));
  line.cancel->setToolTip(tr("Cancel %1").arg(job.title));
}

void JobBar::cancel(quint64 ticket) {
  if (runner_) runner_->cancel(ticket);
}

void JobBar::setRunner(JobRunner* runner) {
  if (runner_) disconnect(runner_, nullptr, this, nullptr);
  runner_ = runner;
  jobs_.clear();
  if (runner != nullptr) {
    connect(runner, &JobRunner::started, this, [this](quint64 ticket, const QString& title) {
      jobs_.insert(ticket, {title, {}, -1.0});
      refresh();
    });
    connect(runner, &JobRunner::progressed, this,
            [this](quint64 ticket, double fraction, const QString& stage) {
              const auto job = jobs_.find(ticket);
              if (job == jobs_.end()) return;
              job->fraction = fraction;
              job->stage = stage;
              refresh();
            });
    connect(runner, &JobRunner::finished, this, [this](quint64 ticket) {
      jobs_.remove(ticket);
      refresh();
    });
  }
  refresh();
}

void JobBar::refresh() {
  setVisible(!jobs_.isEmpty());
  if (list_->isVisible()) refreshList();
  if (jobs_.isEmpty()) return;
  show(first_, jobs_.first());
  const auto more = static_cast<int>(jobs_.size()) - 1;
  more_->setVisible(more > 0);
  more_->setText(tr("and %n more", nullptr, more));
  more_->setAccessibleName(more_->text());
}

void JobBar::refreshList() {
  if (jobs_.isEmpty()) {
    list_->close();
    return;
  }
  for (auto line = lines_.begin(); line != lines_.end();) {
    if (jobs_.contains(line.key())) {
      ++line;
      continue;
    }
    const bool focused = line->cancel->hasFocus();
    for (QWidget* part : {static_cast<QWidget*>(line->title), static_cast<QWidget*>(line->bar),
                          static_cast<QWidget*>(line->cancel)}) {
      delete part;
    }
    line = lines_.erase(line);
    if (focused && !lines_.isEmpty()) lines_.first().cancel->setFocus();
  }
  for (auto job = jobs_.cbegin(); job != jobs_.cend(); ++job) {
    if (!lines_.contains(job.key())) {
      const Line line = makeLine(list_, job.key());
      const int row = rows_->rowCount();
      rows_->addWidget(line.title, row, 0);
      rows_->addWidget(line.bar, row, 1);
      rows_->addWidget(line.cancel, row, 2);
      lines_.insert(job.key(), line);
    }
    show(lines_.value(job.key()), job.value());
  }
  list_->adjustSize();
  // Above the bar, which is at the foot of the window.
  const QPoint corner = mapToGlobal(QPoint(width(), 0));
  list_->move(corner - QPoint(list_->width(), list_->height()));
}

void JobBar::openList() {
  refreshList();
  list_->show();
  if (!lines_.isEmpty()) lines_.first().cancel->setFocus();
}

}  // namespace fourbeat::ui
