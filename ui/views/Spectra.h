// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/frame.h"

#include <QCache>
#include <QObject>
#include <QThreadPool>
#include <filesystem>
#include <functional>
#include <memory>
#include <vector>

namespace fourbeat::ui {

/// How frequencies are laid out from the bottom (0) to the top (1) of a lane.
struct FrequencyAxis {
  bool linear = false;  ///< 0 to 12 kHz; else logarithmic, 40 Hz to 16 kHz
  double rateHz = 48000.0;

  [[nodiscard]] double lowestHz() const;
  [[nodiscard]] double highestHz() const;  ///< at most half the rate
  [[nodiscard]] double hzAt(double place) const;
  [[nodiscard]] double placeOf(double hz) const;
  /// Round frequencies to be labelled, from the bottom.
  [[nodiscard]] std::vector<double> roundHz() const;
};

/// Which stretch of a spectrogram: `columns` columns of framesPerColumn frames from column
/// index × columns on.
struct SpectrumKey {
  qint64 index = 0;
  double framesPerColumn = 1.0;
  bool linear = false;
  bool operator==(const SpectrumKey&) const = default;
};
size_t qHash(const SpectrumKey& key, size_t seed = 0);

/// Levels of one stretch, all channels.
struct SpectrumTile {
  static constexpr int columns = 256;
  static constexpr int rows = 384;  ///< evenly over the frequency axis, the lowest first
  static constexpr double quietDb = -130.0;
  static constexpr double stepDb = 0.5;
  /// By channel, row by row; value × stepDb + quietDb is the level, where a sine of full scale has
  /// 0 dB.
  std::vector<std::vector<quint8>> levels;
};

/// Computes one stretch: Hann windows of about 43 ms (11 ms where a column is under 2 ms), one in
/// the middle of each column; up to four, averaged, in a column longer than a window, so that an
/// hour costs no more than a minute. Null when cancelled() says so. Any thread.
/// Errors: as SoundFileReader::read.
[[nodiscard]] Result<std::shared_ptr<const SpectrumTile>> computeSpectrum(
    audio::SoundFileReader& take, const SpectrumKey& key, const std::function<bool()>& cancelled);

/// The spectrogram of a take by stretches, computed in threads of their own when a view asks, kept
/// while there is room. Lives in the window's thread.
class Spectra : public QObject {
  Q_OBJECT
 public:
  Spectra(std::filesystem::path file, FrameCount frames, int channels);
  /// Cancels what is being computed and waits for it.
  ~Spectra() override;

  /// Null until it has been computed.
  [[nodiscard]] std::shared_ptr<const SpectrumTile> tile(const SpectrumKey& key) const;
  /// Asks for stretches, the first first, in the place of all that was asked before: what is no
  /// longer wanted is cancelled. tileDone() tells of each.
  void want(const std::vector<SpectrumKey>& keys);
  /// True once the file could not be read; nothing is computed until reopen().
  [[nodiscard]] bool isBroken() const { return broken_; }
  /// Starts afresh with the file at another place, or at the same one.
  void reopen(std::filesystem::path file);

  /// Stretches computed, and given up half-way; for tests.
  [[nodiscard]] int tilesDone() const { return done_; }
  [[nodiscard]] int tilesCancelled() const { return cancelled_; }

 Q_SIGNALS:
  void tileDone(const SpectrumKey& key);

 private:
  struct Work;
  void run();

  qint64 frames_ = 0;
  int channels_ = 0;
  mutable QCache<SpectrumKey, std::shared_ptr<const SpectrumTile>> tiles_;
  std::shared_ptr<Work> work_;
  bool broken_ = false;
  int done_ = 0;
  int cancelled_ = 0;
  QThreadPool pool_;
};

}  // namespace fourbeat::ui
