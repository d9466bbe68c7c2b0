// SPDX-License-Identifier: GPL-3.0-or-later
#include "KeyForm.h"

#include "WhenRows.h"

#include "fourbeat/model/driving_members.h"

#include <algorithm>

namespace fourbeat::ui {

namespace {

using model::Key;
using model::KeyTask;

constexpr double variantStepKmh = 20.0;

/// A task of a kind with the figures a new one has.
template <std::size_t... Kind>
KeyTask newTask(std::size_t kind, std::index_sequence<Kind...>) {
  KeyTask task;
  (void)((kind == Kind && (task.emplace<Kind>(), true)) || ...);
  return task;
}

/// Reading and setting a member of one kind of task.
template <class Task, class Value>
struct OfTask {
  Value Task::*member;
  double scale;  ///< of what is shown

  explicit OfTask(Value Task::*of, double shown = 1.0) : member(of), scale(shown) {}
  double operator()(const Key& key) const {
    return scale * static_cast<double>(std::get<Task>(*key.task).*member);
  }
  void operator()(Key& key, const double& value) const {
    std::get<Task>(*key.task).*member = static_cast<Value>(value / scale);
  }
};

template <class Task>
bool does(const Key& key) {
  return key.task && std::holds_alternative<Task>(*key.task);
}

void sortVariants(Key& key) {
  std::stable_sort(key.by_speed.begin(), key.by_speed.end(),
                   [](const model::SpeedVariant& a, const model::SpeedVariant& b) {
                     return a.from_kmh < b.from_kmh;
                   });
}

}  // namespace

KeyForm::KeyForm(Workspace& workspace, QWidget* parent)
    : EntityForm(workspace, tr("Change key"), parent) {
  setAccessibleName(tr("What the key does"));
  addTask();
  addTaskFigures();
  addOptionTask();
  addNumber(
      tr("Gain"), {-60, 20, 1, 0.5, tr(" dB")}, [](const Key& key) { return key.gain_db; },
      [](Key& key, const double& value) { key.gain_db = value; });
  addVariants();
  addWhen(*this);
}

void KeyForm::addTask() {
  addChoice(
      tr("Does"),
      [] {
        ChoiceDelegate::Choices choices{{tr("Nothing more"), qlonglong{-1}}};
        for (std::size_t i = 0; i < std::variant_size_v<KeyTask>; ++i)
          choices.append({taskWord(i), static_cast<qlonglong>(i)});
        return choices;
      },
      [](const Key& key) {
        return key.task ? static_cast<qlonglong>(key.task->index()) : qlonglong{-1};
      },
      [this](Key& key, const qlonglong& kind) {
        if (kind < 0) {
          key.task.reset();
          return;
        }
        if (key.task && static_cast<qlonglong>(key.task->index()) == kind) return;
        key.task = newTask(static_cast<std::size_t>(kind),
                           std::make_index_sequence<std::variant_size_v<KeyTask>>());
        auto* option = std::get_if<model::OptionKey>(&*key.task);
        if (option != nullptr && !project().options.empty())
          option->option = project().options.front().id;
      });
}

void KeyForm::addTaskFigures() {
  const auto figure = [this]<class Task>(const QString& label, const NumberForm& form,
                                         OfTask<Task, double> of) {
    addNumber(label, form, of, of, &does<Task>);
  };
  const QString percent = tr(" %");
  const QString seconds = tr(" s");
  figure(tr("Strength"), {1, 100, 0, 5, percent}, OfTask{&model::BrakeKey::strength, 100.0});
  figure(tr("Grows over"), {0, 60, 1, 0.5, seconds}, OfTask{&model::BrakeKey::grows_s});
  figure(tr("Momentum left"), {0, 100, 0, 5, percent},
         OfTask{&model::DirectControlKey::momentum, 100.0});
  figure(tr("Fades over"), {0.02, 30, 2, 0.1, seconds}, OfTask{&model::SilenceKey::fade_s});
  figure(tr("Softer by"), {0, 60, 1, 1, tr(" dB")}, OfTask{&model::SoftenKey::by_db});
  figure(tr("Slip"), {10, 300, 0, 10, percent}, OfTask{&model::SlipKey::strength, 100.0});
  addChoice(
      tr("Chore"),
      [] {
        return wordsOf<model::Chore>([](model::Chore chore) { return word(chore); },
                                     static_cast<int>(model::EnumNames<model::Chore>::list.size()));
      },
      [](const Key& key) {
        return static_cast<qlonglong>(std::get<model::ChoreKey>(*key.task).chore);
      },
      [](Key& key, const qlonglong& place) {
        std::get<model::ChoreKey>(*key.task).chore = static_cast<model::Chore>(place);
      },
      &does<model::ChoreKey>);
  addChoice(
      tr("Effort"),
      [] {
        return wordsOf<model::Effort>(
            [](model::Effort effort) { return word(effort); },
            static_cast<int>(model::EnumNames<model::Effort>::list.size()));
      },
      [](const Key& key) {
        return static_cast<qlonglong>(std::get<model::EffortKey>(*key.task).effort);
      },
      [](Key& key, const qlonglong& place) {
        std::get<model::EffortKey>(*key.task).effort = static_cast<model::Effort>(place);
      },
      &does<model::EffortKey>);
  addCheck(
      tr("Asleep until first put on"),
      [](const Key& key) { return std::get<model::WakeKey>(*key.task).starts_asleep; },
      [](Key& key, const bool& on) { std::get<model::WakeKey>(*key.task).starts_asleep = on; },
      &does<model::WakeKey>);
}

void KeyForm::addOptionTask() {
  addChoice(
      tr("Option"), [this] { return namesOf(project().options, tr("No option")); },
      [](const Key& key) {
        return static_cast<qlonglong>(std::get<model::OptionKey>(*key.task).option.value());
      },
      [](Key& key, const qlonglong& id) {
        std::get<model::OptionKey>(*key.task).option = Id<model::Option>(id);
      },
      &does<model::OptionKey>);
  const OfTask value{&model::OptionKey::value};
  QDoubleSpinBox* field =
      addNumber(tr("Its value"), {0, 255, 0, 1, {}}, value, value, &does<model::OptionKey>);
  onShow([this, field](const Key& key) {
    if (!does<model::OptionKey>(key)) return;
    const auto& task = std::get<model::OptionKey>(*key.task);
    field->setSuffix(optionSuffix(project(), task.option, task.value));
  });
}

void KeyForm::addVariants() {
  Parts parts;
  parts.columns = {{tr("From speed"), {0.1, fastestKmh, 1, 5, tr(" km/h")}, {}},
                   {tr("Sound"), {}, [this] { return namesOf(project().sounds, tr("No sound")); }}};
  parts.rows = [](const Key& key) {
    QVector<QVariantList> rows;
    for (const model::SpeedVariant& variant : key.by_speed)
      rows.append(QVariantList{variant.from_kmh, static_cast<qlonglong>(variant.sound.value())});
    return rows;
  };
  parts.set = [](Key& key, int row, int column, const QVariant& value) {
    model::SpeedVariant& variant = key.by_speed[static_cast<std::size_t>(row)];
    if (column == 0) {
      variant.from_kmh = value.toDouble();
    } else {
      variant.sound = Id<model::Sound>(value.toLongLong());
    }
    sortVariants(key);
  };
  parts.add = [](Key& key, int /*row*/) {
    const double last = key.by_speed.empty() ? 0.0 : key.by_speed.back().from_kmh;
    key.by_speed.push_back({std::min(fastestKmh, last + variantStepKmh), key.sound, {}});
  };
  parts.remove = [](Key& key, int row) { key.by_speed.erase(key.by_speed.begin() + row); };
  addParts(tr("By speed"), parts);
}

}  // namespace fourbeat::ui
