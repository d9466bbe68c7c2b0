// SPDX-License-Identifier: GPL-3.0-or-later
#include "JournalWriter.h"

#include "fourbeat/store/journal.h"

#include <chrono>

namespace fourbeat::ui {

namespace {
/// How long a change may wait for the one before it to be on the disk: under the 50 ms that the
/// window may be held up.
constexpr std::chrono::milliseconds longestWait{40};
}  // namespace

JournalWriter::JournalWriter(std::filesystem::path projectPath,
                             std::function<void(const Error&)> trouble)
    : projectPath_(std::move(projectPath)),
      trouble_(std::move(trouble)),
      thread_([this] { run(); }) {}

JournalWriter::~JournalWriter() {
  {
    const std::lock_guard lock(mutex_);
    stop_ = true;
  }
  changed_.notify_all();
  thread_.join();
}

void JournalWriter::note(std::shared_ptr<const model::Project> state, bool wait) {
  {
    std::unique_lock lock(mutex_);
    if (wait) changed_.wait_for(lock, longestWait, [this] { return !pending_ && !writing_; });
    pending_ = std::move(state);
  }
  changed_.notify_all();
}

void JournalWriter::flush() {
  std::unique_lock lock(mutex_);
  changed_.wait(lock, [this] { return !pending_ && !writing_; });
}

void JournalWriter::clear() {
  std::unique_lock lock(mutex_);
  pending_.reset();
  changed_.wait(lock, [this] { return !writing_; });
  if (const Status removed = store::remove_journal(projectPath_); !removed) {
    lock.unlock();
    trouble_(removed.error());
  }
}

void JournalWriter::run() {
  std::unique_lock lock(mutex_);
  while (true) {
    changed_.wait(lock, [this] { return pending_ || stop_; });
    if (!pending_) return;
    const std::shared_ptr<const model::Project> state = std::move(pending_);
    pending_.reset();
    writing_ = true;
    lock.unlock();
    const Status written = store::write_journal(projectPath_, *state);
    const bool tell = !written && !failing_;
    failing_ = !written;
    if (tell) trouble_(written.error());
    lock.lock();
    writing_ = false;
    changed_.notify_all();
  }
}

}  // namespace fourbeat::ui
