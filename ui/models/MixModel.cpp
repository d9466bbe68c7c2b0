// SPDX-License-Identifier: GPL-3.0-or-later
#include "MixModel.h"

#include "Wording.h"
#include "Workspace.h"

#include <QLocale>
#include <cmath>

namespace fourbeat::ui {

namespace {

/// An id holds the take's id and the channel: takes have at most 1024 channels.
constexpr qint64 channelsRoom = 2048;

}  // namespace

MixModel::MixModel(Workspace& workspace, QObject* parent)
    : EntityModel(workspace, {tr("Microphone"), tr("Gain"), tr("Delay"), tr("Polarity")}, parent) {
  refresh();
}

void MixModel::setSegment(Id<model::Segment> segment) {
  segment_ = segment;
  refresh();
}

const model::Segment* MixModel::segment() const {
  return model::find(workspace().project(), segment_);
}

QVector<qint64> MixModel::idsNow() const {
  QVector<qint64> ids;
  const model::Segment* shown = segment();
  const model::Pass* pass =
      shown != nullptr ? model::find(workspace().project(), shown->source.pass) : nullptr;
  if (pass == nullptr) return ids;
  for (const model::PassTake& member : pass->takes) {
    const model::Take* take = model::find(workspace().project(), member.take);
    for (int channel = 1; take != nullptr && channel <= take->channels; ++channel)
      ids.append(take->id.value() * channelsRoom + channel);
  }
  return ids;
}

MixModel::Microphone MixModel::microphoneOf(qint64 id) const {
  Microphone microphone;
  microphone.take = model::find(workspace().project(), Id<model::Take>(id / channelsRoom));
  microphone.channel = static_cast<int>(id % channelsRoom);
  const model::Segment* shown = segment();
  if (shown == nullptr || microphone.take == nullptr) return microphone;
  for (std::size_t i = 0; i < shown->source.mix.size(); ++i) {
    const model::MixInput& input = shown->source.mix[i];
    if (input.take == microphone.take->id && input.channel == microphone.channel) {
      microphone.place = i;
      break;
    }
  }
  return microphone;
}

QVariant MixModel::cell(qint64 id, int column, int role) const {
  const model::Segment* shown = segment();
  const Microphone microphone = microphoneOf(id);
  if (shown == nullptr || microphone.take == nullptr) return {};
  if (column == microphoneColumn) {
    if (role == Qt::CheckStateRole) {
      return static_cast<int>(microphone.place ? Qt::Checked : Qt::Unchecked);
    }
    if (role != Qt::DisplayRole && role != Qt::ToolTipRole) return {};
    const model::Pass* pass = model::find(workspace().project(), shown->source.pass);
    const bool alone = pass != nullptr && pass->takes.size() == 1;
    const auto place = static_cast<std::size_t>(microphone.channel - 1);
    const std::vector<std::string>& positions = microphone.take->microphones;
    const QString name = pathText(textPath(text(microphone.take->path)).filename());
    const bool said = place < positions.size() && !positions[place].empty();
    // In a pass of one take its name says nothing new.
    if (alone && role == Qt::DisplayRole) {
      return said ? text(positions[place]) : tr("Channel %1").arg(microphone.channel);
    }
    return said
               ? tr("%1 (%2, channel %3)").arg(text(positions[place]), name).arg(microphone.channel)
               : tr("%1, channel %2").arg(name).arg(microphone.channel);
  }
  if (role == Qt::TextAlignmentRole) return static_cast<int>(Qt::AlignRight | Qt::AlignVCenter);
  if (role != Qt::DisplayRole && role != Qt::EditRole) return {};
  if (!microphone.place) return role == Qt::DisplayRole ? QStringLiteral("—") : QVariant();
  const model::MixInput& input = shown->source.mix[*microphone.place];
  const double delay_ms = 1000.0 * static_cast<double>(input.delay_frames.value()) /
                          std::max(1, microphone.take->sample_rate_hz);
  switch (column) {
    case gainColumn:
      return role == Qt::EditRole ? QVariant(input.gain_db) : decibelText(input.gain_db);
    case delayColumn:
      return role == Qt::EditRole ? QVariant(delay_ms)
                                  : tr("%1 ms").arg(QLocale().toString(delay_ms, 'f', 2));
    case polarityColumn:
      if (role == Qt::EditRole) return input.inverted;
      return input.inverted ? tr("Turned") : tr("As it is");
    default:
      return {};
  }
}

Qt::ItemFlags MixModel::flags(const QModelIndex& index) const {
  Qt::ItemFlags flags = EntityModel::flags(index);
  if (index.isValid() && index.column() == microphoneColumn) flags |= Qt::ItemIsUserCheckable;
  return flags;
}

bool MixModel::setData(const QModelIndex& index, const QVariant& value, int role) {
  if (role == Qt::CheckStateRole && index.column() == microphoneColumn) {
    return include(idAt(index.row()), value.toInt() == Qt::Checked);
  }
  return EntityModel::setData(index, value, role);
}

bool MixModel::include(qint64 id, bool in) {
  const model::Segment* shown = segment();
  const Microphone microphone = microphoneOf(id);
  if (shown == nullptr || microphone.take == nullptr || in == microphone.place.has_value()) {
    return false;
  }
  model::Segment changed = *shown;
  if (in) {
    model::MixInput input;
    input.take = microphone.take->id;
    input.channel = microphone.channel;
    changed.source.mix.push_back(input);
  } else if (changed.source.mix.size() == 1) {
    workspace().tell(tr("A segment is made from at least one microphone: put another in first."));
    return false;
  } else {
    changed.source.mix.erase(changed.source.mix.begin() +
                             static_cast<std::ptrdiff_t>(*microphone.place));
  }
  return workspace().perform(
      in ? tr("Put microphone in the mix") : tr("Take microphone out of the mix"),
      {model::Replace<model::Segment>{changed}});
}

bool MixModel::canEdit(qint64 id, int column) const {
  return column != microphoneColumn && microphoneOf(id).place.has_value();
}

bool MixModel::edit(qint64 id, int column, const QVariant& value) {
  const model::Segment* shown = segment();
  const Microphone microphone = microphoneOf(id);
  if (shown == nullptr || !microphone.place) return false;
  model::Segment changed = *shown;
  model::MixInput& input = changed.source.mix[*microphone.place];
  if (column == gainColumn) {
    input.gain_db = value.toDouble();
  } else if (column == delayColumn) {
    input.delay_frames =
        FrameCount(std::llround(value.toDouble() / 1000.0 * microphone.take->sample_rate_hz));
  } else {
    input.inverted = value.toBool();
  }
  return workspace().perform(tr("Change mix"), {model::Replace<model::Segment>{changed}});
}

}  // namespace fourbeat::ui
