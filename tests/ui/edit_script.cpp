// SPDX-License-Identifier: GPL-3.0-or-later
// edit_script PROJECT: edits a project as fast as a hurried designer until it is killed: the nth
// edit sets the title to "edit n", and n is printed once the edit is done.
#include "Document.h"

#include <QCoreApplication>
#include <QTimer>
#include <cstdio>

int main(int argc, char** argv) {
  QCoreApplication application(argc, argv);
  using namespace fourbeat;
  const QStringList arguments = QCoreApplication::arguments();
  if (arguments.size() != 2) return 2;
  Result<std::unique_ptr<ui::Document>> document =
      ui::Document::open(arguments[1].toStdString(), nullptr);
  if (!document) {
    std::fprintf(stderr, "%s\n", to_line(document.error()).c_str());
    return 1;
  }
  QTimer timer;
  int done = 0;
  QObject::connect(&timer, &QTimer::timeout, &application, [&] {
    const std::string title = "edit " + std::to_string(done + 1);
    if (!(*document)->perform(QStringLiteral("title"), {model::SetTitle{title}})) {
      QCoreApplication::exit(1);
      return;
    }
    std::printf("%d\n", ++done);
    std::fflush(stdout);
  });
  timer.start(10);
  return QCoreApplication::exec();
}
