// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QFrame>

class QLabel;
class QTimer;
class QToolButton;

namespace fourbeat::ui {

/// One line under the pages: an error, or what was done. Stays until dismissed (Escape) or
/// replaced; a line that is no trouble goes by itself.
class MessageBar : public QFrame {
  Q_OBJECT
 public:
  explicit MessageBar(QWidget* parent = nullptr);

  void tell(const QString& line, bool trouble);
  [[nodiscard]] QString line() const;

 private:
  void dress();

  QLabel* sign_;
  QLabel* text_;
  QToolButton* dismiss_;
  QTimer* fade_;
  bool trouble_ = false;
};

}  // namespace fourbeat::ui
