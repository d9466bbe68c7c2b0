// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "page_rig.h"

#include <QCheckBox>
#include <QComboBox>
#include <QDoubleSpinBox>
#include <QLineEdit>
#include <QPushButton>
#include <QTabWidget>

namespace fourbeat::tests {

/// A tab of a page, brought into view.
inline QWidget& openTab(QWidget& page, int place) {
  auto* tabs = page.findChild<QTabWidget*>();
  REQUIRE(tabs != nullptr);
  tabs->setCurrentIndex(place);
  QCoreApplication::processEvents();
  return *tabs->currentWidget();
}

/// Chooses by words, as a user would.
inline void choose(QWidget& form, const char* name, const QString& words) {
  auto& box = named<QComboBox>(form, name);
  INFO(name);
  REQUIRE(box.isVisible());
  const int place = box.findText(words);
  REQUIRE(place >= 0);
  box.setCurrentIndex(place);
  Q_EMIT box.activated(place);
}

inline void click(QWidget& form, const char* name) {
  QTest::mouseClick(&named<QPushButton>(form, name), Qt::LeftButton);
}

/// Types a figure into a field of a form; it must make one step that undoes.
inline void typeFigure(PageRig& rig, QWidget& form, const char* name, double value,
                       const std::function<bool()>& seen) {
  auto& field = named<QDoubleSpinBox>(form, name);
  INFO(name);
  REQUIRE(field.isVisibleTo(&form));
  rig.operate(
      name,
      [&] {
        field.setFocus();
        field.selectAll();
        QTest::keyClicks(&field, field.locale().toString(value, 'f', field.decimals()));
        QTest::keyClick(&field, Qt::Key_Return);
      },
      seen);
}

/// Types words into a line of a form, likewise.
inline void typeWords(PageRig& rig, QWidget& form, const char* name, const QString& words,
                      const std::function<bool()>& seen) {
  auto& line = named<QLineEdit>(form, name);
  rig.operate(
      name,
      [&] {
        line.setFocus();
        line.selectAll();
        QTest::keyClicks(&line, words);
        QTest::keyClick(&line, Qt::Key_Return);
      },
      seen);
}

}  // namespace fourbeat::tests
