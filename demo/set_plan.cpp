// SPDX-License-Identifier: GPL-3.0-or-later
#include "set_plan.h"

#include <array>

namespace fourbeat::demo {

namespace {

using model::Category;
using model::KeyDirection;
using model::KeyMode;
using model::SoundKind;

constexpr auto shot = SoundKind::one_shot;
constexpr auto held = SoundKind::held;

constexpr std::array<PlannedSound, 29> sounds{{
    {"whistle_long", "Whistle, long", held, Category::whistle, -1.0, 95, 2.0, 150.0, false},
    {"whistle_short", "Whistle, short", shot, Category::whistle, -1.0, 95, 1.5, 150.0, false},
    {"whistle_departure", "Whistle, departure", shot, Category::whistle, -1.0, 95, 1.5, 150.0,
     false},
    {"whistle_crossing", "Whistle, crossing", shot, Category::whistle, -1.0, 95, 1.5, 150.0, false},
    {"whistle_shunting", "Shunting whistle", held, Category::whistle, -4.0, 92, 1.2, 300.0, false},
    {"whistle_peep", "Shunting whistle, two peeps", shot, Category::whistle, -4.0, 92, 1.0, 300.0,
     false},
    {"bell", "Bell", held, Category::bell, -8.0, 70, 1.0, 120.0, false},
    {"safety_valve", "Safety valve", held, Category::safety_valve, -5.0, 75, 1.5, 60.0, false},
    {"air_pump", "Air pump", held, Category::pump, -12.0, 55, 1.0, 40.0, false},
    {"injector", "Injector", held, Category::injector, -14.0, 60, 1.2, 80.0, false},
    {"blower", "Blower", held, Category::ambience, -16.0, 40, 0.8, 80.0, false},
    {"simmer", "Standing", held, Category::ambience, -26.0, 30, 0.8, 60.0, false},
    {"drain_cocks", "Drain cocks", held, Category::motion, -8.0, 65, 1.0, 80.0, false},
    {"rods", "Rods", held, Category::motion, -14.0, 50, 1.0, 60.0, false},
    {"flange_squeal", "Flanges on a curve", held, Category::motion, -16.0, 35, 0.6, 200.0, false},
    {"brake_squeal", "Brake blocks", shot, Category::motion, -11.0, 60, 1.0, 120.0, false},
    {"sander", "Sander", held, Category::motion, -18.0, 35, 0.6, 200.0, false},
    {"coupler", "Coupler", shot, Category::motion, -8.0, 60, 1.0, 40.0, false},
    {"buffers", "Buffers meet", shot, Category::motion, -8.0, 60, 1.0, 30.0, false},
    {"guards_whistle", "Guard's whistle", shot, Category::ambience, -10.0, 60, 1.0, 300.0, false},
    {"cab_door", "Cab door", shot, Category::ambience, -14.0, 40, 0.6, 40.0, true},
    {"fire_doors_open", "Fire doors open", shot, Category::ambience, -13.0, 45, 0.8, 40.0, true},
    {"fire_doors_shut", "Fire doors shut", shot, Category::ambience, -13.0, 45, 0.8, 40.0, true},
    {"shovel", "Shovel", shot, Category::ambience, -12.0, 50, 1.0, 40.0, true},
    {"rake", "Rake", shot, Category::ambience, -14.0, 35, 0.6, 60.0, true},
    {"tender_water", "Water into the tender", held, Category::ambience, -16.0, 35, 0.6, 60.0,
     false},
    {"hand_brake", "Hand brake", shot, Category::ambience, -15.0, 35, 0.6, 60.0, true},
    {"reverser", "Reverser", shot, Category::motion, -16.0, 35, 0.6, 60.0, true},
    {"lamp", "Lamp on its iron", shot, Category::ambience, -18.0, 30, 0.5, 120.0, false},
}};

// F0 to F9 after the default keys for steam models of NEM 608 (read in a third party's notes),
// where a sound belongs to their use; F2 is momentary there too.
constexpr auto either = KeyDirection::any;
constexpr std::array<PlannedKey, 30> keys{{
    {0, "Lights", KeyMode::latching, either, "lamp"},
    {1, "Rear lamp", KeyMode::latching, either, "lamp"},
    {2, "Whistle", KeyMode::momentary, either, "whistle_long"},
    {3, "Standing", KeyMode::latching, either, "simmer"},
    {4, "Uncouple", KeyMode::momentary, either, "coupler"},
    {5, "Shunting whistle", KeyMode::momentary, KeyDirection::forward, "whistle_shunting"},
    {5, "Shunting whistle, setting back", KeyMode::momentary, KeyDirection::reverse,
     "whistle_peep"},
    {6, "Cab door", KeyMode::momentary, either, "cab_door"},
    {7, "Fire doors open", KeyMode::momentary, either, "fire_doors_open"},
    {8, "Blower", KeyMode::latching, either, "blower"},
    {9, "Air pump", KeyMode::latching, either, "air_pump"},
    {10, "Injector", KeyMode::latching, either, "injector"},
    {11, "Whistle, short", KeyMode::momentary, either, "whistle_short"},
    {12, "Whistle, departure", KeyMode::momentary, either, "whistle_departure"},
    {13, "Whistle, crossing", KeyMode::momentary, either, "whistle_crossing"},
    {14, "Bell", KeyMode::latching, either, "bell"},
    {15, "Safety valve", KeyMode::latching, either, "safety_valve"},
    {16, "Drain cocks", KeyMode::latching, either, "drain_cocks"},
    {17, "Guard's whistle", KeyMode::momentary, either, "guards_whistle"},
    {18, "Shovel", KeyMode::momentary, either, "shovel"},
    {19, "Rake", KeyMode::momentary, either, "rake"},
    {20, "Fire doors shut", KeyMode::momentary, either, "fire_doors_shut"},
    {21, "Water into the tender", KeyMode::latching, either, "tender_water"},
    {22, "Hand brake", KeyMode::momentary, either, "hand_brake"},
    {23, "Reverser", KeyMode::momentary, either, "reverser"},
    {24, "Sander", KeyMode::latching, either, "sander"},
    {25, "Flanges on a curve", KeyMode::latching, either, "flange_squeal"},
    {26, "Brake blocks", KeyMode::momentary, either, "brake_squeal"},
    {27, "Buffers meet", KeyMode::momentary, either, "buffers"},
    {28, "Rods", KeyMode::latching, either, "rods"},
}};

// Names and the rules behind the values: NMRA S-9.2.2 (July 2012), RCN-225 for CV 17 and 18.
constexpr std::array<PlannedCv, 9> cvs{{
    {1, 3, "Primary address", "1 to 127."},
    {3, 16, "Acceleration rate", "16 × 0.896 s: 14.3 s from rest to full speed."},
    {4, 12, "Deceleration rate", "12 × 0.896 s: 10.8 s from full speed to rest."},
    {17, 195, "Extended address, high byte",
     "With CV 18: address 1000, in force when bit 5 of CV 29 is set."},
    {18, 232, "Extended address, low byte", ""},
    {19, 0, "Consist address", "0: runs alone."},
    {29, 2, "Configuration data 1",
     "28 or 128 speed steps, digital only, primary address, speed curve off."},
    {105, 6, "User identification 1", "The engine's number, for the owner."},
    {106, 0, "User identification 2", "Yours to use."},
}};

constexpr std::string_view notes = R"(# No. 6 “Ambrel” of the Quillenhaw Light Railway

A two-cylinder tank engine of an invented railway. Its limp is its own: the second and the
fourth beat of each turn are the softer ones, and the third comes a little early.

## Driving

- The drain cocks are open for the first turns of the wheels; **F16** opens them at any time.
- **F26** is the brake: it bites harder the longer you hold it.
- The beat follows the wheels. Give more steam than the speed needs and she barks; shut the
  regulator and she drifts.
- **F2** blows as long as you hold it. **F12** and **F13** are ready-made whistles, and **F11** is
  longer the faster she runs (CV 120 = 1: two peeps instead).
- **F5** blows the high shunting whistle going forward and two peeps setting back.

## Standing

She is never quite silent; **F3** brings you nearer. **F9** (air pump), **F10** (injector) and **F8**
(blower) may run together; when there are more sounds than voices the chuffs and whistles win.

## If something is wrong

Sounds that break up mean too small or too hard a speaker, or a volume set too high. The
emergency stop of your command station works whatever the set does.
)";

constexpr std::string_view passenger_card = R"({
  "format": "fourbeat-runcard",
  "version": 1,
  "title": "Away from the halt, up to line speed, and in to the next",
  "seed": 6,
  "seconds": 88,
  "speed_steps": 128,
  "moves": [
    {"time_s": 0, "load": 0.6},
    {"time_s": 1.5, "key": 9, "on": true},
    {"time_s": 4, "key": 18, "on": true},
    {"time_s": 4.2, "key": 18, "on": false},
    {"time_s": 6, "key": 17, "on": true},
    {"time_s": 6.2, "key": 17, "on": false},
    {"time_s": 7.5, "key": 2, "on": true},
    {"time_s": 8.7, "key": 2, "on": false},
    {"time_s": 9.5, "key": 9, "on": false},
    {"time_s": 10.5, "throttle_step": 20},
    {"time_s": 17, "throttle_step": 56},
    {"time_s": 25, "throttle_step": 90},
    {"time_s": 30, "gradient_percent": 0.8},
    {"time_s": 34, "throttle_step": 118},
    {"time_s": 38, "key": 13, "on": true},
    {"time_s": 38.3, "key": 13, "on": false},
    {"time_s": 44, "gradient_percent": 0},
    {"time_s": 47, "key": 10, "on": true},
    {"time_s": 52, "throttle_step": 70},
    {"time_s": 56, "key": 10, "on": false},
    {"time_s": 60, "throttle_step": 34},
    {"time_s": 63, "key": 2, "on": true},
    {"time_s": 64.5, "key": 2, "on": false},
    {"time_s": 68, "throttle_step": 0},
    {"time_s": 70, "key": 26, "on": true},
    {"time_s": 77, "key": 26, "on": false},
    {"time_s": 78, "key": 15, "on": true},
    {"time_s": 84, "key": 15, "on": false}
  ]
}
)";

