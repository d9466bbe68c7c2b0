// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "EntityModel.h"

#include "fourbeat/model/segment.h"

namespace fourbeat::ui {

/// The clean steps of a segment, in order; their figures can be changed.
class CleanStepModel : public EntityModel {
  Q_OBJECT
 public:
  enum Column { stepColumn, frequencyColumn, strengthColumn, qualityColumn };

  explicit CleanStepModel(Workspace& workspace, QObject* parent = nullptr);

  void setSegment(Id<model::Segment> segment);
  void add(const model::CleanStep& step);
  void remove(int row);

 protected:
  [[nodiscard]] QVector<qint64> idsNow() const override;
  [[nodiscard]] QVariant cell(qint64 id, int column, int role) const override;
  [[nodiscard]] bool canEdit(qint64 id, int column) const override;
  bool edit(qint64 id, int column, const QVariant& value) override;

 private:
  [[nodiscard]] const model::Segment* segment() const;
  [[nodiscard]] const model::CleanStep* step(qint64 id) const;

  Id<model::Segment> segment_;
};

}  // namespace fourbeat::ui
