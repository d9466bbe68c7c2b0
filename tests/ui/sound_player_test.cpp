// SPDX-License-Identifier: GPL-3.0-or-later
// The render side of playing, without a device.
#include "sound/Kernel.h"
#include "sound/Player.h"
#include "support/catch.h"
#include "support/realtime_guard.h"
#include "support/temp_folder.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/decibels.h"
#include "fourbeat/base/random.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <numbers>
#include <thread>

using namespace fourbeat;
using namespace fourbeat::tests;
using ui::Player;
using ui::PlayerReport;

namespace {

using ClipPointer = std::shared_ptr<const audio::Clip>;
constexpr double two_pi = 2.0 * std::numbers::pi;

ClipPointer clip_of(std::vector<float> samples, double rate_hz,
                    std::optional<FrameRange> loop = std::nullopt) {
  return std::make_shared<const audio::Clip>(audio::Clip{rate_hz, 32, std::move(samples), loop});
}

std::vector<float> sine(double tone_hz, double rate_hz, std::int64_t frames,
                        double amplitude = 0.5) {
  std::vector<float> samples(static_cast<std::size_t>(frames));
  for (std::size_t i = 0; i < samples.size(); ++i) {
    samples[i] = static_cast<float>(amplitude *
                                    std::sin(two_pi * tone_hz * static_cast<double>(i) / rate_hz));
  }
  return samples;
}

FrameRange whole(const ClipPointer& clip) {
  return frame_range(0, static_cast<std::int64_t>(clip->samples.size()));
}

std::uint64_t play_all(Player& player, const ClipPointer& clip, bool repeat = false,
                       bool hold = false) {
  return player.play(clip, whole(clip), FrameIndex(0), repeat, hold);
}

/// In blocks of uneven length, as a device asks for them.
std::vector<float> rendered(Player& player, std::int64_t frames, double rate_hz = 48000.0) {
  static constexpr std::array<std::size_t, 5> blocks = {240, 37, 1, 480, 211};
  std::vector<float> out(static_cast<std::size_t>(frames));
  std::size_t done = 0;
  for (std::size_t i = 0; done < out.size(); ++i) {
    const std::size_t block = std::min(blocks[i % blocks.size()], out.size() - done);
    player.render(std::span(out).subspan(done, block), rate_hz);
    done += block;
  }
  return out;
}

/// The tone that fits best in the least-squares sense, searched around a guess, and what is left
/// when it is taken away.
struct Fit {
  double tone_hz = 0.0;
  double amplitude = 0.0;
  double rest_db = 0.0;  ///< the rest's power over the tone's
};

Fit fit_at(std::span<const float> x, double rate_hz, double tone_hz) {
  double ss = 0.0;
  double cc = 0.0;
  double sc = 0.0;
  double xs = 0.0;
  double xc = 0.0;
  double xx = 0.0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double angle = two_pi * tone_hz * static_cast<double>(i) / rate_hz;
    const double s = std::sin(angle);
    const double c = std::cos(angle);
    const double value = x[i];
    ss += s * s;
    cc += c * c;
    sc += s * c;
    xs += value * s;
    xc += value * c;
    xx += value * value;
  }
  const double det = ss * cc - sc * sc;
  const double a = (xs * cc - xc * sc) / det;
  const double b = (xc * ss - xs * sc) / det;
  const double tone = a * xs + b * xc;
  const double rest = std::max(xx - tone, 1e-30 * xx);
  return {tone_hz, std::hypot(a, b), 10.0 * std::log10(rest / tone)};
}

Fit best_fit(std::span<const float> x, double rate_hz, double guess_hz) {
  double low = guess_hz * 0.9995;
  double high = guess_hz * 1.0005;
  // One period over the stretch is the width of the minimum: coarse first, then by thirds.
  Fit best = fit_at(x, rate_hz, guess_hz);
  const double width = rate_hz / static_cast<double>(x.size());
  for (double tone = low; tone <= high; tone += width / 4.0) {
    const Fit here = fit_at(x, rate_hz, tone);
    if (here.rest_db < best.rest_db) best = here;
  }
  low = best.tone_hz - width / 2.0;
  high = best.tone_hz + width / 2.0;
  for (int i = 0; i < 40; ++i) {
    const double a = low + (high - low) / 3.0;
    const double b = high - (high - low) / 3.0;
    if (fit_at(x, rate_hz, a).rest_db < fit_at(x, rate_hz, b).rest_db) {
      high = b;
    } else {
      low = a;
    }
  }
  return fit_at(x, rate_hz, (low + high) / 2.0);
}

