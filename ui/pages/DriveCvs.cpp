// SPDX-License-Identifier: GPL-3.0-or-later
#include "DriveCvs.h"

#include "DriveCommand.h"
#include "Fields.h"
#include "PageParts.h"
#include "models/DriveCvModel.h"

#include <QHeaderView>
#include <QLineEdit>
#include <QSpinBox>
#include <QTableView>
#include <QVBoxLayout>
#include <QWheelEvent>

namespace fourbeat::ui {

namespace {

constexpr int highest = 255;  ///< value of a CV

/// A number field whose Return can be told from its being left, and which the wheel turns only
/// once one is in it.
class CvField : public QSpinBox {
 public:
  explicit CvField(QWidget* parent) : QSpinBox(parent) {
    setRange(0, highest);
    setKeyboardTracking(false);
    setFocusPolicy(Qt::StrongFocus);
  }
  [[nodiscard]] QLineEdit* line() const { return lineEdit(); }

 protected:
  void wheelEvent(QWheelEvent* event) override {
    if (hasFocus()) return QSpinBox::wheelEvent(event);
    event->ignore();
  }
};

}  // namespace

DriveCvs::DriveCvs(QWidget* parent)
    : QWidget(parent),
      cvs_(new DriveCvModel(this)),
      none_(makeLabel(this,
                      tr("No CV of this set changes anything under way. On the CV table page a CV "
                         "can be given something to change."),
                      "muted")),
      list_(new QTableView(this)) {
  list_->setModel(cvs_);
  setUpTable(list_, tr("CVs of the set"), DriveCvModel::changesColumn);
  list_->horizontalHeader()->setSectionResizeMode(DriveCvModel::valueColumn, QHeaderView::Fixed);
  list_->setEditTriggers(QAbstractItemView::NoEditTriggers);
  list_->setSelectionMode(QAbstractItemView::NoSelection);
  list_->setFocusPolicy(Qt::NoFocus);  // the fields have it
  auto* column = new QVBoxLayout(this);
  column->setContentsMargins(0, Theme::gap, 0, 0);
  column->addWidget(none_);
  column->addWidget(list_, 1);
  column->addStretch();
}

void DriveCvs::begin(const model::Project& project) {
  cvs_->setProject(project);
  const int rows = cvs_->rowCount();
  none_->setVisible(rows == 0);
  list_->setVisible(rows > 0);
  list_->setEnabled(true);
  for (int row = 0; row < rows; ++row)
    addField(row);
}

void DriveCvs::end() {
  list_->setEnabled(false);
}

void DriveCvs::addField(int row) {
  const DriveCvModel::Row& cv = cvs_->row(row);
  auto* field = new CvField(list_);
  field->setAccessibleName(tr("Value of CV%1").arg(cv.number));
  field->setAccessibleDescription(cv.changes);
  field->setToolTip(cv.changes);
  field->setValue(cv.value);
  connect(field, &QSpinBox::valueChanged, this, [this, row](int value) {
    cvs_->setValue(row, value);
    Q_EMIT given(commandOf(drive::CommandKind::cv, value, 0.0, cvs_->row(row).number));
  });
  connect(field->line(), &QLineEdit::returnPressed, this, &DriveCvs::left);
  const QModelIndex place = cvs_->index(row, DriveCvModel::valueColumn);
  list_->setIndexWidget(place, field);
  list_->setRowHeight(row, field->sizeHint().height() + Theme::tight);
  list_->setColumnWidth(DriveCvModel::valueColumn, field->sizeHint().width() + Theme::wide);
}

}  // namespace fourbeat::ui
