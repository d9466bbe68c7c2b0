// SPDX-License-Identifier: GPL-3.0-or-later
#include "OptionForm.h"

#include "CvWording.h"
#include "OwnCvs.h"

#include "fourbeat/model/cv_values.h"

#include <QListWidget>
#include <algorithm>

namespace fourbeat::ui {

namespace {

using model::Option;
using model::OptionChoice;

constexpr int greatestValue = 255;
constexpr qlonglong notListed = -1;
constexpr int linesOfUses = 5;

void sortChoices(Option& each) {
  std::stable_sort(each.choices.begin(), each.choices.end(),
                   [](const OptionChoice& a, const OptionChoice& b) { return a.value < b.value; });
}

int freeValue(const Option& each) {
  int value = 0;
  for (const OptionChoice& choice : each.choices)
    value = std::max(value, choice.value + 1);
  return std::min(value, greatestValue);
}

}  // namespace

OptionForm::OptionForm(Workspace& workspace, QWidget* parent)
    : EntityForm(workspace, tr("Change option"), parent) {
  setAccessibleName(tr("Option"));
  addLine(
      tr("Name"), [](const Option& each) { return text(each.name); },
      [](Option& each, const QString& name) { each.name = utf8(name); });
  addCv();
  addChoices();
  addShipped();
  addUses();
}

std::vector<model::Edit> OptionForm::edits(const Option& before, const Option& after) const {
  std::vector<model::Edit> made{model::Replace<Option>{after}};
  const model::Cv* entry = optionCv(project(), before);
  if (after.cv != before.cv && entry != nullptr) {
    model::Cv moved = *entry;
    moved.number = after.cv;
    made.emplace_back(model::Replace<model::Cv>{std::move(moved)});
  }
  return made;
}

void OptionForm::addCv() {
  addChoice(
      tr("CV"),
      [this] {
        return ownCvChoices(project(),
                            entity() == nullptr ? std::nullopt : std::optional(entity()->cv));
      },
      [](const Option& each) { return static_cast<qlonglong>(each.cv); },
      [](Option& each, const qlonglong& number) { each.cv = static_cast<int>(number); });
}

void OptionForm::addChoices() {
  Parts parts;
  parts.columns = {{tr("Value"), {0, greatestValue, 0, 1, {}}, {}},
                   {.header = tr("Choice"), .number = {}, .choices = {}, .words = true}};
  parts.rows = [](const Option& each) {
    QVector<QVariantList> rows;
    for (const OptionChoice& choice : each.choices)
      rows.append(QVariantList{static_cast<double>(choice.value), text(choice.name)});
    return rows;
  };
  parts.set = [](Option& each, int row, int column, const QVariant& value) {
    OptionChoice& choice = each.choices[static_cast<std::size_t>(row)];
    if (column == 0) {
      choice.value = qRound(value.toDouble());
      sortChoices(each);
    } else {
      choice.name = utf8(value.toString());
    }
  };
  parts.add = [](Option& each, int /*row*/) {
    const int value = freeValue(each);
    each.choices.push_back({value, utf8(tr("choice %1").arg(value)), {}});
  };
  parts.remove = [](Option& each, int row) { each.choices.erase(each.choices.begin() + row); };
  addParts(tr("Choices"), parts);
}

void OptionForm::addShipped() {
  auto* box = new QComboBox(this);
  box->setAccessibleName(tr("Ships with"));
  box->setSizeAdjustPolicy(QComboBox::AdjustToMinimumContentsLengthWithIcon);
  leaveWheel(box);
  connect(box, &QComboBox::activated, this, [this, box] {
    const Option* each = entity();
    const qlonglong value = box->currentData().toLongLong();
    if (each == nullptr || value == notListed) return;
    (void)workspace().perform(tr("Set CV%1").arg(each->cv),
                              {model::SetCv{each->cv, static_cast<int>(value)}});
  });
  addOther(tr("Ships with"), box, [this, box](const Option& each) {
    const std::optional<int> value = model::cv_value(project(), each.cv);
    ChoiceDelegate::Choices choices;
    if (!value) choices.append({tr("CV%1 is not in the set").arg(each.cv), notListed});
    bool known = !value;
    for (const OptionChoice& choice : each.choices) {
      choices.append({tr("%1 %2").arg(choice.value).arg(text(choice.name)),
                      static_cast<qlonglong>(choice.value)});
      known = known || choice.value == value;
    }
    if (!known) {
      choices.append({tr("%1, which is no choice").arg(*value), static_cast<qlonglong>(*value)});
    }
    showChoices(box, choices, value ? static_cast<qlonglong>(*value) : notListed);
  });
}

void OptionForm::addUses() {
  auto* list = new QListWidget(this);
  list->setAccessibleName(tr("Asked for by"));
  list->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  list->setResizeMode(QListView::Adjust);
  list->setWordWrap(true);
  list->setFixedHeight(linesOfUses * (list->fontMetrics().height() + Theme::gap) + Theme::tight);
  connect(list, &QListWidget::itemActivated, this, [this](QListWidgetItem* item) {
    const QString pointer = item->data(Qt::UserRole).toString();
    if (!pointer.isEmpty()) workspace().reveal(pointer);
  });
  addOther(tr("Asked for by"), list, [this, list](const Option& each) {
    list->clear();
    for (const OptionUse& use : usesOf(project(), each.id)) {
      auto* item = new QListWidgetItem(use.words, list);
      item->setData(Qt::UserRole, use.pointer);
      item->setToolTip(tr("%1 (Enter goes there)").arg(use.words));
    }
    if (list->count() > 0) return;
    auto* none = new QListWidgetItem(tr("Nothing yet: a key, trigger or layer asks for it"), list);
    none->setFlags(Qt::NoItemFlags);
  });
}

}  // namespace fourbeat::ui
