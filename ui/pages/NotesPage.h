// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Page.h"
#include "Theme.h"

#include "fourbeat/work/pack.h"

#include <QTimer>
#include <filesystem>
#include <functional>

class QCheckBox;
class QLabel;
class QLineEdit;
class QListWidget;
class QListWidgetItem;
class QPlainTextEdit;
class QPushButton;

namespace fourbeat::ui {

class SheetView;

/// The user notes, written and seen as the buyer will see them; the sheets; and the bundle.
class NotesPage : public Page {
  Q_OBJECT
 public:
  /// Names of files and folders to write; "" cancels. Replaced by tests.
  struct Questions {
    /// filter: as QFileDialog has it.
    std::function<QString(const QString& title, const QString& suggestion, const QString& filter)>
        saveFile;
    std::function<QString(const QString& title, const QString& folder)> folder;
  };

  explicit NotesPage(Workspace& workspace, QWidget* parent = nullptr);

  void reveal(const QString& pointer) override;
  [[nodiscard]] bool shows(const QString& pointer) const override;
  void entered() override;

  [[nodiscard]] Questions& questions() { return questions_; }

 protected:
  bool eventFilter(QObject* watched, QEvent* event) override;

 private:
  QWidget* makeFields();
  QWidget* makeEditor();
  QWidget* makeDelivery();
  void refresh();
  void refreshNeed();
  void showPreview();
  void writeDate();
  void chooseTarget();
  void pack();
  void showPacked(const work::Packed& packed, const QString& target, const QStringList& faults);
  void exportSheet(work::SheetKind kind, const QString& title, const QString& name);
  void addLine(const QString& iconName, Theme::Ink ink, const QString& line,
               const QString& pointer = {});
  void openLine(QListWidgetItem* item);

  Questions questions_;
  QLineEdit* title_ = nullptr;
  QLineEdit* author_ = nullptr;
  QLineEdit* date_ = nullptr;
  QLabel* dateTrouble_ = nullptr;
  QPlainTextEdit* notes_ = nullptr;
  SheetView* preview_ = nullptr;
  QLineEdit* target_ = nullptr;
  QCheckBox* zip_ = nullptr;
  QPushButton* pack_ = nullptr;
  QPushButton* openFolder_ = nullptr;
  QString packedTo_;
  QLabel* outcome_ = nullptr;
  QListWidget* lines_ = nullptr;
  QTimer previewDelay_;
  QTimer typingPause_;
  bool targetChosen_ = false;
};

}  // namespace fourbeat::ui
