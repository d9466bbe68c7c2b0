// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "views/ClipView.h"

#include "fourbeat/audio/pcm.h"
#include "fourbeat/model/project.h"

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
  /// Each plays from the playhead where it is shown already, else from its beginning.
  void hearRow();
  void hearSweep();
  /// The one that is shown; with no row chosen the sweep.
  void hear();
  [[nodiscard]] ClipView& view() const { return *view_; }
  [[nodiscard]] double speedKmh() const;

 private:
  struct Shown {
    std::shared_ptr<const model::Project> from;  ///< what it was made of
    std::shared_ptr<const audio::Clip> clip;
    double speedKmh = 0.0;  ///< of a row
    std::vector<FrameIndex> beats;
    std::vector<std::pair<FrameIndex, double>> speeds;  ///< of a sweep, ascending
    std::vector<ClipMark> changes;                      ///< where another row takes over
    double turnedDb = 0.0;                              ///< what a loud row or sweep was turned by
  };
  using Made = std::shared_ptr<const Shown>;
  void makeRow(bool play);
  void showMade(const Made& made, const QString& key);
  void playSweep();
  /// Plays what is shown, from the playhead.
  void play();
  /// True while what was made of such a project sounds as it did.
  [[nodiscard]] bool isCurrent(const std::shared_ptr<const model::Project>& from) const;
  void refresh();
  void showSpeedAt(FrameIndex frame);
  [[nodiscard]] QString rowKey() const;

  Workspace& workspace_;
  ClipView* view_;
  QDoubleSpinBox* speed_;
  QPushButton* hear_;
  QPushButton* hearSweep_;
  QLabel* note_;
  Id<model::ChuffRow> row_;
  Made shown_;                                     ///< null: nothing
  Made sweep_;                                     ///< the last one driven
  QString key_;                                    ///< of what is shown
  std::shared_ptr<const model::Project> rowFrom_;  ///< what the row was last made of
};

}  // namespace fourbeat::ui
