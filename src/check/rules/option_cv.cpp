// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/model/cv_values.h"
#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <variant>

namespace fourbeat::check {

namespace {

constexpr const char* name = "option_cv";
constexpr const char* areas = "choose one of 47 to 64, 112 to 256 or 513 to 879";

/// Where makers put CVs of their own; of the paged area CV31 and CV32 say whose it is.
std::optional<Severity> outside_makers_areas(int cv) {
  switch (model::cv_area(cv)) {
    case model::CvArea::makers:
    case model::CvArea::none:  // cv_out_of_range speaks of it
      return std::nullopt;
    case model::CvArea::paged:
      return Severity::warning;
    case model::CvArea::standard:
      return Severity::error;
  }
  return std::nullopt;
}

std::string area_message(int cv, Severity severity) {
  return severity == Severity::warning
             ? fmt::format("CV{} is in the paged area: CV31 and CV32 say what it is", cv)
             : fmt::format("the standard gives CV{} another use or keeps it", cv);
}

const model::OptionChoice* choice_of(const model::Option& option, int value) {
  const auto at = std::find_if(option.choices.begin(), option.choices.end(),
                               [&](const model::OptionChoice& one) { return one.value == value; });
  return at == option.choices.end() ? nullptr : &*at;
}

/// The values a CV ships with: the last that the table gives it.
const model::Cv* listed(const model::Project& project, int number) {
  const model::Cv* found = nullptr;
  for (const model::Cv& cv : project.cvs) {
    if (cv.number == number) found = &cv;
  }
  return found;
}

void look_at_value(const model::Project& project, const model::Option& option, Snags& out) {
  const std::string pointer = store::pointer_of(project, option.id) + "/cv";
  const model::Cv* cv = listed(project, option.cv);
  if (cv == nullptr) {
    const bool starts = choice_of(option, 0) != nullptr;
    out.push_back(
        {name, starts ? Severity::warning : Severity::error, pointer, label_of(option),
         starts ? fmt::format("the set does not list CV{}, so that nobody knows of it", option.cv)
                : fmt::format("the set does not list CV{}, so that none of its choices is in force",
                              option.cv),
         "list the CV with the value of a choice"});
  } else if (choice_of(option, cv->value) == nullptr) {
    out.push_back(
        {name, Severity::error, store::pointer_of(project, cv->id) + "/value", label_of(*cv),
         fmt::format("its value {} is none of the choices of {}", cv->value, label_of(option)),
         "give it the value of a choice"});
  }
}

void look_at_number(const model::Project& project, const model::Option& option, Snags& out) {
  const std::string pointer = store::pointer_of(project, option.id) + "/cv";
  if (const auto severity = outside_makers_areas(option.cv)) {
    out.push_back(
        {name, *severity, pointer, label_of(option), area_message(option.cv, *severity), areas});
  }
  for (const model::Option& other : project.options) {
    if (&other == &option) break;
    if (other.cv != option.cv) continue;
    out.push_back({name, Severity::error, pointer, label_of(option),
                   fmt::format("CV{} switches {} as well", option.cv, label_of(other)),
                   "give each option a CV of its own"});
  }
}

/// Something that asks for a value of an option.
void look_at_choice(const model::Project& project, Id<model::Option> id, int value,
                    const std::string& pointer, const std::string& label, Snags& out) {
  const model::Option* option = model::find(project, id);
  if (option == nullptr || choice_of(*option, value) != nullptr) return;
  out.push_back(
      {name, Severity::warning, pointer, label,
       fmt::format("it asks for value {} of {}, which does not offer it", value, label_of(*option)),
       "ask for one of its choices, or add the choice"});
}

template <class Entity>
void look_at_when(const model::Project& project, const Entity& entity, Snags& out) {
  look_at_choice(project, entity.when.option, entity.when.option_value,
                 store::pointer_of(project, entity.id) + "/when/option", label_of(entity), out);
}

}  // namespace

void option_cv(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  for (const model::Key& key : project.keys) {
    look_at_when(project, key, out);
    if (!key.task) continue;
    const auto* task = std::get_if<model::OptionKey>(&*key.task);
    if (task == nullptr) continue;
    look_at_choice(project, task->option, task->value,
                   store::pointer_of(project, key.id) + "/task/option", label_of(key), out);
  }
  for (const model::Trigger& trigger : project.triggers)
    look_at_when(project, trigger, out);
  for (const model::Layer& layer : project.layers)
    look_at_when(project, layer, out);
  for (const model::Option& option : project.options) {
    look_at_number(project, option, out);
    look_at_value(project, option, out);
  }
  for (const model::Cv& cv : project.cvs) {
    if (!cv.effect) continue;
    if (const auto severity = outside_makers_areas(cv.number)) {
      out.push_back({name, *severity, store::pointer_of(project, cv.id) + "/number", label_of(cv),
                     area_message(cv.number, *severity), areas});
    }
  }
}

}  // namespace fourbeat::check
