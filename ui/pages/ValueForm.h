// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Fields.h"
#include "PageParts.h"
#include "PartsTable.h"
#include "Wording.h"
#include "Workspace.h"

#include "fourbeat/model/cv_targets.h"
#include "fourbeat/model/entities.h"

#include <QCheckBox>
#include <QComboBox>
#include <QCoreApplication>
#include <QFormLayout>
#include <QGroupBox>
#include <QHash>
#include <QListWidget>
#include <QScrollArea>
#include <QSignalBlocker>
#include <QVBoxLayout>
#include <algorithm>

namespace fourbeat::ui {

/// The list of boxes to tick that a form shows: as high as its lines.
[[nodiscard]] QListWidget* makeCheckList(QWidget* parent, const QString& name);
/// Shows names with their ticks without telling anyone.
void showChecks(QListWidget* list, const QList<std::pair<QString, bool>>& checks);
/// Shows choices and the one of `value`, without telling anyone.
void showChoices(QComboBox* box, const ChoiceDelegate::Choices& choices, const QVariant& value);
/// The wheel scrolls the form and leaves a field alone that has not the keyboard.
void leaveWheel(QWidget* field);
/// A field with what it means in a few plain words beside it, which screen readers get too.
[[nodiscard]] QWidget* makeExplained(QWidget* field, const QString& help, QWidget* parent);

/// Gives the labels of a form's groups one width, so that their fields stand under one another.
void alignLabels(const std::vector<QLabel*>& labels);

/// A form in a frameless area that scrolls up and down.
[[nodiscard]] QWidget* makeFormScroll(QWidget* form, QWidget* parent);

/// How a figure of the model is shown: `scale` times what it is, 100 for a share in percent.
struct FigureForm {
  int decimals = 1;
  double step = 1.0;
  QString suffix;
  double scale = 1.0;
};

/// A form of one value of the project. Each field shows a member and, changed by hand, performs one
/// step; a refused one is told, and the field shows the project's value again.
template <class T>
class ValueForm : public QWidget {
 public:
  template <class Value>
  using Get = std::function<Value(const T&)>;
  template <class Value>
  using Set = std::function<void(T&, const Value&)>;
  /// Whether a field is there for this entity.
  using Applies = std::function<bool(const T&)>;

  /// step: the name of each undo step, "Change key".
  ValueForm(Workspace& workspace, QString step, QWidget* parent)
      : QWidget(parent),
        workspace_(workspace),
        step_(std::move(step)),
        column_(new QVBoxLayout(this)),
        rows_(makeRows(nullptr)) {
    column_->setContentsMargins(0, 0, 0, 0);
    column_->setSpacing(Theme::wide);
    column_->addLayout(rows_);
    connect(&workspace.document(), &Document::changed, this, [this] { refresh(); });
  }

  /// The value it shows; null: it is hidden.
  [[nodiscard]] virtual const T* entity() const = 0;
  [[nodiscard]] const model::Project& project() const { return workspace_.project(); }

  /// The rows that follow stand in a frame of their own.
  void addGroup(const QString& title) {
    auto* box = new QGroupBox(title, this);
    rows_ = makeRows(box);
    column_->addWidget(box);
  }
  /// The next row says beside its field what it means.
  ValueForm& explained(const QString& help) {
    help_ = help;
    return *this;
  }

  [[nodiscard]] static Applies always() {
    return [](const T&) { return true; };
  }

  QDoubleSpinBox* addNumber(const QString& label, const NumberForm& form, const Get<double>& get,
                            const Set<double>& set, const Applies& applies = always()) {
    QDoubleSpinBox* field = makeNumber(this, label, form);
    leaveWheel(field);
    const QString key = QStringLiteral("form/%1/%2").arg(label).arg(fields_.size());
    onNumber(
        field, [this, set, key](double value) { change(set, value, key); },
        [this] { workspace_.document().endMerge(); });
    addRow(label, field, applies, [field, get](const T& each) { showValue(field, get(each)); });
    return field;
  }

