// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "json_text.h"

#include "fourbeat/model/check_value.h"
#include "fourbeat/model/members.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <cmath>
#include <limits>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>
#include <variant>

/// Values to JSON and back, by walking Members<T>.

namespace fourbeat::store {

using model::Fault;
using model::MemberRule;
using model::Place;

/// What becomes of members that nobody knows, where a value has nowhere to keep them.
enum class Unknown { refuse, ignore };

/// The number of a whole JSON number within ±whole_limit (5.0 is one), else nothing.
[[nodiscard]] inline std::optional<std::int64_t> whole_number(const Json& json) {
  if (json.is_number_unsigned()) {
    const auto number = json.get<std::uint64_t>();
    if (number > static_cast<std::uint64_t>(model::whole_limit)) return std::nullopt;
    return static_cast<std::int64_t>(number);
  }
  if (json.is_number_integer()) {
    const auto number = json.get<std::int64_t>();
    return number < -model::whole_limit ? std::nullopt : std::optional(number);
  }
  if (!json.is_number_float()) return std::nullopt;
  const auto number = json.get<double>();
  if (number != std::trunc(number) || std::abs(number) > static_cast<double>(model::whole_limit)) {
    return std::nullopt;
  }
  return static_cast<std::int64_t>(number);
}

class Reader {
 public:
  /// ids_optional: an entity's own id may be left out.
  explicit Reader(Unknown unknown, bool ids_optional = false)
      : unknown_(unknown), ids_optional_(ids_optional) {}

  template <class T>
  [[nodiscard]] Fault value(const Json& json, T& out, const MemberRule& rule,
                            const Place& place) const {
    if constexpr (std::is_same_v<T, bool>) {
      if (!json.is_boolean()) return wrong(place, json, "true or false");
      out = json.get<bool>();
      return std::nullopt;
    } else if constexpr (std::is_enum_v<T>) {
      return word(json, out, place);
    } else if constexpr (std::is_floating_point_v<T>) {
      if (!json.is_number()) return wrong(place, json, "a number");
      out = json.get<double>();
      return model::check_number(out, rule, place);
    } else if constexpr (std::is_integral_v<T>) {
      return whole(json, out, rule, place);
    } else if constexpr (std::is_same_v<T, FrameCount> || std::is_same_v<T, FrameIndex>) {
      std::int64_t number = 0;
      Fault found = whole(json, number, rule, place);
      out = T(number);
      return found;
    } else if constexpr (std::is_same_v<T, std::string>) {
      if (!json.is_string()) return wrong(place, json, "a text");
      out = json.get<std::string>();
      return model::check_text(out, rule, place);
    } else if constexpr (model::Described<T>) {
      return object(json, out, place);
    } else {
      return composed(json, out, rule, place);
    }
  }

  /// An object; `skip` names members that the caller has read.
  template <class T>
  [[nodiscard]] Fault object(const Json& json, T& out, const Place& place,
                             std::span<const std::string_view> skip = {}) const {
    if (!json.is_object()) return wrong(place, json, "an object");
    Fault found = model::first_of_members<T>([&](const auto& member) -> Fault {
      const auto at = json.find(member.name);
      const Place where{&place, member.name};
      if (at != json.end()) return value(*at, out.*member.at, member.rule, where);
      if (!member.rule.required || (member.rule.own_id && ids_optional_)) return std::nullopt;
      return model::fault(where, "is missing", fmt::format("give {}", member.name));
    });
    if (found) return found;
    for (auto item = json.begin(); item != json.end(); ++item) {
      const std::string& key = item.key();
      if (std::find(skip.begin(), skip.end(), key) != skip.end() || is_member<T>(key)) continue;
      if constexpr (model::KeepsExtra<T>) {
        out.extra.emplace(key, item->dump());
      } else if (unknown_ == Unknown::refuse) {
        const std::string level = escaped_level(key);
        return model::fault({&place, level}, "no such member", "remove it, or mend its name");
      }
    }
    return std::nullopt;
  }

  /// Something of the wrong kind.
  [[nodiscard]] static Fault wrong(const Place& place, const Json& json, std::string_view wanted) {
    return model::fault(place, fmt::format("is {}", kind_of(json)), fmt::format("give {}", wanted));
  }

