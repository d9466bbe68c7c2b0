// SPDX-License-Identifier: GPL-3.0-or-later
#include "checker.h"

#include "fourbeat/model/validate.h"

namespace fourbeat::model {

Fault check_together(const FrameRange& range, const Place& place) {
  if (range.start <= range.end) return std::nullopt;
  return fault(place,
               fmt::format("starts at {} and ends at {}", range.start.value(), range.end.value()),
               "let the start come before the end");
}

namespace {

Fault check_holds_sound(const FrameRange& range, const Place& place) {
  if (range.start < range.end) return std::nullopt;
  return fault({&place, "range"}, "is empty", "let the start come before the end");
}

}  // namespace

Fault check_together(const Segment& segment, const Place& place) {
  return check_holds_sound(segment.range, place);
}

Fault check_together(const Loop& loop, const Place& place) {
  constexpr std::size_t most_octaves = 6;  // dsp::LoopSpec
  if (loop.octave_drift_db.size() > most_octaves) {
    return fault({&place, "octave_drift_db"}, fmt::format("has {}", loop.octave_drift_db.size()),
                 "give at most six octaves");
  }
  return check_holds_sound(loop.range, place);
}

Fault check_together(const Chuff& chuff, const Place& place) {
  return check_holds_sound(chuff.range, place);
}

Fault check_together(const FusedLoop& fused, const Place& place) {
  return check_holds_sound(fused.range, place);
}

Fault check_together(const HighPass& step, const Place& place) {
  if (step.order % 2 == 0) return std::nullopt;
  return fault({&place, "order"}, fmt::format("is {}", step.order), "give 2, 4, 6 or 8");
}

Fault check_together(const Engine& engine, const Place& place) {
  const std::vector<double>& angles = engine.beat_angles_deg;
  if (angles.empty()) return std::nullopt;
  const Place where{&place, "beat_angles_deg"};
  if (static_cast<int>(angles.size()) != engine.beats_per_rev) {
    return fault(where, fmt::format("{} angles for {} beats", angles.size(), engine.beats_per_rev),
                 "give one angle a beat, or none for even ones");
  }
  for (std::size_t i = 0; i < angles.size(); ++i) {
    if (angles[i] < 360.0 && (i == 0 || angles[i] > angles[i - 1])) continue;
    return fault({&where, {}, i}, fmt::format("is {}", angles[i]),
                 "give angles that rise, below 360");
  }
  return std::nullopt;
}

Fault check_together(const EffortCalibration& effort, const Place& place) {
  const auto pair = [&](const std::optional<double>& low, const std::optional<double>& high,
                        std::string_view low_name, std::string_view high_name) -> Fault {
    if (low.has_value() != high.has_value()) {
      return fault({&place, low ? high_name : low_name}, "is missing",
                   fmt::format("give {} and {}, or neither", low_name, high_name));
    }
    if (!low || *low < *high) return std::nullopt;
    return fault({&place, high_name}, fmt::format("is {}, {} is {}", *high, low_name, *low),
                 fmt::format("let {} be below {}", low_name, high_name));
  };
  if (Fault found = pair(effort.drifting_below_db, effort.hard_from_db, "drifting_below_db",
                         "hard_from_db")) {
    return found;
  }
  if (Fault found = pair(effort.drifting_below_share, effort.hard_from_share,
                         "drifting_below_share", "hard_from_share")) {
    return found;
  }
  return pair(effort.drifting_below_m_s2, effort.hard_from_m_s2, "drifting_below_m_s2",
              "hard_from_m_s2");
}

Fault check_together(const Mark& mark, const Place& place) {
  const bool point = mark.range.start == mark.range.end;
  const std::string_view kind = word_of(mark.kind);
  if (mark.to_frame.has_value() != (mark.kind == MarkKind::beat_moved)) {
    return fault({&place, "to_frame"}, mark.to_frame ? "is given" : "is missing",
                 mark.to_frame ? fmt::format("leave it out of a mark of kind {}", kind)
                               : "say where the beat is moved to");
  }
  if (mark.effort.has_value() != (mark.kind == MarkKind::effort)) {
    return fault({&place, "effort"}, mark.effort ? "is given" : "is missing",
                 mark.effort ? fmt::format("leave it out of a mark of kind {}", kind)
                             : "say which effort the stretch has");
  }
  if (mark.beats && mark.kind != MarkKind::beats_halved && mark.kind != MarkKind::beats_doubled &&
      mark.kind != MarkKind::retracked) {
    return fault({&place, "beats"}, "is given",
                 fmt::format("leave it out of a mark of kind {}", kind));
  }
  switch (mark.kind) {
    case MarkKind::beat_added:
    case MarkKind::beat_removed:
    case MarkKind::beat_moved:
      if (point) return std::nullopt;
      return fault({&place, "range"}, "is a stretch", "let it start and end at the beat");
    case MarkKind::effort:
    case MarkKind::beats_halved:
    case MarkKind::beats_doubled:
    case MarkKind::retracked:
      if (!point) return std::nullopt;
      return fault({&place, "range"}, "is a point", "give the stretch that it is about");
    default:
      return std::nullopt;
  }
}

Fault check_together(const ChuffRow& row, const Place& place) {
  if (row.from_kmh < row.to_kmh) return std::nullopt;
  return fault(place, fmt::format("goes from {} to {} km/h", row.from_kmh, row.to_kmh),
               "let from_kmh be below to_kmh");
}

Fault check_together(const Verdict& verdict, const Place& place) {
  if (verdict.segment.is_set() != verdict.row.is_set()) return std::nullopt;
  const bool both = verdict.row.is_set();
  return fault({&place, both ? "row" : "segment"},
               both ? "is given beside a segment" : "is missing",
               "name the segment or the chuff row that was heard, one of them");
}

Fault check_together(const Speaker& speaker, const Place& place) {
  if (speaker.name.empty()) return fault({&place, "name"}, "is empty", "give the speaker a name");
  if (speaker.high_pass_hz < speaker.low_pass_hz) return std::nullopt;
  return fault({&place, "low_pass_hz"},
               fmt::format("is {}, high_pass_hz is {}", speaker.low_pass_hz, speaker.high_pass_hz),
               "let it be above high_pass_hz");
}

Fault check_together(const Source& source, const Place& place) {
  if (!source.mix.empty()) return std::nullopt;
  return fault({&place, "mix"}, "has no microphone", "mix at least one channel of a take");
}

Fault check_together(const Take& take, const Place& place) {
  if (take.microphones.size() <= static_cast<std::size_t>(take.channels)) return std::nullopt;
  return fault({&place, "microphones"},
               fmt::format("{} for {} channels", take.microphones.size(), take.channels),
               "give at most one a channel");
}

namespace {

template <class T>
Fault repeated_id(const std::vector<T>& list) {
  std::unordered_map<std::int64_t, std::size_t> seen;
  for (std::size_t i = 0; i < list.size(); ++i) {
    const auto [first, fresh] = seen.emplace(list[i].id.value(), i);
    if (fresh) continue;
    const Place lists{nullptr, Entity<T>::list};
    const Place item{&lists, {}, i};
    return fault({&item, "id"},
                 fmt::format("id {} is that of {}/{} too", list[i].id.value(), Entity<T>::list,
                             first->second),
                 "give each entity its own id");
  }
  return std::nullopt;
}

}  // namespace

Status validate(const Project& project) {
  Fault found;
  for_each_entity_kind([&]<class T>() {
    if (!found) found = repeated_id(list_of<T>(project));
  });
  if (!found) {
    const IndexedLookup lookup(project);
    found = Checker(lookup).object(project, {});
  }
  if (found) return *found;
  return ok();
}

Fault check_speaker(const Speaker& speaker, const Place& place) {
  const Project nothing;
  const LinearLookup lookup(nothing);
  return Checker(lookup).object(speaker, place);
}

Fault check_clean_chain(std::span<const CleanStep> steps, const Place& place) {
  const Project nothing;
  const LinearLookup lookup(nothing);
  for (std::size_t i = 0; i < steps.size(); ++i) {
    const Place at{&place, {}, i};
    Fault found =
        std::visit([&](const auto& step) { return Checker(lookup).object(step, at); }, steps[i]);
    if (found) return found;
  }
  return std::nullopt;
}

}  // namespace fourbeat::model
