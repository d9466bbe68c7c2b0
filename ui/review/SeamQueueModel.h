// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "models/RowModel.h"

#include "fourbeat/model/piece.h"

#include <QString>

namespace fourbeat::ui {

class Workspace;

/// How a seam stands with the designer.
enum class SeamDecision {
  open,          ///< nobody has decided on it
  lapsed,        ///< decided on as it was, not as it is
  signedOff,     ///< signed as it is
  signedHigher,  ///< signed, but stored below what was heard
  needsWork      ///< heard as it is, and not good enough
};
/// True when the seam as it is has been decided on.
[[nodiscard]] bool isDecided(SeamDecision decision);
[[nodiscard]] QString word(SeamDecision decision);

/// One seam of the queue.
struct SeamRow {
  model::PieceKey id;
  QString name;
  SeamDecision decision = SeamDecision::open;
  QString measured;  ///< what the measures say, in words
  QString note;      ///< of the verdict in force
  bool operator==(const SeamRow&) const = default;
};

/// Every loop of the set in turn: segments that sounds play, then fused chuff rows.
class SeamQueueModel : public RowModel<SeamRow> {
  Q_OBJECT
 public:
  enum Column { nameColumn, decisionColumn, measuredColumn, columns };

  SeamQueueModel(Workspace& workspace, QObject* parent);

  [[nodiscard]] int columnCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] QVariant headerData(int section, Qt::Orientation orientation,
                                    int role) const override;
  [[nodiscard]] QVariant data(const QModelIndex& index, int role) const override;

  [[nodiscard]] int decided() const;
  /// The next row after `from`, all round, that nobody has decided on; -1 for none.
  [[nodiscard]] int nextOpen(int from) const;

 private:
  void refresh();

  Workspace& workspace_;
};

}  // namespace fourbeat::ui
