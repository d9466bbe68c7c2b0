// SPDX-License-Identifier: GPL-3.0-or-later
#include "watchdog.h"

#include "support/catch.h"

#include <QEvent>
#include <QThread>
#include <chrono>
#include <ctime>
#include <vector>

namespace fourbeat::tests {

namespace {

WatchedApplication::Longest longestSeen;

/// One delivery under way. A dialog's own loop delivers events inside another delivery: those are
/// timed for themselves and taken off the outer one.
struct Delivery {
  int loopLevel = 0;
  double startCpuMs = 0.0;
  double innerCpuMs = 0.0;
  double openingCpuMs = 0.0;  ///< until its first dialog had its first event
  bool hadLoop = false;
};
std::vector<Delivery> deliveries;

double threadCpuMs() {
  timespec now{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) * 1e3 + static_cast<double>(now.tv_nsec) * 1e-6;
}

}  // namespace

bool WatchedApplication::notify(QObject* receiver, QEvent* event) {
  // Other threads deliver events here too; what a delivery sends directly belongs to it.
  if (QThread::currentThread() != thread()) return QApplication::notify(receiver, event);
  const int level = thread()->loopLevel();
  if (!deliveries.empty() && deliveries.back().loopLevel == level) {
    return QApplication::notify(receiver, event);
  }
  const QString what =
      QStringLiteral("%1 \"%2\", event %3")
          .arg(QLatin1String(receiver->metaObject()->className()), receiver->objectName())
          .arg(static_cast<int>(event->type()));
  const double cpu = threadCpuMs();
  for (Delivery& outer : deliveries) {
    if (!outer.hadLoop) outer.openingCpuMs = cpu - outer.startCpuMs;
    outer.hadLoop = true;
  }
  deliveries.push_back({level, cpu, 0.0, 0.0, false});
  const auto wall = std::chrono::steady_clock::now();
  const bool handled = QApplication::notify(receiver, event);
  const double wholeCpuMs = threadCpuMs() - cpu;
  const double wallMs =
      std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - wall).count();
  const Delivery done = deliveries.back();
  deliveries.pop_back();
  if (!deliveries.empty()) deliveries.back().innerCpuMs += wholeCpuMs;
  const double cpuMs = wholeCpuMs - done.innerCpuMs - done.openingCpuMs;
  longestSeen.opening_cpu_ms = std::max(longestSeen.opening_cpu_ms, done.openingCpuMs);
  if (cpuMs > longestSeen.cpu_ms) {
    longestSeen.cpu_ms = cpuMs;
    longestSeen.what = what;
  }
  if (!done.hadLoop) longestSeen.wall_ms = std::max(longestSeen.wall_ms, wallMs);
  return handled;
}

const WatchedApplication::Longest& WatchedApplication::longest() {
  return longestSeen;
}

void WatchedApplication::forget() {
  longestSeen = {};
}

WatchedApplication::Longest checkQuick(const std::function<WatchedApplication::Longest()>& run) {
  constexpr double most_ms = 50.0;
  WatchedApplication::Longest longest = run();
  CAPTURE(longest.what.toStdString(), longest.cpu_ms, longest.wall_ms);
  if (longest.cpu_ms >= most_ms) {
    const WatchedApplication::Longest again = run();
    CAPTURE(again.what.toStdString(), again.cpu_ms, again.wall_ms);
    CHECK(again.cpu_ms < most_ms);
  }
  return longest;
}

}  // namespace fourbeat::tests
