// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QDoubleSpinBox>
#include <QLineEdit>
#include <QList>
#include <QSpinBox>
#include <QString>
#include <QStyledItemDelegate>
#include <QVariant>
#include <functional>
#include <optional>
#include <utility>

class QComboBox;
class QFormLayout;
class QLabel;
class QPushButton;
class QTableView;
class QToolButton;

/// The fields and tables that pages are made of, each with its name for screen readers.

namespace fourbeat::ui {

/// The largest time that a field of seconds takes.
inline constexpr double mostSeconds = 1e5;

/// What a number field may hold.
struct NumberForm {
  double low = 0.0;
  double high = 0.0;
  int decimals = 1;
  double step = 1.0;
  QString suffix;
};

[[nodiscard]] QDoubleSpinBox* makeNumber(QWidget* parent, const QString& name,
                                         const NumberForm& form);
[[nodiscard]] QLineEdit* makeLine(QWidget* parent, const QString& name);
/// icon may be empty.
[[nodiscard]] QPushButton* makeButton(QWidget* parent, const QString& icon, const QString& words,
                                      const QString& tip);
/// Marks a button as what a page is for: filled with the accent, its icon in the ink that shows on
/// it.
void makePrimary(QPushButton* button, const QString& icon = {});
[[nodiscard]] QLabel* makeNote(QWidget* parent, const QString& name);

/// Puts a value into a field without its telling anyone; leaves a field alone that shows it.
void showValue(QDoubleSpinBox* field, double value);
void showValue(QLineEdit* field, const QString& value);

/// Drops what a line could undo and redo of its own: its text is in the project.
void forgetTyping(QLineEdit* field);
/// Calls `change` at each change by hand, and `ended` once the field is left or Enter is pressed.
void onNumber(QDoubleSpinBox* field, const std::function<void(double)>& change,
              const std::function<void()>& ended);
/// Calls `change` when a line was changed by hand and left, or Enter was pressed.
void onLine(QLineEdit* field, const std::function<void(const QString&)>& change);

/// What all tables of the pages have in common: whole rows, one selected, cells edited by double
/// click or F2, `name` for screen readers.
void setUpRows(QTableView* table, const QString& name);
/// Such a table with columns as wide as they need; `wide` takes what room is left, -1 for none.
void setUpTable(QTableView* table, const QString& name, int wide);
/// Selects a row and brings it into view; -1 selects none.
void selectRow(QTableView* table, int row);
/// The selected row, or -1.
[[nodiscard]] int selectedRow(const QTableView* table);

/// The place in a list that a JSON Pointer names: "/takes/3/path" is 3 of "/takes".
[[nodiscard]] std::optional<int> placeIn(const QString& pointer, const QString& list);

/// A cell chosen from a list, or, with freeText, also typed.
class ChoiceDelegate : public QStyledItemDelegate {
  Q_OBJECT
 public:
  using Choices = QList<std::pair<QString, QVariant>>;
  ChoiceDelegate(std::function<Choices()> choices, bool freeText, QObject* parent);

  QWidget* createEditor(QWidget* parent, const QStyleOptionViewItem& option,
                        const QModelIndex& index) const override;
  void setEditorData(QWidget* editor, const QModelIndex& index) const override;
  void setModelData(QWidget* editor, QAbstractItemModel* model,
                    const QModelIndex& index) const override;

 private:
  std::function<Choices()> choices_;
  bool freeText_;
};

/// A cell that holds a number with its unit.
class NumberDelegate : public QStyledItemDelegate {
  Q_OBJECT
 public:
  NumberDelegate(NumberForm form, QObject* parent);

  QWidget* createEditor(QWidget* parent, const QStyleOptionViewItem& option,
                        const QModelIndex& index) const override;
  void setEditorData(QWidget* editor, const QModelIndex& index) const override;
  void setModelData(QWidget* editor, QAbstractItemModel* model,
                    const QModelIndex& index) const override;

 private:
  NumberForm form_;
};

}  // namespace fourbeat::ui
