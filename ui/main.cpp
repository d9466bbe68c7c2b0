// SPDX-License-Identifier: GPL-3.0-or-later
#include "MainWindow.h"
#include "Theme.h"
#include "Wording.h"
#include "frame/Settings.h"

#include <QApplication>
#include <QCommandLineParser>

int main(int argc, char** argv) {
  QApplication application(argc, argv);
  QApplication::setApplicationName(QStringLiteral("fourbeat-desk"));
  QApplication::setApplicationDisplayName(QStringLiteral("Fourbeat"));
  QApplication::setApplicationVersion(QStringLiteral(FOURBEAT_VERSION));
  QApplication::setDesktopFileName(QStringLiteral("org.fourbeat.desk"));
  QCommandLineParser parser;
  parser.setApplicationDescription(
      QApplication::translate("main", "Workbench for the sound set of a model steam locomotive"));
  parser.addHelpOption();
  parser.addVersionOption();
  parser.addPositionalArgument(QStringLiteral("project"),
                               QApplication::translate("main", "a project to open"),
                               QStringLiteral("[project]"));
  parser.process(application);
  using fourbeat::ui::Theme;
  const QString mode = qEnvironmentVariable("FOURBEAT_THEME", fourbeat::ui::settings::themeMode());
  Theme::instance().setMode(mode == QLatin1String("dark")    ? Theme::Mode::dark
                            : mode == QLatin1String("light") ? Theme::Mode::light
                                                             : Theme::Mode::system);
  Theme::instance().install(application);
  fourbeat::ui::MainWindow window;
  if (!parser.positionalArguments().isEmpty()) {
    window.openProject(fourbeat::ui::textPath(parser.positionalArguments().constFirst()));
  }
  window.show();
  return QApplication::exec();
}