 private:
  [[nodiscard]] static std::string_view kind_of(const Json& json) {
    if (json.is_null()) return "null";
    if (json.is_boolean()) return "true or false";
    if (json.is_number()) return "a number";
    if (json.is_string()) return "a text";
    return json.is_array() ? "a list" : "an object";
  }

  template <class T>
  [[nodiscard]] static bool is_member(std::string_view key) {
    return model::first_of_members<T>([&](const auto& member) { return member.name == key; });
  }

  template <class T>
  [[nodiscard]] Fault whole(const Json& json, T& out, const MemberRule& rule,
                            const Place& place) const {
    const std::optional<std::int64_t> number = whole_number(json);
    if (!json.is_number()) return wrong(place, json, "a whole number");
    if (!number)
      return model::fault(place, "is not a whole number in range", "give a whole number");
    if (Fault found = model::check_whole(*number, rule, place)) return found;
    if (!std::in_range<T>(*number)) {
      return model::fault(place, fmt::format("is {}", *number), "give a smaller number");
    }
    out = static_cast<T>(*number);
    return std::nullopt;
  }

  template <class E>
  [[nodiscard]] Fault word(const Json& json, E& out, const Place& place) const {
    constexpr auto& words = model::EnumNames<E>::list;
    if (json.is_string()) {
      const auto& text = json.get_ref<const std::string&>();
      for (std::size_t i = 0; i < words.size(); ++i) {
        if (words.at(i) != text) continue;
        out = static_cast<E>(i);
        return std::nullopt;
      }
      return model::fault(place, fmt::format("is “{}”", text),
                          fmt::format("give one of {}", fmt::join(words, ", ")));
    }
    return wrong(place, json, fmt::format("one of {}", fmt::join(words, ", ")));
  }

  template <class T>
  [[nodiscard]] Fault composed(const Json& json, Id<T>& out, const MemberRule& /*rule*/,
                               const Place& place) const {
    std::int64_t number = 0;
    constexpr MemberRule ids = model::between(1, static_cast<double>(model::whole_limit - 1));
    Fault found = whole(json, number, ids, place);
    out = Id<T>(number);
    return found;
  }
  template <class T>
  [[nodiscard]] Fault composed(const Json& json, std::optional<T>& out, const MemberRule& rule,
                               const Place& place) const {
    if (json.is_null()) return std::nullopt;
    return value(json, out.emplace(), rule, place);
  }
  template <class T>
  [[nodiscard]] Fault composed(const Json& json, std::vector<T>& out, const MemberRule& rule,
                               const Place& place) const {
    if (!json.is_array()) return wrong(place, json, "a list");
    out.reserve(json.size());
    for (std::size_t i = 0; i < json.size(); ++i) {
      T item{};
      if (Fault found = value(json[i], item, rule, {&place, {}, i})) return found;
      out.push_back(std::move(item));
    }
    return std::nullopt;
  }
  /// An edit, by its kind.
  template <class Edit>
  requires requires(const Edit& edit) { edit.value().kind; }
  [[nodiscard]] Fault composed(const Json& json, Edit& out, const MemberRule& rule,
                               const Place& place) const {
    auto read = std::make_shared<std::remove_cvref_t<decltype(out.value())>>();
    if (Fault found = composed(json, read->kind, rule, place)) return found;
    out = Edit(std::move(read));
    return std::nullopt;
  }
  template <class... T>
  [[nodiscard]] Fault composed(const Json& json, std::variant<T...>& out,
                               const MemberRule& /*rule*/, const Place& place) const {
    using Variant = std::variant<T...>;
    constexpr std::string_view tag = model::VariantNames<Variant>::tag;
    if (!json.is_object()) return wrong(place, json, "an object");
    const auto named = json.find(tag);
    const Place where{&place, tag};
    if (named == json.end()) {
      return model::fault(where, "is missing", fmt::format("give {}", tag));
    }
    if (!named->is_string()) return wrong(where, *named, "a text");
    const auto& name = named->template get_ref<const std::string&>();
    return alternative(json, out, name, place, std::index_sequence_for<T...>{});
  }
  template <class Variant, std::size_t... I>
  [[nodiscard]] Fault alternative(const Json& json, Variant& out, const std::string& name,
                                  const Place& place, std::index_sequence<I...> /*all*/) const {
    constexpr auto& names = model::VariantNames<Variant>::list;
    static_assert(names.size() == sizeof...(I));
    constexpr std::string_view tag = model::VariantNames<Variant>::tag;
    Fault found;
    const auto read = [&]<std::size_t i>() {
      std::variant_alternative_t<i, Variant> value{};
      found = object(json, value, place, std::span(&tag, 1));
      out = std::move(value);
      return true;
    };
    const bool known = ((names.at(I) == name && read.template operator()<I>()) || ...);
    if (known) return found;
    return model::fault({&place, tag}, fmt::format("is “{}”", name),
                        fmt::format("give one of {}", fmt::join(names, ", ")));
  }

