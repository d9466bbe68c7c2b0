// SPDX-License-Identifier: GPL-3.0-or-later
// Driving by hand with a real pointer and keyboard, and what is heard of it.
#include "MainWindow.h"
#include "Wording.h"
#include "hand.h"
#include "pages/HandDrive.h"
#include "pages/TrialRunPage.h"
#include "sound_record.h"

#include "fourbeat/drive/drive.h"

#include <QApplication>
#include <QKeyEvent>
#include <QLabel>
#include <QProgressBar>
#include <QSlider>
#include <QThread>
#include <algorithm>
#include <cstdio>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

/// Under the quietest that is played, over what a resampler's ringing makes of silence.
constexpr float heardAt = 1e-3F;

/// Notes when keys of the keyboard came to the window.
class KeyClock : public QObject {
 public:
  explicit KeyClock(int key) : key_(key) { qApp->installEventFilter(this); }
  std::vector<std::int64_t> pressed_ns;

 protected:
  bool eventFilter(QObject* watched, QEvent* event) override {
    // Its window sees a key before any widget does.
    if (event->type() == QEvent::KeyPress && watched->isWindowType()) {
      const auto* key = static_cast<QKeyEvent*>(event);
      if (key->key() == key_ && !key->isAutoRepeat()) pressed_ns.push_back(Monitor::now_ns());
    }
    return false;
  }

 private:
  int key_;
};

/// A set in the window, whose whistle begins and ends at full level, driven by hand.
struct DeskDrive {
  Sink sink{"drivedesk"};
  SmallProject small;
  ui::MainWindow window;
  ui::TrialRunPage* page = nullptr;
  std::vector<drive::Event> log;

  DeskDrive() {
    window.setGeometry(0, 24, 1280, 800);
    window.show();
    REQUIRE(window.openProject(small.path()));
    const auto& segments = window.workspace()->project().segments;
    REQUIRE(window.workspace()->perform(
        QStringLiteral("t"),
        {model::TrimSegment{segments.at(0).id, frame_range(12'000, 24'000)},
         model::TrimSegment{segments.at(2).id, frame_range(144'000, 160'000)}}));
    window.showPage(ui::trialRunPlace);
    page = window.findChild<ui::TrialRunPage*>();
    REQUIRE(page != nullptr);
    QObject::connect(&page->hand(), &ui::HandDrive::happened, &window,
                     [this](const std::vector<drive::Event>& events) {
                       log.insert(log.end(), events.begin(), events.end());
                     });
  }
  ~DeskDrive() {
    window.questions().close = [](const QString&) { return ui::CloseChoice::discard; };
    window.closeProject();
  }
  /// In the script's thread.
  void begin(Hand& hand) const {
    hand.click(QStringLiteral("Drive by hand"));
    hand.waitFor(QStringLiteral("the drive"), [this] { return page->hand().isDriving(); });
    hand.waitFor(QStringLiteral("the device"),
                 [this] { return page->hand().live()->frames() > 0; });
  }
  [[nodiscard]] bool isSilent(const Monitor& monitor) const {
    const std::size_t count = monitor.count();
    const std::size_t back = static_cast<std::size_t>(page->hand().live()->sampleRateHz()) / 5;
    return count > back && monitor.first_over(count - back, heardAt) < 0;
  }
  /// Seconds from the drive's start at which the log first tells what is wanted; -1: never.
  template <class Wanted>
  [[nodiscard]] double toldAt(const Wanted& wanted, int rate_hz) const {
    const auto found = std::find_if(log.begin(), log.end(), wanted);
    return found == log.end() ? -1.0 : static_cast<double>(found->frame) / rate_hz;
  }
};

bool isVoice(const drive::Event& event, drive::EventKind kind, drive::Reason reason) {
  return event.kind == kind && event.reason == drive::reason_name(reason);
}

/// Where sound begins and where it ends: stretches of it with silences of 50 ms and more between.
std::vector<std::pair<std::size_t, std::size_t>> soundsIn(const std::vector<float>& record,
                                                          std::size_t from) {
  constexpr std::size_t silence = 2'400;
  std::vector<std::pair<std::size_t, std::size_t>> sounds;
  for (std::size_t i = from; i < record.size(); ++i) {
    if (std::abs(record[i]) < heardAt) continue;
    if (sounds.empty() || i - sounds.back().second > silence) sounds.emplace_back(i, i);
    sounds.back().second = i;
  }
  return sounds;
}

constexpr double record_hz = 48'000.0;

}  // namespace

