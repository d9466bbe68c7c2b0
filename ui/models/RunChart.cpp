// SPDX-License-Identifier: GPL-3.0-or-later
#include "RunChart.h"

#include "DriveEventModel.h"
#include "Wording.h"

#include <algorithm>
#include <map>

namespace fourbeat::ui {

namespace {

/// Beats further apart than this are no longer one stretch of working.
constexpr double beatsApart_s = 2.0;
constexpr double lastBeat_s = 0.3;

class ChartMaker {
 public:
  ChartMaker(const work::TrialRun& run, const QStringList& keyNames)
      : run_(run), keyNames_(keyNames) {}

  std::shared_ptr<const DriveChart> make() {
    chart_.seconds = static_cast<double>(run_.output.mix.size()) / run_.output.sample_rate_hz;
    chart_.regulatorMost = model::last_step(run_.card.speed_steps);
    for (const model::Move& move : run_.card.moves) {
      if (const auto* throttle = std::get_if<model::MoveThrottle>(&move.what))
        chart_.regulator.push_back({move.time_s, static_cast<double>(throttle->step)});
    }
    for (const drive::Event& event : run_.output.events)
      take(event);
    endStretch(std::min(chart_.seconds, beat_s_ + lastBeat_s));
    close(chart_.states, chart_.seconds);
    for (auto& [number, lane] : keys_) {
      close(lane.spans, chart_.seconds);
      chart_.keys.push_back(std::move(lane));
    }
    for (auto& [number, lane] : voices_) {
      close(lane.spans, chart_.seconds);
      chart_.voices.push_back(std::move(lane));
    }
    return std::make_shared<const DriveChart>(std::move(chart_));
  }

 private:
  /// A span that is still going on ends before it starts.
  static constexpr double open_s = -1.0;

  static void close(std::vector<DriveChart::Span>& spans, double time_s) {
    if (!spans.empty() && spans.back().to_s == open_s) spans.back().to_s = time_s;
  }

  void endStretch(double time_s) { close(chart_.efforts, time_s); }

  void takeBeat(const drive::Event& event, double time_s) {
    const int level = static_cast<int>(event.effort);
    const bool open = !chart_.efforts.empty() && chart_.efforts.back().to_s == open_s;
    const bool far = open && time_s - beat_s_ > beatsApart_s;
    if (far) endStretch(beat_s_ + lastBeat_s);
    if (!open || far || chart_.effortLevels.back() != level) {
      endStretch(time_s);
      chart_.efforts.push_back({time_s, open_s, word(event.effort), {}});
      chart_.effortLevels.push_back(level);
    }
    beat_s_ = time_s;
  }

  void take(const drive::Event& event) {
    const double time_s = static_cast<double>(event.frame) / run_.output.sample_rate_hz;
    switch (event.kind) {
      case drive::EventKind::beat:
        takeBeat(event, time_s);
        break;
      case drive::EventKind::speed:
        chart_.speed.push_back({time_s, event.speed_kmh});
        chart_.speedMost = std::max(chart_.speedMost, event.speed_kmh);
        break;
      case drive::EventKind::state:
        close(chart_.states, time_s);
        chart_.states.push_back({time_s, open_s, driveWord(event.text), {}});
        break;
      case drive::EventKind::key: {
        DriveChart::Lane& lane = keys_[event.number];
        lane.name = event.number < keyNames_.size() ? keyNames_[event.number]
                                                    : DriveTimeline::tr("F%1").arg(event.number);
        close(lane.spans, time_s);
        if (event.value != 0) lane.spans.push_back({time_s, open_s, DriveTimeline::tr("on"), {}});
        break;
      }
      case drive::EventKind::voice_start:
      case drive::EventKind::voice_end: {
        if (event.number < 0) break;
        DriveChart::Lane& lane = voices_[event.number];
        lane.name = DriveTimeline::tr("Voice %1").arg(event.number + 1);
        close(lane.spans, time_s);
        if (event.kind == drive::EventKind::voice_start) {
          lane.spans.push_back({time_s, open_s, text(event.text),
                                DriveTimeline::tr("Starts: %1").arg(driveWord(event.reason))});
        } else if (!lane.spans.empty()) {
          lane.spans.back().detail += DriveTimeline::tr("; ends: %1").arg(driveWord(event.reason));
        }
        break;
      }
      case drive::EventKind::cv:
      case drive::EventKind::own_state:
      case drive::EventKind::effort:
      case drive::EventKind::duty:
      case drive::EventKind::gauges:
      case drive::EventKind::slip:
      case drive::EventKind::hold:
      case drive::EventKind::power:
        break;
    }
  }

  const work::TrialRun& run_;
  const QStringList& keyNames_;
  DriveChart chart_;
  std::map<int, DriveChart::Lane> keys_;
  std::map<int, DriveChart::Lane> voices_;
  double beat_s_ = 0.0;
};

}  // namespace

QStringList keyNamesOf(const model::Project& project) {
  QStringList names;
  for (int number = 0; number <= model::highest_key; ++number) {
    QStringList labels;
    for (const model::Key& key : project.keys) {
      if (key.number == number && !key.label.empty()) labels << text(key.label);
    }
    labels.removeDuplicates();
    names << (labels.isEmpty() ? DriveTimeline::tr("F%1").arg(number)
                               : DriveTimeline::tr("F%1 %2").arg(number).arg(
                                     labels.join(QStringLiteral(" / "))));
  }
  return names;
}

std::shared_ptr<const DriveChart> chartOf(const work::TrialRun& run, const QStringList& keyNames) {
  return ChartMaker(run, keyNames).make();
}

}  // namespace fourbeat::ui
