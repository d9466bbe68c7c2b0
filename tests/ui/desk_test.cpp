// SPDX-License-Identifier: GPL-3.0-or-later
// The whole job in the window, by pointer and keyboard alone, on an X display of its own.
#include "MainWindow.h"
#include "Page.h"
#include "Wording.h"
#include "frame/MessageBar.h"
#include "hand.h"
#include "support.h"
#include "watchdog.h"

#include "fourbeat/deliver/bundle.h"

#include <QApplication>
#include <QDrag>
#include <QMimeData>
#include <QMouseEvent>
#include <QUrl>

#include <cstdio>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

/// What a file manager is to the window: a place that files are dragged from.
class FileSource : public QWidget {
 public:
  explicit FileSource(QList<QUrl> files) : files_(std::move(files)) {
    setWindowFlags(Qt::BypassWindowManagerHint | Qt::WindowStaysOnTopHint);
    setAccessibleName(QStringLiteral("files"));
    auto* face = new QWidget(this);
    face->setObjectName(QStringLiteral("the files"));
    face->setAttribute(Qt::WA_TransparentForMouseEvents);
    face->setGeometry(0, 0, 60, 60);
    setGeometry(1320, 400, 60, 60);
  }

 protected:
  void mousePressEvent(QMouseEvent* event) override { pressed_ = event->pos(); }
  void mouseMoveEvent(QMouseEvent* event) override {
    if ((event->pos() - pressed_).manhattanLength() < QApplication::startDragDistance()) return;
    auto* drag = new QDrag(this);
    auto* urls = new QMimeData;
    urls->setUrls(files_);
    drag->setMimeData(urls);
    drag->exec(Qt::CopyAction);
  }

 private:
  QList<QUrl> files_;
  QPoint pressed_;
};

}  // namespace

TEST_CASE("desk: from three recordings to a proved bundle, by pointer and keyboard alone",
          "[desk]") {
  const SmallProject recordings;  // its takes stand for files on a recorder's card
  const TempFolder work;
  QList<QUrl> files;
  for (const model::Take& take : recordings.project().takes) {
    files << QUrl::fromLocalFile(
        QString::fromStdString((recordings.folder() / take.path).string()));
  }
  ui::MainWindow window;
  window.setGeometry(0, 24, 1280, 800);
  window.show();
  FileSource source(files);
  source.show();
  const auto project = [&]() -> const model::Project& { return window.workspace()->project(); };
  const QString file = QString::fromStdString((work / "mine.fourbeat").string());

  const QString failed = Hand::run([&](Hand& hand) {
    hand.click(QStringLiteral("New project …"));
    hand.waitFor(QStringLiteral("the file dialog"),
                 [] { return QApplication::activeModalWidget() != nullptr; });
    hand.keys({QStringLiteral("ctrl+a")});
    hand.type(file);
    hand.keys({QStringLiteral("Return")});
    hand.waitFor(QStringLiteral("the new project"), [&] { return window.workspace() != nullptr; });

    hand.drag(QStringLiteral("the files"), {0.5, 0.5}, QStringLiteral("Takes"), {0.5, 0.5});
    hand.waitFor(QStringLiteral("three takes"), [&] { return project().takes.size() == 3; });
  });
  INFO(failed.toStdString() << " | message: " << window.messages().line().toStdString());
  if (!failed.isEmpty()) window.grab().save(QStringLiteral("desk_test_failed.png"));
  CHECK(failed.isEmpty());
  window.questions().close = [](const QString&) { return ui::CloseChoice::discard; };
  window.closeProject();
}
