// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/peak_pyramid.h"
#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/id.h"
#include "fourbeat/model/take.h"

#include <QHash>
#include <QObject>
#include <QString>
#include <filesystem>
#include <memory>

namespace fourbeat::ui {

class Document;
class JobRunner;
class SamplePages;
class Spectra;

/// A take's sound as the views need it: its file, and its peaks once they are there. Shared by all
/// views of the take; lives in the window's thread.
class TakeMedia : public QObject, public std::enable_shared_from_this<TakeMedia> {
  Q_OBJECT
 public:
  TakeMedia(std::filesystem::path path, audio::SoundFileInfo info, QString hash);
  ~TakeMedia() override;

  [[nodiscard]] const std::filesystem::path& path() const { return path_; }
  [[nodiscard]] const audio::SoundFileInfo& info() const { return info_; }
  /// SHA-256 of the content, the key of caches.
  [[nodiscard]] const QString& hash() const { return hash_; }
  /// Null until they are built.
  [[nodiscard]] std::shared_ptr<const audio::PeakPyramid> peaks() const { return peaks_; }
  /// 0 to 1 while the peaks are being built.
  [[nodiscard]] double progress() const { return progress_; }
  /// Why there are no peaks (file missing, unreadable); empty while all is well.
  [[nodiscard]] const QString& trouble() const { return trouble_; }
  /// Pages of samples, read in the background when asked for; made on first use.
  [[nodiscard]] SamplePages& samples();
  /// The spectrogram, computed in the background when asked for; made on first use.
  [[nodiscard]] Spectra& spectra();
  /// Looks at the file, or takes it from the cache; progress, peaks and trouble are told. Nothing
  /// happens while that runs.
  void load(JobRunner& jobs);

 Q_SIGNALS:
  /// peaks(), progress() or trouble() changed.
  void updated();

 private:
  friend class MediaLibrary;
  std::filesystem::path path_;
  audio::SoundFileInfo info_;
  QString hash_;
  std::shared_ptr<const audio::PeakPyramid> peaks_;
  double progress_ = 0.0;
  QString trouble_;
  bool loading_ = false;
  std::unique_ptr<SamplePages> samples_;
  std::unique_ptr<Spectra> spectra_;
};

/// The media of the open project's takes, made when first asked for.
class MediaLibrary : public QObject {
  Q_OBJECT
 public:
  MediaLibrary(Document& document, JobRunner& jobs);

  /// Null when there is no such take. Peaks come later (TakeMedia::updated()).
  [[nodiscard]] std::shared_ptr<TakeMedia> of(Id<model::Take> take);
  /// Looks again at files that were missing or could not be read; views that show them follow.
  void refresh();

 private:
  Document& document_;
  JobRunner& jobs_;
  QHash<QString, std::shared_ptr<TakeMedia>> media_;  ///< by path and hash
};

/// Where caches (peaks, spectra) are kept: $XDG_CACHE_HOME/fourbeat or ~/.cache/fourbeat.
[[nodiscard]] std::filesystem::path cacheFolder();

}  // namespace fourbeat::ui
