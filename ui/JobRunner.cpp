// SPDX-License-Identifier: GPL-3.0-or-later
#include "JobRunner.h"

#include <QMetaObject>
#include <QThread>
#if defined(__GLIBC__)
#include <malloc.h>
#endif

namespace fourbeat::ui {

namespace {
/// Progress is told at most this often.
constexpr qint64 progressEveryMs = 50;

/// Gives back what jobs have freed: the C library keeps it, some 65 MB of a check of a whole set.
void returnFreedMemory() {
#if defined(__GLIBC__)
  malloc_trim(0);
#endif
}
}  // namespace

/// One running job; shared with its thread.
struct JobRunner::Job : public JobControl {
  JobRunner* runner = nullptr;
  Ticket ticket = 0;
  QString title;
  QString lane;
  bool quiet = false;
  QPointer<QObject> context;
  std::function<void()> done;
  std::atomic<bool> cancelRequested{false};
  QElapsedTimer sinceTold;

  [[nodiscard]] bool cancelled() const override { return cancelRequested.load(); }
  void progress(double fraction, std::string_view stage) override {
    if (sinceTold.isValid() && sinceTold.elapsed() < progressEveryMs) return;
    sinceTold.start();
    const QString text = QString::fromUtf8(stage.data(), static_cast<qsizetype>(stage.size()));
    QMetaObject::invokeMethod(
        runner,
        [owner = runner, number = ticket, fraction, text] {
          const auto job = owner->jobs_.value(number);
          if (job && !job->quiet) Q_EMIT owner->progressed(number, fraction, text);
        },
        Qt::QueuedConnection);
  }
};

JobRunner::JobRunner(QObject* parent) : QObject(parent) {
  pool_.setMaxThreadCount(std::max(2, QThread::idealThreadCount()));
  pool_.setThreadPriority(QThread::LowPriority);
  // One that was superseded may still be on its way out.
  heardPool_.setMaxThreadCount(2);
}

JobRunner::~JobRunner() {
  for (const auto& job : std::as_const(jobs_))
    job->cancelRequested = true;
  pool_.waitForDone();
  heardPool_.waitForDone();
}

JobRunner::Ticket JobRunner::start(const QString& title, QObject* context,
                                   std::function<void(JobControl&)> work,
                                   std::function<void()> done, const QString& lane, JobKind kind) {
  cancelLane(lane);
  auto job = std::make_shared<Job>();
  job->runner = this;
  job->ticket = next_++;
  job->title = title;
  job->lane = lane;
  job->quiet = kind == JobKind::quiet || kind == JobKind::heardQuiet;
  job->context = context;
  job->done = std::move(done);
  jobs_.insert(job->ticket, job);
  if (!job->quiet) Q_EMIT started(job->ticket, title);
  const bool heard = kind == JobKind::heard || kind == JobKind::heardQuiet;
  (heard ? heardPool_ : pool_).start([this, job, work = std::move(work)] {
    work(*job);
    if (pool_.activeThreadCount() + heardPool_.activeThreadCount() <= 1) returnFreedMemory();
    QMetaObject::invokeMethod(
        this, [this, ticket = job->ticket] { finish(ticket); }, Qt::QueuedConnection);
  });
  return job->ticket;
}

void JobRunner::finish(Ticket ticket) {
  const std::shared_ptr<Job> job = jobs_.take(ticket);
  if (!job) return;
  if (!job->quiet) Q_EMIT finished(ticket);
  const bool superseded = job->cancelRequested && !job->lane.isEmpty();
  if (job->context && !superseded) job->done();
}

void JobRunner::cancel(Ticket ticket) {
  if (const auto job = jobs_.value(ticket)) {
    job->cancelRequested = true;
    job->lane.clear();  // a job cancelled by hand still answers, with "cancelled"
  }
}

void JobRunner::cancelLane(const QString& lane) {
  if (lane.isEmpty()) return;
  for (const auto& job : std::as_const(jobs_)) {
    if (job->lane == lane) job->cancelRequested = true;
  }
}

bool JobRunner::isBusy() const {
  return std::any_of(jobs_.begin(), jobs_.end(), [](const auto& job) { return !job->quiet; });
}

}  // namespace fourbeat::ui
