// SPDX-License-Identifier: GPL-3.0-or-later
#include "CvWording.h"

#include "Wording.h"

#include "fourbeat/store/project_file.h"

#include <QCoreApplication>
#include <QLocale>
#include <variant>

namespace fourbeat::ui {

namespace {

constexpr double putsOn = 0.5;  ///< model::CvTarget::duties

QString tr(const char* source) {
  return QCoreApplication::translate("CvWording", source);
}

template <class T>
QString nameOf(const model::Project& project, Id<T> id) {
  const T* found = model::find(project, id);
  return found == nullptr ? QString() : text(found->name);
}

/// What of the set the target is a figure of; "" where it is the set's.
QString ownerText(const model::Project& project, const model::CvEffect& effect) {
  if (effect.sound.is_set()) return nameOf(project, effect.sound);
  if (effect.layer.is_set()) return nameOf(project, effect.layer);
  if (effect.state.is_set()) return nameOf(project, effect.state);
  return nameOf(project, effect.trigger);
}

template <class T>
void addUse(const model::Project& project, const T& each, Id<model::Option> option,
            const QString& name, QList<OptionUse>& uses) {
  if (each.when.option != option) return;
  uses.append({text(store::pointer_of(project, each.id)),
               tr("%1: in force while it is %2").arg(name).arg(each.when.option_value)});
}

QString keyName(const model::Key& key) {
  return key.label.empty() ? tr("Key F%1").arg(key.number)
                           : tr("Key F%1, %2").arg(key.number).arg(text(key.label));
}

}  // namespace

QString word(model::CvTarget target) {
  switch (target) {
    case model::CvTarget::set_gain:
      return tr("Level of the whole set");
    case model::CvTarget::chuff_gain:
      return tr("Level of the chuffs");
    case model::CvTarget::sound_gain:
      return tr("Level of a sound");
    case model::CvTarget::layer_gain:
      return tr("Level of a layer");
    case model::CvTarget::state_speed:
      return tr("Speed that a state asks for");
    case model::CvTarget::state_time:
      return tr("Time before a state begins");
    case model::CvTarget::trigger_time:
      return tr("Time of a trigger");
    case model::CvTarget::sync_error:
      return tr("Beats too many");
    case model::CvTarget::row_delay:
      return tr("How late rows follow");
    case model::CvTarget::full_brake:
      return tr("Stop under a full brake");
    case model::CvTarget::coasting:
      return tr("How far it coasts");
    case model::CvTarget::cocks_open:
      return tr("Turns with cocks open");
    case model::CvTarget::duties:
      return tr("Duties on or off");
    case model::CvTarget::duty_pace:
      return tr("Pace of the duties");
  }
  return {};
}

TargetFigure figureOf(model::CvTarget target) {
  switch (target) {
    case model::CvTarget::set_gain:
    case model::CvTarget::chuff_gain:
    case model::CvTarget::sound_gain:
    case model::CvTarget::layer_gain:
      return {1, 1.0, tr(" dB")};
    case model::CvTarget::state_speed:
      return {1, 5.0, tr(" km/h")};
    case model::CvTarget::state_time:
    case model::CvTarget::trigger_time:
    case model::CvTarget::full_brake:
      return {1, 1.0, tr(" s")};
    case model::CvTarget::row_delay:
      return {2, 0.1, tr(" s")};
    case model::CvTarget::sync_error:
      return {1, 1.0, tr(" %")};
    case model::CvTarget::cocks_open:
      return {1, 1.0, tr(" turns")};
    case model::CvTarget::coasting:
    case model::CvTarget::duty_pace:
      return {1, 0.5, tr(" times")};
    case model::CvTarget::duties:
      return {1, 1.0, {}};
  }
  return {};
}

QString figureText(model::CvTarget target, double figure) {
  if (target == model::CvTarget::duties) return figure >= putsOn ? tr("on") : tr("off");
  const TargetFigure form = figureOf(target);
  return QLocale().toString(figure, 'f', form.decimals) + form.suffix;
}

QString targetText(const model::Project& project, const model::CvEffect& effect) {
  const QString owner = ownerText(project, effect);
  return owner.isEmpty() ? word(effect.target) : tr("%1: %2").arg(word(effect.target), owner);
}

QString rangeText(const model::CvEffect& effect) {
  return tr("%1 at 0, %2 at 255")
      .arg(figureText(effect.target, effect.at_0), figureText(effect.target, effect.at_255));
}

QString choicesText(const model::Option& option) {
  QStringList choices;
  for (const model::OptionChoice& each : option.choices)
    choices << tr("%1 %2").arg(each.value).arg(text(each.name));
  if (choices.isEmpty()) return text(option.name);
  return tr("%1: %2").arg(text(option.name), choices.join(tr(", ")));
}

QString meaningText(const model::Project& project, const model::Cv& cv) {
  QStringList parts;
  if (cv.effect) parts << tr("%1, %2").arg(targetText(project, *cv.effect), rangeText(*cv.effect));
  for (const model::Option& option : project.options) {
    if (option.cv == cv.number) parts << choicesText(option);
  }
  return parts.join(tr("; "));
}

QList<OptionUse> usesOf(const model::Project& project, Id<model::Option> option) {
  QList<OptionUse> uses;
  if (!option.is_set()) return uses;
  for (const model::Key& key : project.keys) {
    addUse(project, key, option, keyName(key), uses);
    const auto* task = key.task ? std::get_if<model::OptionKey>(&*key.task) : nullptr;
    if (task == nullptr || task->option != option) continue;
    uses.append({text(store::pointer_of(project, key.id)),
                 tr("%1: makes it %2 while it is on").arg(keyName(key)).arg(task->value)});
  }
  for (const model::Trigger& trigger : project.triggers)
    addUse(project, trigger, option, tr("Trigger %1").arg(text(trigger.name)), uses);
  for (const model::Layer& layer : project.layers)
    addUse(project, layer, option, tr("Layer %1").arg(text(layer.name)), uses);
  return uses;
}

}  // namespace fourbeat::ui
