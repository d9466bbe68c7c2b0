// SPDX-License-Identifier: GPL-3.0-or-later
#include "ValueForm.h"

#include <QEvent>
#include <QHBoxLayout>
#include <QScrollArea>
#include <QScrollBar>
#include <QVBoxLayout>
#include <algorithm>

namespace fourbeat::ui {

namespace {

constexpr int rowsOfChecks = 8;
constexpr int lettersOfACheck = 19;
constexpr int lettersOfAField = 26;
constexpr int lettersOfAForm = 58;

class WheelFilter : public QObject {
 public:
  using QObject::QObject;

  bool eventFilter(QObject* watched, QEvent* event) override {
    const auto* field = qobject_cast<QWidget*>(watched);
    if (event->type() != QEvent::Wheel || field == nullptr || field->hasFocus()) return false;
    event->ignore();
    return true;
  }
};

/// As wide as what it holds and the bar beside: it never scrolls sideways.
class FormScroll : public QScrollArea {
 public:
  using QScrollArea::QScrollArea;

  [[nodiscard]] QSize minimumSizeHint() const override {
    QSize least = QScrollArea::minimumSizeHint();
    if (widget() != nullptr) {
      least.setWidth(
          std::max(fontMetrics().averageCharWidth() * lettersOfAForm,
                   widget()->minimumSizeHint().width() + verticalScrollBar()->sizeHint().width()));
    }
    return least;
  }
  bool eventFilter(QObject* watched, QEvent* event) override {
    if (watched == widget() && event->type() == QEvent::LayoutRequest) updateGeometry();
    return QScrollArea::eventFilter(watched, event);
  }
};

}  // namespace

QListWidget* makeCheckList(QWidget* parent, const QString& name) {
  auto* list = new QListWidget(parent);
  list->setAccessibleName(name);
  list->setFlow(QListView::LeftToRight);
  list->setWrapping(true);
  list->setResizeMode(QListView::Adjust);
  list->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  const QSize cell(list->fontMetrics().averageCharWidth() * lettersOfACheck,
                   list->fontMetrics().height() + Theme::gap);
  list->setGridSize(cell);
  list->setFixedHeight(cell.height() * rowsOfChecks + Theme::tight);
  return list;
}

void showChecks(QListWidget* list, const QList<std::pair<QString, bool>>& checks) {
  const QSignalBlocker quiet(list);
  const auto wanted = static_cast<int>(checks.size());
  while (list->count() > wanted)
    delete list->takeItem(list->count() - 1);
  while (list->count() < wanted)
    list->addItem(QString());
  for (int i = 0; i < wanted; ++i) {
    QListWidgetItem* item = list->item(i);
    item->setText(checks[i].first);
    item->setFlags(Qt::ItemIsEnabled | Qt::ItemIsSelectable | Qt::ItemIsUserCheckable);
    item->setCheckState(checks[i].second ? Qt::Checked : Qt::Unchecked);
  }
}

void showChoices(QComboBox* box, const ChoiceDelegate::Choices& choices, const QVariant& value) {
  const QSignalBlocker quiet(box);
  const auto wanted = static_cast<int>(choices.size());
  while (box->count() > wanted)
    box->removeItem(box->count() - 1);
  while (box->count() < wanted)
    box->addItem(QString());
  for (int i = 0; i < wanted; ++i) {
    if (box->itemText(i) != choices[i].first) box->setItemText(i, choices[i].first);
    box->setItemData(i, choices[i].second);
  }
  box->setCurrentIndex(box->findData(value));
}

QWidget* makeFormScroll(QWidget* form, QWidget* parent) {
  auto* scroll = new FormScroll(parent);
  scroll->setWidgetResizable(true);
  scroll->setFrameShape(QFrame::NoFrame);
  scroll->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  scroll->setFocusPolicy(Qt::NoFocus);
  auto* inside = new QWidget(scroll);
  auto* rows = new QVBoxLayout(inside);
  rows->setContentsMargins(0, 0, Theme::gap, 0);
  rows->addWidget(form);
  rows->addStretch();
  scroll->setWidget(inside);
  return scroll;
}

QWidget* makeExplained(QWidget* field, const QString& help, QWidget* parent) {
  auto* cell = new QWidget(parent);
  auto* row = new QHBoxLayout(cell);
  row->setContentsMargins(0, 0, 0, 0);
  row->setSpacing(Theme::wide);
  const bool wide = qobject_cast<PartsTable*>(field) != nullptr;
  field->setFixedWidth(field->fontMetrics().averageCharWidth() * lettersOfAField * (wide ? 2 : 1));
  field->setAccessibleDescription(help);
  row->addWidget(field, 0, Qt::AlignTop);
  row->addWidget(makeLabel(cell, help, "muted"), 1, wide ? Qt::AlignTop : Qt::Alignment());
  return cell;
}

void alignLabels(const std::vector<QLabel*>& labels) {
  int widest = 0;
  for (const QLabel* label : labels)
    widest = std::max(widest, label->sizeHint().width());
  for (QLabel* label : labels)
    label->setMinimumWidth(widest);
}

void leaveWheel(QWidget* field) {
  field->setFocusPolicy(Qt::StrongFocus);
  field->installEventFilter(new WheelFilter(field));
}

}  // namespace fourbeat::ui
