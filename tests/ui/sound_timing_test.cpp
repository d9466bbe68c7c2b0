// SPDX-License-Identifier: GPL-3.0-or-later
// How long from a key to its sound, and whether the sound ever runs dry. Timed, so not among the
// quick tests: run it on a machine that does nothing else.
#include "sound/Transport.h"
#include "sound_server.h"
#include "support.h"

#include <QKeyEvent>
#include <QTest>
#include <QWidget>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <numbers>

using namespace fourbeat;
using namespace fourbeat::tests;
using ui::Transport;

namespace {

/// A widget that plays a piece when a key goes down, as a page does.
class Presser : public QWidget {
 public:
  Presser(Transport& transport, ui::PlayRequest request)
      : transport_(transport), request_(std::move(request)) {}
  std::int64_t pressed_ns = 0;

 protected:
  void keyPressEvent(QKeyEvent* event) override {
    if (event->key() == Qt::Key_Space) transport_.play(request_);
  }

 private:
  Transport& transport_;
  ui::PlayRequest request_;
};

std::string load_average() {
  std::string line;
  std::ifstream file("/proc/loadavg");
  std::getline(file, line);
  return line;
}

}  // namespace

TEST_CASE("timing: a key is heard in under 25 ms in the middle, 30 ms at the 95th percentile",
          "[ui][sound][timing]") {
  SoundServer* const server = SoundServer::instance();
  if (server == nullptr) return;
  const int sink = server->load(QStringLiteral("timing"));
  server->makeDefault(QStringLiteral("timing"));
  Transport transport;
  // Full level from its first frame on, so that the first frame is seen.
  auto clip = std::make_shared<audio::Clip>();
  clip->sample_rate_hz = 48000.0;
  clip->samples.assign(4800, 0.5F);
  ui::PlayRequest request;
  request.source = ui::ClipSource{clip, false};
  request.key = QStringLiteral("timing");
  Presser widget(transport, request);
  widget.show();
  REQUIRE(QTest::qWaitForWindowActive(&widget));
  transport.play(request);
  REQUIRE(waitUntil([&] { return transport.figures().open; }));
  Monitor monitor(*server, QStringLiteral("timing"));
  REQUIRE(waitUntil([&] { return !transport.isPlaying(); }));
  QTest::qWait(500);
  std::vector<double> waits_ms;
  int presses = 100;
  if (qEnvironmentVariableIsSet("FOURBEAT_PRESSES"))
    presses = qEnvironmentVariableIntValue("FOURBEAT_PRESSES");
  for (int i = 0; i < presses; ++i) {
    QTest::qWait(250 + (i * 37) % 61);  // no beat with the device's own
    const std::size_t from = monitor.count();
    const std::int64_t pressed = Monitor::now_ns();
    QTest::keyPress(&widget, Qt::Key_Space);
    QTest::keyRelease(&widget, Qt::Key_Space);
    REQUIRE(waitUntil([&] { return monitor.first_over(from, 0.25F) >= 0; }, 3000));
    const std::int64_t frame = monitor.first_over(from, 0.25F);
    waits_ms.push_back(
        static_cast<double>(monitor.arrived_ns(static_cast<std::size_t>(frame)) - pressed) / 1e6);
  }
  std::sort(waits_ms.begin(), waits_ms.end());
  const auto at = [&](double share) {
    return waits_ms[static_cast<std::size_t>(share * static_cast<double>(waits_ms.size() - 1))];
  };
  std::printf(
      "key to sound, %d presses: least %.1f, median %.1f, 95th %.1f, most %.1f ms; buffer "
      "%.1f ms, ran dry %llu times, load %s\n",
      presses, at(0), at(0.5), at(0.95), at(1.0),
      static_cast<double>(transport.figures().buffer_frames) * 1000.0 / transport.figures().rate_hz,
      static_cast<unsigned long long>(transport.figures().underruns), load_average().c_str());
  CHECK(at(0.5) < 25.0);
  CHECK(at(0.95) < 30.0);
  server->unload(sink);
}

TEST_CASE("timing: sound does not run dry", "[ui][sound][timing]") {
  SoundServer* const server = SoundServer::instance();
  if (server == nullptr) return;
  int seconds = 20;
  if (qEnvironmentVariableIsSet("FOURBEAT_SOUND_SECONDS"))
    seconds = qEnvironmentVariableIntValue("FOURBEAT_SOUND_SECONDS");
  const int sink = server->load(QStringLiteral("long"));
  server->makeDefault(QStringLiteral("long"));
  Transport transport;
  auto clip = std::make_shared<audio::Clip>();
  clip->sample_rate_hz = 44100.0;
  clip->samples.resize(44100);
  for (std::size_t i = 0; i < clip->samples.size(); ++i) {
    clip->samples[i] = static_cast<float>(
        0.5 * std::sin(2.0 * std::numbers::pi * 300.0 * static_cast<double>(i) / 44100.0));
  }
  ui::PlayRequest request;
  request.source = ui::ClipSource{clip, false};
  request.key = QStringLiteral("long");
  request.repeat = true;
  transport.play(request);
  REQUIRE(waitUntil([&] { return transport.figures().open; }));
  QTest::qWait(1000);
  const Yardstick yardstick;
  const std::uint64_t before = transport.figures().underruns;
  for (int second = 0; second < seconds; ++second) {
    QTest::qWait(1000);
    REQUIRE(transport.isPlaying());
  }
  const std::uint64_t dry = transport.figures().underruns - before;
  std::printf(
      "%d s of sound: ran dry %llu times; the machine stood still for 10 ms or more %ld times, "
      "%.1f ms at most; load %s\n",
      seconds, static_cast<unsigned long long>(dry), yardstick.stalls(), yardstick.longest_ms(),
      load_average().c_str());
  // A machine that does nothing else lets no thread wait so long.
  CHECK(dry <= static_cast<std::uint64_t>(yardstick.stalls()));
  server->unload(sink);
}
