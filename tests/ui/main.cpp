// SPDX-License-Identifier: GPL-3.0-or-later
#include "Theme.h"
#include "support/session.h"
#include "support/temp_folder.h"
#include "watchdog.h"

int main(int argc, char* argv[]) {
  const fourbeat::tests::TempFolder home;
  qputenv("FOURBEAT_STATE", (home / "state").c_str());
  qputenv("FOURBEAT_CONFIG", (home / "fourbeat-config").c_str());
  qputenv("XDG_CACHE_HOME", (home / "cache").c_str());
  qputenv("XDG_CONFIG_HOME", (home / "config").c_str());
  // No test plays to anyone: those that need sound start a server of their own.
  qputenv("PULSE_SERVER", ("unix:" + (home / "no-sound-server").string()).c_str());
  fourbeat::tests::WatchedApplication application(argc, argv);
  QApplication::setApplicationName(QStringLiteral("fourbeat-desk-tests"));
  fourbeat::ui::Theme::instance().install(application);
  return fourbeat::tests::run_session(argc, argv);
}
