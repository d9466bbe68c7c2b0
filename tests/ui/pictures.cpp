// SPDX-License-Identifier: GPL-3.0-or-later
// ui_pictures PROJECT FOLDER: every page of the editor as FOLDER/<page>-<light|dark>-<scale>x.png,
// for the guide and to be looked at. The scale is QT_SCALE_FACTOR's; FOURBEAT_THEME is not asked.
#include "MainWindow.h"
#include "Page.h"
#include "Theme.h"
#include "Wording.h"
#include "pages/HandDrive.h"
#include "pages/TrialRunPage.h"
#include "review/ReviewDesk.h"
#include "review/SeamReview.h"
#include "review/SpeakerForm.h"

#include "fourbeat/store/data_files.h"

#include <QAbstractButton>
#include <QApplication>
#include <QDir>
#include <QElapsedTimer>
#include <QPainter>
#include <QSlider>
#include <QTabWidget>
#include <cstdio>

using namespace fourbeat;

namespace {

constexpr int widthPx = 1280;
constexpr int heightPx = 800;
constexpr int longestWaitMs = 60'000;
/// What is drawn in the background (peaks, spectra, figures) needs a moment after the jobs ended.
constexpr int settleMs = 1200;

void settle(ui::MainWindow& window) {
  QElapsedTimer clock;
  clock.start();
  qint64 quietSince = 0;
  while (clock.elapsed() < longestWaitMs) {
    QCoreApplication::processEvents(QEventLoop::AllEvents, 20);
    const bool busy = window.workspace() != nullptr && (window.workspace()->jobs().hasJobs() ||
                                                        !window.workspace()->live().isCurrent());
    if (busy) quietSince = clock.elapsed();
    if (!busy && clock.elapsed() - quietSince > settleMs) return;
  }
}

/// Brings a page to where there is something to see: a looped segment, a rendered run.
void prepare(ui::MainWindow& window) {
  ui::Page* page = window.currentPage();
  if (page->shows(QStringLiteral("/segments/1"))) page->reveal(QStringLiteral("/segments/1"));
  for (QAbstractButton* button : page->findChildren<QAbstractButton*>()) {
    const bool renders = button->text().remove(QLatin1Char('&')) == QLatin1String("Render");
    if (renders && button->isVisible() && button->isEnabled()) button->click();
  }
  settle(window);
}

bool take(QWidget& window, const QString& file) {
  const QImage image = window.grab().toImage().convertToFormat(QImage::Format_RGB888);
  const bool saved = image.save(file, "PNG", 0);
  std::fprintf(saved ? stdout : stderr, "%s\n", qPrintable(file));
  return saved;
}

/// The loops of the segment that the page shows, looked for.
bool takeLoops(ui::MainWindow& window, const QString& file) {
  window.showPage(ui::segmentsPlace);
  window.currentPage()->reveal(QStringLiteral("/segments/1/loop"));
  for (QAbstractButton* button : window.currentPage()->findChildren<QAbstractButton*>()) {
    if (button->accessibleName() == QLatin1String("Find loops")) button->click();
  }
  settle(window);
  return take(window, file);
}

/// The place of the first CV that changes a figure.
QString firstEffect(const model::Project& project) {
  for (std::size_t i = 0; i < project.cvs.size(); ++i) {
    if (project.cvs[i].effect) return QStringLiteral("/cvs/%1/effect").arg(i);
  }
  return QStringLiteral("/cvs/0/effect");
}

/// The other tabs of the pages of the keys and of the CV table.
bool takeSections(ui::MainWindow& window, const QDir& folder, const QString& tail) {
  struct Tab {
    int page;
    QString pointer;
    const char* name;
  };
  const Tab tabs[] = {{ui::keysPlace, QStringLiteral("/triggers/0"), "triggers"},
                      {ui::keysPlace, QStringLiteral("/layers/0"), "layers"},
                      {ui::keysPlace, QStringLiteral("/states/0"), "states"},
                      {ui::keysPlace, QStringLiteral("/driving"), "driving"},
                      {ui::keysPlace, QStringLiteral("/driving/sleeps_after_s"), "driving-end"},
                      {ui::keysPlace, QStringLiteral("/duties"), "duties"},
                      {ui::keysPlace, QStringLiteral("/duties/grace_s"), "duties-end"},
                      {ui::cvTablePlace, QStringLiteral("/options/0"), "options"},
                      {ui::cvTablePlace, firstEffect(window.workspace()->project()), "cv-effects"}};
  bool good = true;
  for (const Tab& tab : tabs) {
    window.showPage(tab.page);
    window.currentPage()->reveal(tab.pointer);
    settle(window);
    good = take(window, folder.filePath(QLatin1String(tab.name) + tail)) && good;
  }
  return good;
}

/// The form of the speaker's figures, of the first one that comes with the program.
bool takeSpeakerForm(ui::MainWindow& window, ui::SeamReview& review, const QString& file) {
  const auto speakers = store::load_speakers();
  if (!speakers || speakers->empty()) return false;
  window.workspace()->perform(QStringLiteral("Choose speaker"),
                              {model::SetSpeaker{speakers->front()}});
  for (QAbstractButton* button : review.findChildren<QAbstractButton*>()) {
    if (button->text().contains(QLatin1String("(E)"))) button->click();
  }
  settle(window);
  auto* form = review.findChild<ui::SpeakerForm*>();
  const bool good = form != nullptr && take(*form, file);
  window.workspace()->document().undoStack().undo();
  return good;
}

/// The driver's place, a while after the regulator was opened, with its keys and its CVs. Nothing
/// is heard.
bool takeDrive(ui::MainWindow& window, const QDir& folder, const QString& tail) {
  window.showPage(ui::trialRunPlace);
  auto* page = window.findChild<ui::TrialRunPage*>();
  if (page == nullptr) return false;
  std::shared_ptr<ui::LiveSound> sound;
  double rate_hz = 0.0;
  page->hand().play = [&](const ui::PlayRequest& request) {
    const auto& live = std::get<ui::LiveSource>(request.source);
    sound = live.sound;
    rate_hz = live.sample_rate_hz;
    return true;
  };
  page->hand().begin();
  settle(window);
  if (sound == nullptr) return false;
  constexpr double driven_s = 12.0;
  constexpr int step = 70;
  for (auto* slider : page->findChildren<QSlider*>()) {
    if (slider->accessibleName() == QLatin1String("Regulator")) slider->setValue(step);
  }
  std::vector<float> block(512);
  for (double time_s = 0.0; time_s < driven_s;
       time_s += static_cast<double>(block.size()) / rate_hz)
    sound->render(block);
  settle(window);
  bool good = take(window, folder.filePath(QStringLiteral("drive") + tail));
  for (auto* tabs : page->findChildren<QTabWidget*>())
    tabs->setCurrentIndex(1);
  settle(window);
  good = take(window, folder.filePath(QStringLiteral("drive-cvs") + tail)) && good;
  page->hand().end();
  return good;
}

}  // namespace

