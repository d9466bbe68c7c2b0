// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/deliver/notes.h"

#include <QTextBrowser>

class QTextDocument;

namespace fourbeat::ui {

/// A sheet as its reader will see it, in the window's colours. Links are shown, not followed.
class SheetView : public QTextBrowser {
  Q_OBJECT
 public:
  explicit SheetView(QWidget* parent = nullptr);

  /// Shows a sheet; the place scrolled to stays.
  void setSheet(deliver::Sheet sheet);

 private:
  void draw();

  deliver::Sheet sheet_;
  QTextDocument* filled_ = nullptr;  ///< what is shown; none before the first sheet
};

}  // namespace fourbeat::ui
