// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/drive/drive.h"

#include "support/catch.h"
#include "twin_set.h"

#include "fourbeat/base/random.h"
#include "fourbeat/base/wheel.h"

#include <limits>

using namespace fourbeat;
using namespace fourbeat::tests;
using drive::Event;
using drive::EventKind;
using model::Effort;

namespace {

const std::vector<float> impulse{1.0F};

std::vector<std::int64_t> frames_of(const std::vector<Event>& events) {
  std::vector<std::int64_t> frames;
  frames.reserve(events.size());
  for (const Event& event : events)
    frames.push_back(event.frame);
  return frames;
}

/// The nth beat of the twin, counted from 0, in turns; the one at the start is not reached.
double beat_turns(const model::Engine& engine, std::size_t n) {
  const std::vector<double> angles = model::beat_angles_deg(engine);
  const std::size_t k = n + (angles.front() == 0.0 ? 1 : 0);
  const std::size_t turns = k / angles.size();
  return static_cast<double>(turns) + angles[k % angles.size()] / 360.0;
}

std::string states_of(const drive::DriveOutput& output) {
  std::string states;
  for (const Event& event : events_of(output, EventKind::state))
    states += event.text + " ";
  return states;
}

}  // namespace

TEST_CASE("drive: at constant speed every beat is on the frame of the closed form", "[drive]") {
  TwinSet twin;
  twin.project.engine.beat_angles_deg = {3.0, 95.0, 181.0, 268.0};
  twin.add_row(0, 100, Effort::easy, 1, impulse);
  model::RunCard card;
  card.seconds = 60.0;
  card.moves = {throttle(0.0, 63)};
  const auto output = drive_well(twin.compile(), card);
  const std::vector<Event> beats = events_of(output, EventKind::beat);
  REQUIRE(beats.size() > 500);
  for (std::size_t n = 0; n < beats.size(); ++n) {
    const double frame = beat_turns(twin.project.engine, n) / turns_per_frame(40.0);
    REQUIRE(beats[n].frame == std::llround(frame));
    REQUIRE(beats[n].position == static_cast<int>(n % 4));
    REQUIRE(beats[n].speed_kmh == Approx(40.0));
  }
}

TEST_CASE("drive: under constant acceleration every beat is on the frame of the closed form",
          "[drive]") {
  TwinSet twin;
  twin.set_cv(3, 40);  // 35.84 s from rest to top
  twin.add_row(0, 100, Effort::hard, 1, impulse);
  model::RunCard card;
  card.seconds = 35.0;
  card.moves = {throttle(0.0, 126)};
  const auto output = drive_well(twin.compile(), card);
  const std::vector<Event> beats = events_of(output, EventKind::beat);
  REQUIRE(beats.size() > 200);
  const double slope = turns_per_frame(80.0) / (35.84 * twin_rate_hz);
  for (std::size_t n = 0; n < beats.size(); ++n) {
    const double frame = std::sqrt(2.0 * beat_turns(twin.project.engine, n) / slope);
    REQUIRE(beats[n].frame == std::llround(frame));
    REQUIRE(beats[n].position == static_cast<int>((n + 1) % 4));
  }
}

