// SPDX-License-Identifier: GPL-3.0-or-later
#include "SnagPanel.h"

#include "Theme.h"
#include "Workspace.h"
#include "models/SnagListModel.h"

#include <QLabel>
#include <QListView>
#include <QVBoxLayout>

namespace fourbeat::ui {

SnagPanel::SnagPanel(QWidget* parent)
    : QWidget(parent),
      model_(new SnagListModel(this)),
      state_(new QLabel(this)),
      list_(new QListView(this)),
      mend_(new QLabel(this)) {
  auto* column = new QVBoxLayout(this);
  column->setContentsMargins(Theme::gap, Theme::gap, Theme::gap, Theme::gap);
  column->setSpacing(Theme::gap);
  state_->setProperty("role", QStringLiteral("muted"));
  state_->setWordWrap(true);
  column->addWidget(state_);
  list_->setModel(model_);
  list_->setWordWrap(true);
  list_->setResizeMode(QListView::Adjust);
  list_->setSpacing(1);
  list_->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  list_->setAccessibleName(tr("Snags"));
  column->addWidget(list_, 1);
  mend_->setWordWrap(true);
  mend_->setTextInteractionFlags(Qt::TextSelectableByMouse);
  mend_->setAccessibleName(tr("How to mend it"));
  column->addWidget(mend_);
  const auto go = [this](const QModelIndex& index) {
    if (workspace_) workspace_->reveal(index.data(SnagListModel::pointerRole).toString());
  };
  connect(list_, &QListView::clicked, this, go);
  connect(list_, &QListView::activated, this, go);
  connect(list_->selectionModel(), &QItemSelectionModel::currentChanged, this,
          &SnagPanel::showMend);
  connect(model_, &QAbstractItemModel::modelReset, this, &SnagPanel::showMend);
  connect(&Theme::instance(), &Theme::changed, list_->viewport(), qOverload<>(&QWidget::update));
  setWorkspace(nullptr);
}

void SnagPanel::setWorkspace(Workspace* workspace) {
  workspace_ = workspace;
  if (workspace != nullptr) {
    connect(&workspace->live(), &LiveCheck::updated, this, &SnagPanel::refresh);
  }
  refresh();
}

QString SnagPanel::summary() const {
  QStringList parts;
  const auto count = [&](check::Severity severity, const QString& one, const QString& many) {
    const int n = model_->count(severity);
    if (n > 0) parts << (n == 1 ? one : many.arg(n));
  };
  count(check::Severity::error, tr("1 error"), tr("%1 errors"));
  count(check::Severity::warning, tr("1 warning"), tr("%1 warnings"));
  count(check::Severity::hint, tr("1 hint"), tr("%1 hints"));
  return parts.isEmpty() ? tr("No snags") : parts.join(tr(", "));
}

void SnagPanel::refresh() {
  const LiveCheck* live = workspace_ ? &workspace_->live() : nullptr;
  const auto checked = live != nullptr ? live->checked() : nullptr;
  model_->setSnags(checked ? checked->snags : std::vector<check::Snag>());
  model_->setStale(live != nullptr && !live->isCurrent());
  if (live == nullptr) {
    state_->setText(tr("No project is open."));
  } else if (!live->trouble().isEmpty()) {
    state_->setText(live->trouble());
  } else if (!live->isCurrent()) {
    state_->setText(checked ? tr("Checking again …") : tr("Checking …"));
  } else {
    state_->setText(model_->rowCount() == 0 ? tr("Nothing to mend.")
                                            : tr("Click one to go to its place."));
  }
  Q_EMIT summaryChanged();
}

void SnagPanel::showMend() {
  const QString mend = list_->currentIndex().data(SnagListModel::mendRole).toString();
  mend_->setVisible(!mend.isEmpty());
  mend_->setText(tr("Mend: %1").arg(mend));
}

}  // namespace fourbeat::ui
