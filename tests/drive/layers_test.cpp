// SPDX-License-Identifier: GPL-3.0-or-later
#include "living_twin.h"
#include "support/catch.h"

#include "fourbeat/base/decibels.h"
#include "fourbeat/base/wheel.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using namespace fourbeat::model;
using drive::EventKind;

namespace {

/// The wheel's turns after some frames of even acceleration from rest.
double turns_of_ramp(double frames, double top_kmh, double ramp_frames) {
  const double slope = turns_per_frame(top_kmh) / std::max(ramp_frames, 1e-9);
  const double on_ramp = std::min(frames, ramp_frames);
  return 0.5 * slope * on_ramp * on_ramp +
         std::max(0.0, frames - ramp_frames) * turns_per_frame(top_kmh);
}

/// The frame at which a ramp has made so many turns: bisected, not solved.
std::int64_t frame_of_turns(double turns, double top_kmh, double ramp_frames) {
  double low = 0.0;
  double high = 1e7;
  for (int i = 0; i < 200; ++i) {
    const double middle = 0.5 * (low + high);
    (turns_of_ramp(middle, top_kmh, ramp_frames) < turns ? low : high) = middle;
  }
  return std::llround(high);
}

Layer wheel_layer(Id<Sound> sound, std::vector<double> angles_deg) {
  Layer layer;
  layer.kind = LayerKind::wheel;
  layer.sounds = {sound};
  layer.angles_deg = std::move(angles_deg);
  return layer;
}

}  // namespace

TEST_CASE(
    "layers: strokes of the wheel and of the rails are on the frames of the closed form, "
    "steady and speeding up",
    "[drive]") {
  for (const int rate : {0, 10}) {
    const double ramp_frames = rate * 0.896 * twin_rate_hz;
    LivingTwin twin;
    twin.set_cv(3, rate);
    const Id<Sound> impulse = twin.add_impulse();
    Layer layer = wheel_layer(impulse, {37.0, 217.5});
    double cycle_turns = 1.0;
    std::vector<double> places{37.0 / 360.0, 217.5 / 360.0};
    SECTION("of the wheel") {}
    SECTION("of the rails: every axle strikes every joint") {
      layer = Layer{};
      layer.kind = LayerKind::distance;
      layer.sounds = {impulse};
      layer.joint_m = 18.3;
      layer.axles_m = {0.0, 2.4, 20.0};
      cycle_turns = layer.joint_m / wheel_circumference_m(twin_diameter_mm);
      places = {0.0, (20.0 - 18.3) / 18.3, 2.4 / 18.3};
    }
    twin.add_layer(layer);
    drive::DriveOptions options;
    options.stems = true;
    const auto output = drive_well(twin.compile(), card_of(30.0, {throttle(0.0, 126)}), options);
    const auto heard = sounding_frames(output.stems.at("layers"));
    std::vector<std::int64_t> expected;
    for (int cycle = 0; cycle < 400; ++cycle) {
      for (const double place : places) {
        const double turns = (cycle + place) * cycle_turns;
        if (turns == 0.0) continue;
        const std::int64_t frame = frame_of_turns(turns, 80.0, ramp_frames);
        if (frame < static_cast<std::int64_t>(output.mix.size())) expected.push_back(frame);
      }
    }
    CHECK(heard.size() > 60);
    CHECK((heard == expected));
  }
}

