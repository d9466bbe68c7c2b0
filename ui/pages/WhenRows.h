// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Fields.h"

#include "fourbeat/model/project.h"

namespace fourbeat::ui {

/// The largest speed that a field of a form takes.
inline constexpr double fastestKmh = 300.0;

/// What forms ask and change of model::When and of lists of states.

/// Each state by its word, with whether `states` has it.
[[nodiscard]] QList<std::pair<QString, bool>> stateChecks(const std::vector<model::State>& states);
/// Puts the state at a place of stateChecks() into the list or takes it out.
void setState(std::vector<model::State>& states, int place, bool on);

/// Each state and each of the set's own, with whether `when` has it.
[[nodiscard]] QList<std::pair<QString, bool>> whenChecks(const model::Project& project,
                                                         const model::When& when);
/// Puts the state at a place of whenChecks() into `when` or takes it out.
void setWhenState(const model::Project& project, model::When& when, int place, bool on);

/// The entities of a list by name, `none` first with the value 0.
template <class T>
[[nodiscard]] ChoiceDelegate::Choices namesOf(const std::vector<T>& list, const QString& none) {
  ChoiceDelegate::Choices choices{{none, qlonglong{0}}};
  for (const T& each : list)
    choices.append({QString::fromStdString(each.name), static_cast<qlonglong>(each.id.value())});
  return choices;
}
/// The words of an enumeration of model, in its order.
template <class Enum>
[[nodiscard]] ChoiceDelegate::Choices wordsOf(const std::function<QString(Enum)>& word, int count) {
  ChoiceDelegate::Choices choices;
  for (int i = 0; i < count; ++i)
    choices.append({word(static_cast<Enum>(i)), static_cast<qlonglong>(i)});
  return choices;
}

/// What an option's value means: "  (Stock)"; "" where the option has no such choice.
[[nodiscard]] QString optionSuffix(const model::Project& project, Id<model::Option> option,
                                   int value);

/// The words of the rows that addWhen() makes.
struct WhenWords {
  QString states;
  QString option;
  QString value;
  QString any;
};
[[nodiscard]] WhenWords whenWords();

/// The rows for a member `when` of an entity.
template <class Form>
void addWhen(Form& form) {
  using T = std::remove_cvref_t<decltype(*form.entity())>;
  const WhenWords words = whenWords();
  form.addChecks(
      words.states, [&form](const T& each) { return whenChecks(form.project(), each.when); },
      [&form](T& each, const std::pair<int, bool>& tick) {
        setWhenState(form.project(), each.when, tick.first, tick.second);
      });
  form.addChoice(
      words.option, [&form, words] { return namesOf(form.project().options, words.any); },
      [](const T& each) { return static_cast<qlonglong>(each.when.option.value()); },
      [](T& each, const qlonglong& id) {
        each.when.option = Id<model::Option>(id);
        if (id == 0) each.when.option_value = 0;
      });
  QDoubleSpinBox* value = form.addNumber(
      words.value, {0, 255, 0, 1, {}},
      [](const T& each) { return static_cast<double>(each.when.option_value); },
      [](T& each, const double& number) { each.when.option_value = qRound(number); },
      [](const T& each) { return each.when.option.is_set(); });
  form.onShow([&form, value](const T& each) {
    value->setSuffix(optionSuffix(form.project(), each.when.option, each.when.option_value));
  });
}

}  // namespace fourbeat::ui
