// SPDX-License-Identifier: GPL-3.0-or-later
#include "JobBar.h"

#include "JobRunner.h"
#include "Theme.h"

#include <QHBoxLayout>
#include <QLabel>
#include <QProgressBar>
#include <QToolButton>

namespace fourbeat::ui {

namespace {
constexpr int barWidth = 120;
constexpr int titleWidth = 220;
constexpr int wholePermille = 1000;
}  // namespace

JobBar::JobBar(QWidget* parent)
    : QWidget(parent),
      title_(new QLabel(this)),
      bar_(new QProgressBar(this)),
      cancel_(new QToolButton(this)) {
  setAccessibleName(tr("Running work"));
  auto* row = new QHBoxLayout(this);
  row->setContentsMargins(0, 0, 0, 0);
  row->setSpacing(Theme::gap);
  title_->setMaximumWidth(titleWidth);
  row->addWidget(title_);
  bar_->setFixedWidth(barWidth);
  bar_->setTextVisible(false);
  bar_->setAccessibleName(tr("Progress"));
  row->addWidget(bar_);
  cancel_->setIcon(Theme::instance().icon(QStringLiteral("close")));
  cancel_->setToolTip(tr("Cancel this work"));
  cancel_->setAccessibleName(tr("Cancel this work"));
  row->addWidget(cancel_);
  connect(cancel_, &QToolButton::clicked, this, [this] {
    if (runner_ && !jobs_.isEmpty()) runner_->cancel(jobs_.firstKey());
  });
  refresh();
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
  if (jobs_.isEmpty()) return;
  const Shown& job = jobs_.first();
  QString line = job.title;
  if (jobs_.size() > 1) line = tr("%1 (and %2 more)").arg(line).arg(jobs_.size() - 1);
  title_->setText(title_->fontMetrics().elidedText(line, Qt::ElideRight, titleWidth));
  title_->setToolTip(job.stage.isEmpty() ? line : tr("%1: %2").arg(line, job.stage));
  bar_->setRange(0, job.fraction < 0 ? 0 : wholePermille);
  if (job.fraction >= 0) bar_->setValue(static_cast<int>(job.fraction * wholePermille));
}

}  // namespace fourbeat::ui
