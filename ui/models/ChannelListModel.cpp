// SPDX-License-Identifier: GPL-3.0-or-later
#include "ChannelListModel.h"

#include "Wording.h"
#include "Workspace.h"

#include <QLocale>

namespace fourbeat::ui {

ChannelListModel::ChannelListModel(Workspace& workspace, QObject* parent)
    : EntityModel(workspace,
                  {tr("Channel"), tr("Microphone position"), tr("Peak"), tr("Loudness"),
                   tr("Noise floor"), tr("Flat tops"), tr("Hum"), tr("Wind"), tr("Dropouts")},
                  parent) {
  refresh();
}

void ChannelListModel::show(Id<model::Take> take, std::shared_ptr<const audio::TakeReport> report) {
  take_ = take;
  report_ = std::move(report);
  refresh();
}

QVector<qint64> ChannelListModel::idsNow() const {
  QVector<qint64> ids;
  const model::Take* take = model::find(workspace().project(), take_);
  for (int channel = 1; take != nullptr && channel <= take->channels; ++channel)
    ids.append(channel);
  return ids;
}

QVariant ChannelListModel::cell(qint64 channel, int column, int role) const {
  const model::Take* take = model::find(workspace().project(), take_);
  const auto place = static_cast<std::size_t>(channel - 1);
  if (take == nullptr || channel > take->channels) return {};
  if (role == Qt::TextAlignmentRole && column != positionColumn) {
    return static_cast<int>(Qt::AlignRight | Qt::AlignVCenter);
  }
  if (role != Qt::DisplayRole && role != Qt::EditRole) return {};
  if (column == channelColumn) return channel;
  if (column == positionColumn) {
    const QString position =
        place < take->microphones.size() ? text(take->microphones[place]) : QString();
    return position.isEmpty() && role == Qt::DisplayRole ? tr("Not said") : position;
  }
  if (!report_ || place >= report_->channels.size()) return QStringLiteral("…");
  const audio::ChannelReport& report = report_->channels[place];
  const auto figure = [](std::optional<double> value, const QString& unit) {
    return value ? unit.arg(QLocale().toString(*value, 'f', 1)) : QStringLiteral("—");
  };
  switch (column) {
    case peakColumn:
      return figure(report.true_peak_dbtp, tr("%1 dBTP"));
    case loudnessColumn:
      return figure(report.loudness_lufs, tr("%1 LUFS"));
    case floorColumn:
      return figure(report.noise_floor_dbfs, tr("%1 dBFS"));
    case flatTopsColumn:
      return static_cast<qint64>(report.flat_tops);
    case humColumn:
      return report.hum_hz && report.hum_db ? tr("%1 dB at %2 Hz")
                                                  .arg(QLocale().toString(*report.hum_db, 'f', 0),
                                                       QLocale().toString(*report.hum_hz, 'f', 0))
                                            : QStringLiteral("—");
    case windColumn:
      return figure(report.wind_db, tr("%1 dB"));
    case dropoutsColumn:
      return static_cast<qint64>(report.dropouts);
    default:
      return {};
  }
}

bool ChannelListModel::canEdit(qint64 channel, int column) const {
  return channel != 0 && column == positionColumn;
}

bool ChannelListModel::edit(qint64 channel, int column, const QVariant& value) {
  (void)column;
  const model::Take* take = model::find(workspace().project(), take_);
  if (take == nullptr) return false;
  model::Take changed = *take;
  changed.microphones.resize(static_cast<std::size_t>(changed.channels));
  changed.microphones[static_cast<std::size_t>(channel - 1)] = utf8(value.toString());
  return workspace().perform(tr("Set microphone position"), {model::Replace<model::Take>{changed}});
}

}  // namespace fourbeat::ui
