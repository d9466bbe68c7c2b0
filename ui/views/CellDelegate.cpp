// SPDX-License-Identifier: GPL-3.0-or-later
#include "CellDelegate.h"

#include "models/RowModel.h"

#include <QAbstractItemView>
#include <QComboBox>
#include <QDoubleSpinBox>
#include <QSpinBox>
#include <QTimer>
#include <algorithm>

namespace fourbeat::ui {

namespace {
constexpr int importanceDecimals = 1;
}

QWidget* CellDelegate::createEditor(QWidget* parent, const QStyleOptionViewItem& option,
                                    const QModelIndex& index) const {
  const QString name = index.model()->headerData(index.column(), Qt::Horizontal).toString();
  QWidget* editor = nullptr;
  if (const QVariant choices = index.data(choicesRole); choices.isValid()) {
    auto* box = new QComboBox(parent);
    box->addItems(choices.toStringList());
    connect(box, &QComboBox::activated, this, [this, box] {
      auto* self = const_cast<CellDelegate*>(this);  // NOLINT: signals of a const maker
      Q_EMIT self->commitData(box);
      Q_EMIT self->closeEditor(box);
    });
    // Whoever opens the cell wants the list.
    QTimer::singleShot(0, box, &QComboBox::showPopup);
    editor = box;
  } else if (const QVariant range = index.data(rangeRole); range.isValid()) {
    const QPointF ends = range.toPointF();
    if (index.data(Qt::EditRole).userType() == QMetaType::Double) {
      auto* box = new QDoubleSpinBox(parent);
      box->setDecimals(importanceDecimals);
      box->setSingleStep(0.1);
      box->setRange(ends.x(), ends.y());
      editor = box;
    } else {
      auto* box = new QSpinBox(parent);
      box->setRange(static_cast<int>(ends.x()), static_cast<int>(ends.y()));
      editor = box;
    }
  } else {
    editor = QStyledItemDelegate::createEditor(parent, option, index);
  }
  editor->setAccessibleName(name);
  return editor;
}

void CellDelegate::setEditorData(QWidget* editor, const QModelIndex& index) const {
  if (auto* box = qobject_cast<QComboBox*>(editor)) {
    box->setCurrentIndex(index.data(Qt::EditRole).toInt());
  } else if (auto* number = qobject_cast<QSpinBox*>(editor)) {
    number->setValue(index.data(Qt::EditRole).toInt());
  } else if (auto* decimal = qobject_cast<QDoubleSpinBox*>(editor)) {
    decimal->setValue(index.data(Qt::EditRole).toDouble());
  } else {
    QStyledItemDelegate::setEditorData(editor, index);
  }
}

void CellDelegate::setModelData(QWidget* editor, QAbstractItemModel* model,
                                const QModelIndex& index) const {
  if (auto* box = qobject_cast<QComboBox*>(editor)) {
    model->setData(index, box->currentIndex(), Qt::EditRole);
  } else if (auto* number = qobject_cast<QSpinBox*>(editor)) {
    number->interpretText();
    model->setData(index, number->value(), Qt::EditRole);
  } else if (auto* decimal = qobject_cast<QDoubleSpinBox*>(editor)) {
    decimal->interpretText();
    model->setData(index, decimal->value(), Qt::EditRole);
  } else {
    QStyledItemDelegate::setModelData(editor, model, index);
  }
}

void CellDelegate::updateEditorGeometry(QWidget* editor, const QStyleOptionViewItem& option,
                                        const QModelIndex& /*index*/) const {
  QRect place = option.rect;
  const QSize wish = editor->sizeHint();
  place.setWidth(std::max(place.width(), std::min(wish.width(), place.width() * 2)));
  const int grow = std::max(0, wish.height() - place.height());
  place.adjust(0, -grow / 2, 0, grow - grow / 2);
  editor->setGeometry(place);
}

}  // namespace fourbeat::ui
