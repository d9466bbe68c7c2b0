// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/beat_edits.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

namespace fourbeat::work {

namespace {

using model::Mark;
using model::MarkKind;

constexpr double too_near_s = 0.020;
/// A stretch of beats reaches this share of an interval beyond its first and last, so that it still
/// holds them when they are tracked a little elsewhere.
constexpr double beyond = 0.2;

/// One act on one take.
class Act {
 public:
  Act(const model::Project& project, const TrackedTake& tracked)
      : project_(project), tracked_(tracked), take_(model::find(project, tracked.take)) {}

  [[nodiscard]] const std::vector<dsp::Beat>& beats() const { return tracked_.track.beats; }

  [[nodiscard]] Status check(FrameIndex frame) const {
    if (take_ == nullptr) {
      return Error{
          ErrorCode::not_found, {}, {}, fmt::format("no take {}", tracked_.take.value()), {}};
    }
    if (frame >= FrameIndex(0) && frame < FrameIndex(0) + take_->frames) return ok();
    return refuse(frame, fmt::format("is outside the take's {} frames", take_->frames.value()),
                  "choose a place in the take");
  }
  [[nodiscard]] Status check(const FrameRange& range) const {
    if (Status inside = check(range.start); !inside) return inside;
    if (range.empty()) return refuse(range.start, "the stretch is empty", "choose a stretch");
    return check(range.end - FrameCount(1));
  }

  [[nodiscard]] Error refuse(FrameIndex frame, std::string detail, std::string mend) const {
    return Error{ErrorCode::bad_argument, take_ == nullptr ? std::string() : take_->path,
                 fmt::format("frame {}", frame.value()), std::move(detail), std::move(mend)};
  }

  [[nodiscard]] Result<std::size_t> beat_at(FrameIndex near) const {
    if (const Status inside = check(near); !inside) return inside.error();
    const std::optional<std::size_t> at =
        dsp::beat_near(tracked_.track, near, take_->sample_rate_hz);
    if (at) return *at;
    return refuse(near, "there is no beat here", "choose a place near a beat");
  }

  /// Beats [first, first + count) in a stretch.
  struct Inside {
    std::size_t first = 0;
    std::size_t count = 0;
  };
  [[nodiscard]] Result<Inside> beats_in(const FrameRange& range, std::size_t least) const {
    if (const Status inside = check(range); !inside) return inside.error();
    const auto before = [](const dsp::Beat& beat, FrameIndex frame) { return beat.frame < frame; };
    const auto from = std::lower_bound(beats().begin(), beats().end(), range.start, before);
    const auto to = std::lower_bound(from, beats().end(), range.end, before);
    const Inside inside{static_cast<std::size_t>(from - beats().begin()),
                        static_cast<std::size_t>(to - from)};
    if (inside.count >= least) return inside;
    return refuse(range.start, fmt::format("the stretch holds {} beats", inside.count),
                  fmt::format("choose one that holds {} or more", least));
  }

  /// From a little before one beat to a little after another, within the take.
  [[nodiscard]] FrameRange around(std::size_t first, std::size_t last) const {
    const auto part = [&](std::size_t a, std::size_t b) {
      const auto frames = static_cast<double>((beats()[b].frame - beats()[a].frame).value());
      return FrameCount(static_cast<std::int64_t>(beyond * frames));
    };
    return {std::max(FrameIndex(0), beats()[first].frame - part(first, first + 1)),
            std::min(FrameIndex(0) + take_->frames,
                     beats()[last].frame + part(last - 1, last) + FrameCount(1))};
  }

  [[nodiscard]] Mark made(MarkKind kind, const FrameRange& range) const {
    Mark mark;
    mark.take = tracked_.take;
    mark.kind = kind;
    mark.range = range;
    return mark;
  }
  [[nodiscard]] Mark made(MarkKind kind, FrameIndex at) const { return made(kind, {at, at}); }

  /// The mark that put a beat where it is.
  [[nodiscard]] const Mark* mark_behind(const dsp::Beat& beat) const {
    const Mark* found = nullptr;
    for (const Mark& mark : project_.marks) {
      if (mark.take != tracked_.take) continue;
      if ((mark.kind == MarkKind::beat_added && mark.range.start == beat.frame) ||
          (mark.kind == MarkKind::beat_moved && mark.to_frame == beat.frame)) {
        found = &mark;
      }
    }
    return found;
  }

  /// Calls visit(mark) for the take's marks that are set by hand.
  template <class Visit>
  void each_hand_set(const Visit& visit) const {
    for (const Mark& mark : project_.marks) {
      if (mark.take == tracked_.take && static_cast<int>(mark.kind) >= model::first_hand_set_kind)
        visit(mark);
    }
  }

  [[nodiscard]] FrameCount frames(double seconds) const {
    return FrameCount(static_cast<std::int64_t>(seconds * take_->sample_rate_hz));
  }

