// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "EntityModel.h"

#include "fourbeat/model/segment.h"

#include <optional>

namespace fourbeat::ui {

/// The microphones of a segment's pass, each with whether and how it is in the segment's mix.
class MixModel : public EntityModel {
  Q_OBJECT
 public:
  enum Column { microphoneColumn, gainColumn, delayColumn, polarityColumn };

  explicit MixModel(Workspace& workspace, QObject* parent = nullptr);

  void setSegment(Id<model::Segment> segment);
  [[nodiscard]] Qt::ItemFlags flags(const QModelIndex& index) const override;
  bool setData(const QModelIndex& index, const QVariant& value, int role) override;

 protected:
  [[nodiscard]] QVector<qint64> idsNow() const override;
  [[nodiscard]] QVariant cell(qint64 id, int column, int role) const override;
  [[nodiscard]] bool canEdit(qint64 id, int column) const override;
  bool edit(qint64 id, int column, const QVariant& value) override;

 private:
  struct Microphone {
    const model::Take* take = nullptr;
    int channel = 1;
    std::optional<std::size_t> place;  ///< in the mix
  };
  [[nodiscard]] const model::Segment* segment() const;
  [[nodiscard]] Microphone microphoneOf(qint64 id) const;
  bool include(qint64 id, bool in);

  Id<model::Segment> segment_;
};

}  // namespace fourbeat::ui
