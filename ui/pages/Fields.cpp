// SPDX-License-Identifier: GPL-3.0-or-later
#include "Fields.h"

#include "Theme.h"

#include <QComboBox>
#include <QHeaderView>
#include <QLabel>
#include <QPushButton>
#include <QSignalBlocker>
#include <QTableView>

namespace fourbeat::ui {

namespace {

constexpr int rowPadding = 10;
constexpr int narrowestColumn = 56;

void setUpNumber(QDoubleSpinBox* field, const NumberForm& form) {
  field->setDecimals(form.decimals);
  field->setRange(form.low, form.high);
  field->setSingleStep(form.step);
  field->setSuffix(form.suffix);
  field->setKeyboardTracking(false);
}

}  // namespace

QDoubleSpinBox* makeNumber(QWidget* parent, const QString& name, const NumberForm& form) {
  auto* field = new QDoubleSpinBox(parent);
  setUpNumber(field, form);
  field->setAccessibleName(name);
  field->setFocusPolicy(Qt::StrongFocus);
  return field;
}

QLineEdit* makeLine(QWidget* parent, const QString& name) {
  auto* field = new QLineEdit(parent);
  field->setAccessibleName(name);
  return field;
}

QPushButton* makeButton(QWidget* parent, const QString& icon, const QString& words,
                        const QString& tip) {
  auto* button = new QPushButton(parent);
  if (!icon.isEmpty()) button->setIcon(Theme::instance().icon(icon));
  button->setText(words);
  button->setAccessibleName(QString(words).remove(QLatin1Char('&')));
  button->setToolTip(tip);
  button->setAutoDefault(false);
  return button;
}

void makePrimary(QPushButton* button, const QString& icon) {
  button->setProperty("primary", true);
  if (!icon.isEmpty()) button->setIcon(Theme::instance().icon(icon, Theme::Ink::onAccent));
}

QLabel* makeNote(QWidget* parent, const QString& name) {
  auto* note = new QLabel(parent);
  note->setProperty("role", QStringLiteral("muted"));
  note->setAccessibleName(name);
  note->setWordWrap(true);
  return note;
}

void showValue(QDoubleSpinBox* field, double value) {
  const double step = std::pow(10.0, -field->decimals());
  if (std::abs(field->value() - value) < 0.5 * step) return;
  const QSignalBlocker quiet(field);
  field->setValue(value);
}

void showValue(QLineEdit* field, const QString& value) {
  if (field->text() == value) return;
  const QSignalBlocker quiet(field);
  field->setText(value);
  field->setCursorPosition(0);  // a long text is read from its beginning
}

void forgetTyping(QLineEdit* field) {
  if (!field->isUndoAvailable() && !field->isRedoAvailable()) return;
  const QSignalBlocker quiet(field);
  const int cursor = field->cursorPosition();
  field->setText(field->text());
  field->setCursorPosition(cursor);
}

void onNumber(QDoubleSpinBox* field, const std::function<void(double)>& change,
              const std::function<void()>& ended) {
  QObject::connect(field, &QDoubleSpinBox::valueChanged, field, change);
  QObject::connect(field, &QDoubleSpinBox::editingFinished, field, ended);
}

void onLine(QLineEdit* field, const std::function<void(const QString&)>& change) {
  QObject::connect(field, &QLineEdit::editingFinished, field, [field, change] {
    if (!field->isModified()) return;
    forgetTyping(field);
    change(field->text());
  });
}

void setUpRows(QTableView* table, const QString& name) {
  table->setAccessibleName(name);
  table->setSelectionBehavior(QAbstractItemView::SelectRows);
  table->setSelectionMode(QAbstractItemView::SingleSelection);
  table->setAlternatingRowColors(true);
  table->setShowGrid(false);
  table->setTabKeyNavigation(false);
  table->setWordWrap(false);
  table->setEditTriggers(QAbstractItemView::DoubleClicked | QAbstractItemView::EditKeyPressed);
  table->verticalHeader()->hide();
  table->verticalHeader()->setDefaultSectionSize(table->fontMetrics().height() + rowPadding);
  QHeaderView* header = table->horizontalHeader();
  header->setHighlightSections(false);
  header->setDefaultAlignment(Qt::AlignLeft | Qt::AlignVCenter);
}

void setUpTable(QTableView* table, const QString& name, int wide) {
  setUpRows(table, name);
  QHeaderView* header = table->horizontalHeader();
  header->setMinimumSectionSize(narrowestColumn);
  header->setSectionResizeMode(QHeaderView::ResizeToContents);
  if (wide >= 0) header->setSectionResizeMode(wide, QHeaderView::Stretch);
}

void selectRow(QTableView* table, int row) {
  if (row < 0) {
    table->clearSelection();
    table->setCurrentIndex({});
    return;
  }
  const int column = std::max(0, table->currentIndex().column());
  const QModelIndex index = table->model()->index(row, column);
  table->selectionModel()->setCurrentIndex(
      index, QItemSelectionModel::ClearAndSelect | QItemSelectionModel::Rows);
  table->scrollTo(index);
}

int selectedRow(const QTableView* table) {
  const QModelIndexList rows = table->selectionModel()->selectedRows();
  return rows.isEmpty() ? -1 : rows.first().row();
}

std::optional<int> placeIn(const QString& pointer, const QString& list) {
  if (!pointer.startsWith(list + QLatin1Char('/'))) return std::nullopt;
  const QString rest = pointer.mid(list.size() + 1).section(QLatin1Char('/'), 0, 0);
  bool whole = false;
  const int place = rest.toInt(&whole);
  return whole ? std::optional(place) : std::nullopt;
}

ChoiceDelegate::ChoiceDelegate(std::function<Choices()> choices, bool freeText, QObject* parent)
    : QStyledItemDelegate(parent), choices_(std::move(choices)), freeText_(freeText) {}

QWidget* ChoiceDelegate::createEditor(QWidget* parent, const QStyleOptionViewItem& option,
                                      const QModelIndex& index) const {
  (void)option;
  auto* box = new QComboBox(parent);
  box->setEditable(freeText_);
  box->setAccessibleName(index.model()->headerData(index.column(), Qt::Horizontal).toString());
  for (const auto& [words, value] : choices_())
    box->addItem(words, value);
  connect(box, &QComboBox::activated, this, [this, box] {
    Q_EMIT const_cast<ChoiceDelegate*>(this)->commitData(box);  // NOLINT: editors are made in const
    Q_EMIT const_cast<ChoiceDelegate*>(this)->closeEditor(box);  // NOLINT
  });
  return box;
}

void ChoiceDelegate::setEditorData(QWidget* editor, const QModelIndex& index) const {
  auto* box = qobject_cast<QComboBox*>(editor);
  const QVariant value = index.data(Qt::EditRole);
  const int place = freeText_ ? box->findText(value.toString()) : box->findData(value);
  box->setCurrentIndex(place);
  if (freeText_) box->setEditText(value.toString());
}

void ChoiceDelegate::setModelData(QWidget* editor, QAbstractItemModel* model,
                                  const QModelIndex& index) const {
  const auto* box = qobject_cast<QComboBox*>(editor);
  if (freeText_) {
    model->setData(index, box->currentText().trimmed(), Qt::EditRole);
  } else if (box->currentIndex() >= 0) {
    model->setData(index, box->currentData(), Qt::EditRole);
  }
}

NumberDelegate::NumberDelegate(NumberForm form, QObject* parent)
    : QStyledItemDelegate(parent), form_(std::move(form)) {}

QWidget* NumberDelegate::createEditor(QWidget* parent, const QStyleOptionViewItem& option,
                                      const QModelIndex& index) const {
  (void)option;
  return makeNumber(parent, index.model()->headerData(index.column(), Qt::Horizontal).toString(),
                    form_);
}

void NumberDelegate::setEditorData(QWidget* editor, const QModelIndex& index) const {
  auto* field = qobject_cast<QDoubleSpinBox*>(editor);
  field->setValue(index.data(Qt::EditRole).toDouble());
  field->selectAll();
}

void NumberDelegate::setModelData(QWidget* editor, QAbstractItemModel* model,
                                  const QModelIndex& index) const {
  auto* field = qobject_cast<QDoubleSpinBox*>(editor);
  field->interpretText();
  model->setData(index, field->value(), Qt::EditRole);
}

}  // namespace fourbeat::ui