 private:
  const model::Project& project_;
  const TrackedTake& tracked_;
  const model::Take* take_;
};

std::vector<model::Edit> adding(Mark mark) {
  return {model::Add<Mark>{std::move(mark), std::nullopt}};
}

}  // namespace

BeatEdits insert_beat(const model::Project& project, const TrackedTake& tracked, FrameIndex at) {
  const Act act(project, tracked);
  if (const Status inside = act.check(at); !inside) return inside.error();
  for (const dsp::Beat& beat : act.beats()) {
    if (beat.frame - at < act.frames(too_near_s) && at - beat.frame < act.frames(too_near_s)) {
      return act.refuse(at, fmt::format("there is a beat at frame {}", beat.frame.value()),
                        "move that one");
    }
  }
  return adding(act.made(MarkKind::beat_added, at));
}

BeatEdits delete_beat(const model::Project& project, const TrackedTake& tracked, FrameIndex near) {
  const Act act(project, tracked);
  const Result<std::size_t> at = act.beat_at(near);
  if (!at) return at.error();
  const dsp::Beat& beat = act.beats()[*at];
  const Mark* behind = act.mark_behind(beat);
  if (behind == nullptr) return adding(act.made(MarkKind::beat_removed, beat.frame));
  if (behind->kind == MarkKind::beat_added)
    return std::vector<model::Edit>{model::Remove<Mark>{behind->id}};
  Mark changed = *behind;
  changed.kind = MarkKind::beat_removed;
  changed.to_frame.reset();
  return std::vector<model::Edit>{model::Replace<Mark>{std::move(changed)}};
}

BeatEdits move_beat(const model::Project& project, const TrackedTake& tracked, FrameIndex from,
                    FrameIndex to) {
  const Act act(project, tracked);
  const Result<std::size_t> at = act.beat_at(from);
  if (!at) return at.error();
  if (const Status inside = act.check(to); !inside) return inside.error();
  const FrameCount near = act.frames(too_near_s);
  const bool past_left = *at > 0 && to < act.beats()[*at - 1].frame + near;
  const bool past_right = *at + 1 < act.beats().size() && to > act.beats()[*at + 1].frame - near;
  if (past_left || past_right) {
    const dsp::Beat& other = act.beats()[past_left ? *at - 1 : *at + 1];
    return act.refuse(to, fmt::format("is on or past the beat at frame {}", other.frame.value()),
                      "move that one first, or delete this one and insert another");
  }
  const dsp::Beat& beat = act.beats()[*at];
  const Mark* behind = act.mark_behind(beat);
  if (behind == nullptr) {
    Mark mark = act.made(MarkKind::beat_moved, beat.frame);
    mark.to_frame = to;
    return adding(std::move(mark));
  }
  Mark changed = *behind;
  if (changed.kind == MarkKind::beat_added) {
    changed.range = {to, to};
  } else if (changed.range.start == to) {
    return std::vector<model::Edit>{model::Remove<Mark>{behind->id}};
  } else {
    changed.to_frame = to;
  }
  return std::vector<model::Edit>{model::Replace<Mark>{std::move(changed)}};
}

BeatEdits halve_beats(const model::Project& project, const TrackedTake& tracked,
                      const FrameRange& range) {
  const Act act(project, tracked);
  const Result<Act::Inside> inside = act.beats_in(range, 3);
  if (!inside) return inside.error();
  double even = 0.0;
  double odd = 0.0;
  for (std::size_t k = 0; k < inside->count; ++k)
    (k % 2 == 0 ? even : odd) += act.beats()[inside->first + k].strength;
  // As means: of five beats three are even ones.
  const std::size_t odds = inside->count / 2;
  even /= static_cast<double>(inside->count - odds);
  odd /= static_cast<double>(odds);
  std::vector<model::Edit> edits;
  std::size_t first = inside->first;
  std::size_t count = inside->count;
  if (odd > even) {
    edits.emplace_back(
        model::Add<Mark>{act.made(MarkKind::beat_removed, act.beats()[first].frame), std::nullopt});
    ++first;
    --count;
  }
  Mark mark = act.made(MarkKind::beats_halved, act.around(first, first + count - 1));
  mark.beats = static_cast<int>((count + 1) / 2);
  edits.emplace_back(model::Add<Mark>{std::move(mark), std::nullopt});
  return edits;
}

BeatEdits double_beats(const model::Project& project, const TrackedTake& tracked,
                       const FrameRange& range) {
  const Act act(project, tracked);
  const Result<Act::Inside> inside = act.beats_in(range, 2);
  if (!inside) return inside.error();
  Mark mark = act.made(MarkKind::beats_doubled,
                       act.around(inside->first, inside->first + inside->count - 1));
  mark.beats = static_cast<int>(2 * inside->count - 1);
  return adding(std::move(mark));
}

BeatEdits set_revolution(const model::Project& project, const TrackedTake& tracked,
                         const FrameRange& range) {
  const Act act(project, tracked);
  const Result<std::size_t> start = act.beat_at(range.start);
  if (!start) return start.error();
  FrameRange exact{act.beats()[*start].frame, act.beats()[*start].frame};
  const auto per_rev = static_cast<std::size_t>(project.engine.beats_per_rev);
  if (range.end != range.start) {
    const Result<std::size_t> end = act.beat_at(range.end);
    if (!end) return end.error();
    const std::size_t held = *end > *start ? *end - *start : 0;
    if (held != per_rev) {
      return act.refuse(range.start,
                        fmt::format("{} beats to frame {}, the engine has {} a revolution", held,
                                    range.end.value(), per_rev),
                        "insert or delete beats first, or mend the engine's beats a revolution");
    }
    exact.end = act.beats()[*end].frame;
  }
  const FrameIndex from = act.beats()[*start >= per_rev - 1 ? *start - (per_rev - 1) : 0].frame;
  const FrameIndex to = act.beats()[std::min(act.beats().size() - 1, *start + per_rev - 1)].frame;
  std::vector<model::Edit> edits;
  act.each_hand_set([&](const Mark& mark) {
    if (mark.kind == MarkKind::revolution && mark.range.start >= from && mark.range.start <= to)
      edits.emplace_back(model::Remove<Mark>{mark.id});
  });
  edits.emplace_back(model::Add<Mark>{act.made(MarkKind::revolution, exact), std::nullopt});
  return edits;
}

BeatEdits retrack_between(const model::Project& project, const TrackedTake& tracked,
                          FrameIndex first, FrameIndex second, std::optional<int> intervals) {
  const Act act(project, tracked);
  FrameRange pins{first, second};
  for (FrameIndex* pin : {&pins.start, &pins.end}) {
    if (const Status inside = act.check(*pin); !inside) return inside.error();
    if (const Result<std::size_t> at = act.beat_at(*pin)) *pin = act.beats()[*at].frame;
  }
  if (pins.empty()) {
    return act.refuse(second, fmt::format("is not after frame {}", first.value()),
                      "pin two different beats, the earlier one first");
  }
  if (intervals && (*intervals < 1 || *intervals > 100'000)) {
    return act.refuse(first, fmt::format("{} intervals", *intervals), "give 1 to 100000");
  }
  Mark mark = act.made(MarkKind::retracked, pins);
  mark.beats = intervals;
  return adding(std::move(mark));
}

BeatEdits set_effort(const model::Project& project, const TrackedTake& tracked,
                     const FrameRange& range, model::Effort effort) {
  const Act act(project, tracked);
  if (const Status inside = act.check(range); !inside) return inside.error();
  std::vector<model::Edit> edits;
  act.each_hand_set([&](const Mark& mark) {
    if (mark.kind == MarkKind::effort && range.contains(mark.range))
      edits.emplace_back(model::Remove<Mark>{mark.id});
  });
  Mark mark = act.made(MarkKind::effort, range);
  mark.effort = effort;
  edits.emplace_back(model::Add<Mark>{std::move(mark), std::nullopt});
  return edits;
}

BeatEdits clear_hand_set(const model::Project& project, const TrackedTake& tracked,
                         const FrameRange& range) {
  const Act act(project, tracked);
  if (const Status inside = act.check(range); !inside) return inside.error();
  std::vector<model::Edit> edits;
  act.each_hand_set([&](const Mark& mark) {
    const FrameIndex end = std::max(mark.range.end, mark.range.start + FrameCount(1));
    if (mark.range.start < range.end && end > range.start)
      edits.emplace_back(model::Remove<Mark>{mark.id});
  });
  return edits;
}

MarkedCorrections corrections_of(const model::Project& project, Id<model::Take> take) {
  MarkedCorrections all;
  for (const Mark& mark : project.marks) {
    if (mark.take != take) continue;
    const FrameIndex at = mark.range.start;
    switch (mark.kind) {
      case MarkKind::beat_added:
        all.corrections.emplace_back(dsp::AddBeat{at});
        break;
      case MarkKind::beat_removed:
        all.corrections.emplace_back(dsp::RemoveBeat{at});
        break;
      case MarkKind::beat_moved:
        all.corrections.emplace_back(dsp::MoveBeat{at, mark.to_frame.value_or(at)});
        break;
      case MarkKind::beats_halved:
        all.corrections.emplace_back(dsp::HalveBeats{mark.range, mark.beats});
        break;
      case MarkKind::beats_doubled:
        all.corrections.emplace_back(dsp::DoubleBeats{mark.range, mark.beats});
        break;
      case MarkKind::revolution:
        all.corrections.emplace_back(dsp::SetRevolution{mark.range});
        break;
      case MarkKind::retracked:
        all.corrections.emplace_back(dsp::RetrackBetween{mark.range, mark.beats});
        break;
      default:
        continue;
    }
    all.marks.push_back(mark.id);
  }
  return all;
}

}  // namespace fourbeat::work
