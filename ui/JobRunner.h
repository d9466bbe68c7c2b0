// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"

#include <QElapsedTimer>
#include <QHash>
#include <QObject>
#include <QPointer>
#include <QString>
#include <QThreadPool>
#include <atomic>
#include <functional>
#include <memory>
#include <optional>

namespace fourbeat::ui {

/// What a job is to the one who waits. shown: in the window, with its progress; quiet: not shown
/// (live checks); heard: shown, and what it makes is played at once, so it does not wait behind the
/// others; heardQuiet: both.
enum class JobKind { shown, quiet, heard, heardQuiet };

/// Runs everything that may take over 50 ms off the window's thread, with progress and cancel.
/// All members are called in the window's thread.
class JobRunner : public QObject {
  Q_OBJECT
 public:
  using Ticket = quint64;

  explicit JobRunner(QObject* parent = nullptr);
  /// Cancels what runs and waits for it.
  ~JobRunner() override;

  /// Runs `work` in another thread and gives its result to `done` in the window's thread, unless
  /// `context` is gone or a later job took the lane. `work` must take its inputs by value (a
  /// Document::snapshot(), paths), never the document. lane: of the jobs of one non-empty lane only
  /// the newest matters; a new one cancels the one before and its answer is dropped.
  template <class T>
  Ticket run(const QString& title, QObject* context, std::function<Result<T>(JobControl&)> work,
             std::function<void(Result<T>)> done, const QString& lane = {},
             JobKind kind = JobKind::shown) {
    auto answer = std::make_shared<std::optional<Result<T>>>();
    return start(
        title, context,
        [work = std::move(work), answer](JobControl& job) { answer->emplace(work(job)); },
        [done = std::move(done), answer] { done(std::move(**answer)); }, lane, kind);
  }

  void cancel(Ticket ticket);
  void cancelLane(const QString& lane);
  /// True while any shown job runs.
  [[nodiscard]] bool isBusy() const;
  /// True while any job at all runs.
  [[nodiscard]] bool hasJobs() const { return !jobs_.isEmpty(); }

 Q_SIGNALS:
  void started(quint64 ticket, const QString& title);
  /// fraction: 0 to 1 of the stage.
  void progressed(quint64 ticket, double fraction, const QString& stage);
  void finished(quint64 ticket);

 private:
  struct Job;
  Ticket start(const QString& title, QObject* context, std::function<void(JobControl&)> work,
               std::function<void()> done, const QString& lane, JobKind kind);
  void finish(Ticket ticket);

  QThreadPool pool_;
  QThreadPool heardPool_;  ///< of what is to be heard
  QHash<Ticket, std::shared_ptr<Job>> jobs_;
  Ticket next_ = 1;
};

}  // namespace fourbeat::ui
