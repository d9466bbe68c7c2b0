// SPDX-License-Identifier: GPL-3.0-or-later
#include "DriveEventModel.h"

#include "Wording.h"

#include <QHash>
#include <QLocale>
#include <algorithm>

namespace fourbeat::ui {

namespace {

DriveEventModel::Kind kindOf(const drive::Event& event) {
  switch (event.kind) {
    case drive::EventKind::beat:
      return DriveEventModel::beats;
    case drive::EventKind::state:
    case drive::EventKind::own_state:
    case drive::EventKind::effort:
    case drive::EventKind::slip:
    case drive::EventKind::hold:
    case drive::EventKind::power:
    case drive::EventKind::duty:
    case drive::EventKind::gauges:
      return DriveEventModel::states;
    case drive::EventKind::key:
      return DriveEventModel::keys;
    case drive::EventKind::cv:
      return DriveEventModel::cvs;
    case drive::EventKind::voice_start:
    case drive::EventKind::voice_end:
      return DriveEventModel::voices;
    case drive::EventKind::speed:
      break;
  }
  return DriveEventModel::speeds;
}

}  // namespace

QString driveWord(const std::string& name) {
  static const QHash<QString, QString> words{
      {QStringLiteral("standing"), DriveEventModel::tr("Standing")},
      {QStringLiteral("starting"), DriveEventModel::tr("Starting")},
      {QStringLiteral("working"), DriveEventModel::tr("Working")},
      {QStringLiteral("coasting"), DriveEventModel::tr("Coasting")},
      {QStringLiteral("stopping"), DriveEventModel::tr("Stopping")},
      {QStringLiteral("braking"), DriveEventModel::tr("Braking")},
      {QStringLiteral("asleep"), DriveEventModel::tr("Asleep")},
      {QStringLiteral("no_power"), DriveEventModel::tr("No power")},
      {QStringLiteral("blows_off"), DriveEventModel::tr("The safety valve lifts")},
      {QStringLiteral("reseats"), DriveEventModel::tr("The safety valve shuts")},
      {QStringLiteral("primes"), DriveEventModel::tr("Water is carried over: the boiler primes")},
      {QStringLiteral("fire_dropped"), DriveEventModel::tr("The fire is dropped")},
      {QStringLiteral("recovered"), DriveEventModel::tr("Steam is back")},
      {QStringLiteral("trigger"), DriveEventModel::tr("a trigger")},
      {QStringLiteral("layer"), DriveEventModel::tr("its layer")},
      {QStringLiteral("stopped"), DriveEventModel::tr("stopped")},
      {QStringLiteral("gave_way"), DriveEventModel::tr("another of its group began")},
      {QStringLiteral("cut"), DriveEventModel::tr("the power is gone")},
      {QStringLiteral("key"), DriveEventModel::tr("a key")},
      {QStringLiteral("beat"), DriveEventModel::tr("a beat")},
      {QStringLiteral("handed_over"), DriveEventModel::tr("handed over to the next part")},
      {QStringLiteral("released"), DriveEventModel::tr("let go")},
      {QStringLiteral("ended"), DriveEventModel::tr("played to its end")},
      {QStringLiteral("stolen"), DriveEventModel::tr("its voice was taken by a sound that counts "
                                                     "more")},
      {QStringLiteral("replaced"), DriveEventModel::tr("followed by the next")},
      {QStringLiteral("no_voice"), DriveEventModel::tr("no voice was free")},
      {QStringLiteral("end_of_card"), DriveEventModel::tr("the card ends")}};
  const QString key = text(name);
  return words.value(key, key);
}

void DriveEventModel::setRun(std::shared_ptr<const work::TrialRun> run, QStringList keyNames) {
  beginResetModel();
  run_ = std::move(run);
  log_.clear();
  keyNames_ = std::move(keyNames);
  choose();
  endResetModel();
}

void DriveEventModel::beginLog(int sampleRateHz, QStringList keyNames) {
  setRun(nullptr, std::move(keyNames));
  log_rate_hz_ = sampleRateHz;
}

void DriveEventModel::append(const std::vector<drive::Event>& events) {
  if (run_) return;
  constexpr std::size_t dropped = mostLogged / 10;  // at a time
  if (log_.size() + events.size() > mostLogged)
    dropOldest(std::min(log_.size(), std::max(dropped, events.size())));
  std::vector<std::size_t> more;
  for (const drive::Event& event : events) {
    if (kinds_.testFlag(kindOf(event))) more.push_back(log_.size());
    log_.push_back(event);
  }
  if (more.empty()) return;
  const int first = rowCount();
  beginInsertRows({}, first, first + static_cast<int>(more.size()) - 1);
  shown_.insert(shown_.end(), more.begin(), more.end());
  endInsertRows();
}

void DriveEventModel::dropOldest(std::size_t count) {
  const auto kept = std::partition_point(shown_.begin(), shown_.end(),
                                         [count](std::size_t i) { return i < count; });
  const int rows = static_cast<int>(kept - shown_.begin());
  if (rows > 0) beginRemoveRows({}, 0, rows - 1);
  shown_.erase(shown_.begin(), kept);
  for (std::size_t& i : shown_)
    i -= count;
  log_.erase(log_.begin(), log_.begin() + static_cast<std::ptrdiff_t>(count));
  if (rows > 0) endRemoveRows();
}

const std::vector<drive::Event>& DriveEventModel::events() const {
  return run_ ? run_->output.events : log_;
}

void DriveEventModel::setKinds(Kinds kinds) {
  if (kinds == kinds_) return;
  beginResetModel();
  kinds_ = kinds;
  choose();
  endResetModel();
}

void DriveEventModel::choose() {
  shown_.clear();
  for (std::size_t i = 0; i < events().size(); ++i) {
    if (kinds_.testFlag(kindOf(events()[i]))) shown_.push_back(i);
  }
}

double DriveEventModel::secondsOf(const drive::Event& event) const {
  return static_cast<double>(event.frame) / (run_ ? run_->output.sample_rate_hz : log_rate_hz_);
}

int DriveEventModel::rowAt(double time_s) const {
  const auto next = std::partition_point(shown_.begin(), shown_.end(), [&](std::size_t i) {
    return secondsOf(events()[i]) <= time_s;
  });
  return static_cast<int>(next - shown_.begin()) - 1;
}

int DriveEventModel::rowCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : static_cast<int>(shown_.size());
}

