// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/take_report.h"
#include "fourbeat/model/take.h"

#include <QHash>
#include <QWidget>
#include <memory>

class QLabel;
class QTableView;

namespace fourbeat::ui {

class ChannelListModel;
class Workspace;

/// The channels of the chosen take: positions of their microphones, and its report. The report is
/// made in a job once the panel is in view, and kept by the take's hash.
class TakeReportPanel : public QWidget {
  Q_OBJECT
 public:
  explicit TakeReportPanel(Workspace& workspace, QWidget* parent = nullptr);

  void setTake(Id<model::Take> take);
  [[nodiscard]] QTableView* table() const { return table_; }
  [[nodiscard]] QString summary() const;

 protected:
  void showEvent(QShowEvent* event) override;

 private:
  using Report = std::shared_ptr<const audio::TakeReport>;
  void refresh();

  Workspace& workspace_;
  ChannelListModel* model_;
  QTableView* table_;
  QLabel* summary_;
  Id<model::Take> take_;
  QHash<QString, Report> known_;  ///< by the take's hash
  QHash<QString, QString> troubles_;
  QString running_;  ///< hash of the take being read
};

}  // namespace fourbeat::ui
