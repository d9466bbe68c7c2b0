// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "views/DriveTimeline.h"

#include "fourbeat/work/trial.h"

#include <QStringList>
#include <map>
#include <memory>
#include <string>

namespace fourbeat::ui {

/// How F0 … are called, by number.
[[nodiscard]] QStringList keyNamesOf(const model::Project& project);

/// What the timeline draws of a run. keyNames: how F0 … are called, by number.
[[nodiscard]] std::shared_ptr<const DriveChart> chartOf(const work::TrialRun& run,
                                                        const QStringList& keyNames);

/// Makes a chart of what a drive tells, as it comes.
class ChartMaker {
 public:
  /// A chart that grows keeps at least so much, and at most a tenth more.
  static constexpr double kept_s = 3600.0;

  /// lastStep: of the throttle. topSpeed: km/h that the speed's lane has room for, at least.
  ChartMaker(int sampleRateHz, QStringList keyNames, int lastStep, double topSpeed = 0.0);

  /// Moves and events each ascend in time; frames at the sample rate.
  void take(const model::Move& move);
  void take(const drive::Event& event);
  /// Time has gone on to here; returns the time before which the chart is as it was when this was
  /// called before.
  double reach(double seconds);
  /// All that goes on ends here, and the chart grows no more.
  void end(double seconds);

  [[nodiscard]] std::shared_ptr<const DriveChart> chart() const { return chart_; }

 private:
  void takeBeat(const drive::Event& event, double time_s);
  void takeVoice(const drive::Event& event, double time_s);
  void begin(std::vector<DriveChart::Span>& spans, DriveChart::Span span);
  void close(std::vector<DriveChart::Span>& spans, double time_s);
  DriveChart::Lane& laneOf(std::vector<DriveChart::Lane>& lanes, int number);
  void forget(double before_s);
  /// One string for each name, however many spans carry it.
  const QString& shared(const std::string& name);

  std::shared_ptr<DriveChart> chart_;
  int sample_rate_hz_;
  QStringList keyNames_;
  std::map<std::string, QString> names_;
  double beat_s_ = 0.0;
  double changed_s_ = 0.0;  ///< since reach()
};

}  // namespace fourbeat::ui
