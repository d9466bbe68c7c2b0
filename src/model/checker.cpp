// SPDX-License-Identifier: GPL-3.0-or-later
#include "checker.h"

#include "fourbeat/base/text.h"
#include "fourbeat/model/validate.h"

#include <array>
#include <cmath>

namespace fourbeat::model {

namespace {

Fault outside(const std::string& found, const MemberRule& rule, const Place& place) {
  return fault(place, fmt::format("is {}", found),
               fmt::format("give {} to {}", rule.low, rule.high));
}

bool is_date(std::string_view text) {
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return false;
  const auto number = [&](std::size_t at, std::size_t count) {
    int value = 0;
    for (std::size_t i = at; i < at + count; ++i) {
      if (text[i] < '0' || text[i] > '9') return -1;
      value = value * 10 + (text[i] - '0');
    }
    return value;
  };
  const int year = number(0, 4);
  const int month = number(5, 2);
  const int day = number(8, 2);
  if (year < 0 || month < 1 || month > 12 || day < 1) return false;
  constexpr std::array<int, 12> days{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  const bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
  return day <= days.at(static_cast<std::size_t>(month) - 1) + (month == 2 && leap ? 1 : 0);
}

bool is_sha256(std::string_view text) {
  return text.size() == 64 && text.find_first_not_of("0123456789abcdef") == std::string_view::npos;
}

}  // namespace

Fault check_number(double value, const MemberRule& rule, const Place& place) {
  if (!std::isfinite(value)) {
    return fault(place, "is not a finite number", {}, ErrorCode::not_finite);
  }
  if (value >= rule.low && value <= rule.high) return std::nullopt;
  return outside(fmt::format("{}", value), rule, place);
}

Fault check_whole(std::int64_t value, const MemberRule& rule, const Place& place) {
  // Within the whole limit a double holds the number exactly, so the comparison is exact.
  if (value >= -whole_limit && value <= whole_limit && static_cast<double>(value) >= rule.low &&
      static_cast<double>(value) <= rule.high) {
    return std::nullopt;
  }
  return outside(fmt::format("{}", value), rule, place);
}

Fault check_text(std::string_view text, const MemberRule& rule, const Place& place) {
  if (!is_utf8(text)) return fault(place, "is not UTF-8", "give text in UTF-8");
  switch (rule.form) {
    case TextForm::any:
      return std::nullopt;
    case TextForm::path:
      if (!text.empty() && text.find('\0') == std::string_view::npos) return std::nullopt;
      return fault(place, "is not a path", "give a path relative to the project's folder");
    case TextForm::sha256:
      if (is_sha256(text)) return std::nullopt;
      return fault(place, "is not a SHA-256", "give 64 lower-case hexadecimal digits");
    case TextForm::date:
      if (text.empty() || is_date(text)) return std::nullopt;
      return fault(place, "is not a date", "give yyyy-mm-dd, or nothing");
  }
  return std::nullopt;
}

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
  return check_holds_sound(loop.range, place);
}

Fault check_together(const Chuff& chuff, const Place& place) {
  return check_holds_sound(chuff.range, place);
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

Fault check_together(const ChuffRow& row, const Place& place) {
  if (row.from_kmh < row.to_kmh) return std::nullopt;
  return fault(place, fmt::format("goes from {} to {} km/h", row.from_kmh, row.to_kmh),
               "let from_kmh be below to_kmh");
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

}  // namespace fourbeat::model
