// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/segment.h"

#include <QWidget>
#include <functional>

class QDoubleSpinBox;
class QLabel;
class QLineEdit;
class QPushButton;
class QTableView;

namespace fourbeat::ui {

class CleanStepModel;
class MixModel;
class TrackView;
class Workspace;

/// Edges, gain, fades, mix and clean steps of the chosen segment.
class SegmentPanel : public QWidget {
  Q_OBJECT
 public:
  SegmentPanel(Workspace& workspace, TrackView& track, QWidget* parent = nullptr);

  void setSegment(Id<model::Segment> segment);
  /// Trims the segment to the selection of the track.
  void trimToSelection();
  /// Plays the segment without its clean steps, at the loudness it has with them.
  void hearUncleaned();
  void saveWav();
  /// Asks where to save; "" cancels. Replaced by tests.
  std::function<QString(const QString& suggestion)>& saveFile() { return saveFile_; }
  [[nodiscard]] QTableView* mixTable() const { return mixTable_; }
  [[nodiscard]] QTableView* cleanTable() const { return cleanTable_; }

 private:
  void refresh();
  void change(const QString& what, const char* key,
              const std::function<void(model::Segment&, double rateHz)>& how);
  [[nodiscard]] const model::Segment* segment() const;
  [[nodiscard]] double rateHz() const;

  Workspace& workspace_;
  TrackView& track_;
  MixModel* mix_;
  CleanStepModel* clean_;
  QLineEdit* name_;
  QDoubleSpinBox* start_;
  QDoubleSpinBox* end_;
  QDoubleSpinBox* gain_;
  QDoubleSpinBox* fadeIn_;
  QDoubleSpinBox* fadeOut_;
  QPushButton* trim_;
  QPushButton* compare_;
  QPushButton* save_;
  QLabel* compared_;
  QTableView* mixTable_;
  QTableView* cleanTable_;
  QPushButton* addHighPass_;
  QPushButton* addHumNotch_;
  QPushButton* removeStep_;
  std::function<QString(const QString&)> saveFile_;
  Id<model::Segment> segment_;
};

}  // namespace fourbeat::ui
