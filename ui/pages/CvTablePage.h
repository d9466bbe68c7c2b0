// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Page.h"

#include "fourbeat/model/key_map.h"

#include <vector>

class QCheckBox;
class QLabel;
class QPushButton;
class QSpinBox;
class QStackedWidget;
class QTabWidget;
class QTableView;

namespace fourbeat::ui {

class CvTableModel;
class Section;
class SpeedCurve;

/// The CVs the set ships with; beside them what the usual ones mean: momentum in seconds, the basic
/// settings as check boxes, the long address, and the speed table as a curve. In tabs of their own
/// the options that CVs switch, and the figures that CVs of the set's own change.
class CvTablePage : public Page {
  Q_OBJECT
 public:
  explicit CvTablePage(Workspace& workspace, QWidget* parent = nullptr);

  void reveal(const QString& pointer) override;
  [[nodiscard]] bool shows(const QString& pointer) const override;

  [[nodiscard]] const model::Cv* current() const;

 private:
  struct Momentum {
    int number = 0;
    int adjustment = 0;  ///< the CV that is added to it
    QSpinBox* value = nullptr;
    QLabel* meaning = nullptr;
  };
  struct Setting {
    int bit = 0;
    QCheckBox* box = nullptr;
  };

  QWidget* makeCvs();
  QWidget* makeList();
  QWidget* makeMomentum();
  QWidget* makeSettings();
  QWidget* makeAddress();
  QWidget* makeCurve();
  void refresh();
  void refreshNeed();
  void offerFreeCv();
  void nameNewCv();
  void addCv();
  void removeCv();
  void select(Id<model::Cv> cv);
  void setAddress(int address);
  void moveLevel(int step, int level, bool finished);
  void straighten();

  CvTableModel* model_;
  QTabWidget* tabs_ = nullptr;
  Section* options_ = nullptr;
  Section* effects_ = nullptr;
  QTableView* table_ = nullptr;
  QStackedWidget* stack_ = nullptr;
  QSpinBox* newNumber_ = nullptr;
  QLabel* newName_ = nullptr;
  QPushButton* remove_ = nullptr;
  std::vector<Momentum> momenta_;
  std::vector<Setting> settings_;
  QLabel* settingsNote_ = nullptr;
  QSpinBox* address_ = nullptr;
  QLabel* addressNote_ = nullptr;
  SpeedCurve* curve_ = nullptr;
  QLabel* curveNote_ = nullptr;
};

}  // namespace fourbeat::ui