  /// A figure within what the model lets it be, of the part of a T that `part` returns.
  template <class Part, class Owner, class Value>
  QDoubleSpinBox* addFigureOf(const Part& part, const QString& label, Value Owner::*at,
                              const FigureForm& shown, const Applies& applies = always()) {
    const model::MemberRule rule = model::rule_of(at);
    const NumberForm form{rule.low * shown.scale, rule.high * shown.scale, shown.decimals,
                          shown.step, shown.suffix};
    QDoubleSpinBox* field = addNumber(
        label, form,
        [at, part, scale = shown.scale](const T& each) {
          return scale * static_cast<double>(part(each).*at);
        },
        [at, part, scale = shown.scale](T& each, const double& value) {
          part(each).*at = static_cast<Value>(value / scale);
        },
        applies);
    nameMember(at, field);
    return field;
  }
  template <class Value>
  QDoubleSpinBox* addFigure(const QString& label, Value T::*at, const FigureForm& shown,
                            const Applies& applies = always()) {
    return addFigureOf(
        [](auto& each) -> auto& { return each; }, label, at, shown, applies);
  }

  QLineEdit* addLine(const QString& label, const Get<QString>& get, const Set<QString>& set) {
    QLineEdit* field = makeLine(this, label);
    onLine(field, [this, set](const QString& value) { change(set, value); });
    addRow(label, field, always(), [field, get](const T& each) { showValue(field, get(each)); });
    return field;
  }

  QComboBox* addChoice(const QString& label, const std::function<ChoiceDelegate::Choices()>& all,
                       const Get<qlonglong>& get, const Set<qlonglong>& set,
                       const Applies& applies = always()) {
    auto* box = new QComboBox(this);
    box->setAccessibleName(label);
    box->setSizeAdjustPolicy(QComboBox::AdjustToMinimumContentsLengthWithIcon);
    leaveWheel(box);
    connect(box, &QComboBox::activated, this, [this, box, set] {
      change(set, box->currentData().toLongLong());
      workspace_.document().endMerge();
    });
    addRow(label, box, applies,
           [box, all, get](const T& each) { showChoices(box, all(), QVariant(get(each))); });
    return box;
  }

  QCheckBox* addCheck(const QString& label, const Get<bool>& get, const Set<bool>& set,
                      const Applies& applies = always()) {
    // Beside an explanation it stands among the fields, and its words among their labels.
    const bool beside = !help_.isEmpty();
    auto* box =
        new QCheckBox(beside ? QCoreApplication::translate("ValueForm", "yes") : label, this);
    box->setAccessibleName(label);
    connect(box, &QCheckBox::clicked, this, [this, set](bool on) { change(set, on); });
    addRow(beside ? label : QString(), box, applies,
           [box, get](const T& each) { box->setChecked(get(each)); });
    return box;
  }

  /// A list of boxes; set gets the place of the one that was ticked or not.
  void addChecks(const QString& label, const Get<QList<std::pair<QString, bool>>>& get,
                 const Set<std::pair<int, bool>>& set, const Applies& applies = always()) {
    QListWidget* list = makeCheckList(this, label);
    connect(list, &QListWidget::itemChanged, this, [this, list, set](QListWidgetItem* item) {
      change(set, std::pair(list->row(item), item->checkState() == Qt::Checked));
    });
    addRow(label, list, applies, [list, get](const T& each) { showChecks(list, get(each)); });
  }

  struct Parts {
    std::vector<PartColumn> columns;
    Get<QVector<QVariantList>> rows;
    std::function<void(T&, int row, int column, const QVariant& value)> set;
    std::function<void(T&, int row)> add;  ///< after row; -1: at the end
    std::function<void(T&, int row)> remove;
  };
  void addParts(const QString& label, const Parts& parts, const Applies& applies = always()) {
    auto* table = new PartsTable(
        label, parts.columns,
        [this, parts](int row, int column, const QVariant& value) {
          return change([&](T& each, int) { parts.set(each, row, column, value); }, 0);
        },
        [this, parts](int row) { change(parts.add, row); },
        [this, parts](int row) {
          if (row >= 0) change(parts.remove, row);
        },
        this);
    addRow(label, table, applies, [table, parts](const T& each) { table->show(parts.rows(each)); });
  }

  /// A row of another kind: `show` brings it to the value.
  void addOther(const QString& label, QWidget* field, std::function<void(const T&)> show,
                const Applies& applies = always()) {
    addRow(label, field, applies, std::move(show));
  }

