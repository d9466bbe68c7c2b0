// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/project.h"

#include <cstddef>
#include <optional>
#include <string_view>
#include <type_traits>
#include <vector>

/// The kinds of entity a project lists, and where: the one place that Add, Remove, Replace,
/// checks and JSON Pointers read.

namespace fourbeat::model {

template <class T>
struct Entity;  ///< `word`: as in messages and edit names; `list`: its JSON Pointer
template <>
struct Entity<Take> {
  static constexpr std::string_view word = "take", list = "/takes";
};
template <>
struct Entity<Pass> {
  static constexpr std::string_view word = "pass", list = "/passes";
};
template <>
struct Entity<Mark> {
  static constexpr std::string_view word = "mark", list = "/marks";
};
template <>
struct Entity<Segment> {
  static constexpr std::string_view word = "segment", list = "/segments";
};
template <>
struct Entity<Sound> {
  static constexpr std::string_view word = "sound", list = "/sounds";
};
template <>
struct Entity<ChuffRow> {
  static constexpr std::string_view word = "chuff_row", list = "/chuffs/rows";
};
template <>
struct Entity<Key> {
  static constexpr std::string_view word = "key", list = "/keys";
};
template <>
struct Entity<OwnState> {
  static constexpr std::string_view word = "state", list = "/states";
};
template <>
struct Entity<Trigger> {
  static constexpr std::string_view word = "trigger", list = "/triggers";
};
template <>
struct Entity<Layer> {
  static constexpr std::string_view word = "layer", list = "/layers";
};
template <>
struct Entity<Option> {
  static constexpr std::string_view word = "option", list = "/options";
};
template <>
struct Entity<Cv> {
  static constexpr std::string_view word = "cv", list = "/cvs";
};
template <>
struct Entity<Verdict> {
  static constexpr std::string_view word = "verdict", list = "/verdicts";
};

/// The list of one kind; P is Project or const Project.
template <class T, class P>
[[nodiscard]] constexpr auto& list_of(P& project) {
  static_assert(std::is_same_v<std::remove_const_t<P>, Project>);
  if constexpr (std::is_same_v<T, Take>) {
    return project.takes;
  } else if constexpr (std::is_same_v<T, Pass>) {
    return project.passes;
  } else if constexpr (std::is_same_v<T, Mark>) {
    return project.marks;
  } else if constexpr (std::is_same_v<T, Segment>) {
    return project.segments;
  } else if constexpr (std::is_same_v<T, Sound>) {
    return project.sounds;
  } else if constexpr (std::is_same_v<T, ChuffRow>) {
    return project.chuffs.rows;
  } else if constexpr (std::is_same_v<T, Key>) {
    return project.keys;
  } else if constexpr (std::is_same_v<T, OwnState>) {
    return project.states;
  } else if constexpr (std::is_same_v<T, Trigger>) {
    return project.triggers;
  } else if constexpr (std::is_same_v<T, Layer>) {
    return project.layers;
  } else if constexpr (std::is_same_v<T, Option>) {
    return project.options;
  } else if constexpr (std::is_same_v<T, Cv>) {
    return project.cvs;
  } else {
    static_assert(std::is_same_v<T, Verdict>);
    return project.verdicts;
  }
}

/// Calls `visit.template operator()<T>()` for every kind, in file order.
template <class Visit>
constexpr void for_each_entity_kind(Visit&& visit) {
  visit.template operator()<Take>();
  visit.template operator()<Pass>();
  visit.template operator()<Mark>();
  visit.template operator()<Segment>();
  visit.template operator()<Sound>();
  visit.template operator()<ChuffRow>();
  visit.template operator()<Key>();
  visit.template operator()<OwnState>();
  visit.template operator()<Trigger>();
  visit.template operator()<Layer>();
  visit.template operator()<Option>();
  visit.template operator()<Cv>();
  visit.template operator()<Verdict>();
}

/// The place of an id in its list; none where it is missing or unset. O(n).
template <class T>
[[nodiscard]] std::optional<std::size_t> index_of(const Project& project, Id<T> id) {
  if (!id.is_set()) return std::nullopt;
  const std::vector<T>& list = list_of<T>(project);
  for (std::size_t i = 0; i < list.size(); ++i) {
    if (list[i].id == id) return i;
  }
  return std::nullopt;
}

}  // namespace fourbeat::model
