// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "AxisHand.h"

#include <QPixmap>
#include <QString>
#include <QWidget>
#include <limits>
#include <memory>
#include <optional>
#include <vector>

class QScrollBar;

namespace fourbeat::ui {

/// A run as the timeline draws it; times in seconds from its start.
struct DriveChart {
  struct Point {
    double time_s = 0.0;
    double value = 0.0;
  };
  struct Span {
    /// The end of one that still goes on.
    static constexpr double open_s = std::numeric_limits<double>::infinity();
    double from_s = 0.0;
    double to_s = open_s;
    QString label;
    QString starts;  ///< why it starts and ends, in the tool tip
    QString ends;
    int level = 0;  ///< of efforts: 0 drifting, 1 easy, 2 hard
  };
  struct Lane {
    int number = 0;
    QString name;
    std::vector<Span> spans;  ///< ascending, not overlapping
  };

  double from_s = 0.0;  ///< what was before is forgotten
  double seconds = 0.0;
  bool grows = false;            ///< time goes on
  std::vector<Point> regulator;  ///< steps of the throttle: each holds until the next
  double regulatorMost = 1.0;
  std::vector<Point> speed;  ///< km/h, joined by lines
  double speedMost = 1.0;
  std::vector<Span> efforts;  ///< beats of one effort running; label: the effort's word
  std::vector<Span> states;
  std::vector<Lane> keys;    ///< one lane a key that was pressed, ascending in number
  std::vector<Lane> cvs;     ///< one lane a CV that was changed, ascending in number
  std::vector<Lane> voices;  ///< one lane a voice

  /// What goes on at a time, as one line.
  [[nodiscard]] QString line(double time_s) const;
};

/// A run along a time axis: regulator, speed, effort, state, keys, CVs and voices, each on its lane
/// with its name and words. Wheel scrolls, ctrl+wheel zooms about the pointer; a click places the
/// playhead, a drag selects (beyond the edge: scrolling) or moves an edge of the selection, a
/// double click selects what goes on under the pointer. Keys: as AxisKey; left and right move the
/// playhead by a second, stops are the changes and the edges of the selection. One that grows is
/// shown from its last seconds on, and its view turns like a page when it is full, unless one has
/// scrolled away from its end; nothing of it can be selected.
class DriveTimeline : public QWidget {
  Q_OBJECT
 public:
  explicit DriveTimeline(QWidget* parent = nullptr);

  /// Null shows the text of setEmptyText().
  void setChart(std::shared_ptr<const DriveChart> chart);
  [[nodiscard]] const std::shared_ptr<const DriveChart>& chart() const { return chart_; }
  void setEmptyText(const QString& text);
  /// The chart has grown; before `since_s` it is as it was. Only what is new is drawn.
  void grown(double since_s);
  /// The chart grows no more.
  void rest();

  /// Seconds.
  struct Stretch {
    double start = 0.0;
    double end = 0.0;
    bool operator==(const Stretch&) const = default;
  };
  [[nodiscard]] const std::optional<Stretch>& selection() const { return selection_; }
  void setSelection(std::optional<Stretch> selection);

  [[nodiscard]] double playhead() const { return playhead_s_; }
  /// Moves the playhead without a signal; `follow` scrolls after it.
  void setPlayhead(double time_s, bool follow);

  [[nodiscard]] double shownFrom() const { return from_s_; }
  [[nodiscard]] double shownSeconds() const { return span_s_; }
  void showAll();
  /// factor over 1: closer.
  void zoom(double factor, double about_s);
  /// Where a time is drawn.
  [[nodiscard]] double xOf(double time_s) const;

  [[nodiscard]] QSize sizeHint() const override;

 Q_SIGNALS:
  /// The playhead was placed by hand.
  void playheadPlaced(double time_s);

 protected:
  bool event(QEvent* event) override;
  void paintEvent(QPaintEvent* event) override;
  void resizeEvent(QResizeEvent* event) override;
  void wheelEvent(QWheelEvent* event) override;
  void mousePressEvent(QMouseEvent* event) override;
  void mouseMoveEvent(QMouseEvent* event) override;
  void mouseReleaseEvent(QMouseEvent* event) override;
  void mouseDoubleClickEvent(QMouseEvent* event) override;
  void keyPressEvent(QKeyEvent* event) override;

 private:
  /// One lane's place; top and bottom in pixels.
  struct Row {
    enum class Kind { regulator, speed, effort, state, key, cv, voice };
    Kind kind = Kind::regulator;
    std::size_t index = 0;
    QString name;
    double top = 0.0;
    double bottom = 0.0;
  };

  [[nodiscard]] static bool isCurve(const Row& row);
  void layOut();
  void redraw();
  /// Draws what lies between two places into drawn_; all, names too, where they hold the widget.
  void draw(double left, double right);
  void drawRow(QPainter& painter, const Row& row, double left, double right) const;
  void drawRuler(QPainter& painter) const;
  void drawCurve(QPainter& painter, const Row& row, const std::vector<DriveChart::Point>& points,
                 double left, double right) const;
  void drawSpans(QPainter& painter, const Row& row, double left, double right) const;
  [[nodiscard]] const std::vector<DriveChart::Span>& spansOf(const Row& row) const;
  /// Where what has to be drawn anew begins when the chart has grown.
  [[nodiscard]] double dirtyFrom(double since_s) const;
  /// Where the axis begins and ends.
  [[nodiscard]] double axisEnd() const;
  [[nodiscard]] QRect playheadStrip() const;
  [[nodiscard]] double timeAt(double x) const;
  [[nodiscard]] QRectF plot() const;
  [[nodiscard]] const DriveChart::Span* spanAt(const QPointF& place) const;
  void setShown(double from_s, double span_s);
  void place(double time_s, bool selecting = false);
  void select(std::optional<Stretch> range);
  /// What a lane shows at a place; where it shows nothing, or a curve, the state.
  void selectAt(const QPointF& place);
  void describe();
  [[nodiscard]] double nextChange(bool ahead) const;
  void updateBar();

  std::shared_ptr<const DriveChart> chart_;
  QString empty_;
  std::vector<Row> rows_;
  double names_ = 0.0;  ///< width of the lane names
  double from_s_ = 0.0;
  double span_s_ = 1.0;
  double playhead_s_ = 0.0;
  std::optional<Stretch> selection_;
  SelectionAnchor<Stretch> anchor_;
  SelectionDrag<Stretch> drag_{anchor_};
  bool following_ = true;  ///< the end of what grows
  QPixmap drawn_;
  QScrollBar* bar_;
};

}  // namespace fourbeat::ui
