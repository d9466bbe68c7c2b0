// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/work/hearing.h"

#include <QPixmap>
#include <QWidget>
#include <memory>
#include <optional>

class QPainter;

namespace fourbeat::ui {

/// A seam, magnified: the side that leaves and the side that arrives on one axis about the wrap,
/// what is heard behind them, and the gains of the crossfade below.
class SeamView : public QWidget {
  Q_OBJECT
 public:
  explicit SeamView(QWidget* parent = nullptr);

  /// null shows nothing.
  void show(std::shared_ptr<const work::SeamStudy> study);
  /// Where playing is, in frames from the wrap.
  void setPlace(std::optional<std::int64_t> frame);
  /// Nearer to the wrap, or further away.
  void zoom(bool in);
  /// What is shown to either side, in seconds.
  [[nodiscard]] double halfSpanSeconds() const;

  [[nodiscard]] QSize sizeHint() const override;
  [[nodiscard]] QSize minimumSizeHint() const override;

 protected:
  void paintEvent(QPaintEvent* event) override;

 private:
  enum class Side { leaving, arriving, heard };
  void paintSide(QPainter& painter, const QRectF& area, Side side) const;
  void paintGains(QPainter& painter, const QRectF& area) const;
  void paintLegend(QPainter& painter, const QRectF& area) const;
  void paintTimes(QPainter& painter, const QRectF& area) const;
  [[nodiscard]] double xOf(double frame, const QRectF& area) const;
  [[nodiscard]] double firstShown() const;
  [[nodiscard]] double lastShown() const;
  void describe();
  void redraw();
  /// All but the playhead, into still_.
  void paintStill();
  [[nodiscard]] QRectF innerArea() const;

  std::shared_ptr<const work::SeamStudy> study_;
  std::optional<std::int64_t> place_;
  QPixmap still_;  ///< what stays while sound plays
  int zoom_ = 0;   ///< steps of two towards the wrap
  float peak_ = 0.0F;
};

}  // namespace fourbeat::ui
