// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/drive/row_choice.h"

#include "support/catch.h"
#include "twin_set.h"

#include <array>
#include <span>

using namespace fourbeat;
using namespace fourbeat::drive;
using namespace fourbeat::tests;
using model::Condition;
using model::Effort;

TEST_CASE("row choice: rows of a starting condition serve inside their bands, normal ones beyond",
          "[drive]") {
  const std::array<RowBand, 5> rows{{{0, 40, Effort::hard, Condition::normal},
                                     {0, 8, Effort::hard, Condition::cocks_open},
                                     {0, 5, Effort::easy, Condition::heavy_start},
                                     {0, 40, Effort::easy, Condition::normal},
                                     {0, 40, Effort::hard, Condition::slip}}};
  CHECK(choose_row(rows, 3.0, Effort::hard) == 0);
  CHECK(choose_row(rows, 3.0, Effort::hard, Condition::cocks_open) == 1);
  CHECK(choose_row(rows, 8.0, Effort::hard, Condition::cocks_open) == 0);
  CHECK(choose_row(rows, 3.0, Effort::easy, Condition::cocks_open) == 1);
  CHECK(choose_row(rows, 3.0, Effort::hard, Condition::heavy_start) == 2);
  // Without a heavy start for this speed, one with the cocks open; without either, a normal row.
  CHECK(choose_row(rows, 6.0, Effort::hard, Condition::heavy_start) == 1);
  CHECK(choose_row(rows, 20.0, Effort::easy, Condition::heavy_start) == 3);
  CHECK(choose_row(std::span(rows).subspan(1, 2), 3.0, Effort::hard) == -1);
  CHECK(choose_row({}, 3.0, Effort::hard, Condition::cocks_open) == -1);
}

TEST_CASE("row choice: the first turns after rest are a start, heavy from half a load on",
          "[drive]") {
  CHECK(condition_of(0.0, 0.0, 4.0, 0.5) == Condition::cocks_open);
  CHECK(condition_of(3.99, 0.49, 4.0, 0.5) == Condition::cocks_open);
  CHECK(condition_of(3.99, 0.5, 4.0, 0.5) == Condition::heavy_start);
  CHECK(condition_of(4.0, 1.0, 4.0, 0.5) == Condition::normal);
}

TEST_CASE("drive: the cocks are open for four turns after each rest", "[drive]") {
  TwinSet twin;
  twin.add_row(0.0, 80.0, Effort::hard, 1, sine(200, true, true));
  const auto open = twin.add_row(0.0, 20.0, Effort::hard, 1, sine(100, true, true));
  twin.project.chuffs.rows[1].condition = Condition::cocks_open;
  twin.set_cv(3, 20);
  twin.set_cv(4, 5);
  model::RunCard card;
  card.seconds = 34.0;
  card.speed_steps = 128;
  card.moves = {throttle(0.0, 30), throttle(14.0, 0), throttle(20.0, 30)};
  const auto output = drive_well(twin.compile(), card);
  std::vector<std::size_t> starts;
  std::size_t count = 0;
  bool before = false;
  for (const Event& beat : events_of(output, EventKind::beat)) {
    const bool is_open = beat.row == open;
    if (is_open && !before) starts.push_back(0);
    if (is_open) ++starts.back();
    before = is_open;
    ++count;
  }
  REQUIRE(count > 40);
  // The wheel starts at angle 0, so the first of 16 beats of four turns is not one of them; the
  // second start begins between two beats.
  REQUIRE(starts.size() == 2);
  CHECK(starts[0] == 15);
  CHECK((starts[1] == 15 || starts[1] == 16));
}

TEST_CASE("drive: a fused row loops on while the speed is its own, its rate unchanged", "[drive]") {
  TwinSet twin;
  twin.add_row(0.0, 40.0, Effort::hard, 1, std::vector<float>(100, 0.0F));
  model::ChuffRow row;
  row.id = Id<model::ChuffRow>(twin.project.next_id++);
  row.from_kmh = 40.0;
  row.to_kmh = 80.1;
  row.effort = Effort::hard;
  row.fused = model::FusedLoop{};
  twin.project.chuffs.rows.push_back(row);
  twin.sounds.push_back({{{}, row.id, model::fused_revolution, 0}, sine_hold(), 0.0});
  twin.set_cv(3, 10);
  twin.set_cv(4, 10);
  model::RunCard card;
  card.seconds = 20.0;
  card.speed_steps = 128;
  card.moves = {throttle(0.0, 126), throttle(10.0, 0)};
  DriveOptions options;
  options.stems = true;
  const auto output = drive_well(twin.compile(), card, options);
  // S-9.2.2: 10 × 0.896 s for the whole range, so 40 km/h come 4.48 s after the start and, on the
  // way down, 4.48 s after 10 s; the row changes with the first beat after each.
  std::vector<std::int64_t> ends;
  std::int64_t fused_start = -1;
  for (const Event& event : output.events) {
    if (event.text != "chuff-hard-040-loop") continue;
    if (event.kind == EventKind::voice_start) {
      CHECK(fused_start == -1);
      fused_start = event.frame;
    } else {
      ends.push_back(event.frame);
    }
  }
  REQUIRE(ends.size() == 1);
  const double beat_s = 3.14159265 * 1.5 / (4.0 * 40.0 / 3.6);
  CHECK(fused_start >= std::llround(4.48 * twin_rate_hz));
  CHECK(fused_start <= std::llround((4.48 + beat_s) * twin_rate_hz));
  CHECK(ends[0] >= std::llround(14.48 * twin_rate_hz) - 64);
  CHECK(ends[0] <= std::llround((14.48 + beat_s * 1.1) * twin_rate_hz));
  const std::vector<float>& chuffs = output.stems.at("chuffs");
  const auto fade = static_cast<std::int64_t>(fused_fade_s * twin_rate_hz);
  // Nothing else sounds in this set. Between its fades the loop is the steady 200 Hz.
  std::vector<float> inside(chuffs.begin() + fused_start + fade + 1, chuffs.begin() + ends[0]);
  CHECK(largest_bend(inside) == Approx(steady_bend()).epsilon(0.01));
  for (std::int64_t i = 0; i < fused_start; ++i)
    REQUIRE(chuffs[static_cast<std::size_t>(i)] == 0.0F);
  for (auto i = static_cast<std::size_t>(ends[0] + fade + 1); i < chuffs.size(); ++i)
    REQUIRE(chuffs[i] == 0.0F);
  CHECK(largest_bend(chuffs) < 1.1 * steady_bend());  // no click at either end
}

TEST_CASE("drive: a fused loop ends when the engine stops dead", "[drive]") {
  TwinSet twin;
  model::ChuffRow row;
  row.id = Id<model::ChuffRow>(twin.project.next_id++);
  row.to_kmh = 80.1;
  row.fused = model::FusedLoop{};
  twin.project.chuffs.rows.push_back(row);
  twin.sounds.push_back({{{}, row.id, model::fused_revolution, 0}, sine_hold(), 0.0});
  model::RunCard card;
  card.seconds = 3.0;
  card.speed_steps = 128;
  card.moves = {throttle(0.0, 100), throttle(1.0, 0)};
  const auto output = drive_well(twin.compile(), card);
  const auto ends = events_of(output, EventKind::voice_end);
  REQUIRE(ends.size() == 1);
  CHECK(ends[0].frame <= twin_rate_hz + 128);
}
