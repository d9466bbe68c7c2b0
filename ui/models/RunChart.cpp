// SPDX-License-Identifier: GPL-3.0-or-later
#include "RunChart.h"

#include "DriveEventModel.h"
#include "Wording.h"

#include <algorithm>
#include <utility>
#include <variant>

namespace fourbeat::ui {

namespace {

/// Beats further apart than this are no longer one stretch of working.
constexpr double beatsApart_s = 2.0;
constexpr double lastBeat_s = 0.3;
constexpr double keptShare = 1.1;

bool isOpen(const std::vector<DriveChart::Span>& spans) {
  return !spans.empty() && spans.back().to_s == DriveChart::Span::open_s;
}

/// Points before a time, but for the last: it tells what holds from there on.
void forgetPoints(std::vector<DriveChart::Point>& points, double before_s) {
  const auto kept = std::partition_point(
      points.begin(), points.end(), [&](const auto& point) { return point.time_s < before_s; });
  if (kept != points.begin()) points.erase(points.begin(), kept - 1);
}

void forgetSpans(std::vector<DriveChart::Span>& spans, double before_s) {
  spans.erase(spans.begin(),
              std::partition_point(spans.begin(), spans.end(),
                                   [&](const auto& span) { return span.to_s < before_s; }));
}

}  // namespace

ChartMaker::ChartMaker(int sampleRateHz, QStringList keyNames, int lastStep, double topSpeed)
    : chart_(std::make_shared<DriveChart>()),
      sample_rate_hz_(sampleRateHz),
      keyNames_(std::move(keyNames)) {
  chart_->grows = true;
  chart_->regulatorMost = lastStep;
  chart_->speedMost = std::max(chart_->speedMost, topSpeed);
}

const QString& ChartMaker::shared(const std::string& name) {
  const auto found = names_.find(name);
  return found != names_.end() ? found->second
                               : names_.emplace(name, driveWord(name)).first->second;
}

void ChartMaker::begin(std::vector<DriveChart::Span>& spans, DriveChart::Span span) {
  changed_s_ = std::min(changed_s_, span.from_s);
  spans.push_back(std::move(span));
}

void ChartMaker::close(std::vector<DriveChart::Span>& spans, double time_s) {
  if (!isOpen(spans)) return;
  spans.back().to_s = time_s;
  changed_s_ = std::min(changed_s_, time_s);
}

DriveChart::Lane& ChartMaker::laneOf(std::vector<DriveChart::Lane>& lanes, int number) {
  const auto place = std::partition_point(
      lanes.begin(), lanes.end(), [number](const auto& lane) { return lane.number < number; });
  if (place != lanes.end() && place->number == number) return *place;
  return *lanes.insert(place, {number, {}, {}});
}

void ChartMaker::takeBeat(const drive::Event& event, double time_s) {
  std::vector<DriveChart::Span>& efforts = chart_->efforts;
  const int level = static_cast<int>(event.effort);
  if (isOpen(efforts) && time_s - beat_s_ > beatsApart_s) close(efforts, beat_s_ + lastBeat_s);
  if (!isOpen(efforts) || efforts.back().level != level) {
    close(efforts, time_s);
    begin(efforts, {time_s, DriveChart::Span::open_s, word(event.effort), {}, {}, level});
  }
  beat_s_ = time_s;
}

void ChartMaker::takeVoice(const drive::Event& event, double time_s) {
  if (event.number < 0) return;
  DriveChart::Lane& lane = laneOf(chart_->voices, event.number);
  if (lane.name.isEmpty()) lane.name = DriveTimeline::tr("Voice %1").arg(event.number + 1);
  close(lane.spans, time_s);
  if (event.kind == drive::EventKind::voice_start) {
    begin(lane.spans,
          {time_s, DriveChart::Span::open_s, shared(event.text), shared(event.reason), {}, 0});
  } else if (!lane.spans.empty()) {
    lane.spans.back().ends = shared(event.reason);
  }
}

void ChartMaker::take(const model::Move& move) {
  double step = 0.0;
  if (const auto* throttle = std::get_if<model::MoveThrottle>(&move.what)) {
    step = throttle->step;
  } else if (!std::holds_alternative<model::MoveStop>(move.what)) {
    return;
  }
  chart_->regulator.push_back({move.time_s, step});
  changed_s_ = std::min(changed_s_, move.time_s);
}

void ChartMaker::take(const drive::Event& event) {
  const double time_s = static_cast<double>(event.frame) / sample_rate_hz_;
  switch (event.kind) {
    case drive::EventKind::beat:
      return takeBeat(event, time_s);
    case drive::EventKind::speed:
      // The line to it begins at the speed before.
      if (!chart_->speed.empty()) changed_s_ = std::min(changed_s_, chart_->speed.back().time_s);
      if (event.speed_kmh > chart_->speedMost) changed_s_ = chart_->from_s;
      chart_->speed.push_back({time_s, event.speed_kmh});
      chart_->speedMost = std::max(chart_->speedMost, event.speed_kmh);
      break;
    case drive::EventKind::state:
      close(chart_->states, time_s);
      begin(chart_->states, {time_s, DriveChart::Span::open_s, shared(event.text), {}, {}, 0});
      break;
    case drive::EventKind::key: {
      DriveChart::Lane& lane = laneOf(chart_->keys, event.number);
      lane.name = event.number < keyNames_.size() ? keyNames_[event.number]
                                                  : DriveTimeline::tr("F%1").arg(event.number);
      close(lane.spans, time_s);
      if (event.value != 0) {
        begin(lane.spans, {time_s, DriveChart::Span::open_s, DriveTimeline::tr("on"), {}, {}, 0});
      }
      break;
    }
    case drive::EventKind::cv: {
      DriveChart::Lane& lane = laneOf(chart_->cvs, event.number);
      if (lane.name.isEmpty()) lane.name = DriveTimeline::tr("CV%1").arg(event.number);
      close(lane.spans, time_s);
      begin(lane.spans,
            {time_s, DriveChart::Span::open_s, QString::number(event.value), {}, {}, 0});
      break;
    }
    case drive::EventKind::voice_start:
    case drive::EventKind::voice_end:
      return takeVoice(event, time_s);
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

double ChartMaker::reach(double seconds) {
  if (isOpen(chart_->efforts) && seconds - beat_s_ > beatsApart_s)
    close(chart_->efforts, beat_s_ + lastBeat_s);
  const double since = std::min(chart_->seconds, changed_s_);
  chart_->seconds = seconds;
  changed_s_ = seconds;
  if (seconds - chart_->from_s > keptShare * kept_s) forget(seconds - kept_s);
  return since;
}

void ChartMaker::end(double seconds) {
  chart_->seconds = seconds;
  chart_->grows = false;
  close(chart_->efforts, std::min(seconds, beat_s_ + lastBeat_s));
  close(chart_->states, seconds);
  for (auto* lanes : {&chart_->keys, &chart_->cvs, &chart_->voices}) {
    for (DriveChart::Lane& lane : *lanes)
      close(lane.spans, seconds);
  }
}

void ChartMaker::forget(double before_s) {
  chart_->from_s = before_s;
  forgetPoints(chart_->regulator, before_s);
  forgetPoints(chart_->speed, before_s);
  forgetSpans(chart_->efforts, before_s);
  forgetSpans(chart_->states, before_s);
  for (auto* lanes : {&chart_->keys, &chart_->cvs, &chart_->voices}) {
    for (DriveChart::Lane& lane : *lanes)
      forgetSpans(lane.spans, before_s);
  }
}

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
  ChartMaker maker(run.output.sample_rate_hz, keyNames, model::last_step(run.card.speed_steps));
  for (const model::Move& move : run.card.moves)
    maker.take(move);
  for (const drive::Event& event : run.output.events)
    maker.take(event);
  maker.end(static_cast<double>(run.output.mix.size()) / run.output.sample_rate_hz);
  return maker.chart();
}

}  // namespace fourbeat::ui