TEST_CASE("drive: beats of a busy card are those of a step-by-step integration", "[drive]") {
  TwinSet twin;
  twin.set_cv(3, 7);
  twin.set_cv(4, 13);
  Random random(21);
  model::RunCard card;
  card.seconds = 60.0;
  double time_s = 0.0;
  while (time_s < 60.0) {
    card.moves.push_back(throttle(time_s, static_cast<int>(random.below(127))));
    time_s += random.uniform(0.2, 6.0);
  }
  const auto output = drive_well(twin.compile(), card, {false, false, 4096});

  // Speed runs towards its target frame by frame; the way is summed up by trapezes.
  std::vector<std::int64_t> expected;
  double speed_kmh = 0.0;
  double target_kmh = 0.0;
  double turns = 0.0;
  std::size_t next_move = 0;
  for (std::int64_t frame = 0; frame < 60L * twin_rate_hz; ++frame) {
    for (; frame % 64 == 0 && next_move < card.moves.size() &&
           std::llround(card.moves[next_move].time_s * twin_rate_hz) <= frame;
         ++next_move) {
      target_kmh = std::get<model::MoveThrottle>(card.moves[next_move].what).step * 80.0 / 126.0;
    }
    const double sweep_s = 0.896 * (target_kmh > speed_kmh ? 7.0 : 13.0);
    const double step_kmh = 80.0 / sweep_s / twin_rate_hz;
    const double next_kmh = target_kmh > speed_kmh ? std::min(target_kmh, speed_kmh + step_kmh)
                                                   : std::max(target_kmh, speed_kmh - step_kmh);
    const double way = turns_per_frame((speed_kmh + next_kmh) / 2.0);
    if (std::floor((turns + way) * 4.0) > std::floor(turns * 4.0)) expected.push_back(frame);
    turns += way;
    speed_kmh = next_kmh;
  }
  const std::vector<std::int64_t> frames = frames_of(events_of(output, EventKind::beat));
  REQUIRE(frames.size() == expected.size());
  REQUIRE(frames.size() > 300);
  for (std::size_t n = 0; n < frames.size(); ++n) {
    REQUIRE(std::abs(frames[n] - expected[n]) <= 1);
  }
}

TEST_CASE("drive: each chuff's first sample is on the frame of its beat", "[drive]") {
  TwinSet twin;
  twin.set_cv(3, 10);
  twin.set_cv(4, 10);
  twin.add_row(0, 100, Effort::hard, 2, impulse);
  model::RunCard card;
  card.seconds = 40.0;
  card.moves = {throttle(0.1234, 126), throttle(20.01, 13), throttle(25.0, 0), throttle(33.0, 60)};
  drive::DriveOptions options;
  options.stems = true;
  const auto output = drive_well(twin.compile(), card, options);
  std::vector<std::int64_t> onsets;
  const std::vector<float>& chuffs = output.stems.at("chuffs");
  for (std::size_t i = 0; i < chuffs.size(); ++i) {
    if (chuffs[i] != 0.0F) onsets.push_back(static_cast<std::int64_t>(i));
  }
  CHECK(onsets.size() > 200);
  CHECK(onsets == frames_of(events_of(output, EventKind::beat)));
}

TEST_CASE("drive: at diameter speed the wheel turns 336 times a minute", "[drive]") {
  // Speed in miles an hour equal to the driver's diameter in inches gives 336.135 turns a minute:
  // 1056 / pi (geometry; the rule itself stands in locomotive handbooks, from memory).
  TwinSet twin;
  twin.project.engine.driver_diameter_mm = 80.0 * 25.4;
  twin.project.engine.top_speed_kmh = 80.0 * 1.609344;
  model::RunCard card;
  card.seconds = 60.0;
  card.moves = {throttle(0.0, 126)};
  const auto output = drive_well(twin.compile(), card, {false, false, 441});
  const std::vector<Event> beats = events_of(output, EventKind::beat);
  REQUIRE(beats.size() > 1000);
  const double minutes =
      static_cast<double>(beats.back().frame - beats.front().frame) / twin_rate_hz / 60.0;
  CHECK(static_cast<double>(beats.size() - 1) / 4.0 / minutes == Approx(336.135).margin(0.01));
}

TEST_CASE("drive: a move takes effect at the first grid point at or after its frame", "[drive]") {
  TwinSet twin;
  model::RunCard card;
  card.seconds = 2.0;
  for (const double frame : {0.0, 1.0, 63.6, 64.0, 64.4, 1000.0}) {
    card.moves = {throttle(frame / twin_rate_hz, 126)};
    const auto output = drive_well(twin.compile(), card);
    const std::vector<Event> states = events_of(output, EventKind::state);
    REQUIRE(!states.empty());
    const auto started = std::find_if(states.begin(), states.end(),
                                      [](const Event& e) { return e.text == "starting"; });
    REQUIRE(started != states.end());
    CHECK(started->frame == (std::llround(frame) + 63) / 64 * 64);
  }
}

