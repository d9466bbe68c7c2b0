// SPDX-License-Identifier: GPL-3.0-or-later
#include "BudgetBar.h"

#include "Theme.h"
#include "Wording.h"
#include "Workspace.h"

#include <QHBoxLayout>
#include <QKeyEvent>
#include <QLabel>
#include <QPainter>
#include <QProgressBar>

namespace fourbeat::ui {

namespace {
constexpr int usedWidth = 70;
constexpr int signSize = 16;
constexpr int wholePermille = 1000;
}  // namespace

BudgetBar::BudgetBar(QWidget* parent)
    : QWidget(parent),
      sign_(new QLabel(this)),
      figures_(new QLabel(this)),
      used_(new QProgressBar(this)) {
  setAccessibleName(tr("Budget"));
  setFocusPolicy(Qt::TabFocus);
  setCursor(Qt::PointingHandCursor);
  setToolTip(tr("What the set takes of the decoder's memory and voices. Click for the Fit page."));
  auto* row = new QHBoxLayout(this);
  row->setContentsMargins(Theme::tight, 0, Theme::tight, 0);
  row->setSpacing(Theme::gap);
  used_->setFixedWidth(usedWidth);
  used_->setTextVisible(false);
  used_->setRange(0, wholePermille);
  used_->setAccessibleName(tr("Memory used"));
  row->addWidget(sign_);
  row->addWidget(used_);
  row->addWidget(figures_);
  connect(&Theme::instance(), &Theme::changed, this, &BudgetBar::refresh);
  setWorkspace(nullptr);
}

void BudgetBar::setWorkspace(Workspace* workspace) {
  workspace_ = workspace;
  if (workspace != nullptr) {
    connect(&workspace->live(), &LiveCheck::updated, this, &BudgetBar::refresh);
  }
  setVisible(workspace != nullptr);
  refresh();
}

QString BudgetBar::figures() const {
  return figures_->text();
}

void BudgetBar::refresh() {
  if (!workspace_) return;
  const auto checked = workspace_->live().checked();
  const Theme& theme = Theme::instance();
  const auto sign = [&](const QString& icon, Theme::Ink ink) {
    sign_->setPixmap(theme.icon(icon, ink).pixmap(QSize(signSize, signSize), devicePixelRatioF()));
  };
  used_->setVisible(checked && checked->fitted);
  if (checked && checked->fitted) {
    const fit::FitReport& fit = checked->fitted->fit;
    const int voices = checked->fitted->profile.voices;
    const std::optional<int> wanted = work::voices_wanted(checked->cards);
    used_->setValue(static_cast<int>(std::min<std::int64_t>(
        wholePermille,
        fit.bytes_used * wholePermille / std::max<std::int64_t>(1, fit.bytes_available))));
    const QString memory =
        tr("Memory %1 of %2 MiB").arg(mebibytes(fit.bytes_used), mebibytes(fit.bytes_available));
    QString line = wanted ? tr("%1 · voices %2 of %3").arg(memory).arg(*wanted).arg(voices)
                          : tr("%1 · voices: no run card").arg(memory);
    showOver(used_, fit.bytes_used > fit.bytes_available);
    const auto pieces = static_cast<int>(fit.sounds.size());
    if (pieces > fit.max_sounds)
      line = tr("%1 · pieces %2 of %3").arg(line).arg(pieces).arg(fit.max_sounds);
    if (!fit.fits) line = tr("Does not fit: %1").arg(line);
    if (!workspace_->live().isCurrent()) line += tr(" …");
    figures_->setText(line);
    if (!fit.fits || wanted.value_or(0) > voices) {
      sign(QStringLiteral("warning"), Theme::Ink::warning);
    } else if (!wanted) {
      sign(QStringLiteral("unknown"), Theme::Ink::mutedText);
    } else {
      sign(QStringLiteral("good"), Theme::Ink::good);
    }
  } else {
    sign(QStringLiteral("unknown"), Theme::Ink::mutedText);
    if (workspace_->project().decoder.empty()) {
      figures_->setText(tr("No decoder chosen"));
    } else if (!workspace_->live().trouble().isEmpty()) {
      figures_->setText(tr("Cannot be fitted: see the Fit page"));
      sign(QStringLiteral("warning"), Theme::Ink::warning);
    } else if (checked) {
      figures_->setText(tr("Nothing to fit yet"));
    } else {
      figures_->setText(tr("Fitting …"));
    }
  }
  setAccessibleDescription(figures_->text());
}

void BudgetBar::mouseReleaseEvent(QMouseEvent*) {
  Q_EMIT activated();
}

void BudgetBar::keyPressEvent(QKeyEvent* event) {
  if (event->key() == Qt::Key_Return || event->key() == Qt::Key_Enter) {
    Q_EMIT activated();
    return;
  }
  QWidget::keyPressEvent(event);
}

void BudgetBar::paintEvent(QPaintEvent* event) {
  QWidget::paintEvent(event);
  if (!hasFocus()) return;
  QPainter painter(this);
  Theme::drawFocusRing(painter, rect());
}

}  // namespace fourbeat::ui
