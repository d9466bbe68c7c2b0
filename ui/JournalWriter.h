// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"
#include "fourbeat/model/project.h"

#include <condition_variable>
#include <filesystem>
#include <functional>
#include <memory>
#include <mutex>
#include <thread>

namespace fourbeat::ui {

/// Writes the journal of one project in a thread of its own; states that are overtaken while one
/// is being written are left out. Each state outlives this process at once, and the machine once
/// no change has come for half a second.
class JournalWriter {
 public:
  /// trouble: called from the writer's thread when a write fails, once until one succeeds.
  JournalWriter(std::filesystem::path projectPath, std::function<void(const Error&)> trouble);
  /// Writes what is still to be written.
  ~JournalWriter();
  JournalWriter(const JournalWriter&) = delete;
  JournalWriter& operator=(const JournalWriter&) = delete;

  /// Hands over the state after a change. When `wait` and the state before is not written yet,
  /// waits for that one, at most 250 ms: a crash then loses one change at most.
  void note(std::shared_ptr<const model::Project> state, bool wait);
  /// Waits until the newest state is written (or failed to be).
  void flush();
  /// Removes the journal; nothing is written until the next note().
  void clear();

 private:
  void run();

  const std::filesystem::path projectPath_;
  const std::function<void(const Error&)> trouble_;
  std::mutex mutex_;
  std::condition_variable changed_;
  std::shared_ptr<const model::Project> pending_;
  bool writing_ = false;
  bool stop_ = false;
  bool cleared_ = false;  ///< the journal was removed: nothing is left to flush
  bool failing_ = false;
  std::thread thread_;
};

}  // namespace fourbeat::ui
