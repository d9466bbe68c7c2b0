// SPDX-License-Identifier: GPL-3.0-or-later
#include "CvEffectForm.h"

#include "CvWording.h"
#include "OwnCvs.h"
#include "WhenRows.h"

#include "fourbeat/model/cv_targets.h"

#include <algorithm>

namespace fourbeat::ui {

namespace {

using model::Cv;
using model::CvEffect;
using model::CvTarget;

constexpr int greatestValue = 255;

/// The effect of a CV; a new one where it has lost its own and is about to leave the list.
const CvEffect& effectOf(const Cv& each) {
  static const CvEffect none;
  return each.effect ? *each.effect : none;
}
CvEffect& effectOf(Cv& each) {
  if (!each.effect) each.effect.emplace();
  return *each.effect;
}

bool isOfSound(const Cv& each) {
  return effectOf(each).target == CvTarget::sound_gain;
}
bool isOfLayer(const Cv& each) {
  return effectOf(each).target == CvTarget::layer_gain;
}
bool isOfState(const Cv& each) {
  const CvTarget target = effectOf(each).target;
  return target == CvTarget::state_speed || target == CvTarget::state_time;
}
bool isOfTrigger(const Cv& each) {
  return effectOf(each).target == CvTarget::trigger_time;
}

/// Whether the project has what a target is a figure of.
bool isThere(const model::Project& project, CvTarget target) {
  switch (target) {
    case CvTarget::sound_gain:
      return !project.sounds.empty();
    case CvTarget::layer_gain:
      return !project.layers.empty();
    case CvTarget::state_speed:
    case CvTarget::state_time:
      return !project.states.empty();
    case CvTarget::trigger_time:
      return !project.triggers.empty();
    default:
      return true;
  }
}

/// What a new effect makes of a target at 0 and at 255.
std::pair<double, double> firstEnds(const model::Project& project, CvTarget target) {
  switch (target) {
    case CvTarget::set_gain:
    case CvTarget::chuff_gain:
    case CvTarget::sound_gain:
    case CvTarget::layer_gain:
      return {-60.0, 0.0};
    case CvTarget::state_speed:
      return {0.0, project.engine.top_speed_kmh};
    case CvTarget::state_time:
    case CvTarget::trigger_time:
      return {0.0, 255.0};  // a second a step
    case CvTarget::sync_error:
      return {-10.0, 10.0};
    case CvTarget::row_delay:
      return {0.0, 2.0};
    case CvTarget::full_brake:
      return {1.0, 30.0};
    case CvTarget::coasting:
      return {1.0, 20.0};
    case CvTarget::cocks_open:
      return {0.0, 20.0};
    case CvTarget::duties:
      return {0.0, 1.0};
    case CvTarget::duty_pace:
      return {0.5, 5.0};
  }
  return {};
}

template <class T>
Id<T> first(const std::vector<T>& list, bool wanted) {
  return wanted && !list.empty() ? list.front().id : Id<T>();
}

/// Another target, with what it is a figure of and figures that suit it.
void setTarget(const model::Project& project, Cv& each, CvTarget target) {
  CvEffect& effect = effectOf(each);
  effect.target = target;
  effect.sound = first(project.sounds, isOfSound(each));
  effect.layer = first(project.layers, isOfLayer(each));
  effect.state = first(project.states, isOfState(each));
  effect.trigger = first(project.triggers, isOfTrigger(each));
  const model::MemberRule rule = model::range_of(project, effect);
  const auto [low, high] = firstEnds(project, target);
  effect.at_0 = std::clamp(low, rule.low, rule.high);
  effect.at_255 = std::clamp(high, rule.low, rule.high);
}

/// Gives a field the range and the unit of an effect; a figure beyond the range stays what it is.
void fitField(QDoubleSpinBox* field, const model::Project& project, const CvEffect& effect,
              double figure) {
  const QSignalBlocker quiet(field);
  const model::MemberRule rule = model::range_of(project, effect);
  const TargetFigure form = figureOf(effect.target);
  field->setDecimals(form.decimals);
  field->setSingleStep(form.step);
  field->setSuffix(form.suffix);
  field->setRange(std::min(rule.low, figure), std::max(rule.high, figure));
}

}  // namespace

CvEffectForm::CvEffectForm(Workspace& workspace, QWidget* parent)
    : EntityForm(workspace, tr("Change what the CV does"), parent) {
  setAccessibleName(tr("What the CV changes"));
  addCv();
  addTarget();
  addEnds();
  addShipped();
}

void CvEffectForm::addCv() {
  addLine(
      tr("Name"), [](const Cv& each) { return text(each.name); },
      [](Cv& each, const QString& name) { each.name = utf8(name); });
  addChoice(
      tr("CV"),
      [this] {
        return ownCvChoices(project(),
                            entity() == nullptr ? std::nullopt : std::optional(entity()->number));
      },
      [](const Cv& each) { return static_cast<qlonglong>(each.number); },
      [](Cv& each, const qlonglong& number) { each.number = static_cast<int>(number); });
}

void CvEffectForm::addTarget() {
  addChoice(
      tr("Changes"),
      [this] {
        ChoiceDelegate::Choices choices;
        for (std::size_t i = 0; i < model::EnumNames<CvTarget>::list.size(); ++i) {
          const auto target = static_cast<CvTarget>(i);
          if (isThere(project(), target)) choices.append({word(target), static_cast<qlonglong>(i)});
        }
        return choices;
      },
      [](const Cv& each) { return static_cast<qlonglong>(effectOf(each).target); },
      [this](Cv& each, const qlonglong& place) {
        setTarget(project(), each, static_cast<CvTarget>(place));
      });
  const auto owner = [this]<class T>(const QString& label, Id<T> CvEffect::*at,
                                     const Applies& applies) {
    addChoice(
        label,
        [this] {
          ChoiceDelegate::Choices names = namesOf(model::list_of<T>(project()), {});
          names.removeFirst();  // it must be one
          return names;
        },
        [at](const Cv& each) { return static_cast<qlonglong>((effectOf(each).*at).value()); },
        [at](Cv& each, const qlonglong& id) { effectOf(each).*at = Id<T>(id); }, applies);
  };
  owner(tr("Sound"), &CvEffect::sound, &isOfSound);
  owner(tr("Layer"), &CvEffect::layer, &isOfLayer);
  owner(tr("State"), &CvEffect::state, &isOfState);
  owner(tr("Trigger"), &CvEffect::trigger, &isOfTrigger);
}

void CvEffectForm::addEnds() {
  const auto end = [this](const QString& label, double CvEffect::*at) {
    auto* field = makeNumber(this, label, {0, 1, 1, 1, {}});
    leaveWheel(field);
    onNumber(
        field,
        [this, at, label](double value) {
          change([at](Cv& each, double figure) { effectOf(each).*at = figure; }, value, label);
        },
        [this] { workspace().document().endMerge(); });
    addOther(label, field, [this, field, at](const Cv& each) {
      const CvEffect& effect = effectOf(each);
      fitField(field, project(), effect, effect.*at);
      showValue(field, effect.*at);
    });
  };
  end(tr("At value 0"), &CvEffect::at_0);
  end(tr("At value 255"), &CvEffect::at_255);
}

void CvEffectForm::addShipped() {
  addNumber(
      tr("Ships with"), {0, greatestValue, 0, 1, {}},
      [](const Cv& each) { return static_cast<double>(each.value); },
      [](Cv& each, const double& value) { each.value = qRound(value); });
  auto* figure = makeNote(this, tr("That is"));
  addOther(tr("That is"), figure, [this, figure](const Cv& each) {
    const CvEffect& effect = effectOf(each);
    const model::MemberRule rule = model::range_of(project(), effect);
    figure->setText(figureText(effect.target, model::cv_figure(effect.at_0, effect.at_255,
                                                               each.value, rule.low, rule.high)));
  });
  addLine(
      tr("Note"), [](const Cv& each) { return text(each.note); },
      [](Cv& each, const QString& note) { each.note = utf8(note); });
}

}  // namespace fourbeat::ui
