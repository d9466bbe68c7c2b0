// SPDX-License-Identifier: GPL-3.0-or-later
#include "OwnCvs.h"

#include "fourbeat/model/cv_values.h"

#include <QCoreApplication>
#include <algorithm>

namespace fourbeat::ui {

namespace {

constexpr int whenAllAreTaken = 112;

QString tr(const char* source) {
  return QCoreApplication::translate("OwnCvs", source);
}

}  // namespace

ChoiceDelegate::Choices ownCvChoices(const model::Project& project, std::optional<int> own) {
  ChoiceDelegate::Choices choices;
  for (const int number : model::free_own_cvs(project, own)) {
    const bool apart = model::cv_area(number) != model::CvArea::makers;
    choices.append({apart ? tr("CV%1, not left to makers").arg(number) : tr("CV%1").arg(number),
                    static_cast<qlonglong>(number)});
  }
  return choices;
}

int newOwnCv(const model::Project& project) {
  return model::next_own_cv(project).value_or(whenAllAreTaken);
}

const model::Cv* optionCv(const model::Project& project, const model::Option& option) {
  const bool shared = std::any_of(
      project.options.begin(), project.options.end(),
      [&](const model::Option& other) { return other.id != option.id && other.cv == option.cv; });
  const auto found = std::find_if(project.cvs.begin(), project.cvs.end(),
                                  [&](const model::Cv& cv) { return cv.number == option.cv; });
  return shared || found == project.cvs.end() || found->effect ? nullptr : &*found;
}

}  // namespace fourbeat::ui
