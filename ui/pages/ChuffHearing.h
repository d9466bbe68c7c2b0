// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "views/ClipView.h"

#include "fourbeat/audio/pcm.h"
#include "fourbeat/model/chuff_table.h"
#include "fourbeat/model/engine.h"

#include <QWidget>
#include <memory>
#include <utility>
#include <vector>

class QDoubleSpinBox;
class QLabel;
class QPushButton;

namespace fourbeat::ui {

class Workspace;

/// Hearing the chuff table: the chosen row at a steady speed, or a sweep of the whole table from
/// rest to top speed and back. Both are made in jobs and shown.
class ChuffHearing : public QWidget {
  Q_OBJECT
 public:
  explicit ChuffHearing(Workspace& workspace, QWidget* parent = nullptr);

  /// Shows a row, at a speed in its middle.
  void setRow(Id<model::ChuffRow> row);
  void hearRow();
  void hearSweep();
  [[nodiscard]] ClipView& view() const { return *view_; }
  [[nodiscard]] double speedKmh() const;

 private:
  using Clip = std::shared_ptr<const audio::Clip>;
  struct Shown {
    Clip clip;
    std::vector<FrameIndex> beats;
    std::vector<std::pair<FrameIndex, double>> speeds;  ///< of a sweep, ascending
    std::vector<ClipMark> changes;                      ///< where another row takes over
    double turnedDb = 0.0;                              ///< what a loud row or sweep was turned by
  };
  void makeRow(bool play);
  void showMade(const Shown& shown, const QString& key);
  void play(const QString& title, FrameIndex from);
  void refresh();
  void showSpeedAt(FrameIndex frame);
  [[nodiscard]] QString rowKey() const;

  Workspace& workspace_;
  ClipView* view_;
  QDoubleSpinBox* speed_;
  QPushButton* hear_;
  QPushButton* sweep_;
  QLabel* note_;
  Id<model::ChuffRow> row_;
  Shown shown_;
  QString key_;                                           ///< of what is shown
  std::pair<model::ChuffTable, model::Engine> madeFrom_;  ///< what the row shown was made from
};

}  // namespace fourbeat::ui
