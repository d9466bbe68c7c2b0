// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/peak_pyramid.h"
#include "fourbeat/base/frame.h"

#include <QCache>
#include <QObject>
#include <QThreadPool>
#include <filesystem>
#include <memory>
#include <optional>
#include <vector>

namespace fourbeat::ui {

/// What lies between a take's peaks (blocks of hundreds of frames) and its samples: pages of the
/// take, read in a thread of their own when a view asks, kept while there is room. Lives in the
/// window's thread, where nothing here ever reads a file.
class SamplePages : public QObject {
  Q_OBJECT
 public:
  static constexpr qint64 pageFrames = 1 << 16;
  static constexpr qint64 fineFrames = 16;

  enum class Depth {
    fine,    ///< least, largest and RMS of every fineFrames frames
    samples  ///< the samples themselves
  };

  /// Least and largest sample and mean square of a stretch.
  struct Block {
    float min = 0.0F;
    float max = 0.0F;
    float meanSquare = 0.0F;
  };

  /// One page of all channels.
  struct Page {
    qint64 startFrame = 0;
    qint64 frames = 0;
    std::vector<std::vector<Block>> fine;     ///< by channel; Depth::fine
    std::vector<std::vector<float>> samples;  ///< by channel; Depth::samples
  };

  SamplePages(std::filesystem::path file, FrameCount frames, int channels);
  /// Waits for the page being read.
  ~SamplePages() override;

  /// Null until it has been read.
  [[nodiscard]] std::shared_ptr<const Page> page(qint64 index, Depth depth) const;

  /// True when the pages of so many frames can be kept at once.
  [[nodiscard]] bool hasRoom(double frames, Depth depth) const;

  /// Asks for the pages of a stretch, the middle first, in the place of all that was asked before
  /// and has not been read yet. pageRead() tells of each.
  void want(FrameRange range, Depth depth);
  /// True while a wish is not fulfilled.
  [[nodiscard]] bool isReading() const;
  /// True once the file could not be read; nothing is read until reopen().
  [[nodiscard]] bool isBroken() const { return broken_; }
  /// Starts afresh with the file at another place, or at the same one.
  void reopen(std::filesystem::path file);

  /// `count` columns of one channel (from 0) from frame `start` on, framesPerColumn (at least 1)
  /// each, as PeakPyramid::columns() gives them but at this depth; nothing when a page is missing.
  [[nodiscard]] std::optional<std::vector<audio::Peak>> columns(int channel, double start,
                                                                double framesPerColumn, int count,
                                                                Depth depth) const;
  /// The samples of a stretch inside the take; nothing when a page is missing.
  [[nodiscard]] std::optional<std::vector<float>> samples(int channel, FrameRange range) const;

  /// Pages read since the object was made; for tests.
  [[nodiscard]] qint64 pagesRead() const { return pagesRead_; }

 Q_SIGNALS:
  void pageRead(FrameRange range);

 private:
  struct Work;
  void keep(const std::shared_ptr<const Page>& page, Depth depth);

  qint64 frames_ = 0;
  int channels_ = 0;
  mutable QCache<qint64, std::shared_ptr<const Page>> fine_;
  mutable QCache<qint64, std::shared_ptr<const Page>> samples_;
  std::shared_ptr<Work> work_;
  bool broken_ = false;
  qint64 pagesRead_ = 0;
  QThreadPool pool_;
};

}  // namespace fourbeat::ui
