// SPDX-License-Identifier: GPL-3.0-or-later
#include "MainWindow.h"

#include "Theme.h"
#include "Wording.h"
#include "pages/ChuffsPage.h"
#include "pages/CvTablePage.h"
#include "pages/FitPage.h"
#include "pages/KeysPage.h"
#include "pages/NotesPage.h"
#include "pages/SegmentsPage.h"
#include "pages/TakesPage.h"
#include "pages/TrialRunPage.h"

#include <QStackedWidget>
#include <QStatusBar>
#include <QTabBar>
#include <QVBoxLayout>

namespace fourbeat::ui {

MainWindow::MainWindow(QWidget* parent) : QMainWindow(parent) {
  auto* middle = new QWidget(this);
  auto* column = new QVBoxLayout(middle);
  column->setContentsMargins(0, 0, 0, 0);
  column->setSpacing(0);
  tabs_ = new QTabBar(middle);
  tabs_->setDocumentMode(true);
  tabs_->setExpanding(false);
  tabs_->setAccessibleName(tr("Pages"));
  stack_ = new QStackedWidget(middle);
  column->addWidget(tabs_);
  column->addWidget(stack_, 1);
  setCentralWidget(middle);
  connect(tabs_, &QTabBar::currentChanged, stack_, &QStackedWidget::setCurrentIndex);
  connect(&transport_, &Transport::playAsked, this, [this] {
    if (Page* page = currentPage()) page->playRequested();
  });
  resize(1280, 800);
}

MainWindow::~MainWindow() {
  // Pages look at the workspace until they are gone.
  for (Page* page : pages_)
    delete page;
}

bool MainWindow::openProject(const std::filesystem::path& path) {
  Result<std::unique_ptr<Document>> document = Document::open(path, nullptr);
  if (!document) {
    statusBar()->showMessage(errorLine(document.error()));
    return false;
  }
  showDocument(std::move(*document));
  return true;
}

void MainWindow::showDocument(std::unique_ptr<Document> document) {
  for (Page* page : pages_)
    delete page;
  pages_.clear();
  while (tabs_->count() > 0)
    tabs_->removeTab(0);
  workspace_ = std::make_unique<Workspace>(std::move(document), transport_);
  connect(workspace_.get(), &Workspace::told, this,
          [this](const QString& line) { statusBar()->showMessage(line); });
  pages_ = {new TakesPage(*workspace_),   new SegmentsPage(*workspace_),
            new ChuffsPage(*workspace_),  new KeysPage(*workspace_),
            new CvTablePage(*workspace_), new TrialRunPage(*workspace_),
            new FitPage(*workspace_),     new NotesPage(*workspace_)};
  for (Page* page : pages_) {
    stack_->addWidget(page);
    tabs_->addTab(page->name());
  }
  setWindowTitle(text(workspace_->project().title));
}

Page* MainWindow::currentPage() const {
  return qobject_cast<Page*>(stack_->currentWidget());
}

void MainWindow::showPage(int index) {
  tabs_->setCurrentIndex(index);
}

}  // namespace fourbeat::ui
