// SPDX-License-Identifier: GPL-3.0-or-later
#include "MainWindow.h"
#include "Theme.h"
#include "Wording.h"

#include <QApplication>
#include <QCommandLineParser>

int main(int argc, char** argv) {
  QApplication application(argc, argv);
  QApplication::setApplicationName(QStringLiteral("fourbeat-desk"));
  QApplication::setApplicationDisplayName(QStringLiteral("Fourbeat"));
  QApplication::setApplicationVersion(QStringLiteral(FOURBEAT_VERSION));
  QApplication::setDesktopFileName(QStringLiteral("fourbeat-desk"));
  QCommandLineParser parser;
  parser.setApplicationDescription(
      QApplication::translate("main", "Workbench for the sound set of a model steam locomotive"));
  parser.addHelpOption();
  parser.addVersionOption();
  parser.addPositionalArgument(QStringLiteral("project"),
                               QApplication::translate("main", "a project to open"),
                               QStringLiteral("[project]"));
  parser.process(application);
  fourbeat::ui::Theme::instance().install(application);
  fourbeat::ui::MainWindow window;
  if (!parser.positionalArguments().isEmpty()) {
    window.openProject(fourbeat::ui::textPath(parser.positionalArguments().constFirst()));
  }
  window.show();
  return QApplication::exec();
}