std::vector<double> bends(std::span<const float> x) {
  std::vector<double> out;
  for (std::size_t i = 2; i < x.size(); ++i) {
    out.push_back(std::abs(static_cast<double>(x[i]) - 2.0 * static_cast<double>(x[i - 1]) +
                           static_cast<double>(x[i - 2])));
  }
  return out;
}

double largest(std::span<const double> values) {
  return values.empty() ? 0.0 : *std::max_element(values.begin(), values.end());
}

double percentile(std::vector<double> values, double share) {
  std::sort(values.begin(), values.end());
  return values[static_cast<std::size_t>(share * static_cast<double>(values.size() - 1))];
}

/// Renders until the player says that a voice has ended, and returns what came from now until then.
std::vector<float> until_ended(Player& player, std::uint64_t voice, double rate_hz = 48000.0) {
  std::vector<float> out;
  const std::int64_t before = player.rendered();
  PlayerReport report;
  for (int block = 0; block < 20000; ++block) {
    const std::vector<float> more = rendered(player, 256, rate_hz);
    out.insert(out.end(), more.begin(), more.end());
    while (player.next(report)) {
      if (report.voice == voice && report.ended) {
        const std::int64_t length = report.output_frame - before;
        REQUIRE(length >= 0);
        REQUIRE(length <= static_cast<std::int64_t>(out.size()));
        out.resize(static_cast<std::size_t>(length));
        return out;
      }
    }
  }
  FAIL("it never ended");
  return out;
}

}  // namespace

TEST_CASE("player: other rates come out at the right pitch, clean to -85 dB", "[ui][sound]") {
  struct Case {
    double from_hz, to_hz, tone_hz, worst_db;
  };
  for (const Case& each : {Case{44100, 48000, 997, -85}, Case{44100, 48000, 10007, -85},
                           Case{44100, 48000, 18000, -85}, Case{96000, 48000, 997, -85},
                           Case{192000, 44100, 15013, -85}, Case{11025, 48000, 4001, -85},
                           Case{8000, 48000, 3301, -80}, Case{22050, 44100, 997, -85}}) {
    CAPTURE(each.from_hz, each.to_hz, each.tone_hz);
    Player player;
    play_all(player,
             clip_of(sine(each.tone_hz, each.from_hz, static_cast<std::int64_t>(each.from_hz)),
                     each.from_hz));
    const std::vector<float> out =
        rendered(player, static_cast<std::int64_t>(each.to_hz * 0.9), each.to_hz);
    const auto settled =
        std::span(out).subspan(2000, std::min<std::size_t>(out.size() - 2000, 12000));
    const Fit fit = best_fit(settled, each.to_hz, each.tone_hz);
    CHECK(fit.tone_hz == Approx(each.tone_hz).epsilon(1e-5));
    CHECK(fit.amplitude == Approx(0.5).epsilon(0.01));
    CHECK(fit.rest_db < each.worst_db);
  }
}

TEST_CASE("player: what the output cannot carry is taken away, not folded down", "[ui][sound]") {
  Player player;
  play_all(player, clip_of(sine(30000, 96000, 96000), 96000));
  const std::vector<float> out = rendered(player, 40000, 48000);
  double loudest = 0.0;
  for (std::size_t i = 2000; i < out.size(); ++i)
    loudest = std::max(loudest, std::abs(static_cast<double>(out[i])));
  CHECK(db_of_amplitude(loudest / 0.5).value_or(-200.0) < -85.0);
}

