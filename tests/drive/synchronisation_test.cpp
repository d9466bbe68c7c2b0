// SPDX-License-Identifier: GPL-3.0-or-later
#include "living_twin.h"
#include "support/catch.h"

#include "fourbeat/base/wheel.h"

#include <cstdlib>

using namespace fourbeat;
using namespace fourbeat::tests;
using namespace fourbeat::model;
using drive::EventKind;

namespace {

std::vector<std::int64_t> beats_of(const LivingTwin& twin, const RunCard& card) {
  std::vector<std::int64_t> frames;
  for (const drive::Event& event : events_of(drive_well(twin.compile(), card), EventKind::beat))
    frames.push_back(event.frame);
  return frames;
}

const RunCard steady = card_of(60.0, {throttle(0.0, 63)});

}  // namespace

TEST_CASE(
    "synchronisation: calculated with an error of 5 % either way, beats come so much too often "
    "or too seldom, each on its frame",
    "[drive]") {
  for (const double error : {-5.0, 0.0, 5.0}) {
    LivingTwin twin;
    twin.project.driving.sync.kind = SyncKind::calculated;
    twin.project.driving.sync.error_percent = error;
    const auto beats = beats_of(twin, steady);
    const double turns_a_frame =
        40.0 / 3.6 / wheel_circumference_m(1500.0) / twin_rate_hz * (1.0 + error / 100.0);
    REQUIRE(beats.size() > 500);
    CHECK(beats.size() == static_cast<std::size_t>(60.0 * twin_rate_hz * turns_a_frame * 4.0));
    std::int64_t off = 0;
    for (std::size_t i = 0; i < beats.size(); ++i) {
      const std::int64_t expected = std::llround(static_cast<double>(i + 1) / 4.0 / turns_a_frame);
      off = std::max<std::int64_t>(off, std::abs(beats[i] - expected));
    }
    CHECK(off == 0);
  }
}

TEST_CASE(
    "synchronisation: heard in the mix, the beats of an error of 5 % drift from the wheel by so "
    "much, and the log says by how much",
    "[drive]") {
  for (const double error : {-5.0, 0.0, 5.0}) {
    INFO(error << " %");
    LivingTwin twin;
    twin.project.engine.beat_angles_deg = {0.0, 92.0, 181.0, 268.0};
    twin.set_cv(3, 20);
    twin.set_cv(4, 20);
    twin.add_row(0, 100, Effort::easy, 1, {1.0F});
    const RunCard ramps = card_of(60.0, {throttle(0.0, 126), throttle(35.0, 0)});
    const auto wheel = drive_well(twin.compile(), ramps);
    twin.project.driving.sync.kind = SyncKind::calculated;
    twin.project.driving.sync.error_percent = error;
    const auto output = drive_well(twin.compile(), ramps);
    const std::vector<std::int64_t> heard = sounding_frames(output.mix);
    const auto told = events_of(output, EventKind::beat);
    REQUIRE(heard.size() == told.size());
    REQUIRE(heard.size() > 300);
    // The wheel's own turns, by the frames at which its beats are heard without an error.
    const std::vector<std::int64_t> true_frames = sounding_frames(wheel.mix);
    const auto place_of = [&](std::size_t beat) {  // in turns; the one at the start is not reached
      const std::size_t n = beat + 1;
      const std::size_t whole = n / 4;
      return static_cast<double>(whole) + twin.project.engine.beat_angles_deg[n % 4] / 360.0;
    };
    std::size_t after = 0;
    for (std::size_t i = 0; i < heard.size(); ++i) {
      REQUIRE(heard[i] == told[i].frame);
      while (after + 1 < true_frames.size() && true_frames[after + 1] <= heard[i])
        ++after;
      if (after + 1 == true_frames.size() || heard[i] < true_frames.front()) continue;
      const double share = static_cast<double>(heard[i] - true_frames[after]) /
                           static_cast<double>(true_frames[after + 1] - true_frames[after]);
      const double made =
          place_of(after) + share * (place_of(after + 1) - place_of(after));  // turns, nearly
      // Speed bends the line between two beats: by less than this from the second turn on.
      if (made > 1.0) REQUIRE(place_of(i) - made == Approx(error / 100.0 * made).margin(0.01));
      REQUIRE(told[i].turns == Approx(place_of(i) / (1.0 + error / 100.0)).margin(1e-6));
    }
    REQUIRE(output.beats_per_turn);
    CHECK(*output.beats_per_turn == Approx(4.0 * (1.0 + error / 100.0)).margin(1e-6));
  }
}

