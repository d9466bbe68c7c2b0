// SPDX-License-Identifier: GPL-3.0-or-later
// What one frame of a take's view costs in a window of 1920 by 1080 pixels, at one and at two
// device pixels a pixel: scrolling, playing, zooming. The take is an hour of eight channels whose
// peaks are synthesised (the file behind them is a hole: what is measured is painting, not
// reading). The floor in the same run is a window of the same size that shows one ready-made
// picture.
#include "JobRunner.h"
#include "Theme.h"
#include "support/temp_folder.h"
#include "views/TakeMedia.h"
#include "views/TrackView.h"

#include "fourbeat/base/random.h"
#include "fourbeat/base/sha256.h"

#include <benchmark/benchmark.h>
#include <time.h>

#include <QApplication>
#include <QElapsedTimer>
#include <QPainter>
#include <QPixmap>
#include <QProcess>
#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <memory>
#include <string>
#include <vector>

namespace {

using namespace fourbeat;
using namespace fourbeat::ui;

constexpr int channels = 8;
constexpr int rateHz = 48'000;
constexpr std::int64_t frames = 3600LL * rateHz;
constexpr int measured = 400;
constexpr double medianBudgetMs = 8.0;
constexpr double worstBudgetMs = 16.0;

void little(std::string& bytes, std::uint64_t value, int count) {
  for (int i = 0; i < count; ++i)
    bytes += static_cast<char>((value >> (8 * i)) & 0xFFU);
}

/// An RF64 (EBU Tech 3306) of an hour at 24 bits that takes no room on the disk.
void writeHole(const std::filesystem::path& path) {
  constexpr std::int64_t frameBytes = std::int64_t{channels} * 3;
  std::string head = "RF64";
  little(head, 0xFFFFFFFFU, 4);
  head += "WAVEds64";
  little(head, 28, 4);
  little(head, 80 - 8 + frames * frameBytes, 8);
  little(head, frames * frameBytes, 8);
  little(head, frames, 8);
  little(head, 0, 4);
  head += "fmt ";
  little(head, 16, 4);
  little(head, 1, 2);
  little(head, channels, 2);
  little(head, rateHz, 4);
  little(head, rateHz * frameBytes, 4);
  little(head, frameBytes, 2);
  little(head, 24, 2);
  head += "data";
  little(head, 0xFFFFFFFFU, 4);
  std::ofstream(path, std::ios::binary) << head;
  std::filesystem::resize_file(path, static_cast<std::uintmax_t>(80 + frames * frameBytes));
}

/// The peaks of an hour of chuffs and hiss in the form of the cache of audio::PeakPyramid, so that
/// no hour has to be written and read.
void writePeaks(const std::filesystem::path& path, const std::string& hash) {
  const std::int64_t block = audio::PeakPyramid::block_frames_for(FrameCount(frames), channels);
  std::string bytes = "fourbeat-peaks-1" + hash;
  little(bytes, frames, 8);
  little(bytes, channels, 8);
  little(bytes, static_cast<std::uint64_t>(block), 8);
  Random random(5);
  for (int c = 0; c < channels; ++c) {
    for (std::int64_t at = 0; at < frames; at += block) {
      const double seconds = static_cast<double>(at) / rateHz;
      const double beat = seconds * 4.0 - std::floor(seconds * 4.0);
      const double level = (0.05 + 0.7 * std::exp(-6.0 * beat)) * random.uniform(0.5, 1.0);
      little(bytes, std::bit_cast<std::uint32_t>(static_cast<float>(-level)), 4);
      little(bytes, std::bit_cast<std::uint32_t>(static_cast<float>(level * 0.9)), 4);
      little(bytes, std::bit_cast<std::uint32_t>(static_cast<float>(level * level / 9.0)), 4);
    }
  }
  bytes += sha256_hex(bytes);
  std::filesystem::create_directories(path.parent_path());
  std::ofstream(path, std::ios::binary) << bytes;
}

std::shared_ptr<TakeMedia> synthesisedHour() {
  static const tests::TempFolder folder;
  static JobRunner jobs;
  static const std::shared_ptr<TakeMedia> media = [] {
    const std::string hash = sha256_hex("an hour of eight channels");
    const std::filesystem::path file = folder / "hour.wav";
    writeHole(file);
    writePeaks(cacheFolder() / "peaks" / hash, hash);
    audio::SoundFileInfo info;
    info.sample_rate_hz = rateHz;
    info.channels = channels;
    info.frames = FrameCount(frames);
    auto made = std::make_shared<TakeMedia>(file, info, QString::fromStdString(hash));
    made->load(jobs);
    QElapsedTimer waiting;
    waiting.start();
    while (!made->peaks() && made->trouble().isEmpty() && waiting.elapsed() < 60'000)
      QApplication::processEvents(QEventLoop::WaitForMoreEvents, 10);
    return made;
  }();
  return media;
}

/// True where the peaks are those that were synthesised, and not the silence of the file.
bool isGood(const TakeMedia& media) {
  if (!media.peaks()) return false;
  const auto column = media.peaks()->columns(1, FrameIndex(0), rateHz, 1);
  return column && column->front().max > 0.1F;
}

std::unique_ptr<TrackView> hourView() {
  auto view = std::make_unique<TrackView>();
  view->resize(1920, 1080);
  view->setTake(synthesisedHour());
  std::vector<TrackSpan> spans;
  for (std::int64_t i = 0; i < std::int64_t{3600} * 4; ++i) {
    TrackSpan span;
    span.kind = TrackSpan::Kind::beat;
    span.range = frame_range(i * rateHz / 4, i * rateHz / 4);
    span.label = QString::number(i % 4 + 1);
    span.id = i + 1;
    spans.push_back(span);
  }
  for (std::int64_t i = 0; i < 60; ++i) {
    TrackSpan span;
    span.kind = i % 3 == 0 ? TrackSpan::Kind::segment : TrackSpan::Kind::mark;
    span.range = frame_range(i * 60 * rateHz, (i * 60 + 25) * rateHz);
    span.label = QStringLiteral("Stretch %1").arg(i);
    span.id = 100'000 + i;
    spans.push_back(span);
  }
  view->setSpans(std::move(spans));
  view->show();
  QApplication::processEvents();
  return view;
}

/// Counts the paint events of a widget.
class PaintCount : public QObject {
 public:
  explicit PaintCount(QWidget& widget) { widget.installEventFilter(this); }
  bool eventFilter(QObject*, QEvent* event) override {
    if (event->type() == QEvent::Paint) ++count;
    return false;
  }
  int count = 0;
};

/// Seconds that this thread has computed: what other programs take meanwhile is not in it.
double ownSeconds() {
  struct timespec now {};
  ::clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

/// Paints `measured` frames, each after a change, and tells the median and the 99th percentile
/// beside the budgets; `own_` is the time of the window's thread alone, which says more where the
/// machine has other work.
template <class Change>
void measure(benchmark::State& state, QWidget& widget, const Change& change, bool budgeted) {
  PaintCount paints(widget);
  std::vector<double> times;
  std::vector<double> own;
  for (auto _ : state) {
    paints.count = 0;
    const double ownBefore = ownSeconds();
    QElapsedTimer timer;
    timer.start();
    change(static_cast<int>(times.size()));
    // All that is due: layout, painting and handing the picture over.
    while (paints.count == 0 && timer.elapsed() < 1000)
      QApplication::processEvents();
    const double seconds = static_cast<double>(timer.nsecsElapsed()) * 1e-9;
    state.SetIterationTime(seconds);
    times.push_back(seconds * 1e3);
    own.push_back((ownSeconds() - ownBefore) * 1e3);
  }
  std::sort(times.begin(), times.end());
  const double median = times[times.size() / 2];
  const double worst = times[times.size() * 99 / 100];
  state.counters["median_ms"] = median;
  state.counters["p99_ms"] = worst;
  std::sort(own.begin(), own.end());
  state.counters["own_median_ms"] = own[own.size() / 2];
  state.counters["own_p99_ms"] = own[own.size() * 99 / 100];
  if (budgeted) {
    const bool held = median < medianBudgetMs && worst < worstBudgetMs;
    state.SetLabel(held ? "within 8 ms median, 16 ms 99th" : "OVER 8 ms median, 16 ms 99th");
  }
}

void scroll(benchmark::State& state, double framesPerPixel, int step) {
  auto view = hourView();
  if (!isGood(*synthesisedHour())) {
    state.SkipWithError("the synthesised peaks were not taken");
    return;
  }
  view->setZoom(framesPerPixel, FrameIndex(frames / 3));
  view->grab();
  QApplication::processEvents();
  measure(
      state, *view, [&](int) { view->scrollBy(step); }, true);
}

void play(benchmark::State& state) {
  auto view = hourView();
  view->setZoom(4000.0, FrameIndex(0));
  view->setPlayhead(FrameIndex(0));
  QApplication::processEvents();
  // 60 positions a second of playing.
  measure(
      state, *view, [&](int frame) { view->setPlayhead(FrameIndex((frame + 1) * 800LL)); }, true);
}

void zoomAtPointer(benchmark::State& state) {
  auto view = hourView();
  view->showAll();
  QApplication::processEvents();
  measure(
      state, *view, [&](int frame) { view->zoom(frame % 40 < 20 ? 1.2 : 1.0 / 1.2); }, false);
}

/// The floor: a window of this size that shows one picture, all of it anew each time.
class Picture : public QWidget {
 public:
  Picture() : picture_(QSize(1920, 1080) * devicePixelRatioF()) {
    setAttribute(Qt::WA_OpaquePaintEvent);
    picture_.setDevicePixelRatio(devicePixelRatioF());
    picture_.fill(Qt::darkGray);
    resize(1920, 1080);
  }

 protected:
  void paintEvent(QPaintEvent*) override { QPainter(this).drawPixmap(0, 0, picture_); }

 private:
  QPixmap picture_;
};

void blit(benchmark::State& state) {
  Picture picture;
  picture.show();
  QApplication::processEvents();
  measure(
      state, picture, [&](int) { picture.update(); }, false);
}

int runHere(int argc, char** argv) {
  qputenv("QT_QPA_PLATFORM", "offscreen");
  const tests::TempFolder home;
  qputenv("XDG_CACHE_HOME", (home / "cache").c_str());
  QApplication application(argc, argv);
  Theme::instance().install(application);
  const std::string scale = "@" + std::to_string(qRound(application.devicePixelRatio())) + "x";
  const auto add = [&](const std::string& name, auto function) {
    benchmark::RegisterBenchmark((name + scale).c_str(), function)
        ->Iterations(measured)
        ->UseManualTime()
        ->Unit(benchmark::kMillisecond);
  };
  add("floor/blit_a_full_window_pixmap", blit);
  add("paint/scroll_minutes", [](benchmark::State& s) { scroll(s, 20'000.0, 7); });
  add("paint/scroll_seconds", [](benchmark::State& s) { scroll(s, 2000.0, 7); });
  add("paint/scroll_seconds_fast", [](benchmark::State& s) { scroll(s, 2000.0, 96); });
  add("paint/scroll_under_a_block", [](benchmark::State& s) { scroll(s, 100.0, 24); });
  add("paint/playhead", play);
  add("paint/zoom", zoomAtPointer);
  benchmark::Initialize(&argc, argv);
  benchmark::RunSpecifiedBenchmarks();
  return 0;
}

}  // namespace

/// Without QT_SCALE_FACTOR: once at one and once at two device pixels a pixel, each in a process of
/// its own, since Qt reads the scale at its start.
int main(int argc, char** argv) {
  if (qEnvironmentVariableIsSet("QT_SCALE_FACTOR")) return runHere(argc, argv);
  const QCoreApplication application(argc, argv);
  int worst = 0;
  for (const QString& scale : {QStringLiteral("1"), QStringLiteral("2")}) {
    QProcess run;
    QProcessEnvironment environment = QProcessEnvironment::systemEnvironment();
    environment.insert(QStringLiteral("QT_SCALE_FACTOR"), scale);
    run.setProcessEnvironment(environment);
    run.setProcessChannelMode(QProcess::ForwardedChannels);
    run.start(QCoreApplication::applicationFilePath(), QCoreApplication::arguments().mid(1));
    run.waitForFinished(-1);
    worst = std::max(worst, run.exitStatus() == QProcess::NormalExit ? run.exitCode() : 1);
  }
  return worst;
}
