// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/model/edit.h"

#include "checker.h"

#include "fourbeat/model/edit_value.h"

namespace fourbeat::model {

namespace {

template <class T>
Error no_such(Id<T> id) {
  return {ErrorCode::not_found,
          {},
          {},
          fmt::format("there is no {} {}", Entity<T>::word, id.value()),
          fmt::format("name a {} that exists", Entity<T>::word)};
}

Fault check_project_member(const Project& project, std::string_view name) {
  const LinearLookup lookup(project);
  return first_of_members<Project>([&](const auto& member) -> Fault {
    if (member.name != name) return std::nullopt;
    return Checker(lookup).value(project.*member.at, member.rule, {nullptr, member.name});
  });
}

template <class T>
Fault check_entity(const Project& project, std::size_t at) {
  const LinearLookup lookup(project);
  const Place list{nullptr, Entity<T>::list};
  return Checker(lookup).object(list_of<T>(project)[at], {&list, {}, at});
}

/// Checks every entity that refers to `id`: one that no longer holds makes the change in_use.
template <class T>
Fault check_users(const Project& project, Id<T> id) {
  Fault found;
  for_each_entity_kind([&]<class U>() {
    const auto& list = list_of<U>(project);
    for (std::size_t i = 0; !found && i < list.size(); ++i) {
      if (refers_to(list[i], id)) found = check_entity<U>(project, i);
    }
  });
  if (found) {
    found->code = ErrorCode::in_use;
    found->mend = {};
  }
  return found;
}

/// Who refers to `id`, in words; "" for nobody. Verdicts on a row do not hold it: they go with it.
template <class T>
std::string users_of(const Project& project, Id<T> id) {
  constexpr int most = 5;
  int count = 0;
  std::string users;
  for_each_entity_kind([&]<class U>() {
    if constexpr (std::is_same_v<T, ChuffRow> && std::is_same_v<U, Verdict>) return;
    for (const U& entity : list_of<U>(project)) {
      if (!refers_to(entity, id) || ++count > most) continue;
      if (!users.empty()) users += ", ";
      users += fmt::format("{} {}", Entity<U>::word, entity.id.value());
      if constexpr (requires { entity.name; }) {
        if (!entity.name.empty()) users += fmt::format(" “{}”", entity.name);
      }
    }
  });
  if (count > most) users += fmt::format(" and {} more", count - most);
  return users;
}

/// Draws an unset id, or takes the one given into account; `next_id` is the counter to move.
template <class T>
Fault draw(Id<T>& id, std::int64_t& next_id, const Place& place) {
  if (!id.is_set()) id = Id<T>(next_id);
  if (id.value() < 1 || id.value() >= whole_limit) {
    return fault({&place, "id"}, fmt::format("is {}", id.value()),
                 fmt::format("give an id from 1 to {}", whole_limit - 1));
  }
  next_id = std::max(next_id, id.value() + 1);
  return std::nullopt;
}

template <class T>
Result<Edit> perform(Project& project, const Add<T>& edit) {
  std::vector<T>& list = list_of<T>(project);
  const std::size_t at = edit.at.value_or(list.size());
  if (at > list.size()) {
    return Error{ErrorCode::bad_argument,
                 {},
                 "at",
                 fmt::format("is {}", at),
                 fmt::format("give 0 to {}", list.size())};
  }
  const Place lists{nullptr, Entity<T>::list};
  const Place place{&lists, {}, at};
  T value = edit.value;
  if (index_of(project, value.id)) {
    return *fault({&place, "id"},
                  fmt::format("there is a {} {} already", Entity<T>::word, value.id.value()),
                  "leave the id out, and one is given");
  }
  const std::int64_t next_id = project.next_id;
  if (Fault bad = draw(value.id, project.next_id, place)) return *bad;
  const Id<T> id = value.id;
  const auto where = list.insert(list.begin() + static_cast<std::ptrdiff_t>(at), std::move(value));
  if (Fault bad = check_entity<T>(project, at)) {
    list.erase(where);
    project.next_id = next_id;
    return *bad;
  }
  return Edit(Remove<T>{id});
}

/// Takes the verdicts out that `gone` is true of; returns the edits that bring them back.
template <class Gone>
std::vector<Edit> take_verdicts(Project& project, const Gone& gone) {
  std::vector<Edit> back;
  std::vector<Verdict> kept;
  for (std::size_t i = 0; i < project.verdicts.size(); ++i) {
    Verdict& verdict = project.verdicts[i];
    if (gone(verdict)) {
      back.emplace_back(Add<Verdict>{std::move(verdict), i});
    } else {
      kept.push_back(std::move(verdict));
    }
  }
  project.verdicts = std::move(kept);
  return back;
}

/// `inverse`, then those that bring verdicts back.
Edit with_verdicts(Edit inverse, std::vector<Edit> verdicts) {
  if (verdicts.empty()) return inverse;
  verdicts.insert(verdicts.begin(), std::move(inverse));
  return EditGroup{std::move(verdicts)};
}

template <class T>
Result<Edit> perform(Project& project, const Remove<T>& edit) {
  const std::optional<std::size_t> at = index_of(project, edit.id);
  if (!at) return no_such(edit.id);
  if (std::string users = users_of(project, edit.id); !users.empty()) {
    return Error{ErrorCode::in_use,
                 {},
                 fmt::format("{}/{}", Entity<T>::list, *at),
                 fmt::format("{} {} is used by {}", Entity<T>::word, edit.id.value(), users),
                 {}};
  }
  std::vector<T>& list = list_of<T>(project);
  const auto place = list.begin() + static_cast<std::ptrdiff_t>(*at);
  Add<T> inverse{std::move(*place), *at};
  list.erase(place);
  std::vector<Edit> verdicts;
  if constexpr (std::is_same_v<T, ChuffRow>) {
    verdicts = take_verdicts(project, [&](const Verdict& v) { return v.row == edit.id; });
  }
  return with_verdicts(std::move(inverse), std::move(verdicts));
}

/// Changes an entity in place and checks it. `change` swaps its new value in, and back when it
/// is called again.
template <class T, class Change>
Fault change_entity(Project& project, Id<T> id, const Change& change) {
  const std::optional<std::size_t> at = index_of(project, id);
  if (!at) return no_such(id);
  T& entity = list_of<T>(project)[*at];
  change(entity);
  Fault bad = check_entity<T>(project, *at);
  if constexpr (std::is_same_v<T, Take> || std::is_same_v<T, Pass>) {
    if (!bad) bad = check_users(project, id);
  }
  if (bad) change(entity);
  return bad;
}

template <class T>
Result<Edit> perform(Project& project, const Replace<T>& edit) {
  T value = edit.value;
  if (Fault bad = change_entity(project, value.id, [&](T& held) { std::swap(held, value); })) {
    return *bad;
  }
  return Edit(Replace<T>{std::move(value)});
}

/// Sets one member of an entity; `edit` holds its id at `id` and the new value at `value`.
template <class Change, class T, class Value>
Result<Edit> set_in_entity(Project& project, Change edit, Id<T> Change::*id, Value Change::*value,
                           Value T::*member) {
  const auto swap_in = [&](T& held) { std::swap(held.*member, edit.*value); };
  if (Fault bad = change_entity(project, edit.*id, swap_in)) return *bad;
  return Edit(std::move(edit));
}

Result<Edit> perform(Project& project, const SetRights& edit) {
  return set_in_entity(project, edit, &SetRights::pass, &SetRights::rights, &Pass::rights);
}
Result<Edit> perform(Project& project, const TrimSegment& edit) {
  return set_in_entity(project, edit, &TrimSegment::segment, &TrimSegment::range, &Segment::range);
}
Result<Edit> perform(Project& project, const SetSegmentGain& edit) {
  return set_in_entity(project, edit, &SetSegmentGain::segment, &SetSegmentGain::gain_db,
                       &Segment::gain_db);
}
Result<Edit> perform(Project& project, const SetLoop& edit) {
  return set_in_entity(project, edit, &SetLoop::segment, &SetLoop::loop, &Segment::loop);
}
Result<Edit> perform(Project& project, const SetSoundGain& edit) {
  return set_in_entity(project, edit, &SetSoundGain::sound, &SetSoundGain::gain_db,
                       &Sound::gain_db);
}

/// Sets one member of the project itself.
template <class Change, class Value>
Result<Edit> set_in_project(Project& project, Change edit, Value Change::*value,
                            Value Project::*member, std::string_view name) {
  std::swap(project.*member, edit.*value);
  if (Fault bad = check_project_member(project, name)) {
    std::swap(project.*member, edit.*value);
    return *bad;
  }
  return Edit(std::move(edit));
}

Result<Edit> perform(Project& project, const SetTitle& edit) {
  return set_in_project(project, edit, &SetTitle::title, &Project::title, "title");
}
Result<Edit> perform(Project& project, const SetAuthor& edit) {
  return set_in_project(project, edit, &SetAuthor::author, &Project::author, "author");
}
Result<Edit> perform(Project& project, const SetDate& edit) {
  return set_in_project(project, edit, &SetDate::date, &Project::date, "date");
}
Result<Edit> perform(Project& project, const SetDecoder& edit) {
  return set_in_project(project, edit, &SetDecoder::decoder, &Project::decoder, "decoder");
}
Result<Edit> perform(Project& project, const SetSpeaker& edit) {
  return set_in_project(project, edit, &SetSpeaker::speaker, &Project::speaker, "speaker");
}
Result<Edit> perform(Project& project, const SetUserNotes& edit) {
  return set_in_project(project, edit, &SetUserNotes::markdown, &Project::user_notes, "user_notes");
}
Result<Edit> perform(Project& project, const SetEngine& edit) {
  return set_in_project(project, edit, &SetEngine::engine, &Project::engine, "engine");
}
Result<Edit> perform(Project& project, const SetDriving& edit) {
  return set_in_project(project, edit, &SetDriving::driving, &Project::driving, "driving");
}
Result<Edit> perform(Project& project, const SetDuties& edit) {
  return set_in_project(project, edit, &SetDuties::duties, &Project::duties, "duties");
}
Result<Edit> perform(Project& project, const SetRunCards& edit) {
  return set_in_project(project, edit, &SetRunCards::paths, &Project::run_cards, "run_cards");
}

/// Gives every row of a table its own id. Ids that are given come first, so that none of them
/// is drawn for another row.
Fault draw_rows(ChuffTable& table, std::int64_t& next_id) {
  std::unordered_set<std::int64_t> seen;
  std::vector<std::int64_t> given_ids;
  for (const ChuffRow& row : table.rows) {
    given_ids.push_back(row.id.value());
  }
  const Place list{nullptr, Entity<ChuffRow>::list};
  for (const bool given : {true, false}) {
    for (std::size_t i = 0; i < table.rows.size(); ++i) {
      Id<ChuffRow>& id = table.rows[i].id;
      if ((given_ids[i] != 0) != given) continue;
      const Place place{&list, {}, i};
      if (Fault bad = draw(id, next_id, place)) return bad;
      if (!seen.insert(id.value()).second) {
        return fault({&place, "id"}, fmt::format("id {} is there twice", id.value()),
                     "leave the id out, and one is given");
      }
    }
  }
  return std::nullopt;
}

Result<Edit> perform(Project& project, const SetChuffTable& edit) {
  SetChuffTable changed = edit;
  const std::int64_t next_id = project.next_id;
  if (Fault bad = draw_rows(changed.table, project.next_id)) {
    project.next_id = next_id;
    return *bad;
  }
  Result<Edit> done = set_in_project(project, std::move(changed), &SetChuffTable::table,
                                     &Project::chuffs, "chuffs");
  if (!done) {
    project.next_id = next_id;
    return done;
  }
  return with_verdicts(std::move(*done), take_verdicts(project, [&](const Verdict& verdict) {
                         return verdict.row.is_set() && find(project, verdict.row) == nullptr;
                       }));
}

Result<Edit> perform(Project& project, const SetCv& edit) {
  for (const Cv& cv : project.cvs) {
    if (cv.number != edit.number) continue;
    Cv changed = cv;
    changed.value = edit.value;
    return perform(project, Replace<Cv>{std::move(changed)});
  }
  Cv cv;
  cv.number = edit.number;
  cv.value = edit.value;
  return perform(project, Add<Cv>{std::move(cv), std::nullopt});
}

Result<Edit> perform(Project& project, const EditGroup& group) {
  const std::int64_t next_id = project.next_id;
  EditGroup inverse;
  for (std::size_t i = 0; i < group.edits.size(); ++i) {
    Result<Edit> done = model::apply(project, group.edits[i]);
    if (!done) {
      for (auto undo = inverse.edits.rbegin(); undo != inverse.edits.rend(); ++undo) {
        if (const Result<Edit> undone = model::apply(project, *undo); !undone) {
          return Error{ErrorCode::internal, {}, {}, to_line(undone.error()), {}};
        }
      }
      project.next_id = next_id;
      Error error = done.error();
      error.place = fmt::format("edit {}{}{}", i + 1, error.place.empty() ? "" : ": ", error.place);
      return error;
    }
    inverse.edits.push_back(std::move(*done));
  }
  std::reverse(inverse.edits.begin(), inverse.edits.end());
  return Edit(std::move(inverse));
}

}  // namespace

Edit::Edit() : Edit(EditGroup{}) {}

template <EditKind T>
Edit::Edit(T kind) : value_(std::make_shared<const EditValue>(EditValue{std::move(kind)})) {}

bool Edit::operator==(const Edit& other) const {
  return value_ == other.value_ || *value_ == *other.value_;
}

// Every kind of EditKinds: a missing one does not link.
template Edit::Edit(Add<Take>);
template Edit::Edit(Remove<Take>);
template Edit::Edit(Replace<Take>);
template Edit::Edit(Add<Pass>);
template Edit::Edit(Remove<Pass>);
template Edit::Edit(Replace<Pass>);
template Edit::Edit(Add<Mark>);
template Edit::Edit(Remove<Mark>);
template Edit::Edit(Replace<Mark>);
template Edit::Edit(Add<Segment>);
template Edit::Edit(Remove<Segment>);
template Edit::Edit(Replace<Segment>);
template Edit::Edit(Add<Sound>);
template Edit::Edit(Remove<Sound>);
template Edit::Edit(Replace<Sound>);
template Edit::Edit(Add<ChuffRow>);
template Edit::Edit(Remove<ChuffRow>);
template Edit::Edit(Replace<ChuffRow>);
template Edit::Edit(Add<Key>);
template Edit::Edit(Remove<Key>);
template Edit::Edit(Replace<Key>);
template Edit::Edit(Add<OwnState>);
template Edit::Edit(Remove<OwnState>);
template Edit::Edit(Replace<OwnState>);
template Edit::Edit(Add<Trigger>);
template Edit::Edit(Remove<Trigger>);
template Edit::Edit(Replace<Trigger>);
template Edit::Edit(Add<Layer>);
template Edit::Edit(Remove<Layer>);
template Edit::Edit(Replace<Layer>);
template Edit::Edit(Add<Option>);
template Edit::Edit(Remove<Option>);
template Edit::Edit(Replace<Option>);
template Edit::Edit(Add<Cv>);
template Edit::Edit(Remove<Cv>);
template Edit::Edit(Replace<Cv>);
template Edit::Edit(Add<Verdict>);
template Edit::Edit(Remove<Verdict>);
template Edit::Edit(Replace<Verdict>);
template Edit::Edit(SetTitle);
template Edit::Edit(SetAuthor);
template Edit::Edit(SetDate);
template Edit::Edit(SetDecoder);
template Edit::Edit(SetSpeaker);
template Edit::Edit(SetUserNotes);
template Edit::Edit(SetEngine);
template Edit::Edit(SetDriving);
template Edit::Edit(SetDuties);
template Edit::Edit(SetRunCards);
template Edit::Edit(SetRights);
template Edit::Edit(TrimSegment);
template Edit::Edit(SetSegmentGain);
template Edit::Edit(SetLoop);
template Edit::Edit(SetSoundGain);
template Edit::Edit(SetChuffTable);
template Edit::Edit(SetCv);
template Edit::Edit(EditGroup);

Result<Edit> apply(Project& project, const Edit& edit) {
  return std::visit([&](const auto& change) { return perform(project, change); },
                    edit.value().kind);
}

}  // namespace fourbeat::model
