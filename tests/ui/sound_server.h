// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "support/temp_folder.h"

#include <QByteArray>
#include <QProcess>
#include <QString>
#include <array>
#include <atomic>
#include <chrono>
#include <cstdint>
#include <memory>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

namespace fourbeat::tests {

/// A sound server of the test program's own, with sinks that play to nobody. The program's
/// sound goes there from its construction on; one a program.
class SoundServer {
 public:
  /// The program's server, started with the first call; null, and told as a visible skip, where
  /// the server is not installed. Under CI=true that is a failure.
  static SoundServer* instance();
  ~SoundServer();

  /// Adds a sink of that name; returns its number, for unload().
  int load(const QString& name, int rate_hz = 48000);
  void unload(int number);
  void makeDefault(const QString& name);
  QByteArray run(const QStringList& arguments);
  [[nodiscard]] QString address() const { return address_; }

 private:
  SoundServer();
  TempFolder folder_;
  QString address_;
  QProcess daemon_;
};

/// Records what a sink plays, from construction on, one channel, and when each frame arrived.
class Monitor {
 public:
  Monitor(SoundServer& server, const QString& sink, int rate_hz = 48000, int latency_ms = 5);
  ~Monitor();
  Monitor(const Monitor&) = delete;
  Monitor& operator=(const Monitor&) = delete;

  [[nodiscard]] std::vector<float> frames() const;
  [[nodiscard]] std::size_t count() const;
  /// steady_clock time at which a frame was read, in ns; -1 before it has come.
  [[nodiscard]] std::int64_t arrived_ns(std::size_t frame) const;
  /// The first frame from `from` on whose size is over `level`; -1 when there is none yet.
  [[nodiscard]] std::int64_t first_over(std::size_t from, float level) const;
  static std::int64_t now_ns();

 private:
  struct Chunk {
    std::size_t end;
    std::int64_t at_ns;
  };
  void read();
  int pid_ = -1;
  int pipe_ = -1;
  mutable std::mutex mutex_;
  std::vector<float> frames_;
  std::vector<Chunk> chunks_;
  std::thread thread_;
};

/// Counts how often the machine itself stands still: threads as urgent as the sound's that ask to
/// be woken every 3 ms, and are woken 10 ms late or more.
class Yardstick {
 public:
  Yardstick();
  ~Yardstick();
  Yardstick(const Yardstick&) = delete;
  Yardstick& operator=(const Yardstick&) = delete;
  [[nodiscard]] long stalls() const { return stalls_.load(); }
  [[nodiscard]] double longest_ms() const { return longest_ms_.load(); }

 private:
  void run();
  std::array<std::thread, 2> threads_;
  std::atomic<bool> ended_{false};
  std::atomic<long> stalls_{0};
  std::atomic<double> longest_ms_{0.0};
};

}  // namespace fourbeat::tests
