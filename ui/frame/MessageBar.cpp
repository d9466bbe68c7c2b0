// SPDX-License-Identifier: GPL-3.0-or-later
#include "MessageBar.h"

#include "Theme.h"

#include <QAccessible>
#include <QHBoxLayout>
#include <QLabel>
#include <QTimer>
#include <QToolButton>

namespace fourbeat::ui {

namespace {
constexpr int noticeMs = 6000;
constexpr int signSize = 18;
}  // namespace

MessageBar::MessageBar(QWidget* parent)
    : QFrame(parent),
      sign_(new QLabel(this)),
      text_(new QLabel(this)),
      dismiss_(new QToolButton(this)),
      fade_(new QTimer(this)) {
  setObjectName(QStringLiteral("messageBar"));
  setAccessibleName(tr("Message"));
  auto* row = new QHBoxLayout(this);
  row->setContentsMargins(Theme::margin, Theme::tight, Theme::gap, Theme::tight);
  row->setSpacing(Theme::gap);
  row->addWidget(sign_);
  text_->setWordWrap(true);
  text_->setTextInteractionFlags(Qt::TextSelectableByMouse | Qt::TextSelectableByKeyboard);
  row->addWidget(text_, 1);
  dismiss_->setIcon(Theme::instance().icon(QStringLiteral("close")));
  dismiss_->setAutoRaise(true);
  dismiss_->setToolTip(tr("Dismiss"));
  dismiss_->setAccessibleName(tr("Dismiss the message"));
  row->addWidget(dismiss_);
  connect(dismiss_, &QToolButton::clicked, this, &QWidget::hide);
  fade_->setSingleShot(true);
  fade_->setInterval(noticeMs);
  connect(fade_, &QTimer::timeout, this, &QWidget::hide);
  connect(&Theme::instance(), &Theme::changed, this, &MessageBar::dress);
  hide();
}

void MessageBar::tell(const QString& line, bool trouble) {
  trouble_ = trouble;
  text_->setText(line);
  text_->setAccessibleName(line);
  dress();
  show();
  fade_->stop();
  if (!trouble) fade_->start();
  QAccessibleEvent event(text_, QAccessible::Alert);
  QAccessible::updateAccessibility(&event);
}

QString MessageBar::line() const {
  return isHidden() ? QString() : text_->text();
}

void MessageBar::dress() {
  const Theme& theme = Theme::instance();
  const Theme::Ink ink = trouble_ ? Theme::Ink::error : Theme::Ink::good;
  sign_->setPixmap(theme.icon(trouble_ ? QStringLiteral("error") : QStringLiteral("good"), ink)
                       .pixmap(QSize(signSize, signSize), devicePixelRatioF()));
  setStyleSheet(QStringLiteral("#messageBar { background: %1; border-bottom: 2px solid %2; }")
                    .arg(theme.color(Theme::Ink::surface).name(), theme.color(ink).name()));
}

}  // namespace fourbeat::ui
