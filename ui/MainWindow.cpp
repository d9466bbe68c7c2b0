// SPDX-License-Identifier: GPL-3.0-or-later
#include "MainWindow.h"

#include "Theme.h"
#include "Wording.h"
#include "fourbeat_demo/demo.h"
#include "frame/BudgetBar.h"
#include "frame/Commands.h"
#include "frame/GuideDialog.h"
#include "frame/JobBar.h"
#include "frame/Layout.h"
#include "frame/MessageBar.h"
#include "frame/QuickFind.h"
#include "frame/Settings.h"
#include "frame/SnagPanel.h"
#include "frame/TransportBar.h"
#include "frame/WelcomePage.h"
#include "frame/WindowKeys.h"
#include "pages/TakesPage.h"
#include "review/SeamReview.h"

#include "fourbeat/store/journal.h"
#include "fourbeat/store/trust.h"

#include <QAbstractButton>
#include <QAbstractItemView>
#include <QAbstractSpinBox>
#include <QActionGroup>
#include <QApplication>
#include <QCloseEvent>
#include <QComboBox>
#include <QDir>
#include <QDockWidget>
#include <QFileDialog>
#include <QFileInfo>
#include <QLabel>
#include <QLineEdit>
#include <QMenuBar>
#include <QMessageBox>
#include <QMimeData>
#include <QPlainTextEdit>
#include <QPushButton>
#include <QStackedWidget>
#include <QStatusBar>
#include <QTabBar>
#include <QTextDocument>
#include <QTextEdit>
#include <QToolButton>
#include <QVBoxLayout>
#include <algorithm>
#include <set>

