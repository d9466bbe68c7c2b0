// SPDX-License-Identifier: GPL-3.0-or-later
#include "Spectra.h"

#include "fourbeat/dsp/fft.h"

#include <QMetaObject>
#include <QMutex>
#include <QThread>
#include <algorithm>
#include <atomic>
#include <bit>
#include <cmath>
#include <complex>
#include <deque>
#include <numeric>
#include <optional>

namespace fourbeat::ui {

namespace {

constexpr double windowSeconds = 0.043;
constexpr double shortWindowSeconds = 0.011;
constexpr double shortBelowSeconds = 0.002;
constexpr int mostWindows = 4;
constexpr int roomKilobytes = 96 * 1024;

std::size_t windowSize(double rateHz, double framesPerColumn) {
  const bool narrow = framesPerColumn < shortBelowSeconds * rateHz;
  const double due = (narrow ? shortWindowSeconds : windowSeconds) * rateHz;
  return std::max<std::size_t>(64, std::bit_floor(static_cast<std::size_t>(due * 1.42)));
}

/// Which bins a row shows: all those inside it, or the place between two.
struct RowBins {
  std::size_t first = 0;
  std::size_t end = 0;  ///< first == end: between `first` and the next
  float place = 0.0F;
};

std::vector<RowBins> rowBins(const FrequencyAxis& axis, std::size_t size) {
  const std::size_t last = size / 2;
  const double bins_per_hz = static_cast<double>(size) / axis.rateHz;
  std::vector<RowBins> rows;
  for (int row = 0; row < SpectrumTile::rows; ++row) {
    const double low = axis.hzAt(static_cast<double>(row) / SpectrumTile::rows) * bins_per_hz;
    const double high = axis.hzAt((row + 1.0) / SpectrumTile::rows) * bins_per_hz;
    RowBins bins;
    bins.first = std::min(last, static_cast<std::size_t>(std::ceil(low)));
    bins.end = std::min(last + 1, static_cast<std::size_t>(std::ceil(high)));
    if (bins.end <= bins.first) {
      const double middle = 0.5 * (low + high);
      bins.first = std::min(last - 1, static_cast<std::size_t>(middle));
      bins.end = bins.first;
      bins.place =
          static_cast<float>(std::clamp(middle - static_cast<double>(bins.first), 0.0, 1.0));
    }
    rows.push_back(bins);
  }
  return rows;
}

}  // namespace

double FrequencyAxis::lowestHz() const {
  return linear ? 0.0 : 40.0;
}

double FrequencyAxis::highestHz() const {
  return std::min(linear ? 12'000.0 : 16'000.0, 0.5 * rateHz);
}

double FrequencyAxis::hzAt(double place) const {
  if (linear) return place * highestHz();
  return lowestHz() * std::pow(highestHz() / lowestHz(), place);
}

double FrequencyAxis::placeOf(double hz) const {
  if (linear) return hz / highestHz();
  return std::log(hz / lowestHz()) / std::log(highestHz() / lowestHz());
}

std::vector<double> FrequencyAxis::roundHz() const {
  std::vector<double> round;
  if (linear) {
    for (double hz = 0.0; hz <= highestHz(); hz += 1000.0)
      round.push_back(hz);
    return round;
  }
  for (const double hz : {50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0, 10'000.0}) {
    if (hz <= highestHz()) round.push_back(hz);
  }
  return round;
}

size_t qHash(const SpectrumKey& key, size_t seed) {
  return qHashMulti(seed, key.index, key.framesPerColumn, key.linear);
}

Result<std::shared_ptr<const SpectrumTile>> computeSpectrum(
    audio::SoundFileReader& take, const SpectrumKey& key, const std::function<bool()>& cancelled) {
  using Answer = std::shared_ptr<const SpectrumTile>;
  const audio::SoundFileInfo info = take.info();
  const double rate = info.sample_rate_hz;
  const std::size_t size = windowSize(rate, key.framesPerColumn);
  const auto length = static_cast<qint64>(size);
  const dsp::RealFft fft(size);
  const std::vector<float> window = dsp::hann_window(size);
  const double sum = std::accumulate(window.begin(), window.end(), 0.0);
  const auto unit = static_cast<float>(4.0 / (sum * sum));  // a full-scale sine has power 1
  const std::vector<RowBins> rows = rowBins(FrequencyAxis{key.linear, rate}, size);
  const int windows = std::clamp(
      static_cast<int>(std::ceil(key.framesPerColumn / static_cast<double>(size))), 1, mostWindows);
  auto tile = std::make_shared<SpectrumTile>();
  tile->levels.assign(
      static_cast<std::size_t>(info.channels),
      std::vector<quint8>(static_cast<std::size_t>(SpectrumTile::columns) * SpectrumTile::rows));
  std::vector<float> windowed(size);
  std::vector<std::complex<float>> bins(size / 2 + 1);
  std::vector<std::vector<float>> power(static_cast<std::size_t>(info.channels),
                                        std::vector<float>(size / 2 + 1));

  // What was read last, for columns that overlap: one read serves many.
  audio::Pcm read;
  qint64 read_start = 0;
  const auto have = [&](qint64 start, qint64 end) {
    return !read.channels.empty() && start >= read_start &&
           end <= read_start + read.frames().value();
  };
  for (int column = 0; column < SpectrumTile::columns; ++column) {
    const double left =
        (static_cast<double>(key.index) * SpectrumTile::columns + column) * key.framesPerColumn;
    if (left >= static_cast<double>(info.frames.value())) break;
    if (cancelled()) return Answer();
    for (std::vector<float>& channel : power)
      std::fill(channel.begin(), channel.end(), 0.0F);
    for (int w = 0; w < windows; ++w) {
      const double middle = left + key.framesPerColumn * (w + 0.5) / windows;
      const qint64 start = std::llround(middle) - length / 2;
      const qint64 from = std::clamp<qint64>(start, 0, info.frames.value());
      const qint64 to = std::clamp<qint64>(start + length, 0, info.frames.value());
      if (from >= to) continue;
      if (!have(from, to)) {
        // As far ahead as windows follow each other without gaps; one window where they do not.
        const bool gapless = key.framesPerColumn / windows <= static_cast<double>(length);
        const qint64 ahead =
            gapless ? std::min<qint64>(static_cast<qint64>(32.0 * key.framesPerColumn), 1 << 18)
                    : 0;
        auto more = take.read(frame_range(from, std::min<qint64>(info.frames.value(), to + ahead)));
        if (!more) return more.error();
        read = std::move(*more);
        read_start = from;
      }
      for (std::size_t c = 0; c < power.size(); ++c) {
        const std::vector<float>& samples = read.channels[c];
        for (std::size_t i = 0; i < size; ++i) {
          const qint64 at = start + static_cast<qint64>(i);
          windowed[i] = at < from || at >= to
                            ? 0.0F
                            : samples[static_cast<std::size_t>(at - read_start)] * window[i];
        }
        fft.forward(windowed, bins);
        for (std::size_t b = 0; b < bins.size(); ++b)
          power[c][b] += std::norm(bins[b]);
      }
    }
    for (std::size_t c = 0; c < power.size(); ++c) {
      const float scale = unit / static_cast<float>(windows);
      for (int row = 0; row < SpectrumTile::rows; ++row) {
        const RowBins& r = rows[static_cast<std::size_t>(row)];
        float level = 0.0F;
        if (r.first == r.end) {
          level = power[c][r.first] + (power[c][r.first + 1] - power[c][r.first]) * r.place;
        } else {
          level = *std::max_element(power[c].begin() + static_cast<std::ptrdiff_t>(r.first),
                                    power[c].begin() + static_cast<std::ptrdiff_t>(r.end));
        }
        const double db = 10.0 * std::log10(std::max(level * scale, 1e-20F));
        tile->levels[c][static_cast<std::size_t>(row) * SpectrumTile::columns +
                        static_cast<std::size_t>(column)] =
            static_cast<quint8>(
                std::clamp((db - SpectrumTile::quietDb) / SpectrumTile::stepDb, 0.0, 255.0));
      }
    }
  }
  return Answer(std::move(tile));
}

/// What the window's thread and the computing threads share.
struct Spectra::Work {
  struct Task {
    SpectrumKey key;
    std::atomic<bool> unwanted{false};
  };
  QMutex mutex;
  std::filesystem::path file;
  std::deque<SpectrumKey> wishes;
  std::vector<std::shared_ptr<Task>> running;  ///< until told of
  int threads = 0;
};

Spectra::Spectra(std::filesystem::path file, FrameCount frames, int channels)
    : frames_(frames.value()),
      channels_(channels),
      tiles_(roomKilobytes),
      work_(std::make_shared<Work>()) {
  work_->file = std::move(file);
  pool_.setMaxThreadCount(std::clamp(QThread::idealThreadCount() - 1, 1, 3));
  pool_.setThreadPriority(QThread::LowPriority);
}

Spectra::~Spectra() {
  want({});
  pool_.waitForDone();
}

std::shared_ptr<const SpectrumTile> Spectra::tile(const SpectrumKey& key) const {
  const auto* kept = tiles_.object(key);
  return kept != nullptr ? *kept : nullptr;
}

void Spectra::reopen(std::filesystem::path file) {
  broken_ = false;
  tiles_.clear();
  want({});
  const QMutexLocker lock(&work_->mutex);
  work_->file = std::move(file);
}

void Spectra::want(const std::vector<SpectrumKey>& keys) {
  int start = 0;
  {
    const QMutexLocker lock(&work_->mutex);
    work_->wishes.clear();
    for (const auto& task : work_->running) {
      if (std::find(keys.begin(), keys.end(), task->key) == keys.end()) task->unwanted = true;
    }
    if (broken_) return;
    for (const SpectrumKey& key : keys) {
      const bool under_way =
          std::any_of(work_->running.begin(), work_->running.end(),
                      [&](const auto& task) { return task->key == key && !task->unwanted; });
      if (!under_way && !tiles_.contains(key)) work_->wishes.push_back(key);
    }
    start =
        std::min(static_cast<int>(work_->wishes.size()), pool_.maxThreadCount() - work_->threads);
    work_->threads += std::max(0, start);
  }
  for (int i = 0; i < start; ++i)
    pool_.start([this] { run(); });
}

void Spectra::run() {
  const std::shared_ptr<Work> work = work_;
  std::optional<audio::SoundFileReader> reader;
  for (;;) {
    auto task = std::make_shared<Work::Task>();
    {
      const QMutexLocker lock(&work->mutex);
      if (work->wishes.empty()) {
        --work->threads;
        return;
      }
      task->key = work->wishes.front();
      work->wishes.pop_front();
      work->running.push_back(task);
      if (!reader) {
        if (auto opened = audio::SoundFileReader::open(work->file)) reader = std::move(*opened);
      }
    }
    std::shared_ptr<const SpectrumTile> made;
    bool good = false;
    if (reader) {
      if (auto answer =
              computeSpectrum(*reader, task->key, [&] { return task->unwanted.load(); })) {
        good = true;
        made = std::move(*answer);
      }
    }
    // The object waits for this thread before it goes, and its queued calls go with it.
    QMetaObject::invokeMethod(
        this,
        [this, task, made, good] {
          {
            const QMutexLocker lock(&work_->mutex);
            std::erase(work_->running, task);
            if (!good) work_->wishes.clear();
          }
          if (!good) {
            broken_ = true;
          } else if (!made) {
            ++cancelled_;
          } else {
            ++done_;
            const int kilobytes = SpectrumTile::columns * SpectrumTile::rows / 1024 * channels_ + 1;
            tiles_.insert(task->key, new std::shared_ptr<const SpectrumTile>(made), kilobytes);
            Q_EMIT tileDone(task->key);
          }
        },
        Qt::QueuedConnection);
  }
}

}  // namespace fourbeat::ui