int DriveEventModel::columnCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : columns;
}

QString DriveEventModel::shown(const drive::Event& event, int column) const {
  if (column == timeColumn) return timeText(secondsOf(event), 2);
  const bool kind = column == kindColumn;
  switch (event.kind) {
    case drive::EventKind::beat:
      return kind ? tr("Beat")
                  : tr("%1, %2, place %3%4")
                        .arg(speedText(event.speed_kmh), word(event.effort).toLower())
                        .arg(event.position + 1)
                        .arg(event.row.is_set() ? QString() : tr(", no row for it"));
    case drive::EventKind::state:
      return kind ? tr("State") : driveWord(event.text);
    case drive::EventKind::key: {
      if (kind) return tr("Key");
      const QString name =
          event.number < keyNames_.size() ? keyNames_[event.number] : tr("F%1").arg(event.number);
      return event.value != 0 ? tr("%1 on").arg(name) : tr("%1 off").arg(name);
    }
    case drive::EventKind::cv:
      return kind ? tr("CV") : tr("CV%1 = %2").arg(event.number).arg(event.value);
    case drive::EventKind::voice_start:
    case drive::EventKind::voice_end: {
      if (kind) return event.number < 0 ? tr("Voice") : tr("Voice %1").arg(event.number + 1);
      const QString reason = driveWord(event.reason);
      return event.kind == drive::EventKind::voice_start
                 ? tr("%1 starts: %2").arg(text(event.text), reason)
                 : tr("%1 ends: %2").arg(text(event.text), reason);
    }
    case drive::EventKind::speed:
      return kind ? tr("Speed") : speedText(event.speed_kmh);
    case drive::EventKind::own_state:
      if (kind) return tr("State");
      return event.value != 0 ? tr("%1 begins").arg(text(event.text))
                              : tr("%1 ends").arg(text(event.text));
    case drive::EventKind::effort:
      return kind ? tr("Effort") : word(event.effort);
    case drive::EventKind::duty:
      return kind ? tr("Duty") : driveWord(event.text);
    case drive::EventKind::gauges:
      return kind ? tr("Gauges")
                  : tr("%1 bar, fire %2 %, water %3 %")
                        .arg(QLocale().toString(event.pressure_bar, 'f', 1),
                             QLocale().toString(100.0 * event.fire, 'f', 0),
                             QLocale().toString(100.0 * event.water, 'f', 0));
    case drive::EventKind::slip:
      if (kind) return tr("Wheels");
      return event.value != 0 ? tr("They slip") : tr("They grip again");
    case drive::EventKind::hold:
      if (kind) return tr("Motion");
      return event.value != 0 ? tr("Held until a sound has ended") : tr("Let go");
    case drive::EventKind::power:
      if (kind) return tr("Track power");
      return event.value != 0 ? tr("On") : tr("Off");
  }
  return {};
}

QVariant DriveEventModel::data(const QModelIndex& index, int role) const {
  if (!index.isValid() || index.row() >= rowCount()) return {};
  const drive::Event& event = events()[shown_[static_cast<std::size_t>(index.row())]];
  switch (role) {
    case Qt::DisplayRole:
    case Qt::ToolTipRole:
      return shown(event, index.column());
    case secondsRole:
      return secondsOf(event);
    default:
      return {};
  }
}

QVariant DriveEventModel::headerData(int section, Qt::Orientation orientation, int role) const {
  if (orientation != Qt::Horizontal || role != Qt::DisplayRole) return {};
  switch (section) {
    case timeColumn:
      return tr("Time");
    case kindColumn:
      return tr("Kind");
    case whatColumn:
      return tr("What happened");
    default:
      return {};
  }
}

}  // namespace fourbeat::ui
