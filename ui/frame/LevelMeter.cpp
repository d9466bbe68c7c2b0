// SPDX-License-Identifier: GPL-3.0-or-later
#include "LevelMeter.h"

#include "Theme.h"

#include <QKeyEvent>
#include <QLocale>
#include <QPainter>
#include <QTimerEvent>
#include <cmath>

namespace fourbeat::ui {

namespace {

constexpr double floorDb = -60.0;
constexpr double fallDbPerSecond = 20.0;
constexpr int tickMs = 33;
constexpr int holdTicks = 2000 / tickMs;
constexpr int meterWidth = 150;
constexpr int meterHeight = 8;
constexpr int figureGap = 6;

double fraction(double db) {
  return std::clamp((db - floorDb) / -floorDb, 0.0, 1.0);
}

}  // namespace

LevelMeter::LevelMeter(QWidget* parent) : QWidget(parent), shownDb_(floorDb), heldDb_(floorDb) {
  setAccessibleName(tr("Level"));
  setToolTip(
      tr("Level of what is played, in dB below full scale, whatever the monitor volume. Click, or "
         "press Return, to forget an overload."));
  setFocusPolicy(Qt::TabFocus);
  setSizePolicy(QSizePolicy::Fixed, QSizePolicy::Fixed);
}

QSize LevelMeter::sizeHint() const {
  const QFontMetrics metrics(Theme::instance().figureFont());
  return {meterWidth + figureGap + metrics.horizontalAdvance(QStringLiteral("-00.0 dB")),
          std::max(24, metrics.height())};
}

void LevelMeter::setPeak(float peak) {
  const double db = peak > 0.0F ? 20.0 * std::log10(static_cast<double>(peak)) : floorDb;
  if (db > 0.0) setOver(true);
  shownDb_ = std::max(shownDb_, std::max(db, floorDb));
  if (db >= heldDb_) {
    heldDb_ = db;
    heldTicks_ = holdTicks;
  }
  if (timer_ == 0 && shownDb_ > floorDb) timer_ = startTimer(tickMs);
  update();
}

void LevelMeter::timerEvent(QTimerEvent* event) {
  if (event->timerId() != timer_) return QWidget::timerEvent(event);
  shownDb_ = std::max(floorDb, shownDb_ - fallDbPerSecond * tickMs / 1000.0);
  if (heldTicks_ > 0 && --heldTicks_ == 0) heldDb_ = floorDb;
  if (shownDb_ <= floorDb && heldTicks_ == 0) {
    killTimer(timer_);
    timer_ = 0;
  }
  update();
}

void LevelMeter::setOver(bool over) {
  if (over == over_) return;
  over_ = over;
  setAccessibleDescription(over ? tr("It was over full scale.") : QString());
  update();
}

void LevelMeter::mousePressEvent(QMouseEvent*) {
  setOver(false);
}

void LevelMeter::keyPressEvent(QKeyEvent* event) {
  if (event->key() != Qt::Key_Return && event->key() != Qt::Key_Enter)
    return QWidget::keyPressEvent(event);
  setOver(false);
}

void LevelMeter::paintEvent(QPaintEvent*) {
  const Theme& theme = Theme::instance();
  QPainter painter(this);
  const QRectF bar(0.5, (height() - meterHeight) / 2.0, meterWidth, meterHeight);
  painter.setPen(theme.color(Theme::Ink::line));
  painter.setBrush(theme.color(Theme::Ink::surface));
  painter.drawRect(bar);
  const QRectF inner = bar.adjusted(1, 1, -1, -1);
  painter.setPen(Qt::NoPen);
  painter.setBrush(theme.color(over_ ? Theme::Ink::error : Theme::Ink::waveBody));
  painter.drawRect(
      QRectF(inner.left(), inner.top(), inner.width() * fraction(shownDb_), inner.height()));
  painter.setPen(theme.color(Theme::Ink::line));
  for (const double db : {-48.0, -36.0, -24.0, -12.0, -6.0}) {
    const double x = inner.left() + inner.width() * fraction(db);
    painter.drawLine(QPointF(x, bar.top()), QPointF(x, bar.bottom()));
  }
  if (heldDb_ > floorDb) {
    painter.setPen(QPen(theme.color(Theme::Ink::text), 2));
    const double x = inner.left() + inner.width() * fraction(heldDb_);
    painter.drawLine(QPointF(x, inner.top()), QPointF(x, inner.bottom()));
  }
  painter.setFont(theme.smallFont());
  painter.setPen(theme.color(over_ ? Theme::Ink::error : Theme::Ink::mutedText));
  const QString figure = over_ ? tr("over 0 dB")
                         : heldDb_ <= floorDb
                             ? tr("−∞ dB")
                             : tr("%1 dB").arg(QLocale().toString(heldDb_, 'f', 1));
  painter.drawText(QRectF(bar.right() + figureGap, 0, width() - bar.right() - figureGap, height()),
                   Qt::AlignVCenter | Qt::AlignLeft, figure);
  if (hasFocus()) Theme::drawFocusRing(painter, rect());
}

}  // namespace fourbeat::ui
