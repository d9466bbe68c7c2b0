// SPDX-License-Identifier: GPL-3.0-or-later
#include "MainWindow.h"
#include "Theme.h"
#include "Wording.h"
#include "frame/Settings.h"

#include "fourbeat/base/files.h"

#include <QApplication>
#include <QCommandLineParser>
#include <QLibraryInfo>
#include <QLocale>
#include <QTranslator>

int main(int argc, char** argv) {
  QApplication application(argc, argv);
  QApplication::setApplicationName(QStringLiteral("fourbeat-desk"));
  QApplication::setApplicationDisplayName(QStringLiteral("Fourbeat"));
  QApplication::setApplicationVersion(QStringLiteral(FOURBEAT_VERSION));
  QApplication::setDesktopFileName(QStringLiteral("org.fourbeat.desk"));
  // Qt's own words, then the window's, in the user's language where there is a translation.
  QTranslator qtWords;
  if (qtWords.load(QLocale(), QStringLiteral("qtbase"), QStringLiteral("_"),
                   QLibraryInfo::path(QLibraryInfo::TranslationsPath))) {
    QApplication::installTranslator(&qtWords);
  }
  QTranslator words;
  if (words.load(QLocale(), QStringLiteral("fourbeat"), QStringLiteral("_"),
                 fourbeat::ui::pathText(fourbeat::data_folder() / "translations"))) {
    QApplication::installTranslator(&words);
  }
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