TEST_CASE("layers: an effort, a speed and a CV each set how loud one is", "[drive]") {
  LivingTwin twin;
  Layer layer = wheel_layer(twin.add_impulse(), {90.0});
  layer.drifting_db = 0.0;
  layer.easy_db = -6.0;
  layer.hard_db = -60.0;
  layer.levels = {{20.0, -20.0, {}}, {60.0, 0.0, {}}};
  const Id<Layer> id = twin.add_layer(layer);
  CvEffect effect;
  effect.target = CvTarget::layer_gain;
  effect.layer = id;
  effect.at_0 = -51.0;
  effect.at_255 = 0.0;
  twin.add_effect(150, 255, effect);
  const auto peak = [&](const RunCard& card) {
    const auto mix = drive_well(twin.compile(), card).mix;
    const auto middle = mix.begin() + static_cast<std::ptrdiff_t>(mix.size() / 2);
    return static_cast<double>(*std::max_element(middle, mix.end()));
  };
  RunCard card = card_of(6.0, {throttle(0.0, 63)});  // 40 km/h, easy
  CHECK(peak(card) == Approx(gain_of_db(-6.0 - 10.0)).epsilon(1e-4));
  card.moves = {throttle(0.0, 126)};  // 80 km/h, beyond the last level
  CHECK(peak(card) == Approx(gain_of_db(-6.0)).epsilon(1e-4));
  card.moves.push_back({0.0, MoveCv{150, 215}});  // 40 steps of 0.2 dB less
  CHECK(peak(card) == Approx(gain_of_db(-6.0 - 8.0)).epsilon(1e-3));
  card.moves.push_back({0.0, MoveLoad{1.0}});
  card.moves.push_back({0.0, MoveGradient{2.0}});  // hard: silent
  CHECK(peak(card) == 0.0);
}

TEST_CASE("layers: speeds, first turns and whens bound one", "[drive]") {
  LivingTwin twin;
  twin.set_cv(3, 10);
  Layer layer = wheel_layer(twin.add_impulse(), {90.0});
  const auto strokes = [&] {
    return sounding_frames(drive_well(twin.compile(), card_of(12.0, {throttle(0.0, 126)})).mix)
        .size();
  };
  twin.add_layer(layer);
  const std::size_t all = strokes();
  CHECK(all > 30);
  twin.project.layers[0].first_turns = 4.0;
  CHECK(strokes() == 4);
  twin.project.layers[0].first_turns = 0.0;
  twin.project.layers[0].to_kmh = 40.0;
  const std::size_t slow = strokes();
  twin.project.layers[0].from_kmh = 40.0;
  twin.project.layers[0].to_kmh = 300.0;
  CHECK(slow > 3);
  CHECK(slow + strokes() == all);
  twin.project.layers[0].from_kmh = 0.0;
  twin.project.layers[0].when.states = {State::standing};
  CHECK(strokes() == 0);
}

TEST_CASE("layers: a bed comes with its state, goes with it, and bends nothing", "[drive]") {
  LivingTwin twin;
  Layer bed;
  bed.sounds = {twin.add_tone()};
  bed.when.states = {State::standing};
  bed.fade_s = 0.05;
  twin.add_layer(bed);
  const auto output =
      drive_well(twin.compile(), card_of(6.0, {throttle(2.0, 60), throttle(4.0, 0)}));
  CHECK(largest_bend(output.mix) <= 4.0 * steady_bend());
  const auto level = [&](double from_s, double to_s) {
    double sum = 0.0;
    const auto from = static_cast<std::size_t>(from_s * twin_rate_hz);
    const auto to = static_cast<std::size_t>(to_s * twin_rate_hz);
    for (std::size_t i = from; i < to; ++i)
      sum += output.mix[i] * output.mix[i];
    return std::sqrt(sum / static_cast<double>(to - from));
  };
  const double steady = twin_amplitude / std::sqrt(2.0);
  CHECK(level(0.2, 1.9) == Approx(steady).epsilon(0.01));
  CHECK(level(2.2, 3.9) == 0.0);
  CHECK(level(4.2, 5.9) == Approx(steady).epsilon(0.01));
  CHECK(output.voices_peak == 1);
}

TEST_CASE("layers: drifting may be theirs alone", "[drive]") {
  LivingTwin twin;
  twin.set_cv(4, 20);
  twin.add_row(0, 100, Effort::easy, 1, {1.0F});
  const RunCard card = card_of(20.0, {throttle(0.0, 100), throttle(2.0, 0)});
  const auto with_row = [&] {
    std::size_t rows = 0;
    for (const drive::Event& event : events_of(drive_well(twin.compile(), card), EventKind::beat)) {
      if (event.effort == Effort::drifting && event.row.is_set()) ++rows;
    }
    return rows;
  };
  CHECK(with_row() > 20);
  twin.project.driving.drifting_without_chuffs = true;
  CHECK(with_row() == 0);
  const auto drifting = twin.add_row(0, 100, Effort::drifting, 1, {0.5F});
  CHECK(drifting.is_set());
  CHECK(with_row() > 20);
}