constexpr std::string_view shunting_card = R"({
  "format": "fourbeat-runcard",
  "version": 1,
  "title": "Setting back onto two wagons and drawing them out",
  "seed": 7,
  "seconds": 62,
  "speed_steps": 28,
  "moves": [
    {"time_s": 0, "load": 0.1},
    {"time_s": 1, "key": 8, "on": true},
    {"time_s": 5.5, "direction": "reverse"},
    {"time_s": 6, "key": 5, "on": true},
    {"time_s": 6.4, "key": 5, "on": false},
    {"time_s": 7.5, "throttle_step": 5},
    {"time_s": 16, "throttle_step": 2},
    {"time_s": 20, "throttle_step": 0},
    {"time_s": 22, "key": 27, "on": true},
    {"time_s": 22.2, "key": 27, "on": false},
    {"time_s": 25, "key": 4, "on": true},
    {"time_s": 25.2, "key": 4, "on": false},
    {"time_s": 28, "load": 0.4},
    {"time_s": 29, "direction": "forward"},
    {"time_s": 31, "key": 5, "on": true},
    {"time_s": 32.2, "key": 5, "on": false},
    {"time_s": 33, "key": 8, "on": false},
    {"time_s": 34.5, "throttle_step": 7},
    {"time_s": 46, "throttle_step": 3},
    {"time_s": 51, "throttle_step": 0},
    {"time_s": 55, "key": 22, "on": true},
    {"time_s": 55.2, "key": 22, "on": false}
  ]
}
)";

constexpr std::array<PlannedCard, 2> cards{
    {{"cards/passenger.json", passenger_card}, {"cards/shunting.json", shunting_card}}};

}  // namespace

std::span<const PlannedSound> planned_sounds() {
  return sounds;
}
std::span<const PlannedKey> planned_keys() {
  return keys;
}
std::span<const PlannedCv> planned_cvs() {
  return cvs;
}
std::string_view planned_notes() {
  return notes;
}
std::span<const PlannedCard> planned_cards() {
  return cards;
}

}  // namespace fourbeat::demo