TEST_CASE("synchronisation: an error changed by a CV under way makes no beat jump", "[drive]") {
  LivingTwin twin;
  twin.project.driving.sync.kind = SyncKind::calculated;
  CvEffect effect;
  effect.target = CvTarget::sync_error;
  effect.at_0 = -10.0;
  effect.at_255 = 10.2;
  twin.add_effect(140, 126, effect);
  RunCard card = steady;
  card.moves.push_back({20.0, MoveCv{140, 255}});
  card.moves.push_back({40.0, MoveCv{140, 0}});
  const auto beats = beats_of(twin, card);
  const double even = 3600.0 * wheel_circumference_m(1500.0) / 40.0 / 4.0 / 1000.0 * twin_rate_hz;
  for (std::size_t i = 1; i < beats.size(); ++i) {
    const auto gap = static_cast<double>(beats[i] - beats[i - 1]);
    REQUIRE(gap > even / 1.11);
    REQUIRE(gap < even / 0.89);
  }
}

TEST_CASE(
    "synchronisation: a sensor's beats are those of the wheel at a steady speed, late while it "
    "speeds up and early while it slows down",
    "[drive]") {
  for (const int pulses : {1, 2, 3, 4, 8}) {
    INFO(pulses << " pulses a turn");
    LivingTwin twin;
    twin.project.engine.beat_angles_deg = {0.0, 92.0, 181.0, 268.0};
    const auto exact = beats_of(twin, steady);
    twin.project.driving.sync.kind = SyncKind::sensor;
    twin.project.driving.sync.pulses_per_turn = pulses;
    const auto sensed = beats_of(twin, steady);
    REQUIRE(sensed.size() + 4 >= exact.size());
    REQUIRE(sensed.size() <= exact.size());
    for (std::size_t i = 8; i < sensed.size(); ++i)
      REQUIRE(std::abs(sensed[i] - exact[i]) <= 1);

    twin.set_cv(3, 40);
    twin.set_cv(4, 40);
    const RunCard ramps = card_of(60.0, {throttle(0.0, 126), throttle(30.0, 0)});
    LivingTwin plain = twin;
    plain.project.driving.sync.kind = SyncKind::exact;
    const auto true_beats = beats_of(plain, ramps);
    const auto late_beats = beats_of(twin, ramps);
    const auto until = [](const std::vector<std::int64_t>& frames, double seconds) {
      return std::count_if(frames.begin(), frames.end(), [&](std::int64_t frame) {
        return frame < static_cast<std::int64_t>(seconds * twin_rate_hz);
      });
    };
    const auto up = until(true_beats, 29.0);
    CHECK(until(late_beats, 29.0) <= up);
    CHECK(until(late_beats, 29.0) >= up - 4 / pulses - 1);
    for (long i = 8; i < up - 8; ++i) {
      const auto at = static_cast<std::size_t>(i);
      REQUIRE(late_beats[at] >= true_beats[at] - 1);
    }
    // And none is lost or doubled: the places follow one another.
    const auto events = events_of(drive_well(twin.compile(), ramps), EventKind::beat);
    for (std::size_t i = 1; i < events.size(); ++i)
      REQUIRE(events[i].position == (events[i - 1].position + 1) % 4);
  }
}

TEST_CASE("synchronisation: rows are chosen late by the time set", "[drive]") {
  LivingTwin twin;
  twin.set_cv(3, 20);
  const Id<ChuffRow> slow = twin.add_row(0, 40, Effort::hard, 1, {1.0F});
  const Id<ChuffRow> fast = twin.add_row(40, 100, Effort::hard, 1, {1.0F});
  const auto change_kmh = [&] {
    const auto output = drive_well(twin.compile(), card_of(20.0, {throttle(0.0, 126)}));
    double last_slow = 0.0;
    for (const drive::Event& event : events_of(output, EventKind::beat)) {
      if (event.row == slow) last_slow = event.speed_kmh;
      if (event.row == fast) break;
    }
    return last_slow;
  };
  CHECK(change_kmh() == Approx(39.3).margin(0.7));
  twin.project.driving.sync.row_delay_s = 1.0;
  CHECK(change_kmh() == Approx(39.3 + 80.0 / 17.92).margin(0.7));  // 17.92 s from rest to 80 km/h
}

