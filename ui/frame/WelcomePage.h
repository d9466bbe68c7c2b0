// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>

class QPushButton;
class QVBoxLayout;

namespace fourbeat::ui {

/// What the window shows while no project is open: it leads to one.
class WelcomePage : public QWidget {
  Q_OBJECT
 public:
  explicit WelcomePage(QWidget* parent = nullptr);

  /// Reads the lists of recent projects and of unsaved work again.
  void refresh();

 Q_SIGNALS:
  void demoWanted();
  void newWanted();
  void openWanted();
  void projectWanted(const QString& path);
  /// Unsaved work whose project file is gone or never mattered: by its journal file.
  void unsavedWanted(const QString& journalFile);
  /// Changes that were kept aside when a project was opened as last saved: by their file.
  void asideWanted(const QString& asideFile);
  void asideUnwanted();

 protected:
  void showEvent(QShowEvent* event) override;

 private:
  QVBoxLayout* lists_;
  QPushButton* begin_;
};

}  // namespace fourbeat::ui