namespace fourbeat::ui {

namespace {

constexpr int narrowestSnags = 220;  ///< so that a snag is a few lines, not one word a line

const QString projectSuffix = QStringLiteral(".fourbeat");

QString projectFilter() {
  return QCoreApplication::translate("MainWindow", "Fourbeat projects (*.fourbeat)");
}

RecoveryChoice askRecovery(QWidget* parent, const QString& title, const QString& file) {
  QMessageBox box(parent);
  box.setIcon(QMessageBox::Question);
  box.setWindowTitle(QCoreApplication::translate("MainWindow", "Unsaved work"));
  box.setText(
      QCoreApplication::translate("MainWindow",
                                  "“%1” was not closed properly. The changes that were not saved "
                                  "have been kept.")
          .arg(title));
  box.setInformativeText(
      QCoreApplication::translate("MainWindow",
                                  "%1 itself is as it was last saved, and stays so until you save.")
          .arg(file));
  auto* take = box.addButton(QCoreApplication::translate("MainWindow", "Go on with the changes"),
                             QMessageBox::AcceptRole);
  auto* aside = box.addButton(
      QCoreApplication::translate("MainWindow", "Open as last saved, keep the changes aside"),
      QMessageBox::DestructiveRole);
  box.addButton(QMessageBox::Cancel);
  box.setDefaultButton(take);
  box.exec();
  if (box.clickedButton() == take) return RecoveryChoice::take;
  return box.clickedButton() == aside ? RecoveryChoice::setAside : RecoveryChoice::cancel;
}

CloseChoice askClose(QWidget* parent, const QString& title) {
  const auto answer = QMessageBox::question(
      parent, QCoreApplication::translate("MainWindow", "Unsaved changes"),
      QCoreApplication::translate("MainWindow", "Save the changes to %1?").arg(title),
      QMessageBox::Save | QMessageBox::Discard | QMessageBox::Cancel, QMessageBox::Save);
  if (answer == QMessageBox::Save) return CloseChoice::save;
  return answer == QMessageBox::Discard ? CloseChoice::discard : CloseChoice::cancel;
}

}  // namespace

MainWindow::MainWindow(QWidget* parent) : QMainWindow(parent) {
  setAcceptDrops(true);
  setWindowIcon(QIcon(QStringLiteral(":/fourbeat/icons/fourbeat.svg")));
  questions_.recovery = [this](const QString& title, const QString& file) {
    return askRecovery(this, title, file);
  };
  questions_.close = [this](const QString& title) { return askClose(this, title); };
  questions_.newFile = [this](const QString& suggestion) {
    // One that is there already is refused, so there is nothing to confirm.
    return QFileDialog::getSaveFileName(this, tr("New project"), suggestion, projectFilter(),
                                        nullptr, QFileDialog::DontConfirmOverwrite);
  };
  questions_.otherFile = [this](const QString& suggestion) {
    return QFileDialog::getSaveFileName(this, tr("Save as"), suggestion, projectFilter());
  };
  questions_.openFile = [this] {
    return QFileDialog::getOpenFileName(this, tr("Open a project"), settings::lastFolder(),
                                        projectFilter());
  };
  questions_.trust = [this](const QString& folder) {
    return QMessageBox::question(
               this, tr("Takes outside the project's folder"),
               tr("This project wants to read takes in\n%1\nwhich is outside its own folder. "
                  "Allow it?")
                   .arg(folder)) == QMessageBox::Yes;
  };
  questions_.forget = [this](int count) {
    return QMessageBox::question(
               this, tr("Changes kept aside"),
               tr("Delete the changes that were kept aside, of %n project(s), for "
                  "good? The projects themselves stay.",
                  nullptr, count)) == QMessageBox::Yes;
  };
  makeFrame();
  makeActions();
  resize(1280, 800);
  restoreGeometry(settings::windowGeometry());
  restoreState(settings::windowState());
  keys_ = std::make_unique<WindowKeys>(*this, transport_);
  connect(keys_.get(), &WindowKeys::escaped, messages_, &QWidget::hide);
  showWelcome();
}

MainWindow::~MainWindow() {
  keys_.reset();
  transport_.stop();
  delete seams_;
  // Pages look at the workspace until they are gone, and at the transport after that.
  for (Page* page : pages_)
    delete page;  // null: never made
  snags_->setWorkspace(nullptr);
  budget_->setWorkspace(nullptr);
  jobs_->setRunner(nullptr);
  workspace_.reset();
}

void MainWindow::makeFrame() {
  auto* middle = new QWidget(this);
  auto* column = new QVBoxLayout(middle);
  column->setContentsMargins(0, 0, 0, 0);
  column->setSpacing(0);
  auto* top = new QHBoxLayout;
  top->setContentsMargins(Theme::gap, Theme::tight, Theme::gap, 0);
  tabs_ = new QTabBar(middle);
  tabs_->setObjectName(QStringLiteral("pages"));
  tabs_->setDocumentMode(true);
  tabs_->setExpanding(false);
  tabs_->setDrawBase(false);
  tabs_->setAccessibleName(tr("Pages"));
  tabs_->ensurePolished();  // its tabs are measured as the style sheet draws them
  top->addWidget(tabs_, 1);
  finder_ = new QToolButton(middle);
  finder_->setObjectName(QStringLiteral("find"));
  finder_->setIcon(Theme::instance().icon(QStringLiteral("search")));
  finder_->setText(tr("Find"));
  finder_->setToolButtonStyle(Qt::ToolButtonTextBesideIcon);
  finder_->setToolTip(tr("Find a take, segment, sound, key, CV or command (Ctrl+F)"));
  finder_->setAccessibleName(tr("Find"));
  connect(finder_, &QToolButton::clicked, this, &MainWindow::find);
  top->addWidget(finder_);
  column->addLayout(top);
  need_ = new QLabel(middle);
  need_->setObjectName(QStringLiteral("need"));
  need_->setAccessibleName(tr("What this page needs next"));
  need_->setContentsMargins(Theme::margin, Theme::tight, Theme::margin, Theme::tight);
  need_->setWordWrap(true);
  column->addWidget(need_);
  messages_ = new MessageBar(middle);
  column->addWidget(messages_);
  stack_ = new QStackedWidget(middle);
  welcome_ = new WelcomePage(stack_);
  stack_->addWidget(welcome_);
  column->addWidget(stack_, 1);
  setCentralWidget(middle);

  snags_ = new SnagPanel(this);
  snagDock_ = new QDockWidget(tr("Snags"), this);
  snagDock_->setObjectName(QStringLiteral("snags"));
  snagDock_->setWidget(snags_);
  snagDock_->setFeatures(QDockWidget::DockWidgetMovable | QDockWidget::DockWidgetFloatable);
  snags_->setMinimumWidth(narrowestSnags);
  addDockWidget(Qt::RightDockWidgetArea, snagDock_);
  resizeDocks({snagDock_}, {260}, Qt::Horizontal);
  connect(snags_, &SnagPanel::summaryChanged, this,
          [this] { snagDock_->setWindowTitle(tr("Snags: %1").arg(snags_->summary())); });

  auto* foot = new QWidget(this);
  auto* row = new QHBoxLayout(foot);
  row->setContentsMargins(Theme::gap, Theme::tight, Theme::gap, Theme::tight);
  row->setSpacing(Theme::wide);
  row->addWidget(new TransportBar(transport_, foot));
  row->addStretch(1);
  jobs_ = new JobBar(foot);
  row->addWidget(jobs_);
  programJobBar_ = new JobBar(foot);
  programJobBar_->setRunner(&programJobs_);
  row->addWidget(programJobBar_);
  budget_ = new BudgetBar(foot);
  row->addWidget(budget_);
  statusBar()->setSizeGripEnabled(false);
  statusBar()->addWidget(foot, 1);

  connect(tabs_, &QTabBar::currentChanged, this, [this](int index) {
    if (!workspace_ || index < 0 || index >= static_cast<int>(pages_.size())) return;
    Page* shown = page(index);
    stack_->setCurrentWidget(shown);
    layout::orderTabs(finder_, *shown);  // anew: its views make and drop buttons
    shown->entered();
    refreshNeed();
  });
  connect(budget_, &BudgetBar::activated, this, [this] { showPage(fitPlace); });
  pageMaker_.setObjectName(QStringLiteral("page maker"));
  connect(&pageMaker_, &QTimer::timeout, this, &MainWindow::makeNextPage);
  connect(&transport_, &Transport::playAsked, this, [this] {
    if (Page* page = currentPage()) page->playRequested();
  });
  connect(&transport_, &Transport::trouble, this,
          [this](const QString& line) { tell(line, true); });
  connect(welcome_, &WelcomePage::newWanted, this, &MainWindow::askNew);
  connect(welcome_, &WelcomePage::openWanted, this, &MainWindow::askOpen);
  connect(welcome_, &WelcomePage::demoWanted, this, [this] {
    openDemo(textPath(QDir(settings::lastFolder()).filePath(tr("Fourbeat demo"))));
  });
  connect(welcome_, &WelcomePage::projectWanted, this,
          [this](const QString& path) { openProject(textPath(path)); });
  connect(welcome_, &WelcomePage::unsavedWanted, this, &MainWindow::openJournal);
  connect(welcome_, &WelcomePage::asideWanted, this, &MainWindow::openAside);
  connect(welcome_, &WelcomePage::asideUnwanted, this, &MainWindow::forgetAside);
}

void MainWindow::makeActions() {
  const Theme& theme = Theme::instance();
  const auto add = [&](QMenu* menu, const QString& icon, const QString& text,
                       const QKeySequence& keys, auto slot) {
    QAction* action = menu->addAction(text);
    if (!icon.isEmpty()) action->setIcon(theme.icon(icon));
    action->setShortcut(keys);
    connect(action, &QAction::triggered, this, slot);
    return action;
  };
  QMenu* file = menuBar()->addMenu(tr("&File"));
  add(file, QStringLiteral("new"), tr("&New project …"), QKeySequence::New, &MainWindow::askNew);
  add(file, QStringLiteral("open"), tr("&Open …"), QKeySequence::Open, &MainWindow::askOpen);
  recent_ = file->addMenu(tr("Recent pro&jects"));
  connect(recent_, &QMenu::aboutToShow, this, &MainWindow::fillRecent);
  add(file, QStringLiteral("demo"), tr("Open the &demo"), {},
      [this] { openDemo(textPath(QDir(settings::lastFolder()).filePath(tr("Fourbeat demo")))); });
  file->addSeparator();
  save_ = add(file, QStringLiteral("save"), tr("&Save"), QKeySequence::Save, &MainWindow::save);
  saveAs_ = add(file, {}, tr("Save &as …"), QKeySequence::SaveAs, &MainWindow::saveAs);
  close_ = add(file, {}, tr("&Close project"), QKeySequence::Close, [this] { closeProject(); });
  file->addSeparator();
  add(file, {}, tr("&Quit"), QKeySequence::Quit, [this] { close(); });

  QMenu* edit = menuBar()->addMenu(tr("&Edit"));
  undo_ = add(edit, QStringLiteral("undo"), tr("&Undo"), QKeySequence::Undo, [this] {
    if (workspace_) workspace_->document().undoStack().undo();
  });
  redo_ = add(edit, QStringLiteral("redo"), tr("&Redo"), QKeySequence::Redo, [this] {
    if (workspace_) workspace_->document().undoStack().redo();
  });
  edit->addSeparator();
  find_ = add(edit, QStringLiteral("search"), tr("&Find …"), QKeySequence::Find, &MainWindow::find);

  QMenu* play = menuBar()->addMenu(tr("&Play"));
  play_ =
      // The space bar is the window's own: buttons and fields use it too.
      add(play, QStringLiteral("play"), tr("&Play or stop\tSpace"), {},
          [this] { transport_.toggle(); });
  add(play, {}, tr("&Stop"), QKeySequence(Qt::CTRL | Qt::Key_Period),
      [this] { transport_.stop(); });
  play->addSeparator();
  review_ = add(play, QStringLiteral("seam"), tr("&Review the seams …"),
                QKeySequence(Qt::CTRL | Qt::SHIFT | Qt::Key_R), [this] { reviewSeams(0); });

  QMenu* view = menuBar()->addMenu(tr("&View"));
  for (int i = 0; i < static_cast<int>(kinds_.size()); ++i) {
    add(view, {}, kinds_[static_cast<std::size_t>(i)].name,
        QKeySequence(Qt::CTRL | (Qt::Key_1 + i)), [this, i] { showPage(i); });
  }
  view->addSeparator();
  auto* modes = new QActionGroup(this);
  const auto mode = [&](const QString& text, const QString& key, Theme::Mode value) {
    QAction* action = add(view, {}, text, {}, [key, value] {
      Theme::instance().setMode(value);
      settings::keepThemeMode(key);
    });
    action->setCheckable(true);
    action->setChecked(Theme::instance().mode() == value);
    modes->addAction(action);
  };
  mode(tr("Light or dark as the s&ystem"), QStringLiteral("system"), Theme::Mode::system);
  mode(tr("&Light"), QStringLiteral("light"), Theme::Mode::light);
  mode(tr("&Dark"), QStringLiteral("dark"), Theme::Mode::dark);

  QMenu* help = menuBar()->addMenu(tr("&Help"));
  add(help, QStringLiteral("notes"), tr("&Guide"), QKeySequence::HelpContents, [this] {
    GuideDialog guide(this);
    guide.exec();
  });
  add(help, {}, tr("&Cautions for the recording day"), {}, [this] {
    QMessageBox::information(
        this, tr("Cautions"),
        tr("Takes are made near moving, hot and loud machinery. Have the railway's permission and "
           "a competent person in charge; go near the line only under the railway's rules; protect "
           "your hearing; keep people, microphones and cables clear of hot and moving parts. The "
           "railway's rules and local law come first. The day sheet carries these cautions too."));
  });
  add(help, {}, tr("&About Fourbeat"), {}, [this] {
    QMessageBox::about(
        this, tr("About Fourbeat"),
        tr("<b>Fourbeat %1</b><p>Workbench for the sound set of a model steam locomotive.</p>"
           "<p>Free software under the GNU General Public License, version 3 or later.</p>")
            .arg(QCoreApplication::applicationVersion()));
  });
}

void MainWindow::fillRecent() {
  recent_->clear();
  for (const QString& path : settings::recentProjects()) {
    QAction* action = recent_->addAction(path);
    connect(action, &QAction::triggered, this, [this, path] { openProject(textPath(path)); });
  }
  if (recent_->isEmpty()) {
    recent_->addAction(tr("None yet"))->setEnabled(false);
    return;
  }
  recent_->addSeparator();
  connect(recent_->addAction(tr("Forget them")), &QAction::triggered, this, [this] {
    settings::clearRecentProjects();
    welcome_->refresh();
  });
}

void MainWindow::tell(const QString& line, bool trouble) {
  messages_->tell(line, trouble);
}

bool MainWindow::openProject(const std::filesystem::path& path) {
  if (workspace_ && same_file(path, workspace_->document().path())) return true;
  const std::filesystem::path journalFile = store::journal_path(path);
  std::error_code ignored;
  std::optional<store::Journal> journal;
  if (std::filesystem::exists(journalFile, ignored)) {
    // A project that another window has open has a journal too: its lock is tried first.
    if (const Result<FileLock> lock = FileLock::take(path); !lock) {
      tell(errorLine(lock.error()), true);
      return false;
    }
    Result<store::Journal> read = store::read_journal(journalFile);
    if (!read) {
      const auto aside = store::set_journal_aside(journalFile);
      tell(tr("Unsaved work of this project cannot be read; it was set aside as %1. %2")
               .arg(aside ? pathText(*aside) : pathText(journalFile), errorLine(read.error())),
           true);
    } else {
      switch (questions_.recovery(text(read->project.title), pathText(path))) {
        case RecoveryChoice::take:
          journal = std::move(*read);
          break;
        case RecoveryChoice::setAside: {
          const auto aside = store::set_journal_aside(journalFile);
          if (aside) tell(tr("The unsaved work was kept as %1").arg(pathText(*aside)), false);
          break;
        }
        case RecoveryChoice::cancel:
          return false;
      }
    }
  }
  const bool gone = !std::filesystem::exists(path, ignored);
  Result<std::unique_ptr<Document>> document =
      journal && gone ? Document::create(path, journal->project)
                      : Document::open(path, journal ? &journal->project : nullptr);
  if (!document) {
    tell(errorLine(document.error()), true);
    return false;
  }
  // The one that is open is closed once it is sure that the other can be shown.
  if (!closeProject()) return false;
  showDocument(std::move(*document));
  return true;
}

bool MainWindow::openJournal(const QString& journalFile) {
  const Result<store::Journal> journal = store::read_journal(textPath(journalFile));
  if (!journal) {
    const auto aside = store::set_journal_aside(textPath(journalFile));
    tell(tr("It cannot be read; it was set aside as %1. %2")
             .arg(aside ? pathText(*aside) : journalFile, errorLine(journal.error())),
         true);
    welcome_->refresh();
    return false;
  }
  return openProject(journal->project_path);
}

void MainWindow::openAside(const QString& asideFile) {
  const auto project = store::take_journal_back(textPath(asideFile));
  if (project) {
    openProject(*project);
  } else {
    tell(errorLine(project.error()), true);
  }
  welcome_->refresh();
}

void MainWindow::forgetAside() {
  const std::vector<store::JournalFile> aside = store::list_journals_aside();
  if (aside.empty() || !questions_.forget(static_cast<int>(aside.size()))) return;
  for (const store::JournalFile& journal : aside) {
    std::error_code failed;
    std::filesystem::remove(journal.file, failed);
    if (failed) tell(tr("%1: %2").arg(pathText(journal.file), text(failed.message())), true);
  }
  welcome_->refresh();
}

bool MainWindow::newProject(const std::filesystem::path& path) {
  model::Project project;
  project.title = utf8(QFileInfo(pathText(path)).completeBaseName());
  Result<std::unique_ptr<Document>> document = Document::create(path, project);
  if (!document) {
    tell(errorLine(document.error()), true);
    return false;
  }
  // The one that is open is closed once the other is there; kept, the other is not wanted.
  if (!closeProject()) {
    *document = nullptr;
    std::error_code ignored;
    std::filesystem::remove(path, ignored);
    return false;
  }
  showDocument(std::move(*document));
  return true;
}

void MainWindow::openDemo(const std::filesystem::path& folder) {
  const std::filesystem::path file = folder / "demo.fourbeat";
  std::error_code ignored;
  if (std::filesystem::exists(file, ignored)) {
    openProject(file);
    return;
  }
  programJobs_.run<std::filesystem::path>(
      tr("Making the demo"), this,
      [folder](JobControl& job) -> Result<std::filesystem::path> {
        Result<std::filesystem::path> made = demo::make_demo(folder, job);
        if (!made) return made.error();
        if (const Status done = demo::finish_demo(*made, job); !done) return done.error();
        return made;
      },
      [this](const Result<std::filesystem::path>& made) {
        if (made) {
          openProject(*made);
        } else if (made.error().code != ErrorCode::cancelled) {
          tell(errorLine(made.error()), true);
        }
      },
      QStringLiteral("demo"));
}

void MainWindow::showDocument(std::unique_ptr<Document> document) {
  settings::noteProject(pathText(document->path()));
  settings::keepLastFolder(QFileInfo(pathText(document->path())).absolutePath());
  workspace_ = std::make_unique<Workspace>(std::move(document), transport_);
  Workspace& work = *workspace_;
  connect(&work, &Workspace::told, this, &MainWindow::tell);
  connect(&work, &Workspace::revealRequested, this, &MainWindow::reveal);
  connect(&work, &Workspace::reviewRequested, this, &MainWindow::reviewSeams);
  pages_.assign(kinds_.size(), nullptr);
  for (std::size_t i = 0; i < kinds_.size(); ++i) {
    const int tab = tabs_->addTab(Theme::instance().icon(kinds_[i].icon), kinds_[i].name);
    tabs_->setTabToolTip(tab, tr("%1 (Ctrl+%2)").arg(kinds_[i].name).arg(i + 1));
  }
  Document& opened = work.document();
  connect(&opened, &Document::changed, this, &MainWindow::refreshTitle);
  connect(&opened, &Document::modifiedChanged, this, &MainWindow::refreshTitle);
  connect(&opened.undoStack(), &QUndoStack::indexChanged, this, &MainWindow::refreshTitle);
  snags_->setWorkspace(&work);
  budget_->setWorkspace(&work);
  jobs_->setRunner(&work.jobs());
  snagDock_->show();
  tabs_->show();
  finder_->show();
  need_->show();
  showPage(takesPlace);
  stack_->setCurrentWidget(page(takesPlace));
  page(takesPlace)->entered();
  pageMaker_.start(0);
  refreshNeed();
  refreshTitle();
  askTrust();
  if (!dropped_.isEmpty()) addTakes(std::exchange(dropped_, {}));
}

Page* MainWindow::page(int place) {
  const auto at = static_cast<std::size_t>(place);
  Page*& kept = pages_.at(at);
  if (kept == nullptr) {
    kept = kinds_.at(at).make(*workspace_);
    kept->setAccessibleName(kinds_.at(at).name);
    connect(kept, &Page::needChanged, this, &MainWindow::refreshNeed);
    stack_->addWidget(kept);
    layout::restore(*kept, kinds_.at(at).icon);
  }
  return kept;
}

void MainWindow::makeNextPage() {
  const auto next = std::find(pages_.begin(), pages_.end(), nullptr);
  if (next == pages_.end()) {
    pageMaker_.stop();
  } else {
    (void)page(static_cast<int>(next - pages_.begin()));
  }
}

void MainWindow::addTakes(const QStringList& files) {
  if (auto* takes = qobject_cast<TakesPage*>(page(takesPlace))) takes->addFiles(files);
}

void MainWindow::askTrust() {
  std::set<std::filesystem::path> folders;
  const Document& document = workspace_->document();
  for (const model::Take& take : document.project().takes) {
    if (store::take_path(document.folder(), take)) continue;
    if (const auto file = store::take_path(document.folder(), take, true)) {
      folders.insert(file->parent_path());
    }
  }
  for (const std::filesystem::path& folder : folders) {
    if (!questions_.trust(pathText(folder))) continue;
    if (const Status trusted = store::trust_folder(folder); !trusted) {
      tell(errorLine(trusted.error()), true);
    }
  }
  if (!folders.empty()) workspace_->live().refresh();
}

void MainWindow::showWelcome() {
  stack_->setCurrentWidget(welcome_);
  tabs_->hide();
  finder_->hide();  // there is nothing to find in
  need_->hide();
  snagDock_->hide();
  welcome_->refresh();
  refreshTitle();
}

void MainWindow::keepArrangement() {
  for (std::size_t i = 0; i < pages_.size(); ++i) {
    if (pages_[i] != nullptr) layout::keep(*pages_[i], kinds_[i].icon);
  }
  // The welcome page shows no docks: that is no layout to remember.
  settings::keepWindow(saveGeometry(), workspace_ ? saveState() : settings::windowState());
}

bool MainWindow::closeProject() {
  if (!workspace_) return true;
  finishTyping();
  Document& document = workspace_->document();
  if (document.isModified()) {
    switch (questions_.close(text(document.project().title))) {
      case CloseChoice::cancel:
        return false;
      case CloseChoice::discard:
        document.discardJournal();
        break;
      case CloseChoice::save:
        if (const Status saved = document.save(); !saved) {
          tell(errorLine(saved.error()), true);
          return false;
        }
        break;
    }
  }
  keepArrangement();
  transport_.stop();
  pageMaker_.stop();
  delete seams_;
  snags_->setWorkspace(nullptr);
  budget_->setWorkspace(nullptr);
  jobs_->setRunner(nullptr);
  for (Page* page : std::exchange(pages_, {}))
    delete page;
  while (tabs_->count() > 0)
    tabs_->removeTab(0);
  workspace_.reset();
  showWelcome();
  return true;
}

void MainWindow::askNew() {
  const QString folder =
      dropped_.isEmpty() ? settings::lastFolder() : QFileInfo(dropped_.first()).absolutePath();
  QString path = questions_.newFile(QDir(folder).filePath(tr("New set") + projectSuffix));
  if (path.isEmpty()) {
    dropped_.clear();
    return;
  }
  if (!path.endsWith(projectSuffix)) path += projectSuffix;
  if (!newProject(textPath(path))) dropped_.clear();
}

void MainWindow::askOpen() {
  const QString path = questions_.openFile();
  if (!path.isEmpty()) openProject(textPath(path));
}

void MainWindow::reviewSeams(qint64 segment) {
  if (!workspace_) return;
  if (seams_ == nullptr) {
    seams_ = new SeamReview(*workspace_, segment, this);
  } else if (segment != 0) {
    seams_->goTo(segment);
  }
  seams_->show();
  seams_->raise();
  seams_->activateWindow();
}

void MainWindow::finishTyping() {
  QPointer<QWidget> field = focusWidget();
  if (!field || field->window() != this) return;
  // A field hands over what was typed when it is left; a cell's is gone then.
  QWidget* view = field->parentWidget();
  while (view != nullptr && qobject_cast<QAbstractItemView*>(view) == nullptr)
    view = view->parentWidget();
  field->clearFocus();
  if (field && field->isVisible()) {
    field->setFocus(Qt::OtherFocusReason);
  } else if (view != nullptr) {
    view->setFocus(Qt::OtherFocusReason);
  }
}

void MainWindow::save() {
  if (!workspace_) return;
  finishTyping();
  if (const Status saved = workspace_->document().save(); !saved) {
    tell(errorLine(saved.error()), true);
  } else {
    tell(tr("Saved %1").arg(pathText(workspace_->document().path())), false);
  }
}

void MainWindow::saveAs() {
  if (!workspace_) return;
  finishTyping();
  QString path = questions_.otherFile(pathText(workspace_->document().path()));
  if (path.isEmpty()) return;
  if (!path.endsWith(projectSuffix)) path += projectSuffix;
  if (const Status saved = workspace_->document().saveAs(textPath(path)); !saved) {
    tell(errorLine(saved.error()), true);
    return;
  }
  settings::noteProject(path);
  refreshTitle();
  tell(tr("Saved %1").arg(path), false);
}

void MainWindow::find() {
  std::vector<Findable> all;
  if (workspace_) {
    all = findablesOf(workspace_->project(), [this](const QString& pointer) { reveal(pointer); });
  }
  const auto add = [&all](std::vector<Findable> more) {
    all.insert(all.end(), std::make_move_iterator(more.begin()),
               std::make_move_iterator(more.end()));
  };
  add(commandsOf(*menuBar()));
  // The page in view first: of two buttons of one name it has the likelier.
  for (const bool current : {true, false}) {
    for (std::size_t i = 0; i < pages_.size(); ++i) {
      if (pages_[i] == nullptr || (pages_[i] == currentPage()) != current) continue;
      add(commandsOf(*pages_[i], kinds_[i].name, [this, i] { showPage(static_cast<int>(i)); }));
    }
  }
  QuickFind dialog(std::move(all), this);
  dialog.exec();
}

void MainWindow::reveal(const QString& pointer) {
  for (int i = 0; i < static_cast<int>(pages_.size()); ++i) {
    Page* shown = page(i);
    if (!shown->shows(pointer)) continue;
    showPage(i);
    shown->reveal(pointer);
    shown->setFocus(Qt::OtherFocusReason);
    return;
  }
}

Page* MainWindow::currentPage() const {
  return qobject_cast<Page*>(stack_->currentWidget());
}

void MainWindow::showPage(int index) {
  if (index >= 0 && index < tabs_->count()) tabs_->setCurrentIndex(index);
}

void MainWindow::refreshNeed() {
  const Page* page = currentPage();
  need_->setText(page != nullptr ? page->need() : QString());
}

void MainWindow::refreshTitle() {
  const bool open = workspace_ != nullptr;
  for (QAction* action : {save_, saveAs_, close_, review_})
    action->setEnabled(open);
  QUndoStack* stack = open ? &workspace_->document().undoStack() : nullptr;
  undo_->setEnabled(stack != nullptr && stack->canUndo());
  redo_->setEnabled(stack != nullptr && stack->canRedo());
  undo_->setText(undo_->isEnabled() ? tr("&Undo: %1").arg(stack->undoText()) : tr("&Undo"));
  redo_->setText(redo_->isEnabled() ? tr("&Redo: %1").arg(stack->redoText()) : tr("&Redo"));
  if (!open) {
    setWindowModified(false);
    setWindowTitle(tr("Fourbeat"));
    setWindowFilePath({});
    return;
  }
  const Document& document = workspace_->document();
  const QString title = document.project().title.empty()
                            ? QFileInfo(pathText(document.path())).completeBaseName()
                            : text(document.project().title);
  setWindowTitle(tr("%1[*] – %2").arg(title, QFileInfo(pathText(document.path())).fileName()));
  setWindowModified(document.isModified());
}

void MainWindow::closeEvent(QCloseEvent* event) {
  if (!workspace_) keepArrangement();
  event->setAccepted(closeProject());
}

void MainWindow::dragEnterEvent(QDragEnterEvent* event) {
  if (event->mimeData()->hasUrls()) event->acceptProposedAction();
}

void MainWindow::dropEvent(QDropEvent* event) {
  QStringList files;
  for (const QUrl& url : event->mimeData()->urls()) {
    if (url.isLocalFile()) files.append(url.toLocalFile());
  }
  if (files.isEmpty()) return;
  event->acceptProposedAction();
  if (files.size() == 1 && files.first().endsWith(projectSuffix)) {
    openProject(textPath(files.first()));
    return;
  }
  if (workspace_ == nullptr) {
    dropped_ = files;
    askNew();
    return;
  }
  showPage(takesPlace);
  addTakes(files);
}

}  // namespace fourbeat::ui
