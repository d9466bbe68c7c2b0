// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "EntityModel.h"

#include "fourbeat/dsp/seam.h"
#include "fourbeat/work/segments.h"

#include <QHash>
#include <QIcon>

namespace fourbeat::ui {

/// State of a seam in a word, and its sign.
[[nodiscard]] QString word(dsp::SeamState state);
[[nodiscard]] QIcon signOf(dsp::SeamState state);

/// The segments of the project, with loudness and seams as the live check last rendered them.
class SegmentListModel : public EntityModel {
  Q_OBJECT
 public:
  enum Column {
    nameColumn,
    kindColumn,
    takeColumn,
    lengthColumn,
    gainColumn,
    loudnessColumn,
    seamColumn
  };

  explicit SegmentListModel(Workspace& workspace, QObject* parent = nullptr);

  [[nodiscard]] Qt::ItemFlags flags(const QModelIndex& index) const override;

 protected:
  [[nodiscard]] QVector<qint64> idsNow() const override;
  [[nodiscard]] QVariant cell(qint64 id, int column, int role) const override;
  [[nodiscard]] bool canEdit(qint64 id, int column) const override;
  bool edit(qint64 id, int column, const QVariant& value) override;

 private:
  void measure();
  [[nodiscard]] QVariant seamCell(qint64 id, int role) const;

  QHash<qint64, work::ClipLoudness> loudness_;
};

}  // namespace fourbeat::ui
