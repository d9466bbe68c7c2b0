// SPDX-License-Identifier: GPL-3.0-or-later
#include "SamplePages.h"

#include "fourbeat/audio/sound_file.h"

#include <QMetaObject>
#include <QMutex>
#include <algorithm>
#include <atomic>
#include <cmath>
#include <deque>
#include <limits>

namespace fourbeat::ui {

namespace {

constexpr qint64 roomBytes = qint64{64} * 1024 * 1024;

SamplePages::Block blockOf(const float* first, const float* end) {
  SamplePages::Block block{*first, *first, 0.0F};
  double sum = 0.0;
  for (const float* sample = first; sample != end; ++sample) {
    block.min = std::min(block.min, *sample);
    block.max = std::max(block.max, *sample);
    sum += static_cast<double>(*sample) * static_cast<double>(*sample);
  }
  block.meanSquare = static_cast<float>(sum / static_cast<double>(end - first));
  return block;
}

}  // namespace

/// What the window's thread and the reading thread share.
struct SamplePages::Work {
  struct Wish {
    qint64 index = 0;
    Depth depth = Depth::fine;
    bool operator==(const Wish&) const = default;
  };
  QMutex mutex;
  std::deque<Wish> wishes;
  std::vector<Wish> taken;  ///< being read, or read and not yet told of
  bool running = false;
  std::filesystem::path file;
  bool reopen = false;
  std::atomic<bool> stop{false};
  std::optional<audio::SoundFileReader> reader;  ///< of the reading thread alone
};

SamplePages::SamplePages(std::filesystem::path file, FrameCount frames, int channels)
    : frames_(frames.value()),
      channels_(channels),
      fine_(static_cast<int>(roomBytes / 1024)),
      samples_(static_cast<int>(roomBytes / 1024)),
      work_(std::make_shared<Work>()) {
  work_->file = std::move(file);
  pool_.setMaxThreadCount(1);
  pool_.setThreadPriority(QThread::LowPriority);
}

SamplePages::~SamplePages() {
  work_->stop = true;
  pool_.waitForDone();
}

std::shared_ptr<const SamplePages::Page> SamplePages::page(qint64 index, Depth depth) const {
  const auto* kept = depth == Depth::fine ? fine_.object(index) : samples_.object(index);
  return kept != nullptr ? *kept : nullptr;
}

bool SamplePages::hasRoom(double frames, Depth depth) const {
  const double bytes_a_frame =
      depth == Depth::fine ? static_cast<double>(sizeof(Block)) / fineFrames : sizeof(float);
  return (frames + 2.0 * pageFrames) * channels_ * bytes_a_frame < 0.75 * roomBytes;
}

void SamplePages::want(FrameRange range, Depth depth) {
  if (broken_) return;
  const qint64 first = std::max<qint64>(0, range.start.value()) / pageFrames;
  const qint64 last = (std::min<qint64>(frames_, range.end.value()) - 1) / pageFrames;
  std::vector<Work::Wish> wishes;
  for (qint64 index = first; index <= last; ++index) {
    if (!page(index, depth)) wishes.push_back({index, depth});
  }
  const double middle = static_cast<double>(first + last) / 2.0;
  std::stable_sort(wishes.begin(), wishes.end(), [middle](const auto& a, const auto& b) {
    return std::fabs(static_cast<double>(a.index) - middle) <
           std::fabs(static_cast<double>(b.index) - middle);
  });
  bool start = false;
  {
    const QMutexLocker lock(&work_->mutex);
    std::erase_if(wishes, [this](const Work::Wish& wish) {
      return std::find(work_->taken.begin(), work_->taken.end(), wish) != work_->taken.end();
    });
    work_->wishes.assign(wishes.begin(), wishes.end());
    if (!wishes.empty() && !work_->running) {
      work_->running = true;
      start = true;
    }
  }
  if (!start) return;
  pool_.start([this, work = work_, frames = frames_] {
    for (;;) {
      Work::Wish wish;
      std::filesystem::path file;
      {
        const QMutexLocker lock(&work->mutex);
        if (work->wishes.empty() || work->stop) {
          work->running = false;
          return;
        }
        wish = work->wishes.front();
        work->wishes.pop_front();
        work->taken.push_back(wish);
        if (work->reopen) work->reader.reset();
        work->reopen = false;
        file = work->file;
      }
      auto page = std::make_shared<Page>();
      page->startFrame = wish.index * pageFrames;
      page->frames = std::min(pageFrames, frames - page->startFrame);
      if (!work->reader) {
        if (auto opened = audio::SoundFileReader::open(file)) work->reader = std::move(*opened);
      }
      bool good = false;
      if (work->reader) {
        if (auto pcm = work->reader->read(
                frame_range(page->startFrame, page->startFrame + page->frames))) {
          good = true;
          if (wish.depth == Depth::samples) {
            page->samples = std::move(pcm->channels);
          } else {
            for (const std::vector<float>& channel : pcm->channels) {
              std::vector<Block> blocks;
              blocks.reserve(channel.size() / fineFrames + 1);
              for (std::size_t at = 0; at < channel.size(); at += fineFrames) {
                const std::size_t end = std::min<std::size_t>(channel.size(), at + fineFrames);
                blocks.push_back(blockOf(channel.data() + at, channel.data() + end));
              }
              page->fine.push_back(std::move(blocks));
            }
          }
        }
      }
      // The object waits for this thread before it goes, and its queued calls go with it.
      QMetaObject::invokeMethod(
          this,
          [this, wish, read = good ? std::shared_ptr<const Page>(std::move(page)) : nullptr] {
            {
              const QMutexLocker lock(&work_->mutex);
              std::erase(work_->taken, wish);
              if (!read) work_->wishes.clear();
            }
            if (read) {
              keep(read, wish.depth);
            } else {
              broken_ = true;
            }
          },
          Qt::QueuedConnection);
    }
  });
}

void SamplePages::reopen(std::filesystem::path file) {
  broken_ = false;
  fine_.clear();
  samples_.clear();
  const QMutexLocker lock(&work_->mutex);
  work_->wishes.clear();
  work_->file = std::move(file);
  work_->reopen = true;
}

bool SamplePages::isReading() const {
  const QMutexLocker lock(&work_->mutex);
  return !work_->wishes.empty() || !work_->taken.empty();
}

void SamplePages::keep(const std::shared_ptr<const Page>& page, Depth depth) {
  ++pagesRead_;
  const qint64 index = page->startFrame / pageFrames;
  const qint64 bytes =
      depth == Depth::samples
          ? page->frames * channels_ * static_cast<qint64>(sizeof(float))
          : page->frames / fineFrames * channels_ * static_cast<qint64>(sizeof(Block));
  auto& kept = depth == Depth::samples ? samples_ : fine_;
  kept.insert(index, new std::shared_ptr<const Page>(page), static_cast<int>(bytes / 1024 + 1));
  Q_EMIT pageRead(frame_range(page->startFrame, page->startFrame + page->frames));
}

std::optional<std::vector<audio::Peak>> SamplePages::columns(int channel, double start,
                                                             double framesPerColumn, int count,
                                                             Depth depth) const {
  std::vector<audio::Peak> peaks(static_cast<std::size_t>(count));
  const auto c = static_cast<std::size_t>(channel);
  std::shared_ptr<const Page> now;
  qint64 now_index = -1;
  for (int i = 0; i < count; ++i) {
    // The frames whose pixel this is (TimeAxis::pixelOf), within the same slack.
    const double from_place = std::ceil(start + i * framesPerColumn - 1e-6);
    const double to_place = std::ceil(start + (i + 1) * framesPerColumn - 1e-6);
    const auto from = static_cast<qint64>(std::max(0.0, from_place));
    const auto to = static_cast<qint64>(
        std::min(static_cast<double>(frames_), std::max(from_place + 1.0, to_place)));
    if (from >= to) continue;
    audio::Peak peak{std::numeric_limits<float>::infinity(),
                     -std::numeric_limits<float>::infinity(), 0.0F};
    double square_sum = 0.0;
    qint64 counted = 0;
    for (qint64 at = from; at < to;) {
      const qint64 index = at / pageFrames;
      if (index != now_index) {
        now = page(index, depth);
        now_index = index;
        if (!now) return std::nullopt;
      }
      const qint64 page_end = now->startFrame + now->frames;
      const qint64 end = std::min(to, page_end);
      if (depth == Depth::samples) {
        const std::vector<float>& samples = now->samples[c];
        const auto first = static_cast<std::size_t>(at - now->startFrame);
        const auto last = static_cast<std::size_t>(end - now->startFrame);
        double sum = 0.0;
        for (std::size_t s = first; s < last; ++s) {
          peak.min = std::min(peak.min, samples[s]);
          peak.max = std::max(peak.max, samples[s]);
          sum += static_cast<double>(samples[s]) * static_cast<double>(samples[s]);
        }
        square_sum += sum;
        counted += end - at;
      } else {
        const std::vector<Block>& blocks = now->fine[c];
        const auto first = static_cast<std::size_t>((at - now->startFrame) / fineFrames);
        const auto last =
            static_cast<std::size_t>((end - now->startFrame + fineFrames - 1) / fineFrames);
        for (std::size_t b = first; b < last; ++b) {
          peak.min = std::min(peak.min, blocks[b].min);
          peak.max = std::max(peak.max, blocks[b].max);
          square_sum += static_cast<double>(blocks[b].meanSquare);
          ++counted;
        }
      }
      at = end;
    }
    peak.rms = static_cast<float>(
        std::sqrt(square_sum / static_cast<double>(std::max<qint64>(1, counted))));
    peaks[static_cast<std::size_t>(i)] = peak;
  }
  return peaks;
}

std::optional<std::vector<float>> SamplePages::samples(int channel, FrameRange range) const {
  std::vector<float> out;
  out.reserve(static_cast<std::size_t>(std::max<qint64>(0, range.length().value())));
  const qint64 end = std::min<qint64>(frames_, range.end.value());
  for (qint64 at = std::max<qint64>(0, range.start.value()); at < end;) {
    const auto here = page(at / pageFrames, Depth::samples);
    if (!here) return std::nullopt;
    const qint64 stop = std::min(end, here->startFrame + here->frames);
    const std::vector<float>& samples = here->samples[static_cast<std::size_t>(channel)];
    out.insert(out.end(), samples.begin() + (at - here->startFrame),
               samples.begin() + (stop - here->startFrame));
    at = stop;
  }
  return out;
}

}  // namespace fourbeat::ui
