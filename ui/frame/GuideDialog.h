// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QDialog>

namespace fourbeat::ui {

/// The guide to the editor, docs/desk.md, as far as words go.
class GuideDialog : public QDialog {
  Q_OBJECT
 public:
  explicit GuideDialog(QWidget* parent = nullptr);
};

}  // namespace fourbeat::ui
