// SPDX-License-Identifier: GPL-3.0-or-later
#include "WhenRows.h"

#include "Wording.h"

#include "fourbeat/model/driving_members.h"

#include <QCoreApplication>
#include <algorithm>

namespace fourbeat::ui {

namespace {

constexpr int stateCount = static_cast<int>(model::EnumNames<model::State>::list.size());

QString tr(const char* source) {
  return QCoreApplication::translate("WhenRows", source);
}

template <class T>
bool has(const std::vector<T>& list, const T& value) {
  return std::find(list.begin(), list.end(), value) != list.end();
}

template <class T>
void put(std::vector<T>& list, const T& value, bool on) {
  if (has(list, value) == on) return;
  if (on) {
    list.push_back(value);
  } else {
    std::erase(list, value);
  }
}

}  // namespace

QList<std::pair<QString, bool>> stateChecks(const std::vector<model::State>& states) {
  QList<std::pair<QString, bool>> checks;
  for (int i = 0; i < stateCount; ++i) {
    const auto state = static_cast<model::State>(i);
    checks.append({word(state), has(states, state)});
  }
  return checks;
}

void setState(std::vector<model::State>& states, int place, bool on) {
  put(states, static_cast<model::State>(place), on);
  std::sort(states.begin(), states.end());
}

QList<std::pair<QString, bool>> whenChecks(const model::Project& project, const model::When& when) {
  QList<std::pair<QString, bool>> checks = stateChecks(when.states);
  for (const model::OwnState& own : project.states)
    checks.append({text(own.name), has(when.own_states, own.id)});
  return checks;
}

void setWhenState(const model::Project& project, model::When& when, int place, bool on) {
  if (place < stateCount) return setState(when.states, place, on);
  const auto own = static_cast<std::size_t>(place - stateCount);
  if (own < project.states.size()) put(when.own_states, project.states[own].id, on);
}

QString optionSuffix(const model::Project& project, Id<model::Option> option, int value) {
  const model::Option* found = model::find(project, option);
  if (found == nullptr) return {};
  for (const model::OptionChoice& choice : found->choices) {
    if (choice.value == value) return QStringLiteral("  (%1)").arg(text(choice.name));
  }
  return {};
}

WhenWords whenWords() {
  return {tr("In states (none: any)"), tr("While option"), tr("has the value"), tr("Any option")};
}

}  // namespace fourbeat::ui