TEST_CASE("player: at the output's own rate a piece passes bit by bit, to its last frame",
          "[ui][sound]") {
  Random random(3);
  std::vector<float> samples(5000);
  for (float& sample : samples)
    sample = static_cast<float>(random.uniform(-1.0, 1.0));
  Player player;
  const std::uint64_t voice = play_all(player, clip_of(samples, 48000));
  const std::vector<float> out = until_ended(player, voice);
  CHECK(out == samples);
  player.collect();
  CHECK_FALSE(player.busy());
}

TEST_CASE("player: half speed is an octave lower and twice as long", "[ui][sound]") {
  Player player;
  player.setSpeed(0.5);
  const std::uint64_t voice = play_all(player, clip_of(sine(1000, 48000, 48000), 48000));
  const std::vector<float> out = until_ended(player, voice);
  CHECK(out.size() == Approx(96000.0).margin(2.0));
  const Fit fit = best_fit(std::span(out).subspan(2000, 20000), 48000, 500);
  CHECK(fit.tone_hz == Approx(500.0).epsilon(1e-5));
  CHECK(fit.rest_db < -85.0);
  // A change while it plays bends the wave nowhere.
  Player other;
  play_all(other, clip_of(sine(300, 48000, 96000), 48000));
  std::vector<float> joined = rendered(other, 4000);
  other.setSpeed(0.5);
  const std::vector<float> slow = rendered(other, 4001);
  other.setSpeed(1.0);
  const std::vector<float> fast = rendered(other, 4000);
  joined.insert(joined.end(), slow.begin(), slow.end());
  joined.insert(joined.end(), fast.begin(), fast.end());
  const double curve = 0.5 * std::pow(two_pi * 300 / 48000, 2.0);
  // The slope halves at the change: at most one step of half the slope.
  CHECK(largest(bends(joined)) < 0.5 * two_pi * 300 / 48000 * 0.5 + 2.0 * curve);
}

TEST_CASE("player: twenty rounds of a seamless stretch have no click at the joins", "[ui][sound]") {
  // A sum of tones that all return after 4800 frames, in the middle of other material.
  for (const double to_hz : {48000.0, 44100.0}) {
    std::vector<float> samples(20000);
    for (std::size_t i = 0; i < samples.size(); ++i) {
      const double time = static_cast<double>(i) / 48000.0;
      for (const double tone_hz : {110.0, 330.0, 770.0, 1330.0})
        samples[i] += static_cast<float>(0.1 * std::sin(two_pi * tone_hz * time));
    }
    Player player;
    player.play(clip_of(samples, 48000), frame_range(5000, 9800), FrameIndex(5000), true, false);
    const auto round = static_cast<std::int64_t>(4800 * to_hz / 48000);
    const std::vector<float> out = rendered(player, 20 * round, to_hz);
    const std::vector<double> all = bends(std::span(out).subspan(1000));
    std::vector<double> inside;
    double join = 0.0;
    for (std::size_t i = 0; i < all.size(); ++i) {
      const auto place = (static_cast<std::int64_t>(i) + 1000) % round;
      if (place < 40 || place > round - 40) {
        join = std::max(join, all[i]);
      } else {
        inside.push_back(all[i]);
      }
    }
    CAPTURE(to_hz);
    CHECK(join <= percentile(inside, 0.999) * 1.02);
    // The places go round with the sound.
    PlayerReport report;
    double last = 0.0;
    int wraps = 0;
    while (player.next(report)) {
      CHECK(report.source_frame >= 5000.0);
      CHECK(report.source_frame <= 9800.0);
      if (report.source_frame < last) ++wraps;
      last = report.source_frame;
    }
    CHECK(wraps >= 18);
    // Let it end: it plays to the end of the stretch, fades, and says so.
    player.setRepeat(false);
    bool ended = false;
    for (int i = 0; i < 30 && !ended; ++i) {
      static_cast<void>(rendered(player, 256, to_hz));
      while (player.next(report))
        ended = ended || report.ended;
    }
    CHECK(ended);
  }
}

