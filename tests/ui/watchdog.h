// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QApplication>
#include <QString>
#include <functional>

namespace fourbeat::tests {

/// An application that times every event it delivers from its loop: what holds the window up, and
/// for how long. Processor time of the window's thread is what counts, so that a busy machine
/// does not fail a test; wall time is kept beside it and catches waiting. What a dialog takes to
/// open, up to its first event, is counted for itself: its widgets are the toolkit's, and no job
/// can make them. What its caller does once it is closed counts as any other.
class WatchedApplication : public QApplication {
 public:
  using QApplication::QApplication;

  bool notify(QObject* receiver, QEvent* event) override;

  struct Longest {
    double cpu_ms = 0.0;
    double wall_ms = 0.0;
    QString what;                 ///< receiver and event of the longest by processor time
    double opening_cpu_ms = 0.0;  ///< of the dialog that was slowest to open
  };
  /// Since the last forget().
  [[nodiscard]] static const Longest& longest();
  static void forget();
};

/// Checks that nothing in a run held the window up for the 50 ms that a job begins at. A machine
/// that is shared may be slow for a moment: what is too long must be so in a second run. Returns
/// the first run's.
WatchedApplication::Longest checkQuick(const std::function<WatchedApplication::Longest()>& run);

}  // namespace fourbeat::tests
