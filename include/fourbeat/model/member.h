// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/extra.h"

#include <array>
#include <concepts>
#include <cstdint>
#include <limits>
#include <string_view>
#include <tuple>

/// What a member of a value is, and what it may be. The lists of all members: members.h.

namespace fourbeat::model {

/// Whole numbers stay where JSON readers keep them exact (RFC 8259 section 6): 2^53 - 1.
inline constexpr std::int64_t whole_limit = 9'007'199'254'740'991;

/// What a text must be beside UTF-8.
enum class TextForm {
  any,
  path,    ///< not empty, no NUL
  sha256,  ///< 64 lower-case hexadecimal digits
  date     ///< yyyy-mm-dd, or ""
};

/// What a member may be. `low` and `high` are both allowed; in a list they hold for each item.
struct MemberRule {
  double low = -static_cast<double>(whole_limit);
  double high = static_cast<double>(whole_limit);
  TextForm form = TextForm::any;
  bool required = false;  ///< a file must give it, a reference must be set
  bool own_id = false;    ///< the entity's own id, not a reference
  bool always = false;    ///< written even when it is empty
  bool sparse = false;    ///< written only where it is not what a new value has

  [[nodiscard]] constexpr MemberRule must() const {
    MemberRule rule = *this;
    rule.required = true;
    return rule;
  }
  [[nodiscard]] constexpr MemberRule rarely() const {
    MemberRule rule = *this;
    rule.sparse = true;
    return rule;
  }
};

constexpr MemberRule between(double low, double high) {
  return {.low = low, .high = high};
}
constexpr MemberRule at_least(double low) {
  return {.low = low};
}
constexpr MemberRule text_form(TextForm form) {
  return {.form = form};
}
inline constexpr MemberRule free_rule{};
inline constexpr MemberRule must_rule{.required = true};
inline constexpr MemberRule always_rule{.always = true};
inline constexpr MemberRule sparse_rule{.sparse = true};
inline constexpr MemberRule own_id_rule{.required = true, .own_id = true};

template <class Owner, class Value>
struct Member {
  std::string_view name;
  Value Owner::*at;
  MemberRule rule;
};
template <class Owner, class Value>
constexpr Member<Owner, Value> member(std::string_view name, Value Owner::*at,
                                      MemberRule rule = free_rule) {
  return {name, at, rule};
}

/// Members<T>::list: a tuple of Member, in file order.
template <class T>
struct Members;
template <class T>
concept Described = requires {
  Members<T>::list;
};
/// A value whose unknown members are kept.
template <class T>
concept KeepsExtra = requires(T& value) {
  { value.extra } -> std::same_as<Extra&>;
};

/// Calls visit(member) for every Member of T until one returns something true; returns that.
template <class T, class Visit>
constexpr auto first_of_members(Visit&& visit) {
  return std::apply(
      [&](const auto&... each) {
        decltype(visit(std::get<0>(Members<T>::list))) result{};
        (void)(static_cast<bool>(result = visit(each)) || ...);
        return result;
      },
      Members<T>::list);
}

/// EnumNames<E>::list: the word of each value, in order. VariantNames<V>: the member that tells
/// the alternatives apart, and the word of each.
template <class E>
struct EnumNames;
template <class V>
struct VariantNames;

/// The word of an enumerated value, as files and messages have it.
template <class E>
[[nodiscard]] constexpr std::string_view word_of(E value) {
  return EnumNames<E>::list.at(static_cast<std::size_t>(value));
}

inline constexpr MemberRule segment_gain_rule = between(-60, 40);
inline constexpr MemberRule playback_gain_rule = between(-60, 20);
inline constexpr MemberRule priority_rule = between(0, 100);
inline constexpr MemberRule importance_rule = between(0.1, 10);
/// A CV's number and value beyond the standard's are kept (and are a snag), within reason.
inline constexpr MemberRule cv_rule = between(-1'000'000, 1'000'000);

}  // namespace fourbeat::model