TEST_CASE("slip: beats run free of the wheel, then recover, and the way is not the wheel's",
          "[drive]") {
  LivingTwin twin;
  twin.project.driving.slip = Slip{0.0, 36.0, 0.5, 1.0, 0.5, {}};
  twin.add_row(0, 100, Effort::easy, 1, {1.0F});
  twin.project.chuffs.rows.push_back(twin.project.chuffs.rows[0]);
  ChuffRow& spinning = twin.project.chuffs.rows.back();
  spinning.id = Id<ChuffRow>(twin.project.next_id++);
  spinning.condition = Condition::slip;
  Layer joints;
  joints.kind = LayerKind::distance;
  joints.sounds = {twin.add_impulse()};
  joints.joint_m = 10.0;
  twin.add_layer(joints);
  twin.add_task(5, SlipKey{});
  const auto plain =
      drive_well(twin.compile(), card_of(30.0, {throttle(0.0, 63), key(5.0, 6, true)}));
  const auto output =
      drive_well(twin.compile(), card_of(30.0, {throttle(0.0, 63), key(10.0, 5, true)}));
  // 36 km/h more at the rims for 0.25 + 1 + 0.25 s: 15 m of rim.
  const double more = 15.0 / wheel_circumference_m(1500.0) * 4.0;
  const auto count = [](const drive::DriveOutput& run) {
    return static_cast<double>(events_of(run, EventKind::beat).size());
  };
  CHECK(count(output) - count(plain) == Approx(more).margin(1.0));
  CHECK(starts_of(output, "layer") == starts_of(plain, "layer"));
  for (const drive::Event& event : events_of(output, EventKind::beat)) {
    const double time_s = static_cast<double>(event.frame) / twin_rate_hz;
    const bool slipping = time_s > 10.01 && time_s < 12.0;
    if (time_s > 9.99 && time_s < 10.01) continue;
    REQUIRE((event.row == spinning.id) == slipping);
    if (slipping) REQUIRE(event.speed_kmh <= 76.0 + 1e-6);
  }
  const auto told = events_of(output, EventKind::slip);
  REQUIRE(told.size() == 2);
  CHECK(static_cast<double>(told[1].frame) / twin_rate_hz == Approx(12.0).margin(0.01));
  // Every beat is where turns and slip add up to its place, to the frame.
  const double rolling = 40.0 / 3.6 / wheel_circumference_m(1500.0) / twin_rate_hz;
  const double peak = 36.0 / 3.6 / wheel_circumference_m(1500.0) / twin_rate_hz;
  const auto start = static_cast<double>(told[0].frame);
  const auto turns = [&](double frame) {
    const double t = std::max(0.0, frame - start);
    const double up = std::min(t, 0.5 * twin_rate_hz);
    const double flat = std::clamp(t - 0.5 * twin_rate_hz, 0.0, 1.0 * twin_rate_hz);
    const double down = std::clamp(t - 1.5 * twin_rate_hz, 0.0, 0.5 * twin_rate_hz);
    return rolling * frame +
           peak * (up * up / twin_rate_hz + flat + down - down * down / twin_rate_hz);
  };
  const auto beats = events_of(output, EventKind::beat);
  for (std::size_t i = 0; i < beats.size(); ++i) {
    const double place = static_cast<double>(i + 1) / 4.0;
    const auto frame = static_cast<double>(beats[i].frame);
    REQUIRE(turns(frame - 0.51) < place);
    REQUIRE(turns(frame + 0.51) > place);
  }
}

TEST_CASE("slip: a heavy start slips as often as its chance has it, a light one never", "[drive]") {
  LivingTwin twin;
  twin.set_cv(3, 10);
  twin.project.driving.slip = Slip{0.5, 20.0, 0.3, 0.3, 0.3, {}};
  RunCard card = card_of(400.0, {{0.0, MoveLoad{0.8}}});
  for (int i = 0; i < 100; ++i) {
    card.moves.push_back(throttle(4.0 * i, 60));
    card.moves.push_back(throttle(4.0 * i + 3.0, 0));
  }
  const auto slips = [&] {
    return events_of(drive_well(twin.compile(), card), EventKind::slip).size() / 2;
  };
  CHECK(slips() > 30);
  CHECK(slips() < 70);
  card.moves[0] = {0.0, MoveLoad{0.4}};
  CHECK(slips() == 0);
}

TEST_CASE("slip: a heavy start slips a quarter turn after leaving rest", "[drive]") {
  LivingTwin twin;
  twin.set_cv(3, 10);
  twin.project.driving.slip = Slip{1.0, 20.0, 0.3, 0.3, 0.3, {}};
  const auto output =
      drive_well(twin.compile(), card_of(4.0, {{0.0, MoveLoad{0.8}}, throttle(0.0, 60)}));
  const std::vector<drive::Event> slips = events_of(output, EventKind::slip);
  const std::vector<drive::Event> beats = events_of(output, EventKind::beat);
  REQUIRE(slips.size() == 2);
  REQUIRE_FALSE(beats.empty());
  REQUIRE(beats[0].turns == Approx(0.25).epsilon(1e-3));
  CHECK(std::abs(slips[0].frame - beats[0].frame) <= drive::control_grid_frames);
}
