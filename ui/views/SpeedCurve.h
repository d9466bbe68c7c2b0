// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>
#include <array>

namespace fourbeat::ui {

/// The 28 drive levels of the speed table as one curve. A point is dragged with the mouse, or moved
/// with the keys: left and right choose the step, up and down change its level by 1, page up and
/// page down by 10, home and end go to the first and last step. The level is read out as it moves.
class SpeedCurve : public QWidget {
  Q_OBJECT
 public:
  static constexpr int steps = 28;
  static constexpr int highest = 255;
  using Levels = std::array<int, steps>;

  explicit SpeedCurve(QWidget* parent = nullptr);

  /// stored: false where the set has no table: the curve is then drawn broken.
  void setLevels(const Levels& levels, bool stored);
  [[nodiscard]] const Levels& levels() const { return levels_; }
  /// The chosen step, from 0.
  [[nodiscard]] int current() const { return current_; }
  void setCurrent(int step);
  /// Where a level of a step is drawn.
  [[nodiscard]] QPointF place(int step, int level) const;

  [[nodiscard]] QSize sizeHint() const override;
  [[nodiscard]] QSize minimumSizeHint() const override;

 Q_SIGNALS:
  /// A level was changed by hand; `finished`: the drag or key press is over.
  void levelMoved(int step, int level, bool finished);

 protected:
  void paintEvent(QPaintEvent* event) override;
  void mousePressEvent(QMouseEvent* event) override;
  void mouseMoveEvent(QMouseEvent* event) override;
  void mouseReleaseEvent(QMouseEvent* event) override;
  void keyPressEvent(QKeyEvent* event) override;
  void focusInEvent(QFocusEvent* event) override;
  void focusOutEvent(QFocusEvent* event) override;

 private:
  [[nodiscard]] QRectF plot() const;
  [[nodiscard]] int stepAt(double x) const;
  [[nodiscard]] int levelAt(double y) const;
  void move(int level, bool finished);
  void readOut();

  Levels levels_{};
  bool stored_ = false;
  bool dragging_ = false;
  int current_ = 0;
};

}  // namespace fourbeat::ui
