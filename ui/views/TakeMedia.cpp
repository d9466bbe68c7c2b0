// SPDX-License-Identifier: GPL-3.0-or-later
#include "TakeMedia.h"

#include "Document.h"
#include "JobRunner.h"
#include "Wording.h"

#include "fourbeat/store/takes.h"

#include <QStandardPaths>

namespace fourbeat::ui {

TakeMedia::TakeMedia(std::filesystem::path path, audio::SoundFileInfo info, QString hash)
    : path_(std::move(path)), info_(std::move(info)), hash_(std::move(hash)) {}

MediaLibrary::MediaLibrary(Document& document, JobRunner& jobs)
    : document_(document), jobs_(jobs) {}

std::shared_ptr<TakeMedia> MediaLibrary::of(Id<model::Take> id) {
  const model::Take* take = model::find(document_.project(), id);
  if (take == nullptr) return nullptr;
  const QString key = text(take->path) + QLatin1Char('\n') + text(take->sha256);
  if (const auto known = media_.value(key)) return known;
  audio::SoundFileInfo info;
  info.sample_rate_hz = take->sample_rate_hz;
  info.channels = take->channels;
  info.frames = take->frames;
  info.format = take->format;
  // A take outside the project's folder is one the designer added: it is shown as any other.
  const Result<std::filesystem::path> path = store::take_path(document_.folder(), *take, true);
  auto media =
      std::make_shared<TakeMedia>(path ? *path : std::filesystem::path(), info, text(take->sha256));
  media_.insert(key, media);
  using Answer = std::shared_ptr<const audio::PeakPyramid>;
  struct Told {
    std::weak_ptr<TakeMedia> media;
  };
  jobs_.run<Answer>(
      tr("Drawing %1").arg(text(take->path)), this,
      [file = media->path(), sha = take->sha256](JobControl& job) -> Result<Answer> {
        const std::filesystem::path cache = cacheFolder() / "peaks" / sha;
        std::error_code ignored;
        std::filesystem::create_directories(cache.parent_path(), ignored);
        Result<audio::PeakPyramid> peaks = audio::PeakPyramid::load_or_build(file, sha, cache, job);
        if (!peaks) return peaks.error();
        return std::make_shared<const audio::PeakPyramid>(std::move(*peaks));
      },
      [told = Told{media}](Result<Answer> answer) {
        const auto shown = told.media.lock();
        if (!shown) return;
        if (answer) {
          shown->peaks_ = std::move(*answer);
          shown->trouble_.clear();
        } else {
          shown->trouble_ = errorLine(answer.error());
        }
        Q_EMIT shown->updated();
      });
  return media;
}

void MediaLibrary::refresh() {
  media_.removeIf([](const auto& entry) { return !entry.value()->trouble().isEmpty(); });
}

std::filesystem::path cacheFolder() {
  return textPath(QStandardPaths::writableLocation(QStandardPaths::GenericCacheLocation)) /
         "fourbeat";
}

}  // namespace fourbeat::ui
