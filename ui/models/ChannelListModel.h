// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "EntityModel.h"

#include "fourbeat/audio/take_report.h"
#include "fourbeat/model/take.h"

#include <memory>

namespace fourbeat::ui {

/// The channels of one take: their microphone positions, which can be changed, and what they are
/// like, once that is known.
class ChannelListModel : public EntityModel {
  Q_OBJECT
 public:
  enum Column {
    channelColumn,
    positionColumn,
    peakColumn,
    loudnessColumn,
    floorColumn,
    flatTopsColumn,
    humColumn,
    windColumn,
    dropoutsColumn
  };

  explicit ChannelListModel(Workspace& workspace, QObject* parent = nullptr);

  /// report may be null: not known.
  void show(Id<model::Take> take, std::shared_ptr<const audio::TakeReport> report);

 protected:
  [[nodiscard]] QVector<qint64> idsNow() const override;
  [[nodiscard]] QVariant cell(qint64 channel, int column, int role) const override;
  [[nodiscard]] bool canEdit(qint64 channel, int column) const override;
  bool edit(qint64 channel, int column, const QVariant& value) override;

 private:
  Id<model::Take> take_;
  std::shared_ptr<const audio::TakeReport> report_;
};

}  // namespace fourbeat::ui