TEST_CASE("player: starts, stops and seeks in the middle of a sound do not click", "[ui][sound]") {
  const auto clip = clip_of(sine(100, 48000, 96000), 48000);
  const double inside = largest(bends(clip->samples));
  // Bend of the fade itself: 4 ms, amplitude 0.5, a cubic: 6 / n² at its corners.
  const double fade = 0.5 * 6.0 / std::pow(Player::fade_s * 48000, 2.0);
  const double allowed = 2.0 * inside + 4.0 * fade + 2.0 * 0.5 * two_pi * 100 / 48000 / 64;
  Player player;
  // From the crest of the wave.
  player.play(clip, frame_range(0, 96000), FrameIndex(1080), false, false);
  std::vector<float> out = rendered(player, 3000);
  CHECK(out[0] == 0.0F);
  CHECK(std::abs(out[200]) > 0.2F);
  player.play(clip, frame_range(0, 96000), FrameIndex(50160), false, false);  // a seek
  const std::vector<float> sought = rendered(player, 3000);
  out.insert(out.end(), sought.begin(), sought.end());
  REQUIRE(player.stop());
  const std::vector<float> stopped = rendered(player, 1000);
  out.insert(out.end(), stopped.begin(), stopped.end());
  CHECK(largest(bends(out)) < allowed);
  // Silent 5 ms after the stop.
  CHECK(std::all_of(stopped.begin() + 240, stopped.end(), [](float x) { return x == 0.0F; }));
  CHECK(std::any_of(stopped.begin(), stopped.begin() + 96, [](float x) { return x != 0.0F; }));
  // A stretch that ends inside the piece fades before its end.
  const std::uint64_t voice =
      player.play(clip, frame_range(1080, 3480), FrameIndex(1080), false, false);
  const std::vector<float> part = until_ended(player, voice);
  CHECK(largest(bends(std::span(part).last(1200))) < allowed);
  CHECK(std::abs(part.back()) < 0.01F);
}

TEST_CASE("player: volume and a change of gains glide", "[ui][sound]") {
  Player player;
  play_all(player, clip_of(std::vector<float>(48000, 0.5F), 48000));
  std::vector<float> out = rendered(player, 1000);
  CHECK(out.back() == 0.5F);
  CHECK(player.peak() == 0.5F);
  player.setVolume(0.1F);
  out = rendered(player, 2000);
  CHECK(out.back() == Approx(0.05));
  for (std::size_t i = 1; i < out.size(); ++i)
    REQUIRE(std::abs(out[i] - out[i - 1]) < 0.002F);
  static_cast<void>(rendered(player, 4800));
  CHECK(player.peak() == 0.5F);  // the meter tells the sound, whatever it is listened to at
  player.setVolume(0.0F);
  out = rendered(player, 2000);
  CHECK(out.back() == 0.0F);
}

TEST_CASE("player: a held piece repeats its loop until it is let go, then plays on",
          "[ui][sound]") {
  // Each frame says where it comes from.
  std::vector<float> samples(3000);
  for (std::size_t i = 0; i < samples.size(); ++i)
    samples[i] = static_cast<float>(i) / 4096.0F;
  const auto clip = clip_of(samples, 48000, frame_range(1000, 2000));
  Player player;
  const std::uint64_t voice = play_all(player, clip, false, true);
  std::vector<float> out = rendered(player, 5500);
  const auto place = [](float sample) { return static_cast<int>(std::lround(sample * 4096.0F)); };
  CHECK(place(out[999]) == 999);
  CHECK(place(out[1999]) == 1999);
  CHECK(place(out[2000]) == 1000);
  CHECK(place(out[2999]) == 1999);
  CHECK(place(out[3000]) == 1000);
  CHECK(place(out[5499]) == 1499);
  player.letGo();
  const std::vector<float> rest = until_ended(player, voice);
  // 500 to the loop's end and 1000 past it.
  REQUIRE(rest.size() == 1500);
  CHECK(place(rest[0]) == 1500);
  CHECK(place(rest[1499]) == 2999);
}