TEST_CASE("drive: the speed is told every 100 ms and follows the momentum", "[drive]") {
  TwinSet twin;
  twin.set_cv(3, 10);
  model::RunCard card;
  card.seconds = 10.0;
  card.speed_steps = 28;
  card.moves = {throttle(0.0, 28)};
  const auto output = drive_well(twin.compile(), card, {false, false, 1000});
  const std::vector<Event> speeds = events_of(output, EventKind::speed);
  REQUIRE(speeds.size() == 100);
  for (std::size_t i = 0; i < speeds.size(); ++i) {
    CHECK(speeds[i].frame == static_cast<std::int64_t>(i) * 4410);
    const double time_s = 0.1 * static_cast<double>(i);
    CHECK(speeds[i].speed_kmh == Approx(80.0 * std::min(1.0, time_s / 8.96)).margin(1e-9));
  }
}

TEST_CASE("drive: samples and log do not depend on the block", "[drive]") {
  TwinSet twin;
  twin.profile.voices = 3;
  twin.set_cv(3, 5);
  twin.add_row(0, 30, Effort::hard, 2, sine(3000, true, true));
  twin.add_row(0, 100, Effort::easy, 1, sine(2000, true, true));
  twin.add_key(1, twin.add_held(twin.add_segment(clip_of(sine(5000, true, false, 0.1))),
                                twin.add_segment(sine_hold(0.6)),
                                twin.add_segment(clip_of(sine(4000, false, true)))));
  twin.add_key(2, twin.add_shot(clip_of(sine(9000, true, true)), 95));
  twin.add_key(3, twin.add_shot(clip_of(sine(7000, true, true)), 20));
  model::RunCard card;
  card.seconds = 3.0;
  card.moves = {throttle(0.0, 126),    key(0.31, 1, true),  key(0.5001, 2, true),
                key(0.52, 3, true),    key(0.53, 3, false), key(0.7, 3, true),
                key(0.9, 1, false),    throttle(1.2, 30),   key(1.3, 1, true),
                direction(1.5, false), key(1.7, 1, false)};
  drive::DriveOptions options;
  options.stems = true;
  const auto set = twin.compile();
  const auto reference = drive_well(set, card, options);
  CHECK(reference.largest_sample > 0.1);
  for (const int block : {1, 64, 4096, 1 << 20}) {
    options.block_frames = block;
    const auto other = drive_well(set, card, options);
    CHECK(other.mix == reference.mix);
    CHECK(other.stems == reference.stems);
    CHECK(other.events == reference.events);
    CHECK(other.sounding_s == reference.sounding_s);
  }
}

TEST_CASE("drive: without rendering the log and the figures are the same", "[drive]") {
  TwinSet twin;
  twin.profile.voices = 2;
  twin.add_row(0, 100, Effort::easy, 1, sine(9000, true, true));
  twin.add_key(1, twin.add_held({}, twin.add_segment(sine_hold()), {}));
  model::RunCard card;
  card.seconds = 4.0;
  card.moves = {throttle(0.0, 100), key(1.0, 1, true), key(2.0, 1, false)};
  const auto set = twin.compile();
  const auto rendered = drive_well(set, card);
  const auto quick = drive_well(set, card, {false, false, 441});
  CHECK(quick.mix.empty());
  CHECK(quick.largest_sample == 0.0);
  CHECK(rendered.largest_sample > 0.1);
  CHECK(quick.events == rendered.events);
  CHECK(quick.sounding_s == rendered.sounding_s);
  CHECK(quick.voices_peak == rendered.voices_peak);
  CHECK(quick.voices_wanted_peak == rendered.voices_wanted_peak);
}

