// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/check_value.h"
#include "fourbeat/model/entities.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <string>
#include <string_view>
#include <tuple>
#include <unordered_map>
#include <unordered_set>
#include <variant>

/// The checks that apply() and validate() share: one walk over Members<T>.

namespace fourbeat::model {

/// Looks ids up in the lists as they are: O(n), for one edit.
class LinearLookup {
 public:
  explicit LinearLookup(const Project& project) : project_(project) {}
  [[nodiscard]] std::int64_t next_id() const { return project_.next_id; }
  template <class T>
  [[nodiscard]] const T* at(Id<T> id) const {
    return find(project_, id);
  }
  [[nodiscard]] const Pass* pass_of_take(Id<Take> id) const { return pass_of(project_, id); }
  [[nodiscard]] bool in_other_pass(Id<Take> id, Id<Pass> pass) const {
    return std::any_of(project_.passes.begin(), project_.passes.end(), [&](const Pass& other) {
      return other.id != pass && std::any_of(other.takes.begin(), other.takes.end(),
                                             [&](const PassTake& t) { return t.take == id; });
    });
  }

 private:
  const Project& project_;
};

template <class T>
struct IdMap {
  std::unordered_map<std::int64_t, const T*> map;
};

/// Looks ids up in maps built once, for a whole project.
class IndexedLookup {
 public:
  explicit IndexedLookup(const Project& project) : next_id_(project.next_id) {
    for_each_entity_kind([&]<class T>() {
      for (const T& entity : list_of<T>(project)) {
        std::get<IdMap<T>>(maps_).map.emplace(entity.id.value(), &entity);
      }
    });
    for (const Pass& pass : project.passes) {
      for (const PassTake& take : pass.takes) {
        passes_.emplace(take.take.value(), &pass);
      }
    }
  }
  [[nodiscard]] std::int64_t next_id() const { return next_id_; }
  template <class T>
  [[nodiscard]] const T* at(Id<T> id) const {
    const auto& map = std::get<IdMap<T>>(maps_).map;
    const auto found = map.find(id.value());
    return found == map.end() ? nullptr : found->second;
  }
  [[nodiscard]] const Pass* pass_of_take(Id<Take> id) const {
    const auto found = passes_.find(id.value());
    return found == passes_.end() ? nullptr : found->second;
  }
  /// True for the later of two passes at least: enough when every pass is asked about.
  [[nodiscard]] bool in_other_pass(Id<Take> id, Id<Pass> pass) const {
    const Pass* first = pass_of_take(id);
    return first != nullptr && first->id != pass;
  }

 private:
  std::int64_t next_id_;
  std::tuple<IdMap<Take>, IdMap<Pass>, IdMap<Mark>, IdMap<Segment>, IdMap<Sound>, IdMap<ChuffRow>,
             IdMap<Key>, IdMap<OwnState>, IdMap<Trigger>, IdMap<Layer>, IdMap<Option>, IdMap<Cv>,
             IdMap<Verdict>>
      maps_;
  std::unordered_map<std::int64_t, const Pass*> passes_;
};

/// Rules that join members of one value; place: the value's.
Fault check_together(const FrameRange& range, const Place& place);
Fault check_together(const Segment& segment, const Place& place);
Fault check_together(const Loop& loop, const Place& place);
Fault check_together(const Chuff& chuff, const Place& place);
Fault check_together(const FusedLoop& fused, const Place& place);
Fault check_together(const HighPass& step, const Place& place);
Fault check_together(const Engine& engine, const Place& place);
Fault check_together(const EffortCalibration& effort, const Place& place);
Fault check_together(const Mark& mark, const Place& place);
Fault check_together(const ChuffRow& row, const Place& place);
Fault check_together(const Source& source, const Place& place);
Fault check_together(const Take& take, const Place& place);
Fault check_together(const Verdict& verdict, const Place& place);
Fault check_together(const Speaker& speaker, const Place& place);
Fault check_together(const Option& option, const Place& place);
Fault check_together(const When& when, const Place& place);
Fault check_together(const TimeSpan& span, const Place& place);
Fault check_together(const Trigger& trigger, const Place& place);
Fault check_together(const Layer& layer, const Place& place);
Fault check_together(const Key& key, const Place& place);
Fault check_together(const CvEffect& effect, const Place& place);
Fault check_together(const Driving& driving, const Place& place);
Fault check_together(const Duties& duties, const Place& place);

template <class Lookup>
class Checker {
 public:
  explicit Checker(const Lookup& lookup) : lookup_(lookup) {}

  /// Any value under a member's rule.
  template <class T>
  [[nodiscard]] Fault value(const T& held, const MemberRule& rule, const Place& place) const {
    if constexpr (std::is_same_v<T, bool>) {
      return std::nullopt;
    } else if constexpr (std::is_enum_v<T>) {
      constexpr MemberRule words = between(0, static_cast<double>(EnumNames<T>::list.size() - 1));
      return check_whole(static_cast<std::int64_t>(held), words, place);
    } else if constexpr (std::is_floating_point_v<T>) {
      return check_number(held, rule, place);
    } else if constexpr (std::is_integral_v<T>) {
      return check_whole(held, rule, place);
    } else if constexpr (std::is_same_v<T, FrameCount> || std::is_same_v<T, FrameIndex>) {
      return check_whole(held.value(), rule, place);
    } else if constexpr (std::is_same_v<T, std::string>) {
      return check_text(held, rule, place);
    } else if constexpr (Described<T>) {
      return object(held, place);
    } else {
      return composed(held, rule, place);
    }
  }

