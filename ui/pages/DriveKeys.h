// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "models/DriveKeyModel.h"

#include "fourbeat/drive/engine.h"

#include <QMap>
#include <QTableView>

namespace fourbeat::ui {

/// The keys of the set as a list: a row is pressed by the pointer, by the space bar, or by the key
/// of the keyboard that is shown beside it, and let go of.
class DriveKeys : public QTableView {
  Q_OBJECT
 public:
  explicit DriveKeys(QWidget* parent = nullptr);

  /// All off.
  void begin(const model::Project& project);
  [[nodiscard]] const DriveKeyModel& keys() const { return *keys_; }

  /// True when a row has this key of the keyboard (Qt::Key); `act`: it is pressed.
  bool press(int key, bool act);
  /// Lets go of the row that a key of the keyboard holds; false when it holds none.
  bool release(int key);
  [[nodiscard]] bool isHeld(int key) const { return held_.contains(key); }
  void letAllGo();

 Q_SIGNALS:
  void given(const drive::Command& command);

 protected:
  void mousePressEvent(QMouseEvent* event) override;
  void mouseDoubleClickEvent(QMouseEvent* event) override { mousePressEvent(event); }
  void mouseReleaseEvent(QMouseEvent* event) override;
  void keyPressEvent(QKeyEvent* event) override;
  void keyReleaseEvent(QKeyEvent* event) override;

 private:
  void hold(int key, int row);
  void giveKey(int row, bool on);
  /// A key of the set goes down or up, by hand.
  void operate(int row, bool down);

  DriveKeyModel* keys_;
  QMap<int, int> held_;  ///< row of the key of the set, by the Qt::Key that holds it
};

}  // namespace fourbeat::ui
