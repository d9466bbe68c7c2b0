// SPDX-License-Identifier: GPL-3.0-or-later
#include "TriggerForm.h"

#include "WhenRows.h"

#include "fourbeat/model/driving_members.h"

#include <algorithm>

namespace fourbeat::ui {

namespace {

using model::Trigger;
using model::TriggerAction;
using model::TriggerEvent;

constexpr qlonglong firstOwnState = 1000;  ///< + id, among the choices of a state
constexpr double everyFromS = 30.0;
constexpr double everyToS = 60.0;
constexpr double lastsFromS = 2.0;
constexpr double lastsToS = 5.0;
constexpr double longestS = 7200.0;

bool isOfState(const Trigger& each) {
  return each.event == TriggerEvent::state_entered || each.event == TriggerEvent::state_left;
}
bool isOfSpeed(const Trigger& each) {
  return each.event == TriggerEvent::speed_rises || each.event == TriggerEvent::speed_falls;
}
bool swaps(const Trigger& each) {
  return each.action == TriggerAction::swap;
}
bool starts(const Trigger& each) {
  return each.action != TriggerAction::stop;
}
bool fades(const Trigger& each) {
  return each.action != TriggerAction::start;
}

/// Another event, without what goes with the one before alone.
void setEvent(Trigger& each, TriggerEvent event) {
  const bool wasEvery = each.every.has_value();
  each.event = event;
  if (event != TriggerEvent::every) {
    each.every.reset();
  } else if (!wasEvery) {
    each.every = model::TimeSpan{everyFromS, everyToS, {}};
  }
  if (!isOfState(each)) each.own_state = {};
  if (event != TriggerEvent::leaving_rest) each.holds_motion_s = 0.0;
}

/// Another action, without what goes with the one before alone.
void setAction(const model::Project& project, Trigger& each, TriggerAction action) {
  each.action = action;
  if (action != TriggerAction::swap) {
    each.instead_of = {};
  } else if (!each.instead_of.is_set()) {
    for (const model::Sound& sound : project.sounds) {
      each.instead_of = sound.id;
      if (sound.id != each.sound) break;
    }
  }
  if (action == TriggerAction::start) each.fade_s = 0.0;
  if (action == TriggerAction::stop) {
    each.lasts.reset();
    each.holds_motion_s = 0.0;
  }
}

}  // namespace

TriggerForm::TriggerForm(Workspace& workspace, QWidget* parent)
    : EntityForm(workspace, tr("Change trigger"), parent) {
  setAccessibleName(tr("Trigger"));
  addLine(
      tr("Name"), [](const Trigger& each) { return text(each.name); },
      [](Trigger& each, const QString& name) { each.name = utf8(name); });
  addEvent();
  addAction();
  addSounds();
  addWhen(*this);
}

void TriggerForm::addSpan(const QString& from, const QString& to,
                          std::optional<model::TimeSpan> Trigger::*span, double least) {
  const auto given = [span](const Trigger& each) { return (each.*span).has_value(); };
  addNumber(
      from, {least, longestS, 1, 1, tr(" s")},
      [span](const Trigger& each) { return (each.*span)->from_s; },
      [span](Trigger& each, const double& value) {
        (each.*span)->from_s = value;
        (each.*span)->to_s = std::max((each.*span)->to_s, value);
      },
      given);
  addNumber(
      to, {least, longestS, 1, 1, tr(" s")},
      [span](const Trigger& each) { return (each.*span)->to_s; },
      [span](Trigger& each, const double& value) {
        (each.*span)->to_s = value;
        (each.*span)->from_s = std::min((each.*span)->from_s, value);
      },
      given);
}

void TriggerForm::addEvent() {
  addChoice(
      tr("Event"),
      [] {
        return wordsOf<TriggerEvent>([](TriggerEvent event) { return word(event); },
                                     static_cast<int>(model::EnumNames<TriggerEvent>::list.size()));
      },
      [](const Trigger& each) { return static_cast<qlonglong>(each.event); },
      [](Trigger& each, const qlonglong& place) {
        setEvent(each, static_cast<TriggerEvent>(place));
      });
  addChoice(
      tr("State"),
      [this] {
        auto choices =
            wordsOf<model::State>([](model::State state) { return word(state); },
                                  static_cast<int>(model::EnumNames<model::State>::list.size()));
        for (const model::OwnState& own : project().states)
          choices.append({text(own.name), firstOwnState + own.id.value()});
        return choices;
      },
      [](const Trigger& each) {
        return each.own_state.is_set() ? firstOwnState + each.own_state.value()
                                       : static_cast<qlonglong>(each.state);
      },
      [](Trigger& each, const qlonglong& value) {
        const bool own = value >= firstOwnState;
        each.own_state = own ? Id<model::OwnState>(value - firstOwnState) : Id<model::OwnState>();
        if (!own) each.state = static_cast<model::State>(value);
      },
      &isOfState);
  addNumber(
      tr("Speed"), {0, 300, 1, 5, tr(" km/h")}, [](const Trigger& each) { return each.speed_kmh; },
      [](Trigger& each, const double& value) { each.speed_kmh = value; }, &isOfSpeed);
  addSpan(tr("At least after"), tr("At most after"), &Trigger::every, model::shortest_every_s);
  addNumber(
      tr("Delay"), {0, 600, 2, 0.5, tr(" s")}, [](const Trigger& each) { return each.delay_s; },
      [](Trigger& each, const double& value) { each.delay_s = value; });
  addNumber(
      tr("Chance"), {0, 100, 0, 5, tr(" %")},
      [](const Trigger& each) { return 100.0 * each.chance; },
      [](Trigger& each, const double& value) { each.chance = value / 100.0; });
}

void TriggerForm::addAction() {
  addChoice(
      tr("Action"),
      [] {
        return wordsOf<TriggerAction>(
            [](TriggerAction action) { return word(action); },
            static_cast<int>(model::EnumNames<TriggerAction>::list.size()));
      },
      [](const Trigger& each) { return static_cast<qlonglong>(each.action); },
      [this](Trigger& each, const qlonglong& place) {
        setAction(project(), each, static_cast<TriggerAction>(place));
      });
}

void TriggerForm::addSounds() {
  addChoice(
      tr("Sound"), [this] { return namesOf(project().sounds, tr("No sound")); },
      [](const Trigger& each) { return static_cast<qlonglong>(each.sound.value()); },
      [](Trigger& each, const qlonglong& id) { each.sound = Id<model::Sound>(id); });
  addChoice(
      tr("In place of"), [this] { return namesOf(project().sounds, tr("No sound")); },
      [](const Trigger& each) { return static_cast<qlonglong>(each.instead_of.value()); },
      [](Trigger& each, const qlonglong& id) { each.instead_of = Id<model::Sound>(id); }, &swaps);
  addNumber(
      tr("Gain"), {-60, 20, 1, 0.5, tr(" dB")}, [](const Trigger& each) { return each.gain_db; },
      [](Trigger& each, const double& value) { each.gain_db = value; }, &starts);
  addNumber(
      tr("Fades over"), {0, 30, 2, 0.1, tr(" s")}, [](const Trigger& each) { return each.fade_s; },
      [](Trigger& each, const double& value) { each.fade_s = value; }, &fades);
  addCheck(
      tr("A held sound is let go after a time"),
      [](const Trigger& each) { return each.lasts.has_value(); },
      [](Trigger& each, const bool& on) {
        each.lasts.reset();
        if (on) each.lasts = model::TimeSpan{lastsFromS, lastsToS, {}};
      },
      &starts);
  addSpan(tr("Lasts at least"), tr("Lasts at most"), &Trigger::lasts, 0.0);
  addNumber(
      tr("Holds the engine up to"), {0, 60, 1, 0.5, tr(" s")},
      [](const Trigger& each) { return each.holds_motion_s; },
      [](Trigger& each, const double& value) { each.holds_motion_s = value; },
      [](const Trigger& each) { return each.event == TriggerEvent::leaving_rest && starts(each); });
}

}  // namespace fourbeat::ui