TEST_CASE("player: a take streams exactly as its file reads, through its gains", "[ui][sound]") {
  const TempFolder folder;
  Random random(4);
  audio::Pcm pcm{48000.0, {}};
  for (int channel = 0; channel < 3; ++channel) {
    std::vector<float> samples(150000);
    for (float& sample : samples)
      sample = static_cast<float>(random.uniform(-0.3, 0.3));
    pcm.channels.push_back(std::move(samples));
  }
  const auto path = folder / "take.wav";
  REQUIRE(audio::write_wav(path, pcm, audio::WavDepth::f32));
  const auto mix = [&](std::int64_t frame, float a, float b, float c) {
    const auto i = static_cast<std::size_t>(frame);
    return a * pcm.channels[0][i] + b * pcm.channels[1][i] + c * pcm.channels[2][i];
  };
  Player player;
  const FrameRange range = frame_range(1000, 140000);
  player.playTake(path, 48000, 3, range, FrameIndex(20000), true, {1.0F, 0.0F, 0.5F});
  // Its first frames come from another thread.
  PlayerReport report;
  std::vector<float> out;
  bool begun = false;
  for (int tries = 0; tries < 2000 && !begun; ++tries) {
    out = rendered(player, 64);
    begun = player.next(report);
    if (!begun) std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
  REQUIRE(begun);
  CHECK(player.shortfall() == 0);
  std::int64_t frame = 20064;
  double worst = 0.0;
  while (frame < 300000) {
    std::this_thread::sleep_for(std::chrono::milliseconds(2));
    out = rendered(player, 2048);
    for (std::size_t i = 0; i < out.size(); ++i, ++frame) {
      if (frame < 20300) continue;  // it fades in
      const std::int64_t at = 1000 + (frame - 1000) % range.length().value();
      worst = std::max(worst, std::abs(static_cast<double>(out[i] - mix(at, 1.0F, 0.0F, 0.5F))));
    }
  }
  REQUIRE(player.shortfall() == 0);
  CHECK(worst < 1e-6);
  // Mute one, let another be heard: at once, and without a step.
  player.setGains({0.0F, 1.0F, 0.5F});
  std::this_thread::sleep_for(std::chrono::milliseconds(30));
  out = rendered(player, 2048);
  const auto at = [&](std::size_t i) {
    return 1000 + (frame + static_cast<std::int64_t>(i) - 1000) % range.length().value();
  };
  CHECK(out[20] != Approx(mix(at(20), 1.0F, 0.0F, 0.5F)).margin(1e-4));
  for (std::size_t i = 400; i < out.size(); ++i)
    REQUIRE(out[i] == Approx(mix(at(i), 0.0F, 1.0F, 0.5F)).margin(1e-6));
}

TEST_CASE("player: a take that is not read in time is silence, counted", "[ui][sound]") {
  const TempFolder folder;
  const auto path = folder / "take.wav";
  REQUIRE(
      audio::write_wav(path, {48000.0, {std::vector<float>(400000, 0.25F)}}, audio::WavDepth::s16));
  Player player;
  player.playTake(path, 48000, 1, frame_range(0, 400000), FrameIndex(0), false, {});
  PlayerReport report;
  for (int tries = 0; tries < 2000 && !player.next(report); ++tries) {
    static_cast<void>(rendered(player, 64));
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
  // Faster than any disk: the ring holds 0.7 s.
  static_cast<void>(rendered(player, 300000));
  CHECK(player.shortfall() > 0);
  CHECK_FALSE(player.takeError().has_value());
}

TEST_CASE("player: a take that is not there says so", "[ui][sound]") {
  const TempFolder folder;
  Player player;
  const std::uint64_t voice = player.playTake(folder / "missing.wav", 48000, 2,
                                              frame_range(0, 1000), FrameIndex(0), false, {});
  std::optional<Error> error;
  bool ended = false;
  PlayerReport report;
  for (int tries = 0; tries < 2000 && !(error && ended); ++tries) {
    static_cast<void>(rendered(player, 64));
    while (player.next(report))
      ended = ended || (report.voice == voice && report.ended);
    if (!error) error = player.takeError();
    std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
  REQUIRE(error.has_value());
  CHECK(error->code == ErrorCode::not_found);
  CHECK(ended);
  CHECK_FALSE(player.takeError().has_value());
}

TEST_CASE("player: render allocates nothing and locks nothing under random commands",
          "[ui][sound]") {
  long caught = 0;
  {
    const RealtimeGuard guard;
    int* volatile made = new int[100];
    delete[] made;
    caught = RealtimeGuard::calls();
  }
  REQUIRE(caught == 2);  // the guard sees what it must

  const TempFolder folder;
  const auto path = folder / "take.wav";
  REQUIRE(audio::write_wav(path, {44100.0, {sine(300, 44100, 200000), sine(500, 44100, 200000)}},
                           audio::WavDepth::s24));
  std::vector<ClipPointer> clips;
  for (const double rate_hz : {8000.0, 44100.0, 48000.0, 192000.0}) {
    clips.push_back(clip_of(sine(440, rate_hz, static_cast<std::int64_t>(rate_hz / 3)), rate_hz,
                            frame_range(500, 2000)));
  }
  Random random(6);
  Player player;
  std::vector<float> out(480);
  PlayerReport report;
  long calls = 0;
  long started = 0;
  double loudest = 0.0;
  double rate_hz = 48000.0;
  for (int block = 0; block < 12000; ++block) {
    const double pick = random.uniform();
    if (pick < 0.05) {
      const ClipPointer& clip =
          clips[static_cast<std::size_t>(random.below(static_cast<std::int64_t>(clips.size())))];
      const auto length = static_cast<std::int64_t>(clip->samples.size());
      const auto start = static_cast<std::int64_t>(random.below(1000));
      started += player.play(clip, frame_range(start, length - start), FrameIndex(start + 7),
                             random.uniform() < 0.5, random.uniform() < 0.5) != 0;
    } else if (pick < 0.07) {
      started += player.playTake(path, 44100, 2, frame_range(100, 190000),
                                 FrameIndex(static_cast<std::int64_t>(100 + random.below(180000))),
                                 random.uniform() < 0.5, {1.0F, 0.5F}) != 0;
    } else if (pick < 0.09) {
      player.stop();
    } else if (pick < 0.12) {
      player.setGains({static_cast<float>(random.uniform()), 1.0F});
      player.setVolume(static_cast<float>(random.uniform()));
    } else if (pick < 0.14) {
      player.setSpeed(random.uniform() < 0.5 ? 0.5 : 1.0);
      player.setRepeat(random.uniform() < 0.5);
      player.letGo();
    } else if (pick < 0.145) {
      rate_hz = random.uniform() < 0.5 ? 44100.0 : 48000.0;
    }
    const std::span<float> part = std::span(out).first(
        1 + static_cast<std::size_t>(random.below(static_cast<std::int64_t>(out.size()))));
    {
      const RealtimeGuard guard;
      player.render(part, rate_hz);
      calls += RealtimeGuard::calls();
    }
    for (const float sample : part) {
      REQUIRE(std::isfinite(sample));
      loudest = std::max(loudest, std::abs(static_cast<double>(sample)));
    }
    while (player.next(report)) {
    }
    if (block % 3 == 0) player.collect();
  }
  CHECK(calls == 0);
  CHECK(started > 500);
  CHECK(loudest > 0.4);
}

TEST_CASE("player: one thread commands while another renders", "[ui][sound]") {
  const auto clip = clip_of(sine(440, 44100, 44100), 44100, frame_range(500, 20000));
  Player player;
  std::atomic<bool> stop{false};
  std::thread audio([&] {
    std::vector<float> out(240);
    while (!stop.load())
      player.render(out, 48000.0);
  });
  Random random(7);
  PlayerReport report;
  std::uint64_t started = 0;
  std::uint64_t heard = 0;
  for (int i = 0; i < 3000; ++i) {
    const auto from = static_cast<std::int64_t>(random.below(44000));
    started += player.play(clip, frame_range(0, 44100), FrameIndex(from), random.uniform() < 0.5,
                           true) != 0;
    if (i % 7 == 0) player.stop();
    player.letGo();
    player.collect();
    while (player.next(report))
      heard = std::max(heard, report.voice);
    if (i % 20 == 0) std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
  stop.store(true);
  audio.join();
  CHECK(started > 100);
  CHECK(heard > 100);
}
