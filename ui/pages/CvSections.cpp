// SPDX-License-Identifier: GPL-3.0-or-later
#include "CvEffectForm.h"
#include "CvWording.h"
#include "OptionForm.h"
#include "OwnCvs.h"
#include "SectionPanel.h"

#include "fourbeat/model/cv_values.h"

#include <QCoreApplication>
#include <algorithm>

namespace fourbeat::ui {

namespace {

constexpr int fullValue = 255;
constexpr int lettersOfACv = 9;
constexpr int lettersOfAnEffect = 28;
constexpr int lettersOfFigures = 12;

QString tr(const char* source) {
  return QCoreApplication::translate("CvSections", source);
}

/// The choice that a set ships with: "the engine's own".
QString shippedText(const model::Project& project, const model::Option& option) {
  const std::optional<int> value = model::cv_value(project, option.cv);
  if (!value) return tr("not in the set");
  for (const model::OptionChoice& choice : option.choices) {
    if (choice.value == *value) return tr("%1 %2").arg(*value).arg(text(choice.name));
  }
  return QString::number(*value);
}

/// The options' CVs come and go with them.
SectionManners<model::Option> optionManners(Workspace& workspace) {
  const auto project = [&workspace]() -> const model::Project& { return workspace.project(); };
  SectionManners<model::Option> manners;
  manners.renew = [project](model::Option& copy) { copy.cv = newOwnCv(project()); };
  manners.withAdd = [](const model::Option& option) -> std::vector<model::Edit> {
    model::Cv cv;
    cv.number = option.cv;
    cv.value = option.choices.empty() ? 0 : option.choices.front().value;
    cv.name = option.name;
    return {model::Add<model::Cv>{std::move(cv), std::nullopt}};
  };
  manners.remove = [project](const model::Option& option) {
    std::vector<model::Edit> edits{model::Remove<model::Option>{option.id}};
    if (const model::Cv* cv = optionCv(project(), option); cv != nullptr)
      edits.emplace_back(model::Remove<model::Cv>{cv->id});
    return edits;
  };
  return manners;
}

/// A CV that an option asks for stays; it changes nothing any more.
std::vector<model::Edit> withoutEffect(const model::Project& project, const model::Cv& cv) {
  const bool chooses = std::any_of(project.options.begin(), project.options.end(),
                                   [&](const model::Option& each) { return each.cv == cv.number; });
  if (!chooses) return {model::Remove<model::Cv>{cv.id}};
  model::Cv rest = cv;
  rest.effect.reset();
  return {model::Replace<model::Cv>{std::move(rest)}};
}

}  // namespace

Section* makeOptions(Workspace& workspace, QWidget* parent) {
  const auto project = [&workspace]() -> const model::Project& { return workspace.project(); };
  const SectionWords words{
      .list = tr("Options"),
      .add = tr("&Add option"),
      .addTip = tr("An option lets the buyer choose by a CV: keys, triggers and layers ask for "
                   "one of its choices."),
      .duplicate = tr("Duplicate option"),
      .remove = tr("Remove option"),
      .empty = tr("No option yet: add one where the buyer is to choose, as between two whistles."),
      .copyName = tr("%1 (copy)"),
      .snags = tr("Snags")};
  return new SectionPanel<model::Option>(
      workspace, words,
      {{tr("Name"), [](const model::Option& each) { return text(each.name); }},
       {tr("CV"), [](const model::Option& each) { return tr("CV%1").arg(each.cv); }, lettersOfACv},
       {tr("Choices"),
        [](const model::Option& each) {
          QStringList names;
          for (const model::OptionChoice& choice : each.choices)
            names << text(choice.name);
          return names.join(tr(", "));
        }},
       {tr("Ships with"),
        [project](const model::Option& each) { return shippedText(project(), each); }},
       {tr("Asked for by"),
        [project](const model::Option& each) {
          return QString::number(usesOf(project(), each.id).size());
        },
        lettersOfFigures}},
      [project] {
        model::Option fresh;
        fresh.name = utf8(tr("New option"));
        fresh.cv = newOwnCv(project());
        fresh.choices = {{0, utf8(tr("as recorded")), {}}, {1, utf8(tr("another")), {}}};
        return fresh;
      },
      new OptionForm(workspace), parent, optionManners(workspace));
}

Section* makeCvEffects(Workspace& workspace, QWidget* parent) {
  const auto project = [&workspace]() -> const model::Project& { return workspace.project(); };
  const SectionWords words{
      .list = tr("What CVs change"),
      .add = tr("&Add CV"),
      .addTip = tr("A CV of the set's own gives the buyer a figure to change: a level, a time, a "
                   "speed."),
      .duplicate = tr("Duplicate CV"),
      .remove = tr("Remove CV"),
      .empty = tr("No CV changes a figure of the set yet: add one for its level first."),
      .copyName = tr("%1 (copy)"),
      .snags = tr("Snags")};
  SectionManners<model::Cv> manners;
  manners.holds = [](const model::Cv& each) { return each.effect.has_value(); };
  manners.renew = [project](model::Cv& copy) { copy.number = newOwnCv(project()); };
  manners.remove = [project](const model::Cv& cv) { return withoutEffect(project(), cv); };
  return new SectionPanel<model::Cv>(
      workspace, words,
      {{tr("Name"), [](const model::Cv& each) { return text(each.name); }},
       {tr("CV"), [](const model::Cv& each) { return tr("CV%1").arg(each.number); }, lettersOfACv},
       {tr("Changes"),
        [project](const model::Cv& each) {
          return each.effect ? targetText(project(), *each.effect) : QString();
        },
        lettersOfAnEffect},
       {tr("From, to"),
        [](const model::Cv& each) { return each.effect ? rangeText(*each.effect) : QString(); },
        lettersOfAnEffect},
       {tr("Ships with"), [](const model::Cv& each) { return QString::number(each.value); },
        lettersOfFigures}},
      [project] {
        model::Cv fresh;
        fresh.number = newOwnCv(project());
        fresh.value = fullValue;
        fresh.name = utf8(tr("Volume"));
        fresh.effect.emplace();
        return fresh;
      },
      new CvEffectForm(workspace), parent, std::move(manners));
}

}  // namespace fourbeat::ui
