// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/work/trial.h"

#include <QAbstractTableModel>
#include <QFlags>
#include <QString>
#include <memory>
#include <vector>

namespace fourbeat::ui {

/// The words of drive's names for states ("standing") and reasons ("stolen").
[[nodiscard]] QString driveWord(const std::string& name);

/// What happened in a run, by time; kinds can be left out.
class DriveEventModel : public QAbstractTableModel {
  Q_OBJECT
 public:
  enum Column { timeColumn, kindColumn, whatColumn };
  static constexpr int columns = whatColumn + 1;
  enum Role { secondsRole = Qt::UserRole };
  enum Kind { states = 1, keys = 2, voices = 4, beats = 8, cvs = 16, speeds = 32 };
  Q_DECLARE_FLAGS(Kinds, Kind)

  using QAbstractTableModel::QAbstractTableModel;

  /// keyNames: how F0 … are called, by number.
  void setRun(std::shared_ptr<const work::TrialRun> run, QStringList keyNames);
  /// Events that a growing list keeps; of more the oldest are dropped.
  static constexpr std::size_t mostLogged = 100'000;
  /// An empty list in the place of a run's, which append() lets grow until a run is set.
  /// sampleRateHz: of its frames.
  void beginLog(int sampleRateHz, QStringList keyNames);
  void append(const std::vector<drive::Event>& events);
  [[nodiscard]] bool hasRun() const { return run_ != nullptr; }
  void setKinds(Kinds kinds);
  [[nodiscard]] Kinds kinds() const { return kinds_; }
  /// The last row at or before a time, or -1.
  [[nodiscard]] int rowAt(double time_s) const;

  [[nodiscard]] int rowCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] int columnCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] QVariant data(const QModelIndex& index, int role) const override;
  [[nodiscard]] QVariant headerData(int section, Qt::Orientation orientation,
                                    int role) const override;

 private:
  void choose();
  void dropOldest(std::size_t count);
  [[nodiscard]] QString shown(const drive::Event& event, int column) const;
  [[nodiscard]] double secondsOf(const drive::Event& event) const;
  [[nodiscard]] const std::vector<drive::Event>& events() const;

  std::shared_ptr<const work::TrialRun> run_;
  std::vector<drive::Event> log_;  ///< where there is no run
  int log_rate_hz_ = 1;
  QStringList keyNames_;
  Kinds kinds_ = Kinds(states | keys | voices | cvs);
  std::vector<std::size_t> shown_;  ///< indices into events()
};

}  // namespace fourbeat::ui

// In no namespace: within fourbeat::ui it would hide the operators of Qt, which are in none.
Q_DECLARE_OPERATORS_FOR_FLAGS(fourbeat::ui::DriveEventModel::Kinds)
