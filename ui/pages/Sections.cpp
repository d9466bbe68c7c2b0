// SPDX-License-Identifier: GPL-3.0-or-later
#include "Sections.h"

#include "LayerForm.h"
#include "SectionPanel.h"
#include "StateForm.h"
#include "TriggerForm.h"

#include <QCoreApplication>
#include <QLocale>

namespace fourbeat::ui {

namespace {

QString tr(const char* source) {
  return QCoreApplication::translate("Sections", source);
}

QString nameOf(const model::Project& project, Id<model::Sound> id) {
  const model::Sound* sound = model::find(project, id);
  return sound == nullptr ? tr("No sound") : text(sound->name);
}

Id<model::Sound> firstSound(const model::Project& project) {
  return project.sounds.empty() ? Id<model::Sound>() : project.sounds.front().id;
}

QString eventText(const model::Project& project, const model::Trigger& trigger) {
  using model::TriggerEvent;
  QString event = word(trigger.event);
  switch (trigger.event) {
    case TriggerEvent::state_entered:
    case TriggerEvent::state_left: {
      const model::OwnState* own = model::find(project, trigger.own_state);
      return tr("%1: %2").arg(event, own == nullptr ? word(trigger.state) : text(own->name));
    }
    case TriggerEvent::speed_rises:
    case TriggerEvent::speed_falls:
      return tr("%1 %2").arg(event, speedText(trigger.speed_kmh));
    case TriggerEvent::every:
      if (!trigger.every) return event;
      return tr("%1, every %2 to %3 s")
          .arg(event, QLocale().toString(trigger.every->from_s, 'f', 1),
               QLocale().toString(trigger.every->to_s, 'f', 1));
    default:
      return event;
  }
}

QString actionText(const model::Project& project, const model::Trigger& trigger) {
  const QString sound = nameOf(project, trigger.sound);
  switch (trigger.action) {
    case model::TriggerAction::start:
      return tr("Starts %1").arg(sound);
    case model::TriggerAction::stop:
      return tr("Stops %1").arg(sound);
    case model::TriggerAction::swap:
      return tr("%1 in place of %2").arg(sound, nameOf(project, trigger.instead_of));
  }
  return {};
}

QString bandText(const model::Layer& layer) {
  return tr("%1 to %2 km/h")
      .arg(QLocale().toString(layer.from_kmh, 'f', 1), QLocale().toString(layer.to_kmh, 'f', 1));
}

QString asksText(const model::OwnState& state) {
  QStringList parts;
  for (const model::State each : state.during)
    parts << word(each);
  if (!state.during.empty()) parts = {parts.join(tr(", "))};
  if (state.effort) parts << word(*state.effort);
  if (state.from_kmh) parts << tr("from %1").arg(speedText(*state.from_kmh));
  if (state.below_kmh) parts << tr("below %1").arg(speedText(*state.below_kmh));
  return parts.isEmpty() ? tr("Nothing: it is always in force") : parts.join(tr("; "));
}

}  // namespace

Section* makeTriggers(Workspace& workspace, QWidget* parent) {
  const auto project = [&workspace]() -> const model::Project& { return workspace.project(); };
  const SectionWords words{
      .list = tr("Triggers"),
      .add = tr("&Add trigger"),
      .addTip = tr("A trigger starts, stops or swaps a sound when something happens."),
      .duplicate = tr("Duplicate trigger"),
      .remove = tr("Remove trigger"),
      .empty = tr("No trigger yet: add one for what is heard when the engine leaves rest."),
      .copyName = tr("%1 (copy)"),
      .snags = tr("Snags")};
  return new SectionPanel<model::Trigger>(
      workspace, words,
      {{tr("Name"), [](const model::Trigger& each) { return text(each.name); }},
       {tr("Event"), [project](const model::Trigger& each) { return eventText(project(), each); }},
       {tr("Does"), [project](const model::Trigger& each) { return actionText(project(), each); }},
       {tr("When"),
        [project](const model::Trigger& each) { return whenText(project(), each.when); }}},
      [project] {
        model::Trigger fresh;
        fresh.name = utf8(tr("New trigger"));
        fresh.event = model::TriggerEvent::leaving_rest;
        fresh.sound = firstSound(project());
        return fresh;
      },
      new TriggerForm(workspace), parent);
}

Section* makeLayers(Workspace& workspace, QWidget* parent) {
  const auto project = [&workspace]() -> const model::Project& { return workspace.project(); };
  const SectionWords words{
      .list = tr("Layers"),
      .add = tr("&Add layer"),
      .addTip = tr("A layer runs with the wheel, the rails or a state, beside the chuffs."),
      .duplicate = tr("Duplicate layer"),
      .remove = tr("Remove layer"),
      .empty = tr("No layer yet: add one for what is heard all along, as the fire at rest."),
      .copyName = tr("%1 (copy)"),
      .snags = tr("Snags")};
  return new SectionPanel<model::Layer>(
      workspace, words,
      {{tr("Name"), [](const model::Layer& each) { return text(each.name); }},
       {tr("Runs"), [](const model::Layer& each) { return word(each.kind); }},
       {tr("Sounds"),
        [project](const model::Layer& each) {
          QStringList names;
          for (const Id<model::Sound> sound : each.sounds)
            names << nameOf(project(), sound);
          return names.isEmpty() ? tr("No sound") : names.join(tr(", "));
        }},
       {tr("Speeds"), [](const model::Layer& each) { return bandText(each); }},
       {tr("When"),
        [project](const model::Layer& each) { return whenText(project(), each.when); }}},
      [project] {
        model::Layer fresh;
        fresh.name = utf8(tr("New layer"));
        if (!project().sounds.empty()) fresh.sounds = {firstSound(project())};
        return fresh;
      },
      new LayerForm(workspace), parent);
}

Section* makeStates(Workspace& workspace, QWidget* parent) {
  const SectionWords words{
      .list = tr("States"),
      .add = tr("&Add state"),
      .addTip = tr("A state of the set's own says when keys, triggers and layers are in force."),
      .duplicate = tr("Duplicate state"),
      .remove = tr("Remove state"),
      .empty = tr("No state of the set's own yet: add one where standing, working and the "
                  "others do not tell enough apart."),
      .copyName = tr("%1 (copy)"),
      .snags = tr("Snags")};
  const auto seconds = [](double figure) {
    return tr("%1 s").arg(QLocale().toString(figure, 'f', 1));
  };
  return new SectionPanel<model::OwnState>(
      workspace, words,
      {{tr("Name"), [](const model::OwnState& each) { return text(each.name); }},
       {tr("Asks for"), &asksText},
       {tr("Begins after"),
        [seconds](const model::OwnState& each) { return seconds(each.after_s); }},
       {tr("Lasts at least"),
        [seconds](const model::OwnState& each) { return seconds(each.hold_s); }}},
      [] {
        model::OwnState fresh;
        fresh.name = utf8(tr("New state"));
        return fresh;
      },
      new StateForm(workspace), parent);
}

}  // namespace fourbeat::ui
