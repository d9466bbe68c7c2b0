// SPDX-License-Identifier: GPL-3.0-or-later
#include "AxisHand.h"

#include <QKeyEvent>
#include <QWheelEvent>

namespace fourbeat::ui {

AxisKey axisKey(const QKeyEvent& event) {
  using Ask = AxisKey::Ask;
  const bool ctrl = event.modifiers().testFlag(Qt::ControlModifier);
  const bool shift = event.modifiers().testFlag(Qt::ShiftModifier);
  if (event.modifiers().testFlag(Qt::AltModifier)) return {};
  switch (event.key()) {
    case Qt::Key_Left:
      return {ctrl ? Ask::stopBack : Ask::back, shift};
    case Qt::Key_Right:
      return {ctrl ? Ask::stopOn : Ask::on, shift};
    case Qt::Key_Home:
      return {Ask::start, shift};
    case Qt::Key_End:
      return {Ask::end, shift};
    case Qt::Key_PageUp:
      return {Ask::pageBack, false};
    case Qt::Key_PageDown:
      return {Ask::pageOn, false};
    case Qt::Key_Up:
      return {shift ? Ask::taller : Ask::closer, false};
    case Qt::Key_Down:
      return {shift ? Ask::lower : Ask::farther, false};
    case Qt::Key_Plus:
    case Qt::Key_Equal:
      return {Ask::closer, false};
    case Qt::Key_Minus:
      return {Ask::farther, false};
    case Qt::Key_0:
      return {Ask::whole, false};
    case Qt::Key_A:
      return {ctrl ? Ask::selectAll : Ask::nothing, false};
    case Qt::Key_Return:
    case Qt::Key_Enter:
      return {Ask::activate, false};
    case Qt::Key_Escape:
      return {Ask::drop, false};
    default:
      return {};
  }
}

AxisWheel axisWheel(const QWheelEvent& event) {
  const QPoint angle = event.angleDelta();
  // Some platforms turn a wheel sideways while shift or alt is held.
  const double notches = (angle.y() != 0 ? angle.y() : angle.x()) / 120.0;
  if (event.modifiers().testFlag(Qt::ControlModifier)) return {AxisWheel::Ask::zoom, notches};
  if (event.modifiers().testFlag(Qt::ShiftModifier)) return {AxisWheel::Ask::height, notches};
  return {AxisWheel::Ask::scroll, notches};
}

}  // namespace fourbeat::ui
