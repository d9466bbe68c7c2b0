// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Workspace.h"
#include "pages/PageList.h"

#include <QMainWindow>
#include <QPointer>
#include <QTimer>
#include <functional>
#include <memory>
#include <vector>

class QDockWidget;
class QLabel;
class QMenu;
class QStackedWidget;
class QTabBar;
class QToolButton;

namespace fourbeat::ui {

class BudgetBar;
class JobBar;
class MessageBar;
class SeamReview;
class SnagPanel;
class WelcomePage;
class WindowKeys;

/// What to do with work that was not saved before the program died.
enum class RecoveryChoice { take, setAside, cancel };
/// What to do with changes when a project is closed.
enum class CloseChoice { save, discard, cancel };

/// The one window: pages along the top, and always in view the transport, the budget and the snags.
class MainWindow : public QMainWindow {
  Q_OBJECT
 public:
  /// Questions the window asks; replaced by tests.
  struct Questions {
    std::function<RecoveryChoice(const QString& title, const QString& file)> recovery;
    std::function<CloseChoice(const QString& title)> close;
    /// Name of a project file to make; "" cancels. suggestion: a whole path.
    std::function<QString(const QString& suggestion)> newFile;
    /// Name of a project file to save as; one that is there is written over. "" cancels.
    std::function<QString(const QString& suggestion)> otherFile;
    std::function<QString()> openFile;
    /// Whether takes in that folder, outside the project's own, may be read.
    std::function<bool(const QString& folder)> trust;
    /// Whether the changes that were kept aside, so many, are deleted.
    std::function<bool(int count)> forget;
  };

  explicit MainWindow(QWidget* parent = nullptr);
  ~MainWindow() override;

  [[nodiscard]] Questions& questions() { return questions_; }

  /// Opens a project in the place of the one that is open, after asking about unsaved changes and
  /// about unsaved work that was left over. False, and told, when it cannot be.
  bool openProject(const std::filesystem::path& path);
  /// Makes a new project file and opens it.
  bool newProject(const std::filesystem::path& path);
  /// Writes the demo into a folder (a job), or opens the one that is there.
  void openDemo(const std::filesystem::path& folder);
  /// Closes the open project; false when the user kept it.
  bool closeProject();

  /// The open project, or null.
  [[nodiscard]] Workspace* workspace() const { return workspace_.get(); }
  [[nodiscard]] Transport& transport() { return transport_; }
  [[nodiscard]] Page* currentPage() const;
  /// A page of the open project; one that is not there yet is made. place: of PagePlace.
  [[nodiscard]] Page* page(int place);
  void showPage(int index);
  /// Goes to the page that shows the value of a JSON Pointer of the project.
  void reveal(const QString& pointer);
  [[nodiscard]] MessageBar& messages() { return *messages_; }

 protected:
  void closeEvent(QCloseEvent* event) override;
  void dragEnterEvent(QDragEnterEvent* event) override;
  void dropEvent(QDropEvent* event) override;

 private:
  void makeActions();
  void makeFrame();
  void fillRecent();
  void showDocument(std::unique_ptr<Document> document);
  void makeNextPage();
  void addTakes(const QStringList& files);
  void showWelcome();
  bool openJournal(const QString& journalFile);
  void openAside(const QString& asideFile);
  void forgetAside();
  void askTrust();
  void askNew();
  void askOpen();
  void find();
  /// Hands what is typed in a field, and not yet in the project, over to it.
  void finishTyping();
  void save();
  void saveAs();
  void refreshTitle();
  void refreshNeed();
  void reviewSeams(qint64 segment);
  /// Remembers how the window and the pages are arranged.
  void keepArrangement();
  void tell(const QString& line, bool trouble);

  Questions questions_;
  Transport transport_;
  JobRunner programJobs_;  ///< work that no project owns: writing the demo
  std::unique_ptr<WindowKeys> keys_;
  std::unique_ptr<Workspace> workspace_;
  std::vector<PageKind> kinds_ = pageKinds();
  std::vector<Page*> pages_;  ///< one a kind; null until made
  QTimer pageMaker_;          ///< makes the pages not looked at yet, one a turn of the event loop
  QTabBar* tabs_ = nullptr;
  QToolButton* finder_ = nullptr;
  QLabel* need_ = nullptr;
  QStackedWidget* stack_ = nullptr;
  WelcomePage* welcome_ = nullptr;
  MessageBar* messages_ = nullptr;
  SnagPanel* snags_ = nullptr;
  QDockWidget* snagDock_ = nullptr;
  BudgetBar* budget_ = nullptr;
  JobBar* jobs_ = nullptr;
  JobBar* programJobBar_ = nullptr;
  QMenu* recent_ = nullptr;
  QAction* save_ = nullptr;
  QAction* saveAs_ = nullptr;
  QAction* close_ = nullptr;
  QAction* undo_ = nullptr;
  QAction* redo_ = nullptr;
  QAction* find_ = nullptr;
  QAction* play_ = nullptr;
  QAction* review_ = nullptr;
  QPointer<SeamReview> seams_;  ///< the review of the seams, while it is open
  QStringList dropped_;         ///< takes to add once a project is there
};

}  // namespace fourbeat::ui
