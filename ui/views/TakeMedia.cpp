// SPDX-License-Identifier: GPL-3.0-or-later
#include "TakeMedia.h"

#include "Document.h"
#include "JobRunner.h"
#include "SamplePages.h"
#include "Spectra.h"
#include "Wording.h"

#include "fourbeat/store/takes.h"

#include <QMetaObject>
#include <QStandardPaths>

namespace fourbeat::ui {

namespace {

QString keyOf(const model::Take& take) {
  return text(take.path) + QLatin1Char('\n') + text(take.sha256);
}

/// A take outside the project's folder is one the designer added: it is shown as any other.
std::filesystem::path pathOf(const Document& document, const model::Take& take) {
  const Result<std::filesystem::path> path = store::take_path(document.folder(), take, true);
  return path ? *path : std::filesystem::path();
}

/// Passes progress on to the object in the window's thread, and lives no longer than the job.
class Told : public JobControl {
 public:
  Told(JobControl& job, std::function<void(double)> tell) : job_(job), tell_(std::move(tell)) {}
  [[nodiscard]] bool cancelled() const override { return job_.cancelled(); }
  void progress(double fraction, std::string_view stage) override {
    job_.progress(fraction, stage);
    if (fraction - told_ < 0.01) return;
    told_ = fraction;
    tell_(fraction);
  }

 private:
  JobControl& job_;
  std::function<void(double)> tell_;
  double told_ = 0.0;
};

}  // namespace

TakeMedia::TakeMedia(std::filesystem::path path, audio::SoundFileInfo info, QString hash)
    : path_(std::move(path)), info_(std::move(info)), hash_(std::move(hash)) {}

TakeMedia::~TakeMedia() = default;

SamplePages& TakeMedia::samples() {
  if (!samples_) samples_ = std::make_unique<SamplePages>(path_, info_.frames, info_.channels);
  return *samples_;
}

Spectra& TakeMedia::spectra() {
  if (!spectra_) spectra_ = std::make_unique<Spectra>(path_, info_.frames, info_.channels);
  return *spectra_;
}

void TakeMedia::load(JobRunner& jobs) {
  if (loading_) return;
  loading_ = true;
  progress_ = 0.0;
  using Answer = std::shared_ptr<const audio::PeakPyramid>;
  // The runner waits for its jobs; the media may be gone before.
  const std::weak_ptr<TakeMedia> self = weak_from_this();
  const auto tell = [self, runner = &jobs](double fraction) {
    QMetaObject::invokeMethod(
        runner,
        [self, fraction] {
          const auto media = self.lock();
          if (!media || !media->loading_) return;
          media->progress_ = fraction;
          Q_EMIT media->updated();
        },
        Qt::QueuedConnection);
  };
  jobs.run<Answer>(
      tr("Drawing %1").arg(pathText(path_.filename())), &jobs,
      [file = path_, sha = utf8(hash_), tell](JobControl& job) -> Result<Answer> {
        const std::filesystem::path cache = cacheFolder() / "peaks" / sha;
        std::error_code ignored;
        std::filesystem::create_directories(cache.parent_path(), ignored);
        Told told(job, tell);
        Result<audio::PeakPyramid> peaks =
            audio::PeakPyramid::load_or_build(file, sha, cache, told);
        if (!peaks) return peaks.error();
        return std::make_shared<const audio::PeakPyramid>(std::move(*peaks));
      },
      [self](Result<Answer> answer) {
        const auto media = self.lock();
        if (!media) return;
        media->loading_ = false;
        if (answer) {
          media->peaks_ = std::move(*answer);
          media->trouble_.clear();
        } else {
          media->trouble_ = errorLine(answer.error());
        }
        Q_EMIT media->updated();
      });
}

MediaLibrary::MediaLibrary(Document& document, JobRunner& jobs)
    : document_(document), jobs_(jobs) {}

std::shared_ptr<TakeMedia> MediaLibrary::of(Id<model::Take> id) {
  const model::Take* take = model::find(document_.project(), id);
  if (take == nullptr) return nullptr;
  const QString key = keyOf(*take);
  if (auto known = media_.value(key)) return known;
  audio::SoundFileInfo info;
  info.sample_rate_hz = take->sample_rate_hz;
  info.channels = take->channels;
  info.frames = take->frames;
  info.format = take->format;
  auto media = std::make_shared<TakeMedia>(pathOf(document_, *take), info, text(take->sha256));
  media_.insert(key, media);
  media->load(jobs_);
  return media;
}

void MediaLibrary::refresh() {
  for (const model::Take& take : document_.project().takes) {
    const auto media = media_.value(keyOf(take));
    if (!media || media->trouble_.isEmpty()) continue;
    media->path_ = pathOf(document_, take);
    if (media->samples_) media->samples_->reopen(media->path_);
    if (media->spectra_) media->spectra_->reopen(media->path_);
    media->trouble_.clear();
    media->load(jobs_);
    Q_EMIT media->updated();
  }
}

std::filesystem::path cacheFolder() {
  return textPath(QStandardPaths::writableLocation(QStandardPaths::GenericCacheLocation)) /
         "fourbeat";
}

}  // namespace fourbeat::ui