  /// Calls `show` whenever the form shows an entity anew.
  void onShow(std::function<void(const T&)> show) {
    fields_.push_back({nullptr, nullptr, always(), std::move(show)});
  }

  /// Performs what `set` makes of the entity; false when it was refused.
  template <class Setter, class Value>
  bool change(const Setter& set, const Value& value, const QString& field = {}) {
    const T* before = entity();
    if (before == nullptr || showing_) return false;
    T after = *before;
    set(after, value);
    if (after == *before) return true;
    const QString merge = field.isEmpty() ? QString() : QStringLiteral("%1/%2").arg(field, place());
    const bool done = workspace_.perform(step_, edits(*before, after), merge);
    if (!done) refresh();
    return done;
  }

  /// Brings the field of a member ("full_brake_s") into view and gives it the keyboard.
  void reveal(const QString& member) {
    QWidget* field = members_.value(member);
    if (field == nullptr || !field->isVisibleTo(this)) return;
    field->setFocus();
    for (QWidget* each = parentWidget(); each != nullptr; each = each->parentWidget()) {
      if (auto* scroll = qobject_cast<QScrollArea*>(each)) scroll->ensureWidgetVisible(field);
    }
  }
  /// The field of a member, for reveal().
  template <class Owner, class Value>
  void nameMember(Value Owner::*at, QWidget* field) {
    members_.insert(QString::fromLatin1(memberName(at)), field);
  }
  /// Once all groups are made.
  void alignGroups() { alignLabels(labels_); }

 protected:
  [[nodiscard]] Workspace& workspace() const { return workspace_; }
  /// What makes `after` of `before`.
  [[nodiscard]] virtual std::vector<model::Edit> edits(const T& before, const T& after) const = 0;
  /// Which value it shows, so that steps of two values never merge.
  [[nodiscard]] virtual QString place() const = 0;

  void refresh() {
    const T* each = entity();
    setVisible(each != nullptr);
    if (each == nullptr || showing_) return;
    showing_ = true;
    for (const Field& field : fields_) {
      const bool there = field.applies(*each);
      if (field.row != nullptr) field.rows->setRowVisible(field.row, there);
      if (there) field.show(*each);
    }
    showing_ = false;
  }

 private:
  struct Field {
    QFormLayout* rows;
    QWidget* row;  ///< what stands there in the layout
    Applies applies;
    std::function<void(const T&)> show;
  };

  static QFormLayout* makeRows(QWidget* parent) {
    auto* rows = new QFormLayout(parent);
    if (parent == nullptr) rows->setContentsMargins(0, 0, 0, 0);
    rows->setHorizontalSpacing(Theme::gap);
    rows->setVerticalSpacing(Theme::tight);
    rows->setFieldGrowthPolicy(QFormLayout::AllNonFixedFieldsGrow);
    rows->setRowWrapPolicy(QFormLayout::DontWrapRows);
    return rows;
  }

  void addRow(const QString& label, QWidget* field, Applies applies,
              std::function<void(const T&)> show) {
    const QString help = std::exchange(help_, {});
    QWidget* row = help.isEmpty() ? field : makeExplained(field, help, this);
    if (label.isEmpty()) {
      rows_->addRow(row);
    } else {
      auto* words = new QLabel(label, this);
      words->setBuddy(field);
      // Beside the field, however many lines of explanation there are.
      if (row != field)
        words->setMaximumHeight(std::max(words->sizeHint().height(), field->sizeHint().height()));
      rows_->addRow(words, row);
      labels_.push_back(words);
    }
    fields_.push_back({rows_, row, std::move(applies), std::move(show)});
  }

  template <class Owner, class Value>
  static constexpr std::string_view memberName(Value Owner::*at) {
    std::string_view name;
    model::first_of_members<Owner>([&](const auto& member) {
      if constexpr (std::is_same_v<decltype(member.at), Value Owner::*>) {
        if (member.at == at) name = member.name;
      }
      return !name.empty();
    });
    return name;
  }

  Workspace& workspace_;
  QString step_;
  QVBoxLayout* column_;
  QFormLayout* rows_;  ///< where rows are added
  QString help_;       ///< of the next row
  std::vector<Field> fields_;
  std::vector<QLabel*> labels_;
  QHash<QString, QWidget*> members_;
  bool showing_ = false;
};

}  // namespace fourbeat::ui
