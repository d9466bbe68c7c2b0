// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/dsp/speed.h"
#include "fourbeat/model/chuff_table.h"

#include <QWidget>
#include <vector>

namespace fourbeat::ui {

class TrackView;

/// The speed of the engine under a take, on the track view's own time axis: a curve with one
/// standard deviation either side, and beneath it the effort, as a bar that is the higher the
/// harder the engine works. The same is said in words in its accessible description.
class SpeedStrip : public QWidget {
  Q_OBJECT
 public:
  explicit SpeedStrip(TrackView& track, QWidget* parent = nullptr);

  /// A stretch of one effort, in seconds of the take.
  struct EffortSpan {
    double from_s = 0.0;
    double to_s = 0.0;
    model::Effort effort = model::Effort::easy;
    bool operator==(const EffortSpan&) const = default;
  };
  /// efforts: ascending.
  void show(const dsp::SpeedCurve& curve, std::vector<EffortSpan> efforts, double sampleRateHz);
  [[nodiscard]] const std::vector<EffortSpan>& efforts() const { return efforts_; }
  [[nodiscard]] double topKmh() const { return topKmh_; }

  [[nodiscard]] QSize sizeHint() const override;
  [[nodiscard]] QSize minimumSizeHint() const override;

 protected:
  void paintEvent(QPaintEvent* event) override;
  void mousePressEvent(QMouseEvent* event) override;

 private:
  [[nodiscard]] QRectF chart() const;
  [[nodiscard]] double xOf(double seconds) const;
  void paintCurve(QPainter& painter, const QRectF& area) const;
  void paintEfforts(QPainter& painter, const QRectF& area) const;

  TrackView& track_;
  dsp::SpeedCurve curve_;
  std::vector<EffortSpan> efforts_;
  double sampleRateHz_ = 0.0;
  double topKmh_ = 0.0;  ///< of the axis; 0: nothing to show
};

}  // namespace fourbeat::ui
