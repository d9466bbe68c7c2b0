// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/chuff_table.h"

#include <QWidget>

namespace fourbeat::ui {

/// Which speeds the chuff table's rows for normal running serve at each effort: a bar a row, an
/// outline where it is derived, hatched where there is none.
/// The same is said in words in its accessible description and tool tip.
class CoverageView : public QWidget {
  Q_OBJECT
 public:
  explicit CoverageView(QWidget* parent = nullptr);

  void show(const model::ChuffTable& table, double topSpeedKmh);
  void setChosen(Id<model::ChuffRow> row);
  /// What the picture shows, in words.
  [[nodiscard]] QString inWords() const;
  [[nodiscard]] QSize sizeHint() const override;
  [[nodiscard]] QSize minimumSizeHint() const override;

 Q_SIGNALS:
  void rowClicked(Id<model::ChuffRow> row);

 protected:
  void paintEvent(QPaintEvent* event) override;
  void mousePressEvent(QMouseEvent* event) override;

 private:
  [[nodiscard]] static bool isShown(const model::ChuffRow& row);
  [[nodiscard]] QRectF chart() const;
  [[nodiscard]] double xOf(double kmh) const;
  [[nodiscard]] QRectF barOf(const model::ChuffRow& row) const;
  [[nodiscard]] QRectF lane(model::Effort effort) const;

  model::ChuffTable table_;
  double topSpeedKmh_ = 80.0;
  Id<model::ChuffRow> chosen_;
};

}  // namespace fourbeat::ui
