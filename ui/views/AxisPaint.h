// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QRect>
#include <QRectF>

class QColor;
class QPainter;

namespace fourbeat::ui {

/// What is selected of a view along a time axis: a veil, and a line of `hair` at either edge.
void drawSelected(QPainter& painter, const QRectF& area, double hair);

/// An upright line of a view's own over a wave: with a line of the paper, one pixel of the painter
/// wide, on either side, so that it stands out from whatever lies behind it.
void drawUpright(QPainter& painter, const QRect& line, const QColor& color);

}  // namespace fourbeat::ui