TEST_CASE("drive: the true peak is the wave's between samples, and comes with when it was",
          "[drive]") {
  // A quarter of the rate, its samples at 45 degrees: the wave is 3.01 dB above them.
  std::vector<float> samples(4410);
  for (std::size_t i = 0; i < samples.size(); ++i)
    samples[i] = 0.9F * ((i / 2) % 2 == 0 ? 1.0F : -1.0F);
  TwinSet twin;
  twin.add_key(1, twin.add_shot(clip_of(sine(9000, true, true))));
  twin.add_key(2, twin.add_shot(clip_of(samples)));
  model::RunCard card;
  card.seconds = 4.3;
  card.moves = {key(0.2, 1, true), key(2.5, 2, true)};
  const auto set = twin.compile();
  const auto output = drive_well(set, card);
  CHECK(output.largest_sample == Approx(0.9));
  REQUIRE(output.true_peak_dbtp);
  CHECK(*output.true_peak_dbtp == Approx(20.0 * std::log10(0.9) + 3.01).margin(0.4));
  CHECK(output.true_peak_s >= 2.5 - 1024.0 / twin_rate_hz);
  CHECK(output.true_peak_s <= 2.6 + 1024.0 / twin_rate_hz);

  // The same without keeping a sample.
  drive::DriveOptions options;
  options.keep_mix = false;
  options.block_frames = 1000;
  const auto measured = drive_well(set, card, options);
  CHECK(measured.mix.empty());
  CHECK(measured.largest_sample == output.largest_sample);
  CHECK(measured.true_peak_dbtp == output.true_peak_dbtp);
  CHECK(measured.true_peak_s == output.true_peak_s);
  CHECK(measured.events == output.events);
  CHECK_FALSE(drive_well(set, card, {false, false, 441}).true_peak_dbtp);
  card.moves.clear();
  CHECK_FALSE(drive_well(set, card).true_peak_dbtp);  // silence
}

TEST_CASE("drive: the mix is the stems added in float", "[drive]") {
  TwinSet twin;
  twin.add_row(0, 100, Effort::easy, 1, sine(9000, true, true));
  twin.add_key(0, twin.add_shot(clip_of(sine(30000, true, true))));
  model::RunCard card;
  card.seconds = 2.0;
  card.moves = {throttle(0.0, 100), key(0.5, 0, true)};
  drive::DriveOptions options;
  options.stems = true;
  const auto output = drive_well(twin.compile(), card, options);
  const auto& chuffs = output.stems.at("chuffs");
  const auto& keys = output.stems.at("keys");
  REQUIRE(chuffs.size() == output.mix.size());
  std::size_t differing = 0;
  for (std::size_t i = 0; i < output.mix.size(); ++i) {
    if (output.mix[i] != chuffs[i] + keys[i]) ++differing;
  }
  CHECK(differing == 0);
  CHECK(largest_bend(chuffs) > 0.0);
  CHECK(largest_bend(keys) > 0.0);
}

TEST_CASE("drive: rows are chosen by speed and effort, the nearest where none fits", "[drive]") {
  TwinSet twin;
  twin.set_cv(3, 10);
  twin.set_cv(4, 10);
  const auto slow_hard = twin.add_row(0, 20, Effort::hard, 1, impulse);
  const auto fast_hard = twin.add_row(20, 90, Effort::hard, 1, impulse);
  const auto easy = twin.add_row(30, 50, Effort::easy, 1, impulse);
  const auto drifting = twin.add_row(10, 90, Effort::drifting, 1, impulse);
  model::RunCard card;
  card.seconds = 40.0;
  card.moves = {throttle(0.0, 63), throttle(15.0, 126), throttle(25.0, 0)};
  const auto output = drive_well(twin.compile(), card);
  std::size_t judged = 0;
  for (const Event& beat : events_of(output, EventKind::beat)) {
    const double time_s = static_cast<double>(beat.frame) / twin_rate_hz;
    if (time_s < 4.4) {
      CHECK(beat.effort == Effort::hard);
      CHECK(beat.row == (beat.speed_kmh < 20.0 ? slow_hard : fast_hard));
    } else if (time_s > 5.5 && time_s < 15.0) {
      CHECK(beat.effort == Effort::easy);
      CHECK(beat.row == easy);
    } else if (time_s > 21.0 && time_s < 25.0) {
      CHECK(beat.effort == Effort::easy);
      CHECK(beat.row == fast_hard);  // no easy row at 80 km/h; hard and drifting are equally near
    } else if (time_s > 25.1) {
      CHECK(beat.effort == Effort::drifting);
      CHECK(beat.row == (beat.speed_kmh >= 10.0 ? drifting : slow_hard));
    }
    ++judged;
  }
  CHECK(judged > 200);
}

TEST_CASE("drive: above the last band the nearest one serves, and no row at all is silence",
          "[drive]") {
  TwinSet twin;
  model::RunCard card;
  card.seconds = 2.0;
  card.moves = {throttle(0.0, 126)};
  const auto silent = drive_well(twin.compile(), card);
  REQUIRE(!events_of(silent, EventKind::beat).empty());
  CHECK_FALSE(events_of(silent, EventKind::beat).front().row.is_set());
  CHECK(silent.largest_sample == 0.0);
  twin.add_row(0, 10, Effort::easy, 1, impulse);
  const auto nearest = twin.add_row(10, 20, Effort::easy, 1, impulse);
  for (const Event& beat : events_of(drive_well(twin.compile(), card), EventKind::beat)) {
    CHECK(beat.row == nearest);
  }
}