TEST_CASE("drive desk: what the log tells is what is heard, driven by pointer and keyboard",
          "[desk][sound][deep]") {
  if (SoundServer::instance() == nullptr) return;
  in_five_tries([] {
    DeskDrive desk;
    Monitor monitor(*SoundServer::instance(), QStringLiteral("drivedesk"));
    int rate_hz = 0;
    std::size_t from = 0;
    std::uint64_t dry = 0;
    const QString failed = Hand::run([&](Hand& hand) {
      hand.click(QStringLiteral("Record the drive"), {0.1, 0.5});
      desk.begin(hand);
      hand.ask([&] {
        rate_hz = desk.page->hand().live()->sampleRateHz();
        from = monitor.count();
        dry = desk.window.transport().figures().underruns;
      });
      hand.holdKey(QStringLiteral("2"), 800);
      hand.waitFor(QStringLiteral("the whistle to end"), [&] {
        return desk.toldAt(
                   [](const drive::Event& event) {
                     return isVoice(event, drive::EventKind::voice_end, drive::Reason::ended);
                   },
                   rate_hz) > 0.0;
      });
      QThread::msleep(400);
      hand.drag(QStringLiteral("Regulator"), {0.01, 0.5}, QStringLiteral("Regulator"), {0.7, 0.5});
      hand.waitFor(QStringLiteral("four beats"), [&] {
        return std::count_if(desk.log.begin(), desk.log.end(), [](const drive::Event& event) {
                 return event.kind == drive::EventKind::beat;
               }) >= 4;
      });
      hand.waitFor(QStringLiteral("a speed to be shown"), [] {
        const auto* bar =
            qobject_cast<QProgressBar*>(Hand::find(QStringLiteral("Speed"), "QProgressBar"));
        return bar != nullptr && bar->value() > 0;
      });
      hand.keys({QStringLiteral("Escape")});
      hand.waitFor(QStringLiteral("rest"), [&] {
        const auto* slider =
            qobject_cast<QSlider*>(Hand::find(QStringLiteral("Regulator"), "QSlider"));
        return slider != nullptr && slider->value() == 0;
      });
      hand.ask([&] { dry = desk.window.transport().figures().underruns - dry; });
      hand.click(QStringLiteral("Stop driving"));
      hand.waitFor(QStringLiteral("the card"),
                   [&] { return desk.window.workspace()->project().run_cards.size() == 2; });
    });
    INFO(failed.toStdString());
    REQUIRE(failed.isEmpty());

    const double whistle_s = desk.toldAt(
        [](const drive::Event& event) {
          return isVoice(event, drive::EventKind::voice_start, drive::Reason::key);
        },
        rate_hz);
    const double ends_s = desk.toldAt(
        [](const drive::Event& event) {
          return isVoice(event, drive::EventKind::voice_end, drive::Reason::ended);
        },
        rate_hz);
    const double beat_s = desk.toldAt(
        [](const drive::Event& event) { return event.kind == drive::EventKind::beat; }, rate_hz);
    CHECK(whistle_s >= 0.0);
    CHECK(ends_s > whistle_s + 0.8);
    CHECK(beat_s > ends_s);
    const auto sounds = soundsIn(monitor.frames(), from);
    if (sounds.size() < 2) return false;
    const auto since = [&](std::size_t frame) {
      return static_cast<double>(frame - sounds[0].first) / record_hz;
    };
    const double heard_end_s = since(sounds[0].second);
    const double heard_beat_s = since(sounds[1].first);
    std::printf(
        "by the log the whistle lasts %.4f s and the first beat comes after %.4f s; heard %.4f s, "
        "%.4f s; ran dry %llu times\n",
        ends_s - whistle_s, beat_s - whistle_s, heard_end_s, heard_beat_s,
        static_cast<unsigned long long>(dry));
    constexpr double near_s = 0.005;
    return std::abs(heard_end_s - (ends_s - whistle_s)) < near_s &&
           std::abs(heard_beat_s - (beat_s - whistle_s)) < near_s;
  });
}

TEST_CASE("drive desk: a key is heard in under 40 ms in the middle", "[desk][sound][deep]") {
  if (SoundServer::instance() == nullptr) return;
  constexpr int presses = 24;
  in_five_tries([] {
    DeskDrive desk;
    Monitor monitor(*SoundServer::instance(), QStringLiteral("drivedesk"));
    KeyClock clock(Qt::Key_2);
    std::vector<double> waits_ms;
    const QString failed = Hand::run([&](Hand& hand) {
      desk.begin(hand);
      for (int i = 0; i < presses; ++i) {
        hand.waitFor(QStringLiteral("silence"), [&] { return desk.isSilent(monitor); });
        QThread::msleep(
            static_cast<unsigned long>((i * 37) % 61));  // no beat with the device's own
        const std::size_t from = monitor.count();
        hand.holdKey(QStringLiteral("2"), 60);
        hand.waitFor(QStringLiteral("the whistle"),
                     [&] { return monitor.first_over(from, heardAt) >= 0; });
        const auto first = static_cast<std::size_t>(monitor.first_over(from, heardAt));
        hand.ask([&] {
          waits_ms.push_back(
              static_cast<double>(monitor.arrived_ns(first) - clock.pressed_ns.back()) / 1e6);
        });
      }
    });
    INFO(failed.toStdString());
    REQUIRE(failed.isEmpty());
    REQUIRE(clock.pressed_ns.size() == waits_ms.size());
    std::sort(waits_ms.begin(), waits_ms.end());
    const auto at = [&](double share) {
      return waits_ms[static_cast<std::size_t>(share * static_cast<double>(waits_ms.size() - 1))];
    };
    const auto figures = desk.window.transport().figures();
    std::printf(
        "driving, key to sound, %d presses: least %.1f, median %.1f, 95th %.1f, most %.1f ms; "
        "buffer %.1f ms\n",
        presses, at(0.0), at(0.5), at(0.95), at(1.0),
        static_cast<double>(figures.buffer_frames) * 1000.0 / figures.rate_hz);
    CHECK(at(0.0) > 0.0);
    return at(0.5) < 40.0;
  });
}
