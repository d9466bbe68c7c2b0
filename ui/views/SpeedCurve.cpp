// SPDX-License-Identifier: GPL-3.0-or-later
#include "SpeedCurve.h"

#include "Theme.h"

#include <QAccessible>
#include <QKeyEvent>
#include <QMouseEvent>
#include <QPainter>
#include <QPainterPath>
#include <algorithm>
#include <cmath>

namespace fourbeat::ui {

namespace {
constexpr double dot = 3.5;
constexpr double bigDot = 6.0;
constexpr int pageOfLevels = 10;
constexpr int grid = 4;
}  // namespace

SpeedCurve::SpeedCurve(QWidget* parent) : QWidget(parent) {
  setFocusPolicy(Qt::StrongFocus);
  setAccessibleName(tr("Speed table"));
  setToolTip(tr("Drag a point, or choose it with left and right and move it with up and down"));
  connect(&Theme::instance(), &Theme::changed, this, qOverload<>(&QWidget::update));
  readOut();
}

void SpeedCurve::setLevels(const Levels& levels, bool stored) {
  if (levels == levels_ && stored == stored_) return;
  levels_ = levels;
  stored_ = stored;
  readOut();
  update();
}

void SpeedCurve::setCurrent(int step) {
  step = std::clamp(step, 0, steps - 1);
  if (step == current_) return;
  current_ = step;
  readOut();
  update();
}

QSize SpeedCurve::sizeHint() const {
  const int letter = fontMetrics().averageCharWidth();
  return {letter * 50, letter * 26};
}

QSize SpeedCurve::minimumSizeHint() const {
  return sizeHint() / 2;
}

QRectF SpeedCurve::plot() const {
  const QFontMetrics metrics(Theme::instance().smallFont());
  const double left = metrics.horizontalAdvance(QStringLiteral("255")) + 2.0 * Theme::gap;
  const double below = metrics.height() + Theme::gap;
  return QRectF(rect()).adjusted(left, metrics.height(), -Theme::margin, -below);
}

QPointF SpeedCurve::place(int step, int level) const {
  const QRectF area = plot();
  return {area.left() + area.width() * step / (steps - 1),
          area.bottom() - area.height() * std::clamp(level, 0, highest) / highest};
}

int SpeedCurve::stepAt(double x) const {
  const QRectF area = plot();
  return std::clamp(static_cast<int>(std::lround((x - area.left()) / area.width() * (steps - 1))),
                    0, steps - 1);
}

int SpeedCurve::levelAt(double y) const {
  const QRectF area = plot();
  return std::clamp(static_cast<int>(std::lround((area.bottom() - y) / area.height() * highest)), 0,
                    highest);
}

void SpeedCurve::readOut() {
  setAccessibleDescription(tr("Step %1 of %2: level %3")
                               .arg(current_ + 1)
                               .arg(steps)
                               .arg(levels_.at(static_cast<std::size_t>(current_))));
  QAccessibleEvent event(this, QAccessible::DescriptionChanged);
  QAccessible::updateAccessibility(&event);
}

void SpeedCurve::move(int level, bool finished) {
  level = std::clamp(level, 0, highest);
  int& now = levels_.at(static_cast<std::size_t>(current_));
  if (level == now && !finished) return;
  now = level;
  readOut();
  update();
  Q_EMIT levelMoved(current_, level, finished);
}

void SpeedCurve::mousePressEvent(QMouseEvent* event) {
  if (event->button() != Qt::LeftButton) return;
  setCurrent(stepAt(event->position().x()));
  dragging_ = true;
  move(levelAt(event->position().y()), false);
}

void SpeedCurve::mouseMoveEvent(QMouseEvent* event) {
  if (dragging_) move(levelAt(event->position().y()), false);
}

void SpeedCurve::mouseReleaseEvent(QMouseEvent* event) {
  if (event->button() != Qt::LeftButton || !dragging_) return;
  dragging_ = false;
  move(levels_.at(static_cast<std::size_t>(current_)), true);
}

void SpeedCurve::keyPressEvent(QKeyEvent* event) {
  const int level = levels_.at(static_cast<std::size_t>(current_));
  switch (event->key()) {
    case Qt::Key_Left:
      return setCurrent(current_ - 1);
    case Qt::Key_Right:
      return setCurrent(current_ + 1);
    case Qt::Key_Home:
      return setCurrent(0);
    case Qt::Key_End:
      return setCurrent(steps - 1);
    case Qt::Key_Up:
      return move(level + 1, !event->isAutoRepeat());
    case Qt::Key_Down:
      return move(level - 1, !event->isAutoRepeat());
    case Qt::Key_PageUp:
      return move(level + pageOfLevels, !event->isAutoRepeat());
    case Qt::Key_PageDown:
      return move(level - pageOfLevels, !event->isAutoRepeat());
    default:
      QWidget::keyPressEvent(event);
  }
}

void SpeedCurve::focusInEvent(QFocusEvent* event) {
  QWidget::focusInEvent(event);
  update();
}

void SpeedCurve::focusOutEvent(QFocusEvent* event) {
  QWidget::focusOutEvent(event);
  update();
}

void SpeedCurve::paintEvent(QPaintEvent* /*event*/) {
  const Theme& theme = Theme::instance();
  QPainter painter(this);
  painter.setRenderHint(QPainter::Antialiasing);
  painter.setFont(theme.smallFont());
  const QRectF area = plot();
  painter.fillRect(area, theme.color(Theme::Ink::surface));
  for (int i = 0; i <= grid; ++i) {
    const int level = i == grid ? highest : i * (highest + 1) / grid;
    const double y = place(0, level).y();
    painter.setPen(theme.color(Theme::Ink::line));
    painter.drawLine(QPointF(area.left(), y), QPointF(area.right(), y));
    painter.setPen(theme.color(Theme::Ink::mutedText));
    painter.drawText(QRectF(0, y - area.height(), area.left() - Theme::gap, 2 * area.height()),
                     Qt::AlignRight | Qt::AlignVCenter, QString::number(level));
  }
  const double below = height() - area.bottom();
  for (const int step : {1, 7, 14, 21, 28}) {
    const double x = place(step - 1, 0).x();
    painter.drawText(QRectF(x - area.width(), area.bottom(), 2 * area.width(), below),
                     Qt::AlignHCenter | Qt::AlignBottom, QString::number(step));
  }
  const QColor ink = theme.color(stored_ ? Theme::Ink::accent : Theme::Ink::mutedText);
  QPainterPath path(place(0, levels_[0]));
  for (int step = 1; step < steps; ++step)
    path.lineTo(place(step, levels_.at(static_cast<std::size_t>(step))));
  painter.setPen(QPen(ink, 2, stored_ ? Qt::SolidLine : Qt::DashLine));
  painter.drawPath(path);
  painter.setPen(Qt::NoPen);
  painter.setBrush(ink);
  for (int step = 0; step < steps; ++step)
    painter.drawEllipse(place(step, levels_.at(static_cast<std::size_t>(step))), dot, dot);
  const int level = levels_.at(static_cast<std::size_t>(current_));
  const QPointF here = place(current_, level);
  painter.setBrush(Qt::NoBrush);
  painter.setPen(QPen(theme.color(hasFocus() ? Theme::Ink::focus : Theme::Ink::text), 2));
  painter.drawEllipse(here, bigDot, bigDot);
  // The read-out keeps to the corner that a speed curve leaves free.
  painter.setFont(theme.bodyFont());
  painter.setPen(theme.color(Theme::Ink::text));
  painter.drawText(area.adjusted(Theme::gap, Theme::gap, 0, 0), Qt::AlignLeft | Qt::AlignTop,
                   tr("step %1 of %2: %3").arg(current_ + 1).arg(steps).arg(level));
}

}  // namespace fourbeat::ui