TEST_CASE("drive: the revolutions of a row are played in turn", "[drive]") {
  TwinSet twin;
  twin.add_row(0, 100, Effort::easy, 3, impulse);
  for (drive::PieceSound& sound : twin.sounds) {
    sound.clip.samples = {static_cast<float>(1 + 10 * sound.key.revolution + sound.key.position)};
  }
  model::RunCard card;
  card.seconds = 5.0;
  card.moves = {throttle(0.0, 126)};
  const auto output = drive_well(twin.compile(), card);
  const std::vector<Event> beats = events_of(output, EventKind::beat);
  REQUIRE(beats.size() > 40);
  for (std::size_t n = 0; n < beats.size(); ++n) {
    const std::size_t k = n + 1;
    CHECK(output.mix[static_cast<std::size_t>(beats[n].frame)] ==
          static_cast<float>(1 + 10 * (k / 4 % 3) + k % 4));
  }
}

TEST_CASE("drive: states follow the run", "[drive]") {
  TwinSet twin;
  twin.set_cv(3, 5);
  twin.set_cv(4, 5);
  model::RunCard card;
  card.seconds = 25.0;
  card.moves = {throttle(1.0, 126), throttle(8.0, 40), throttle(14.0, 0)};
  CHECK(states_of(drive_well(twin.compile(), card)) ==
        "standing starting working coasting working stopping standing ");
}

TEST_CASE("drive: turning round stops first, and turns direction-bound sounds over", "[drive]") {
  TwinSet twin;
  twin.set_cv(3, 2);
  twin.set_cv(4, 2);
  twin.add_key(1, twin.add_held({}, twin.add_segment(sine_hold()), {}),
               model::KeyDirection::forward);
  twin.add_key(1, twin.add_held({}, twin.add_segment(sine_hold(0.5)), {}),
               model::KeyDirection::reverse);
  model::RunCard card;
  card.seconds = 10.0;
  card.moves = {key(0.0, 1, true), throttle(0.0, 126), direction(4.0, false)};
  const auto output = drive_well(twin.compile(), card);
  CHECK(states_of(output) == "starting working stopping starting working ");
  const std::vector<Event> starts = events_of(output, EventKind::voice_start);
  REQUIRE(starts.size() == 2);
  CHECK(starts[0].frame == 0);
  CHECK(starts[1].frame == Approx((4.0 + 2 * 0.896) * twin_rate_hz).margin(2 * 64));
  CHECK(starts[0].text != starts[1].text);
}

TEST_CASE("drive: effort never changes twice within half a second", "[drive]") {
  TwinSet twin;
  twin.set_cv(3, 20);
  twin.set_cv(4, 20);
  twin.add_row(0, 100, Effort::easy, 1, impulse);
  model::RunCard card;
  card.seconds = 60.0;
  card.moves = {throttle(0.0, 110)};
  for (int i = 100; i < 290; ++i) {
    card.moves.push_back(throttle(0.2 * i, i % 2 == 0 ? 126 : 60));
  }
  const auto output = drive_well(twin.compile(), card, {false, false, 441});
  std::int64_t changed = -twin_rate_hz;
  Effort effort = Effort::easy;
  int changes = 0;
  for (const Event& beat : events_of(output, EventKind::beat)) {
    if (beat.effort == effort) continue;
    // A change is seen at the first beat after it: up to one interval (here below 0.1 s) late.
    CHECK(beat.frame - changed > 4 * twin_rate_hz / 10);
    changed = beat.frame;
    effort = beat.effort;
    ++changes;
  }
  CHECK(changes > 20);
}

