// SPDX-License-Identifier: GPL-3.0-or-later
#include "StateForm.h"

#include "WhenRows.h"

#include "fourbeat/model/driving_members.h"

namespace fourbeat::ui {

namespace {

using model::OwnState;

constexpr double firstFromKmh = 20.0;
constexpr double firstBelowKmh = 40.0;

}  // namespace

StateForm::StateForm(Workspace& workspace, QWidget* parent)
    : EntityForm(workspace, tr("Change state"), parent) {
  setAccessibleName(tr("State of the set's own"));
  addLine(
      tr("Name"), [](const OwnState& each) { return text(each.name); },
      [](OwnState& each, const QString& name) { each.name = utf8(name); });
  addChecks(
      tr("During (none: any)"), [](const OwnState& each) { return stateChecks(each.during); },
      [](OwnState& each, const std::pair<int, bool>& tick) {
        setState(each.during, tick.first, tick.second);
      });
  addChoice(
      tr("Effort"),
      [] {
        ChoiceDelegate::Choices choices{{tr("Any effort"), qlonglong{-1}}};
        return choices + wordsOf<model::Effort>(
                             [](model::Effort effort) { return word(effort); },
                             static_cast<int>(model::EnumNames<model::Effort>::list.size()));
      },
      [](const OwnState& each) {
        return each.effort ? static_cast<qlonglong>(*each.effort) : qlonglong{-1};
      },
      [](OwnState& each, const qlonglong& place) {
        each.effort.reset();
        if (place >= 0) each.effort = static_cast<model::Effort>(place);
      });
  addEdge(tr("Only from a speed on"), tr("From speed"), &OwnState::from_kmh, firstFromKmh);
  addEdge(tr("Only below a speed"), tr("Below speed"), &OwnState::below_kmh, firstBelowKmh);
  const auto edged = [](const OwnState& each) { return each.from_kmh || each.below_kmh; };
  addNumber(
      tr("Ends beyond it by"), {0, 50, 1, 0.5, tr(" km/h")},
      [](const OwnState& each) { return each.hysteresis_kmh; },
      [](OwnState& each, const double& value) { each.hysteresis_kmh = value; }, edged);
  addNumber(
      tr("Begins after"), {0, 7200, 1, 1, tr(" s")},
      [](const OwnState& each) { return each.after_s; },
      [](OwnState& each, const double& value) { each.after_s = value; });
  addNumber(
      tr("Lasts at least"), {0, 3600, 1, 0.5, tr(" s")},
      [](const OwnState& each) { return each.hold_s; },
      [](OwnState& each, const double& value) { each.hold_s = value; });
}

void StateForm::addEdge(const QString& words, const QString& label,
                        std::optional<double> OwnState::*edge, double first) {
  addCheck(
      words, [edge](const OwnState& each) { return (each.*edge).has_value(); },
      [edge, first](OwnState& each, const bool& on) {
        (each.*edge).reset();
        if (on) each.*edge = first;
      });
  addNumber(
      label, {0, 300, 1, 5, tr(" km/h")}, [edge](const OwnState& each) { return *(each.*edge); },
      [edge](OwnState& each, const double& value) { each.*edge = value; },
      [edge](const OwnState& each) { return (each.*edge).has_value(); });
}

}  // namespace fourbeat::ui