  /// Every member of a value, then what joins them.
  template <class T>
  [[nodiscard]] Fault object(const T& held, const Place& place) const {
    Fault found = first_of_members<T>([&](const auto& member) {
      return value(held.*member.at, member.rule, {&place, member.name});
    });
    if (found) return found;
    if constexpr (requires { check_together(held, place); }) {
      found = check_together(held, place);
      if (found) return found;
    }
    if constexpr (std::is_same_v<T, Source>) return mix(held, place);
    if constexpr (std::is_same_v<T, Pass>) return takes_of(held, place);
    return std::nullopt;
  }

 private:
  template <class T>
  [[nodiscard]] Fault composed(const Id<T>& id, const MemberRule& rule, const Place& place) const {
    if (rule.own_id) {
      if (id.value() >= 1 && id.value() < lookup_.next_id()) return std::nullopt;
      return fault(place, fmt::format("is {}, next_id is {}", id.value(), lookup_.next_id()),
                   "give an id above 0 and below next_id");
    }
    if (!id.is_set()) {
      if (!rule.required) return std::nullopt;
      return fault(place, "no reference", fmt::format("name a {}", Entity<T>::word));
    }
    if (lookup_.at(id) != nullptr) return std::nullopt;
    return fault(place, fmt::format("there is no {} {}", Entity<T>::word, id.value()),
                 fmt::format("name a {} that exists", Entity<T>::word));
  }
  template <class T>
  [[nodiscard]] Fault composed(const std::optional<T>& held, const MemberRule& rule,
                               const Place& place) const {
    return held ? value(*held, rule, place) : std::nullopt;
  }
  template <class T>
  [[nodiscard]] Fault composed(const std::vector<T>& list, const MemberRule& rule,
                               const Place& place) const {
    for (std::size_t i = 0; i < list.size(); ++i) {
      if (Fault found = value(list[i], rule, {&place, {}, i})) return found;
    }
    return std::nullopt;
  }
  template <class... T>
  [[nodiscard]] Fault composed(const std::variant<T...>& held, const MemberRule& rule,
                               const Place& place) const {
    return std::visit([&](const auto& one) { return value(one, rule, place); }, held);
  }

  [[nodiscard]] Fault mix(const Source& source, const Place& place) const {
    const Place inputs{&place, "mix"};
    for (std::size_t i = 0; i < source.mix.size(); ++i) {
      const MixInput& one = source.mix[i];
      const Place input{&inputs, {}, i};
      const Pass* of = lookup_.pass_of_take(one.take);
      if (of == nullptr || of->id != source.pass) {
        return fault(
            {&input, "take"},
            fmt::format("take {} is not of pass {}", one.take.value(), source.pass.value()),
            "mix takes of the pass named");
      }
      const Take* take = lookup_.at(one.take);
      if (take != nullptr && one.channel > take->channels) {
        return fault({&input, "channel"},
                     fmt::format("is {}, take {} has {} channels", one.channel, one.take.value(),
                                 take->channels),
                     "name a channel that the take has; the first is 1");
      }
    }
    return std::nullopt;
  }
  [[nodiscard]] Fault takes_of(const Pass& pass, const Place& place) const {
    const Place takes{&place, "takes"};
    std::unordered_set<std::int64_t> seen;
    int sample_rate_hz = 0;
    for (std::size_t i = 0; i < pass.takes.size(); ++i) {
      const Place item{&takes, {}, i};
      const Place where{&item, "take"};
      const Id<Take> id = pass.takes[i].take;
      if (!seen.insert(id.value()).second || lookup_.in_other_pass(id, pass.id)) {
        return fault(where, fmt::format("take {} is in a pass already", id.value()),
                     "list a take once, in one pass");
      }
      const Take* take = lookup_.at(id);
      if (take == nullptr) continue;
      if (sample_rate_hz == 0) sample_rate_hz = take->sample_rate_hz;
      if (take->sample_rate_hz != sample_rate_hz) {
        return fault(where,
                     fmt::format("take {} has {} Hz, its pass {} Hz", id.value(),
                                 take->sample_rate_hz, sample_rate_hz),
                     "join takes of one sample rate");
      }
    }
    return std::nullopt;
  }

  const Lookup& lookup_;
};

/// True when an Id<T> other than the value's own is `id`, anywhere inside.
template <class T, class Value>
[[nodiscard]] bool refers_to(const Value& value, Id<T> id) {
  if constexpr (std::is_same_v<Value, Id<T>>) {
    return value == id;
  } else if constexpr (Described<Value>) {
    return first_of_members<Value>(
        [&](const auto& member) { return !member.rule.own_id && refers_to(value.*member.at, id); });
  } else if constexpr (requires { value.has_value(); }) {
    return value.has_value() && refers_to(*value, id);
  } else if constexpr (requires { value.valueless_by_exception(); }) {
    return std::visit([&](const auto& one) { return refers_to(one, id); }, value);
  } else if constexpr (!std::is_same_v<Value, std::string> && requires { value.begin(); }) {
    return std::any_of(value.begin(), value.end(),
                       [&](const auto& item) { return refers_to(item, id); });
  } else {
    return false;
  }
}

}  // namespace fourbeat::model
