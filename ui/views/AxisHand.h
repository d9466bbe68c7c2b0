// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

class QKeyEvent;
class QWheelEvent;

/// What pointer and keyboard ask of a view along a time axis: the same in all of them.
namespace fourbeat::ui {

constexpr int dragFrom = 3;           ///< pixels a press must move to be a drag
constexpr int handleReach = 5;        ///< pixels from which a handle is taken
constexpr double zoomNotch = 1.25;    ///< of a notch of the wheel
constexpr double zoomKey = 1.6;       ///< of a key press
constexpr double wheelPixels = 96.0;  ///< scrolled by a notch of the wheel
constexpr double pageShare = 0.9;     ///< of what is shown, turned by a page key

/// left and right: back and on (ctrl: to the next stop; shift: selecting); home and end; page up
/// and down; up and down or + and -: closer, farther (shift: taller, lower); 0: the whole; ctrl+A:
/// select all; return: activate; escape: drop.
struct AxisKey {
  enum class Ask {
    nothing,
    back,
    on,
    stopBack,
    stopOn,
    start,
    end,
    pageBack,
    pageOn,
    closer,
    farther,
    taller,
    lower,
    whole,
    selectAll,
    activate,
    drop
  };
  Ask ask = Ask::nothing;
  bool selecting = false;  ///< where the playhead moves
};
[[nodiscard]] AxisKey axisKey(const QKeyEvent& event);

/// Scrolls; ctrl: zooms; shift: zooms the height.
struct AxisWheel {
  enum class Ask { scroll, zoom, height };
  Ask ask = Ask::scroll;
  double notches = 0.0;  ///< away from one: back in time, closer, taller
};
[[nodiscard]] AxisWheel axisWheel(const QWheelEvent& event);

/// The end of a selection that stays while the other is moved. Range: a start and an end.
template <class Range>
class SelectionAnchor {
 public:
  using Place = decltype(Range::start);

  void hold(Place place) { place_ = place; }
  /// Of a press with shift: the far end of what is selected, or the playhead.
  void holdFarther(Place pressed, Place playhead, const std::optional<Range>& selection) {
    place_ = playhead;
    if (!selection) return;
    const bool nearerStart = pressed - selection->start < selection->end - pressed;
    place_ = nearerStart ? selection->end : selection->start;
  }
  /// Of a playhead that begins to move with shift: it takes the edge of the selection along that it
  /// stands on, and else selects from where it is.
  void holdForKey(Place playhead, const std::optional<Range>& selection) {
    if (place_) return;
    place_ = playhead;
    if (selection && playhead == selection->start) place_ = selection->end;
    if (selection && playhead == selection->end) place_ = selection->start;
  }
  void letGo() { place_.reset(); }
  /// The selection once the other end is at a place; nothing of it while no end is held.
  [[nodiscard]] Range to(Place place) const {
    const Place held = place_.value_or(place);
    return {std::min(held, place), std::max(held, place)};
  }

 private:
  std::optional<Place> place_;
};

/// Selecting with the pointer in a view that knows no other drag: a drag selects, or moves the edge
/// it begins on; a press with shift selects up to there; a press that does not move is a click.
template <class Range>
class SelectionDrag {
 public:
  using Place = decltype(Range::start);

  explicit SelectionDrag(SelectionAnchor<Range>& anchor) : anchor_(anchor) {}

  [[nodiscard]] bool isOn() const { return now_ != Now::nothing; }
  /// x: pixels; edges: where those of the selection stand.
  void press(double x, Place place, const std::optional<Range>& selection,
             const std::pair<double, double>& edges) {
    now_ = Now::pressed;
    pressed_ = x;
    before_ = selection;
    anchor_.hold(place);
    if (!selection) return;
    const double toStart = std::fabs(x - edges.first);
    const double toEnd = std::fabs(x - edges.second);
    if (std::min(toStart, toEnd) > handleReach) return;
    anchor_.hold(toStart < toEnd ? selection->end : selection->start);
    now_ = Now::edge;
  }
  void pressToSelect(Place place, Place playhead, const std::optional<Range>& selection) {
    now_ = Now::drag;
    before_ = selection;
    anchor_.holdFarther(place, playhead, selection);
  }
  /// What is selected now; nothing while it is no drag yet.
  [[nodiscard]] std::optional<Range> moveTo(double x, Place place) {
    if (now_ != Now::drag && std::fabs(x - pressed_) < dragFrom) return std::nullopt;
    now_ = Now::drag;
    return anchor_.to(place);
  }
  /// True for a click.
  [[nodiscard]] bool release() {
    anchor_.letGo();
    return std::exchange(now_, Now::nothing) == Now::pressed;
  }
  /// The selection of before.
  [[nodiscard]] std::optional<Range> giveUp() {
    anchor_.letGo();
    now_ = Now::nothing;
    return before_;
  }

 private:
  enum class Now { nothing, pressed, edge, drag };
  SelectionAnchor<Range>& anchor_;
  Now now_ = Now::nothing;
  double pressed_ = 0.0;
  std::optional<Range> before_;
};

}  // namespace fourbeat::ui
