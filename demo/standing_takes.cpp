// SPDX-License-Identifier: GPL-3.0-or-later
#include "sounds.h"
#include "stage.h"
#include "takes.h"

#include <algorithm>
#include <array>
#include <span>
#include <string>
#include <utility>
#include <vector>

namespace fourbeat::demo {

namespace {

constexpr Place cab_roof{-6.0, 0.2, 3.4};
constexpr Place dome{-4.2, 0.0, 3.3};
constexpr Place pump{-1.6, 1.3, 1.8};
constexpr Place injector{-6.2, 1.3, 0.9};
constexpr Place smokebox{0.0, 0.0, 3.0};
constexpr Place cylinders{0.3, 1.2, 0.7};
constexpr Place drawgear{-13.5, 0.0, 1.0};
constexpr Place tender{-10.0, 0.5, 2.2};
constexpr Place cab_floor{-7.0, 0.2, 1.5};
constexpr Place platform{-11.0, 5.0, 1.9};
constexpr Place rail{-3.0, 0.7, 0.2};
constexpr Place brake_blocks{-3.4, 0.8, 0.6};

/// A take of named sounds, played one after another by the standing engine.
class Session {
 public:
  Session(std::string file, std::string title, std::string log, double seconds,
          std::vector<Microphone> microphones, const Surroundings& surroundings, std::uint64_t seed)
      : seed_(seed),
        frames_(frames_of(seconds)),
        stage_(frames_, microphones, surroundings, seed_of(seed, "stage")),
        microphones_(std::move(microphones)) {
    take_.truth.file = std::move(file);
    take_.truth.title = std::move(title);
    take_.truth.log = std::move(log);
    for (const Microphone& mic : microphones_) {
      take_.truth.microphones.push_back(mic.position);
      take_.truth.chimney_delay_frames.push_back(delay_frames({0.0, 0.0, 3.5}, mic.place));
    }
  }

  [[nodiscard]] Samples silence() const { return Samples(static_cast<std::size_t>(frames_)); }
  [[nodiscard]] std::uint64_t seed(std::string_view part) const { return seed_of(seed_, part); }
  Stage& stage() { return stage_; }

  /// One sound alone at its place: `fill` adds it and says where it ends.
  template <class Fill>
  void one_shot(const std::string& name, double at_s, const Place& place, double gain, int channel,
                bool indoors, Fill fill) {
    Samples source = silence();
    const double end_s = fill(source);
    stage_.play(source, place, gain, indoors);
    mark(name, "whole", at_s, end_s, place, channel);
  }

  /// A held sound: `fill` adds it and says where its parts meet.
  template <class Fill>
  void held(const std::string& name, const Place& place, double gain, int channel, bool indoors,
            Fill fill) {
    Samples source = silence();
    const Parts parts = fill(source);
    stage_.play(source, place, gain, indoors);
    mark(name, "begin", parts.begin_s, parts.hold_s, place, channel);
    mark(name, "hold", parts.hold_s, parts.release_s, place, channel);
    mark(name, "release", parts.release_s, parts.end_s, place, channel);
  }

  /// A stretch as it reaches `channel` from `place`; a tail of echoes goes with "whole" and
  /// "release".
  void mark(const std::string& name, const std::string& part, double from_s, double to_s,
            const Place& place, int channel) {
    const std::int64_t late =
        delay_frames(place, microphones_[static_cast<std::size_t>(channel - 1)].place);
    const double tail_s = part == "whole" || part == "release" ? 0.12 : 0.0;
    const FrameRange range =
        frame_range(frames_of(from_s) + late, std::min(frames_, frames_of(to_s + tail_s) + late));
    take_.truth.events.push_back({name, part, range, 0.0F, channel});
  }

