// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Workspace.h"

#include <QMainWindow>
#include <memory>
#include <vector>

class QStackedWidget;
class QTabBar;

namespace fourbeat::ui {

class Page;

/// The one window: pages along the top, and always in view the transport, the budget and the snags.
class MainWindow : public QMainWindow {
  Q_OBJECT
 public:
  explicit MainWindow(QWidget* parent = nullptr);
  ~MainWindow() override;

  /// Opens a project in the place of the one that is open. False, and told, when it cannot be.
  bool openProject(const std::filesystem::path& path);
  /// Shows a document in the place of the one that is open.
  void showDocument(std::unique_ptr<Document> document);

  /// The open project, or null.
  [[nodiscard]] Workspace* workspace() const { return workspace_.get(); }
  [[nodiscard]] Transport& transport() { return transport_; }
  [[nodiscard]] Page* currentPage() const;
  void showPage(int index);

 private:
  Transport transport_;
  std::unique_ptr<Workspace> workspace_;
  std::vector<Page*> pages_;
  QTabBar* tabs_ = nullptr;
  QStackedWidget* stack_ = nullptr;
};

}  // namespace fourbeat::ui