TEST_CASE("drive: a CV written while driving changes momentum from then on", "[drive]") {
  TwinSet twin;
  twin.set_cv(3, 100);
  model::RunCard card;
  card.seconds = 3.0;
  card.moves = {throttle(0.0, 126), {1.0, model::MoveCv{3, 1}}};
  const auto output = drive_well(twin.compile(), card);
  const std::vector<Event> speeds = events_of(output, EventKind::speed);
  CHECK(speeds[10].speed_kmh == Approx(80.0 / 89.6).epsilon(0.01));
  CHECK(speeds[20].speed_kmh == Approx(80.0));
  const std::vector<Event> cvs = events_of(output, EventKind::cv);
  REQUIRE(cvs.size() == 1);
  CHECK(cvs[0].number == 3);
  CHECK(cvs[0].value == 1);
  CHECK(cvs[0].frame == twin_rate_hz);
}

TEST_CASE("drive: a card out of range is refused with its place", "[drive]") {
  const auto set = TwinSet().compile();
  JobControl job;
  const auto refused = [&](const model::RunCard& card, const std::string& place) {
    const auto output = drive::drive(set, card, {}, job);
    REQUIRE_FALSE(output.has_value());
    CHECK(output.error().code == ErrorCode::bad_argument);
    CHECK(output.error().place == place);
  };
  model::RunCard card;
  card.seconds = 1.0;
  const auto with = [&](model::Move move) {
    model::RunCard made = card;
    made.moves = {move};
    return made;
  };
  refused(with(throttle(0.0, 127)), "/moves/0/throttle_step");
  refused(with(throttle(0.0, -1)), "/moves/0/throttle_step");
  refused(with(throttle(-0.1, 1)), "/moves/0/time_s");
  refused(with(throttle(std::numeric_limits<double>::quiet_NaN(), 1)), "/moves/0/time_s");
  refused(with(key(0.0, 69, true)), "/moves/0/key");
  refused(with({0.0, model::MoveCv{0, 1}}), "/moves/0/cv");
  refused(with({0.0, model::MoveCv{3, 256}}), "/moves/0/value");
  refused(with({0.0, model::MoveLoad{1.01}}), "/moves/0/load");
  refused(with({0.0, model::MoveGradient{std::numeric_limits<double>::quiet_NaN()}}),
          "/moves/0/gradient_percent");
  model::RunCard descending = card;
  descending.moves = {throttle(0.5, 1), throttle(0.4, 2)};
  refused(descending, "/moves/1/time_s");
  card.speed_steps = 27;
  refused(card, "/speed_steps");
  card.speed_steps = 14;
  refused(with(throttle(0.0, 15)), "/moves/0/throttle_step");
  card.seconds = 4.0 * 3600 + 1;
  refused(card, "/seconds");
  card.seconds = std::numeric_limits<double>::infinity();
  refused(card, "/seconds");
  const auto output = drive::drive(nullptr, {}, {}, job);
  CHECK_FALSE(output.has_value());
  card.seconds = 1.0;
  const auto block = drive::drive(set, card, {true, false, 0}, job);
  REQUIRE_FALSE(block.has_value());
  CHECK(block.error().place == "block_frames");
}

TEST_CASE("drive: no time at all and one frame are driven as any other", "[drive]") {
  TwinSet twin;
  twin.add_key(5, twin.add_shot(clip_of({0.5F})));
  model::RunCard card;
  card.seconds = 0.0;
  CHECK(drive_well(twin.compile(), card).mix.empty());
  card.seconds = 1.0 / twin_rate_hz;
  card.moves = {key(0.0, 5, true)};
  const auto output = drive_well(twin.compile(), card);
  CHECK(output.mix == std::vector<float>{0.5F});
  REQUIRE(output.sounding_s.size() == 1);
  CHECK(output.sounding_s.begin()->second == Approx(1.0 / twin_rate_hz));
  CHECK(output.events.back().reason == "ended");
  CHECK(output.events.back().frame == 1);
}

TEST_CASE("drive: a cancelled drive says so", "[drive]") {
  struct Cancel : JobControl {
    [[nodiscard]] bool cancelled() const override { return calls > 0; }
    void progress(double /*fraction*/, std::string_view /*stage*/) override { ++calls; }
    int calls = 0;
  } job;
  model::RunCard card;
  const auto output = drive::drive(TwinSet().compile(), card, {}, job);
  REQUIRE_FALSE(output.has_value());
  CHECK(output.error().code == ErrorCode::cancelled);
}
