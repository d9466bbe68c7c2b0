// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/loop_kinds.h"

#include "fourbeat/model/members.h"
#include "fourbeat/work/segments.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <optional>

namespace fourbeat::work {

namespace {

constexpr std::size_t kinds = model::EnumNames<model::Category>::list.size();

/// By model::Category, in its order. Common practice, no source, but for what roars evenly: noise
/// that comes again within a second or two is heard to do so without being listened for (N.
/// Guttman, B. Julesz, J. Acoust. Soc. Am. 35, 610, 1963; from memory).
constexpr std::array<double, kinds> shortest_s = {
    1.0,  // exhaust, fused: some revolutions, so that the engine's own rhythm stays
    1.0,  // whistle: some cycles of a vibrato of 4 to 6 Hz
    2.0,  // bell: two strokes, each with its ring
    2.0,  // safety_valve: even noise
    3.0,  // pump: three strokes or more, since no two are alike
    2.0,  // injector: even noise
    1.5,  // motion: some revolutions, or some cycles of a squeal
    4.0,  // ambience: bubbles and drops are few, and each is soon known
    1.0,  // voice
    0.5   // other: nothing is known of it
};
static_assert(std::all_of(shortest_s.begin(), shortest_s.end(), [](double s) { return s > 0.0; }),
              "every model::Category has a shortest loop");

std::optional<model::Category> said_by(model::MarkKind kind) {
  switch (kind) {
    case model::MarkKind::beat:
      return model::Category::exhaust;
    case model::MarkKind::whistle:
      return model::Category::whistle;
    case model::MarkKind::safety_valve:
      return model::Category::safety_valve;
    case model::MarkKind::pump:
      return model::Category::pump;
    case model::MarkKind::injector:
      return model::Category::injector;
    case model::MarkKind::standing:
      return model::Category::ambience;
    default:
      return std::nullopt;
  }
}

bool covers_half(const model::Project& project, const model::Mark& mark,
                 const model::Segment& segment) {
  const bool mixed =
      std::any_of(segment.source.mix.begin(), segment.source.mix.end(),
                  [&](const model::MixInput& input) { return input.take == mark.take; });
  if (!mixed) return false;
  const FrameRange marked = on_pass(project, mark.take, mark.range);
  const FrameIndex from = std::max(marked.start, segment.range.start);
  const FrameIndex to = std::min(marked.end, segment.range.end);
  return from < to && 2 * (to - from).value() >= segment.range.length().value();
}

}  // namespace

double shortest_loop_s(model::Category kind) {
  return shortest_s.at(static_cast<std::size_t>(kind));
}

model::Category kind_of(const model::Project& project, Id<model::Segment> id) {
  const model::Segment* segment = model::find(project, id);
  if (segment == nullptr) return model::Category::other;
  for (const model::Sound& sound : project.sounds) {
    if (sound.hold == id) return sound.category;
  }
  for (const model::Sound& sound : project.sounds) {
    const std::vector<Id<model::Segment>> played = model::segments_of(sound);
    if (std::find(played.begin(), played.end(), id) != played.end()) return sound.category;
  }
  for (const model::Mark& mark : project.marks) {
    const std::optional<model::Category> kind = said_by(mark.kind);
    if (kind && covers_half(project, mark, *segment)) return *kind;
  }
  return model::Category::other;
}

dsp::LoopParams loop_params(const model::Project& project, Id<model::Segment> segment) {
  dsp::LoopParams params;
  params.min_s = shortest_loop_s(kind_of(project, segment));
  return params;
}

}  // namespace fourbeat::work
