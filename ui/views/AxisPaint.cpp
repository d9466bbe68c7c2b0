// SPDX-License-Identifier: GPL-3.0-or-later
#include "AxisPaint.h"

#include "Theme.h"

#include <QPainter>

namespace fourbeat::ui {

void drawSelected(QPainter& painter, const QRectF& area, double hair) {
  const Theme& theme = Theme::instance();
  painter.fillRect(area, theme.color(Theme::Ink::selectionVeil));
  const QColor edge = theme.color(Theme::Ink::accent);
  painter.fillRect(QRectF(area.left(), area.top(), hair, area.height()), edge);
  painter.fillRect(QRectF(area.right() - hair, area.top(), hair, area.height()), edge);
}

void drawUpright(QPainter& painter, const QRect& line, const QColor& color) {
  painter.fillRect(line.adjusted(-1, 0, 1, 0), Theme::instance().color(Theme::Ink::surface));
  painter.fillRect(line, color);
}

}  // namespace fourbeat::ui