  [[nodiscard]] SynthTake finish(std::span<const double> gains, double hiss_dbfs) {
    take_.pcm = stage_.finish(gains, hiss_dbfs);
    for (TruthEvent& event : take_.truth.events) {
      const auto& samples = take_.pcm.channels[static_cast<std::size_t>(event.channel - 1)];
      for (std::int64_t i = event.range.start.value(); i < event.range.end.value(); ++i) {
        const float x = samples[static_cast<std::size_t>(i)];
        event.peak = std::max(event.peak, x < 0.0F ? -x : x);
      }
    }
    return std::move(take_);
  }

 private:
  std::uint64_t seed_;
  std::int64_t frames_;
  Stage stage_;
  std::vector<Microphone> microphones_;
  SynthTake take_;
};

}  // namespace

SynthTake whistles(std::uint64_t seed) {
  Session s(
      std::string(take_files[3]), "Whistles",
      "Standing in the yard, full pressure. Chime whistle long, short and in patterns, then "
      "the shunting whistle. One echo from the goods shed.",
      22.0,
      {{"lineside", {-5.0, 4.5, 2.6}, 0.0, 0.05, 0.0}, {"cab", {-7.2, 0.6, 2.2}, 2600.0, 0.0, 0.0}},
      {0.25, 0.015, 0.34, 0.9, 0.012}, seed_of(seed, "whistles"));
  const Whistle chime = chime_whistle();
  const Whistle shunting = shunting_whistle();
  s.held("whistle_long", cab_roof, 1.0, 1, false,
         [&](Samples& out) { return blow_whistle(out, 0.5, 4.2, chime, 1.0, s.seed("long")); });
  s.one_shot("whistle_short", 6.8, cab_roof, 1.0, 1, false, [&](Samples& out) {
    return blow_whistle(out, 6.8, 0.12, chime, 0.95, s.seed("short")).end_s;
  });
  s.one_shot("whistle_departure", 8.5, cab_roof, 1.0, 1, false, [&](Samples& out) {
    const double end_s = blow_whistle(out, 8.5, 0.06, chime, 0.95, s.seed("dep1")).end_s;
    return blow_whistle(out, end_s - 0.05, 0.75, chime, 1.0, s.seed("dep2")).end_s;
  });
  s.one_shot("whistle_crossing", 11.8, cab_roof, 1.0, 1, false, [&](Samples& out) {
    double t = blow_whistle(out, 11.8, 0.35, chime, 1.0, s.seed("cross1")).end_s - 0.1;
    t = blow_whistle(out, t, 0.05, chime, 0.95, s.seed("cross2")).end_s - 0.1;
    return blow_whistle(out, t, 0.55, chime, 1.0, s.seed("cross3")).end_s;
  });
  s.held("whistle_shunting", cab_roof, 1.0, 1, false, [&](Samples& out) {
    return blow_whistle(out, 16.2, 2.8, shunting, 0.9, s.seed("shunting"));
  });
  s.one_shot("whistle_peep", 20.2, cab_roof, 1.0, 1, false, [&](Samples& out) {
    const double end_s = blow_whistle(out, 20.2, 0.07, shunting, 0.85, s.seed("peep1")).end_s;
    return blow_whistle(out, end_s - 0.06, 0.10, shunting, 0.9, s.seed("peep2")).end_s;
  });
  Samples quiet = s.silence();
  simmer(quiet, 0.0, 22.0, 0.4, s.seed("simmer"));
  s.stage().play(quiet, {-4.0, 0.0, 2.5}, 0.6);
  s.stage().blow(0.25, {});
  s.stage().whine(3150.0, 0.0012);
  return s.finish(std::array<double, 2>{{0.66, 0.25}}, -80.0);
}

SynthTake safety_valves(std::uint64_t seed) {
  Session s(
      std::string(take_files[4]), "Safety valves",
      "Standing at the water column, fire made up. One short lift, then a long one until it "
      "shut of itself.",
      13.6,
      {{"lineside", {-4.0, 5.0, 2.6}, 0.0, 0.05, 0.0}, {"cab", {-7.2, 0.6, 2.2}, 2600.0, 0.0, 0.0}},
      {0.30, 0.010, 0.34, 0.9, 0.010}, seed_of(seed, "safety_valves"));
  s.one_shot("safety_valve_short", 0.5, dome, 1.0, 1, false, [&](Samples& out) {
    return lift_safety_valve(out, 0.5, 0.6, 0.8, s.seed("short")).end_s;
  });
  s.held("safety_valve", dome, 1.0, 1, false,
         [&](Samples& out) { return lift_safety_valve(out, 4.2, 6.2, 1.0, s.seed("long")); });
  Samples quiet = s.silence();
  simmer(quiet, 0.0, 13.6, 0.5, s.seed("simmer"));
  s.stage().play(quiet, {-4.0, 0.0, 2.5}, 0.6);
  s.stage().blow(0.20, {});
  return s.finish(std::array<double, 2>{{1.5, 1.1}}, -80.0);
}

SynthTake standing(std::uint64_t seed) {
  Session s(std::string(take_files[5]), "Standing",
            "In the shed road. Simmer, air pump, injector, a missed start of it, blower, feed "
            "pump, water into the tender. Mains hum on the cab cable; wind at the end.",
            43.0,
            {{"firebox side", {-4.0, 2.6, 1.6}, 0.0, 0.10, 0.0},
             {"cab", {-7.0, 0.6, 1.9}, 2600.0, 0.0, 0.004}},
            {0.35, 0.012, 0.045, 0.7, 0.012}, seed_of(seed, "standing"));
  s.mark("simmer", "hold", 0.4, 4.6, {-4.0, 0.9, 2.0}, 1);
  Samples quiet = s.silence();
  simmer(quiet, 0.0, 43.0, 1.0, s.seed("simmer"));
  s.stage().play(quiet, {-4.0, 0.9, 2.0}, 0.4);

  Samples strokes = s.silence();
  const std::vector<double> air = run_pump(strokes, 5.0, 6, 1.2, 1.0, 1.0, s.seed("air_pump"));
  s.mark("air_pump", "hold", air[1], air[5], pump, 1);
  s.mark("air_pump_stroke", "whole", air[0], air[1] - 0.13, pump, 1);
  s.stage().play(strokes, pump, 1.0);

  s.held("injector", injector, 0.9, 1, false,
         [&](Samples& out) { return run_injector(out, 12.9, 4.2, 1.0, s.seed("injector")); });
  s.one_shot("injector_miss", 20.1, injector, 0.9, 1, false,
             [&](Samples& out) { return miss_injector(out, 20.1, 1.0, s.seed("injector_miss")); });
  s.held("blower", smokebox, 1.6, 1, false, [&](Samples& out) {
    return blow_jet(out, 22.2, 4.0, blower_jet(), 0.8, s.seed("blower"));
  });

  Samples feed = s.silence();
  const std::vector<double> water = run_pump(feed, 28.0, 4, 1.75, 0.62, 0.9, s.seed("feed_pump"));
  s.mark("feed_pump", "hold", water[1], water[4], {-2.2, 1.3, 1.0}, 1);
  s.stage().play(feed, {-2.2, 1.3, 1.0}, 1.0);

  s.held("tender_water", tender, 2.4, 1, false,
         [&](Samples& out) { return fill_tender(out, 35.6, 3.2, 0.8, s.seed("tender")); });
  s.mark("wind", "unusable", 40.9, 43.0, {-4.0, 2.6, 1.6}, 1);
  Samples gusts = s.silence();
  const Swell gust{40.7, 0.6, 43.0, 0.2};
  for (std::size_t i = 0; i < gusts.size(); ++i) {
    gusts[i] = static_cast<float>(0.04 + gust.at(static_cast<double>(i) / rate_hz));
  }
  s.stage().blow(2.6, gusts);
  s.stage().whine(2290.0, 0.0010);
  return s.finish(std::array<double, 2>{{1.0, 0.9}}, -80.0);
}

SynthTake motion_and_ambience(std::uint64_t seed) {
  Session s(
      std::string(take_files[6]), "Motion and ambience",
      "Bits, one after another, in the shed road and on the platform; the guard was kind "
      "enough to whistle.",
      41.0,
      {{"close", {-6.0, 2.4, 1.6}, 0.0, 0.04, 0.0}, {"cab", {-7.2, 0.6, 1.9}, 2600.0, 0.0, 0.0}},
      {0.30, 0.020, 0.05, 0.8, 0.014}, seed_of(seed, "motion_and_ambience"));
  const auto shot = [&](const std::string& name, double at_s, const Place& place, double gain,
                        bool indoors, auto sound) {
    const int channel = indoors ? 2 : 1;
    s.one_shot(name, at_s, place, gain, channel, indoors,
               [&](Samples& out) { return sound(out, at_s, 1.0, s.seed(name)); });
  };
  shot("coupler", 0.3, drawgear, 1.6, false, coupler_clank);
  shot("buffers", 1.5, drawgear, 1.6, false, buffers_touch);
  shot("cab_door", 2.7, cab_floor, 0.5, true, cab_door);
  shot("fire_doors_open", 3.7, cab_floor, 0.5, true,
       [](Samples& out, double t, double g, std::uint64_t sd) {
         return fire_doors(out, t, true, g, sd);
       });
  shot("shovel", 4.8, cab_floor, 0.8, true, shovel_coal);
  shot("rake", 6.6, cab_floor, 0.7, true, rake_fire);
  shot("fire_doors_shut", 8.5, cab_floor, 0.5, true,
       [](Samples& out, double t, double g, std::uint64_t sd) {
         return fire_doors(out, t, false, g, sd);
       });
  shot("coal", 9.6, tender, 1.2, false, coal_slides);
  shot("hand_brake", 11.4, cab_floor, 0.6, true, hand_brake);
  shot("reverser", 13.0, cab_floor, 0.6, true, reverser);
  shot("lamp", 14.5, {-12.5, 0.8, 1.5}, 1.0, false, lamp_on_iron);
  shot("guards_whistle", 15.2, platform, 1.5, false, guards_whistle);
  shot("brake_squeal", 16.4, brake_blocks, 0.9, false, brake_squeal);
  s.one_shot("brake_release", 19.3, {-6.0, 0.8, 1.0}, 0.9, 1, false, [&](Samples& out) {
    return blow_jet(out, 19.3, 0.35, brake_release_jet(), 1.0, s.seed("release")).end_s;
  });
  s.one_shot("bell_stroke", 20.7, {-1.5, 0.0, 3.4}, 1.4, 1, false, [&](Samples& out) {
    Random random(s.seed("bell"));
    return bell_stroke(out, 20.7, 0.8, random);
  });
  s.held("bell", {-1.5, 0.0, 3.4}, 1.4, 1, false,
         [&](Samples& out) { return ring_bell(out, 23.2, 6, 0.8, s.seed("ringing")); });
  s.held("drain_cocks", cylinders, 2.4, 1, false, [&](Samples& out) {
    return blow_jet(out, 29.9, 2.8, drain_cock_jet(), 0.9, s.seed("cocks"));
  });
  s.held("sander", rail, 1.0, 1, false, [&](Samples& out) {
    return blow_jet(out, 33.6, 2.2, sander_jet(), 0.6, s.seed("sander"));
  });
  s.held("flange_squeal", rail, 0.9, 1, false,
         [&](Samples& out) { return flange_squeal(out, 36.8, 3.0, 0.9, s.seed("flange")); });
  Samples quiet = s.silence();
  simmer(quiet, 0.0, 41.0, 0.25, s.seed("simmer"));
  s.stage().play(quiet, {-4.0, 0.9, 2.0}, 0.4);
  s.stage().blow(0.15, {});
  return s.finish(std::array<double, 2>{{1.0, 0.6}}, -80.0);
}

}  // namespace fourbeat::demo
