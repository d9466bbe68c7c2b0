// SPDX-License-Identifier: GPL-3.0-or-later
#include "JournalWriter.h"

#include "fourbeat/store/journal.h"

#include <chrono>
#include <utility>

namespace fourbeat::ui {

namespace {
/// How long a change may wait for the one before it to be written. Writing takes a few
/// milliseconds; only a machine at a standstill comes near this.
constexpr std::chrono::milliseconds longestWait{250};
/// How long no change must have come before the journal is flushed to the disk.
constexpr std::chrono::milliseconds restBeforeFlush{500};
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
  cleared_ = true;
  if (const Status removed = store::remove_journal(projectPath_); !removed) {
    lock.unlock();
    trouble_(removed.error());
  }
}

void JournalWriter::run() {
  std::shared_ptr<const model::Project> unflushed;
  std::unique_lock lock(mutex_);
  const auto woken = [this] { return pending_ || stop_ || cleared_; };
  while (true) {
    if (unflushed) {
      changed_.wait_for(lock, restBeforeFlush, woken);
    } else {
      changed_.wait(lock, woken);
    }
    if (std::exchange(cleared_, false)) unflushed.reset();
    if (!pending_ && stop_ && !unflushed) return;
    const bool flushing = !pending_;
    if (flushing && !unflushed) continue;
    const std::shared_ptr<const model::Project> state =
        flushing ? std::exchange(unflushed, nullptr) : std::exchange(pending_, nullptr);
    writing_ = true;
    lock.unlock();
    const Status written = store::write_journal(projectPath_, *state,
                                                flushing ? Outlives::machine : Outlives::process);
    const bool tell = !written && !failing_;
    failing_ = !written;
    if (tell) trouble_(written.error());
    if (written && !flushing) unflushed = state;
    lock.lock();
    writing_ = false;
    changed_.notify_all();
  }
}

}  // namespace fourbeat::ui