  Unknown unknown_;
  bool ids_optional_;
};

/// A value as JSON. Left out: texts and lists that are empty, references and options that are
/// unset, but members marked `always`; members marked `sparse` that are what a new value has.
/// Unknown members come last.
class Writer {
 public:
  template <class T>
  [[nodiscard]] Json value(const T& held) const {
    if constexpr (std::is_integral_v<T> || std::is_same_v<T, std::string>) {
      return held;
    } else if constexpr (std::is_enum_v<T>) {
      return model::word_of(held);
    } else if constexpr (std::is_floating_point_v<T>) {
      const bool whole = held == std::trunc(held) && std::abs(held) < 1e15;
      return whole ? Json(static_cast<std::int64_t>(held)) : Json(held);
    } else if constexpr (requires { held.value_or(*held); }) {
      return held ? value(*held) : Json();
    } else if constexpr (requires { held.value().kind; }) {
      return value(held.value().kind);
    } else if constexpr (requires { std::visit([](const auto&) {}, held); }) {
      return std::visit([&](const auto& one) { return tagged(one, held); }, held);
    } else if constexpr (model::Described<T>) {
      Json json = Json::object();
      add_members(held, json);
      return json;
    } else if constexpr (requires { held.begin(); }) {
      Json json = Json::array();
      for (const auto& item : held) {
        json.push_back(value(item));
      }
      return json;
    } else {
      return held.value();  // ids, frames
    }
  }

  /// Adds the members, then the unknown ones, to an object.
  template <class T>
  void add_members(const T& held, Json& json) const {
    std::apply(
        [&](const auto&... member) {
          (((is_left_out(held.*member.at) && !member.rule.always) || is_usual(held, member)
                ? void()
                : add(json, std::string(member.name), value(held.*member.at))),
           ...);
        },
        model::Members<T>::list);
    if constexpr (model::KeepsExtra<T>) {
      for (const auto& [key, text] : held.extra) {
        if (json.contains(key)) continue;
        Json parsed = Json::parse(text, nullptr, false);
        add(json, key, parsed.is_discarded() ? Json(text) : std::move(parsed));
      }
    }
  }

 private:
  static void add(Json& json, std::string key, Json value) {
    json.get_ref<Json::object_t&>().push_back({std::move(key), std::move(value)});
  }

  template <class T, class Variant>
  [[nodiscard]] Json tagged(const T& one, const Variant& held) const {
    using Names = model::VariantNames<Variant>;
    Json json = Json::object();
    add(json, std::string(Names::tag), Names::list.at(held.index()));
    add_members(one, json);
    return json;
  }

  template <class T, class Member>
  [[nodiscard]] static bool is_usual(const T& held, const Member& member) {
    static const T fresh{};
    return member.rule.sparse && held.*member.at == fresh.*member.at;
  }

  template <class T>
  [[nodiscard]] static bool is_left_out(const T& held) {
    if constexpr (requires { held.is_set(); }) {
      return !held.is_set();
    } else if constexpr (requires { held.has_value(); }) {
      return !held.has_value();
    } else if constexpr (requires {
                           held.empty();
                           held.begin();
                         }) {
      return held.empty();
    } else {
      return false;
    }
  }
};

/// Reads "format" and "version" of a document. Errors: bad_input, newer_version.
[[nodiscard]] Result<int> read_header(const Json& json, std::string_view format, int version);

/// An error of a document: bad_argument becomes bad_input, and `file` is named.
[[nodiscard]] Error in_file(Error error, const std::string& file);

}  // namespace fourbeat::store
