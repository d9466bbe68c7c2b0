// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QRectF>

class QPainter;

namespace fourbeat::ui {

/// What is selected of a view along a time axis: a veil, and a line of `hair` at either edge.
void drawSelected(QPainter& painter, const QRectF& area, double hair);

}  // namespace fourbeat::ui
