// SPDX-License-Identifier: GPL-3.0-or-later
#include "watchdog.h"

#include <QEvent>
#include <QThread>
#include <chrono>
#include <ctime>

namespace fourbeat::tests {

namespace {

WatchedApplication::Longest longestSeen;
int depth = 0;

double threadCpuMs() {
  timespec now{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) * 1e3 + static_cast<double>(now.tv_nsec) * 1e-6;
}

}  // namespace

bool WatchedApplication::notify(QObject* receiver, QEvent* event) {
  // Other threads deliver events here too; nested deliveries belong to their outermost one.
  if (QThread::currentThread() != thread() || depth > 0) {
    return QApplication::notify(receiver, event);
  }
  const QString what =
      QStringLiteral("%1 \"%2\", event %3")
          .arg(QLatin1String(receiver->metaObject()->className()), receiver->objectName())
          .arg(static_cast<int>(event->type()));
  ++depth;
  const double cpu = threadCpuMs();
  const auto wall = std::chrono::steady_clock::now();
  const bool handled = QApplication::notify(receiver, event);
  const double cpuMs = threadCpuMs() - cpu;
  const double wallMs =
      std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - wall).count();
  --depth;
  if (cpuMs > longestSeen.cpu_ms) {
    longestSeen.cpu_ms = cpuMs;
    longestSeen.what = what;
  }
  longestSeen.wall_ms = std::max(longestSeen.wall_ms, wallMs);
  return handled;
}

const WatchedApplication::Longest& WatchedApplication::longest() {
  return longestSeen;
}

void WatchedApplication::forget() {
  longestSeen = {};
}

}  // namespace fourbeat::tests
