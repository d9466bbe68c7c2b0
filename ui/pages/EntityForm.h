// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Fields.h"
#include "PageParts.h"
#include "PartsTable.h"
#include "Wording.h"
#include "Workspace.h"

#include "fourbeat/model/entities.h"

#include <QCheckBox>
#include <QComboBox>
#include <QFormLayout>
#include <QListWidget>
#include <QSignalBlocker>

namespace fourbeat::ui {

/// The list of boxes to tick that a form shows: as high as its lines.
[[nodiscard]] QListWidget* makeCheckList(QWidget* parent, const QString& name);
/// Shows names with their ticks without telling anyone.
void showChecks(QListWidget* list, const QList<std::pair<QString, bool>>& checks);
/// Shows choices and the one of `value`, without telling anyone.
void showChoices(QComboBox* box, const ChoiceDelegate::Choices& choices, const QVariant& value);
/// The wheel scrolls the form and leaves a field alone that has not the keyboard.
void leaveWheel(QWidget* field);

/// A form in a frameless area that scrolls up and down.
[[nodiscard]] QWidget* makeFormScroll(QWidget* form, QWidget* parent);

/// A form of one entity of the project. Each field shows a member and, changed by hand, performs
/// one Replace; a refused one is told, and the field shows the project's value again.
template <class T>
class EntityForm : public QWidget {
 public:
  template <class Value>
  using Get = std::function<Value(const T&)>;
  template <class Value>
  using Set = std::function<void(T&, const Value&)>;
  /// Whether a field is there for this entity.
  using Applies = std::function<bool(const T&)>;

  /// step: the name of each undo step, "Change key".
  EntityForm(Workspace& workspace, QString step, QWidget* parent)
      : QWidget(parent),
        workspace_(workspace),
        step_(std::move(step)),
        rows_(new QFormLayout(this)) {
    rows_->setContentsMargins(0, 0, 0, 0);
    rows_->setHorizontalSpacing(Theme::gap);
    rows_->setVerticalSpacing(Theme::tight);
    rows_->setFieldGrowthPolicy(QFormLayout::AllNonFixedFieldsGrow);
    rows_->setRowWrapPolicy(QFormLayout::DontWrapRows);
    connect(&workspace.document(), &Document::changed, this, [this] { refresh(); });
  }

  /// The entity it shows; none: it is hidden.
  void setEntity(Id<T> id) {
    id_ = id;
    refresh();
  }
  [[nodiscard]] const T* entity() const { return model::find(workspace_.project(), id_); }
  [[nodiscard]] const model::Project& project() const { return workspace_.project(); }

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
    auto* box = new QCheckBox(label, this);
    box->setAccessibleName(label);
    connect(box, &QCheckBox::clicked, this, [this, set](bool on) { change(set, on); });
    addRow({}, box, applies, [box, get](const T& each) { box->setChecked(get(each)); });
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

  /// Calls `show` whenever the form shows an entity anew.
  void onShow(std::function<void(const T&)> show) {
    fields_.push_back({nullptr, always(), std::move(show)});
  }

  /// Performs what `set` makes of the entity; false when it was refused.
  template <class Setter, class Value>
  bool change(const Setter& set, const Value& value, const QString& field = {}) {
    const T* before = entity();
    if (before == nullptr || showing_) return false;
    T after = *before;
    set(after, value);
    if (after == *before) return true;
    const QString merge =
        field.isEmpty() ? QString() : QStringLiteral("%1/%2").arg(field).arg(id_.value());
    const bool done = workspace_.perform(step_, {model::Replace<T>{after}}, merge);
    if (!done) refresh();
    return done;
  }

 private:
  struct Field {
    QWidget* widget;
    Applies applies;
    std::function<void(const T&)> show;
  };

  void addRow(const QString& label, QWidget* field, Applies applies,
              std::function<void(const T&)> show) {
    if (label.isEmpty()) {
      rows_->addRow(field);
    } else {
      auto* words = new QLabel(label, this);
      words->setBuddy(field);
      rows_->addRow(words, field);
    }
    fields_.push_back({field, std::move(applies), std::move(show)});
  }

  void refresh() {
    const T* each = entity();
    setVisible(each != nullptr);
    if (each == nullptr || showing_) return;
    showing_ = true;
    for (const Field& field : fields_) {
      const bool there = field.applies(*each);
      if (field.widget != nullptr) rows_->setRowVisible(field.widget, there);
      if (there) field.show(*each);
    }
    showing_ = false;
  }

  Workspace& workspace_;
  QString step_;
  QFormLayout* rows_;
  std::vector<Field> fields_;
  Id<T> id_;
  bool showing_ = false;
};

}  // namespace fourbeat::ui