int main(int argc, char** argv) {
  QApplication application(argc, argv);
  QApplication::setApplicationName(QStringLiteral("fourbeat-desk"));
  const QStringList arguments = QCoreApplication::arguments();
  if (arguments.size() != 3) {
    std::fprintf(stderr, "usage: ui_pictures PROJECT FOLDER\n");
    return 2;
  }
  const QDir folder(arguments[2]);
  folder.mkpath(QStringLiteral("."));
  ui::Theme::instance().install(application);
  bool good = true;
  for (const auto& [name, mode] :
       {std::pair{"light", ui::Theme::Mode::light}, std::pair{"dark", ui::Theme::Mode::dark}}) {
    ui::Theme::instance().setMode(mode);
    ui::MainWindow window;
    window.resize(widthPx, heightPx);
    window.show();
    const QString tail = QStringLiteral("-%1-%2x.png")
                             .arg(QLatin1String(name))
                             .arg(qRound(window.devicePixelRatioF()));
    settle(window);
    good = take(window, folder.filePath(QStringLiteral("welcome") + tail)) && good;
    if (!window.openProject(ui::textPath(arguments[1]))) return 2;
    for (int i = ui::takesPlace; i <= ui::notesPlace; ++i) {
      window.showPage(i);
      for (QTabWidget* tabs : window.currentPage()->findChildren<QTabWidget*>())
        tabs->setCurrentIndex(0);
      settle(window);
      prepare(window);
      const QString page = window.page(i)->accessibleName().toLower().replace(u' ', u'-');
      good = take(window, folder.filePath(page + tail)) && good;
    }
    good = takeSections(window, folder, tail) && good;
    good = takeLoops(window, folder.filePath(QStringLiteral("loops") + tail)) && good;
    good = takeDrive(window, folder, tail) && good;
    window.workspace()->review(0);
    if (auto* review = window.findChild<ui::SeamReview*>()) {
      settle(window);
      review->desk().again();
      settle(window);
      good = take(*review, folder.filePath(QStringLiteral("review") + tail)) && good;
      good = takeSpeakerForm(window, *review, folder.filePath(QStringLiteral("speaker") + tail)) &&
             good;
    }
    window.closeProject();
  }
  return good ? 0 : 1;
}
