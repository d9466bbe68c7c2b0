// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/catch.h"
#include "twin_set.h"

#include "fourbeat/base/random.h"
#include "fourbeat/drive/drive.h"

#include <algorithm>
#include <cstddef>
#include <set>

using namespace fourbeat;
using namespace fourbeat::tests;
using drive::Event;
using drive::EventKind;
using model::Effort;

namespace {

/// One line a voice event: "+voice piece reason" or "-voice piece reason".
std::vector<std::string> voices_of(const drive::DriveOutput& output) {
  std::vector<std::string> lines;
  for (const Event& event : output.events) {
    if (event.kind != EventKind::voice_start && event.kind != EventKind::voice_end) continue;
    lines.push_back((event.kind == EventKind::voice_start ? "+" : "-") + event.reason);
  }
  return lines;
}

const Event& nth(const drive::DriveOutput& output, EventKind kind, std::size_t n) {
  std::size_t seen = 0;
  for (const Event& event : output.events) {
    if (event.kind == kind && seen++ == n) return event;
  }
  FAIL("no such event");
  return output.events.front();
}

/// A set whose every sound is a 200 Hz sine, on 12 keys, and chuffs.
TwinSet sine_twin(int voices) {
  TwinSet twin;
  twin.profile.voices = voices;
  twin.set_cv(3, 4);
  twin.set_cv(4, 4);
  twin.add_row(0, 100, Effort::easy, 1, sine(6000, true, true));
  for (int number = 0; number < 12; ++number) {
    const double phase = 0.13 * number;
    if (number % 3 == 0) {
      twin.add_key(number, twin.add_shot(clip_of(sine(4000 + 3000 * number, true, true, phase)),
                                         10 * number));
    } else if (number % 3 == 1) {
      twin.add_key(number, twin.add_held(twin.add_segment(clip_of(sine(7000, true, false, phase))),
                                         twin.add_segment(sine_hold(0.4)),
                                         twin.add_segment(clip_of(sine(5000, false, true, 0.7))),
                                         90 - 5 * number));
    } else {
      // A hold cannot rise by itself: its begin does.
      twin.add_key(number, twin.add_held(twin.add_segment(clip_of(sine(882, true, false))),
                                         twin.add_segment(sine_hold()), {}, 50));
    }
  }
  return twin;
}

model::RunCard mashing(std::uint64_t seed, double seconds, int keys) {
  Random random(seed);
  model::RunCard card;
  card.seconds = seconds;
  double time_s = 0.0;
  while (time_s < seconds) {
    const double pick = random.uniform();
    if (pick < 0.85) {
      const int number = static_cast<int>(random.below(keys));
      card.moves.push_back(key(time_s, number, random.uniform() < 0.55));
    } else if (pick < 0.93) {
      card.moves.push_back(throttle(time_s, static_cast<int>(random.below(127))));
    } else if (pick < 0.95) {
      card.moves.push_back(direction(time_s, random.uniform() < 0.5));
    } else if (pick < 0.97) {
      card.moves.push_back({time_s, model::MoveLoad{random.uniform()}});
    } else {
      card.moves.push_back({time_s, model::MoveCv{3, static_cast<int>(random.below(20))}});
    }
    if (random.uniform() < 0.7) time_s += random.uniform() * 0.06;  // else at the same time
  }
  return card;
}

}  // namespace

TEST_CASE("voices: a one-shot plays once, from the frame of its key to its end", "[drive]") {
  TwinSet twin;
  const std::vector<float> shot = sine(5000, true, true);
  twin.add_key(4, twin.add_shot(clip_of(shot)));
  model::RunCard card;
  card.seconds = 1.0;
  card.moves = {key(0.1, 4, true), key(0.12, 4, false)};
  const auto output = drive_well(twin.compile(), card);
  CHECK(voices_of(output) == std::vector<std::string>{"+key", "-ended"});
  CHECK(nth(output, EventKind::voice_end, 0).frame == 4410 + 5000);
  for (std::size_t i = 0; i < output.mix.size(); ++i) {
    const bool inside = i >= 4410 && i < 4410 + shot.size();
    REQUIRE(output.mix[i] == (inside ? shot[i - 4410] : 0.0F));
  }
}

TEST_CASE("voices: begin hands over to a matching hold on the very next sample", "[drive]") {
  TwinSet twin;
  // 4410 frames are 20 whole periods: the hold continues the begin's phase.
  twin.add_key(2, twin.add_held(twin.add_segment(clip_of(sine(4410, true, false))),
                                twin.add_segment(sine_hold()),
                                twin.add_segment(clip_of(sine(4410, false, true)))));
  model::RunCard card;
  card.seconds = 1.0;
  card.moves = {key(0.0, 2, true), key(0.5, 2, false)};  // 22050 frames: 100 whole periods
  const auto output = drive_well(twin.compile(), card);
  CHECK(voices_of(output) == std::vector<std::string>{"+key", "-handed_over", "+handed_over",
                                                      "-released", "+released", "-ended"});
  CHECK(nth(output, EventKind::voice_start, 1).frame == 4410);
  CHECK(nth(output, EventKind::voice_start, 2).frame == 22050);
  CHECK(nth(output, EventKind::voice_end, 2).frame == 22050 + 4410);
  const std::vector<float> whole = sine(22050, true, false);
  for (std::size_t i = 0; i < whole.size(); ++i) {
    REQUIRE(output.mix[i] == Approx(whole[i]).margin(2e-5));
  }
  CHECK(output.voices_peak == 1);
}

TEST_CASE("voices: begin crossfades into a hold that does not continue it", "[drive]") {
  TwinSet twin;
  twin.add_key(2, twin.add_held(twin.add_segment(clip_of(sine(4410, true, false))),
                                twin.add_segment(sine_hold(0.5)), {}));
  model::RunCard card;
  card.seconds = 0.5;
  card.moves = {key(0.0, 2, true)};
  const auto output = drive_well(twin.compile(), card);
  CHECK(nth(output, EventKind::voice_start, 1).frame == 4410 - 441);
  CHECK(largest_bend(output.mix) < 4.0 * steady_bend());
}

TEST_CASE("voices: a hold follows on the next frame where the join bends by half more at most",
          "[drive]") {
  // The hold is the begin going on, moved by a share of the sine's own largest bend: across the
  // join the second difference is one and so much times that.
  const auto handed_over_at = [](double share) {
    TwinSet twin;
    // A begin that ends on the crest of its wave, and a hold of whole periods from there on.
    const std::vector<float> wave = sine(8820, false, false);
    const auto crest = static_cast<std::ptrdiff_t>(
        std::max_element(wave.begin() + 4000, wave.begin() + 4410) - wave.begin());
    const std::vector<float> begin(wave.begin(), wave.begin() + crest + 1);
    std::vector<float> hold(wave.begin() + crest + 1, wave.begin() + crest + 1 + 4410);
    for (float& x : hold)
      x += static_cast<float>(share) * static_cast<float>(steady_bend());
    twin.add_key(
        2, twin.add_held(twin.add_segment(clip_of(begin)), twin.add_segment(clip_of(hold)), {}));
    model::RunCard card;
    card.seconds = 0.15;
    card.moves = {key(0.0, 2, true)};
    const auto output = drive_well(twin.compile(), card);
    return nth(output, EventKind::voice_start, 1).frame - crest - 1;
  };
  CHECK(handed_over_at(0.3) == 0);
  CHECK(handed_over_at(-0.3) == 0);
  CHECK(handed_over_at(0.8) == -441);
  CHECK(handed_over_at(-0.8) == -441);
}

TEST_CASE("voices: let go during its begin, a held sound goes straight to its release", "[drive]") {
  TwinSet twin;
  twin.add_key(2, twin.add_held(twin.add_segment(clip_of(sine(40000, true, false))),
                                twin.add_segment(sine_hold()),
                                twin.add_segment(clip_of(sine(4410, false, true, 0.3)))));
  model::RunCard card;
  card.seconds = 1.0;
  card.moves = {key(0.0, 2, true), key(0.25, 2, false)};
  const auto output = drive_well(twin.compile(), card);
  CHECK(voices_of(output) == std::vector<std::string>{"+key", "-released", "+released", "-ended"});
  CHECK(largest_bend(output.mix) < 4.0 * steady_bend());
  CHECK(output.mix[11025 + 4410] == 0.0F);
}

TEST_CASE("voices: a held sound without release fades out when let go", "[drive]") {
  TwinSet twin;
  twin.add_key(2, twin.add_held(twin.add_segment(clip_of(sine(882, true, false))),
                                twin.add_segment(sine_hold()), {}));
  model::RunCard card;
  card.seconds = 1.0;
  card.moves = {key(0.0, 2, true), key(0.7, 2, false)};
  const auto output = drive_well(twin.compile(), card);
  CHECK(nth(output, EventKind::voice_end, 1).reason == "released");
  CHECK(output.mix[30870 + 200] != 0.0F);
  CHECK(output.mix[30870 + 441] == 0.0F);
  CHECK(largest_bend(output.mix) < 4.0 * steady_bend());
}

TEST_CASE("voices: sounds without samples, and keys above the profile's, are silence", "[drive]") {
  TwinSet twin;
  twin.profile.highest_key = 10;
  twin.add_key(11, twin.add_shot(clip_of(sine(1000, true, true))));
  twin.add_key(3, twin.add_held({}, {}, {}));
  twin.add_key(4, Id<model::Sound>(999));
  twin.add_key(5, twin.add_shot(clip_of({})));
  twin.add_row(0, 100, Effort::easy, 1, {});
  model::RunCard card;
  card.seconds = 1.0;
  card.moves = {throttle(0.0, 126), key(0.1, 11, true), key(0.2, 3, true),
                key(0.3, 4, true),  key(0.4, 5, true),  key(0.5, 3, false)};
  const auto output = drive_well(twin.compile(), card);
  CHECK(events_of(output, EventKind::key).size() == 5);
  CHECK(events_of(output, EventKind::beat).size() > 5);
  CHECK(voices_of(output).empty());
  CHECK(output.largest_sample == 0.0);
}

TEST_CASE("voices: the lowest priority loses its voice, then the oldest", "[drive]") {
  TwinSet twin;
  twin.profile.voices = 2;
  twin.add_key(1, twin.add_shot(clip_of(sine(40000, true, true)), 30));
  twin.add_key(2, twin.add_shot(clip_of(sine(40000, true, true)), 20));
  twin.add_key(3, twin.add_shot(clip_of(sine(40000, true, true)), 30));
  twin.add_key(4, twin.add_shot(clip_of(sine(40000, true, true)), 30));
  twin.add_key(5, twin.add_shot(clip_of(sine(40000, true, true)), 10));
  model::RunCard card;
  card.seconds = 0.8;
  card.moves = {key(0.1, 1, true), key(0.2, 2, true), key(0.3, 3, true), key(0.4, 4, true),
                key(0.5, 5, true)};
  const auto output = drive_well(twin.compile(), card);
  const auto name = [&](std::size_t n) { return nth(output, EventKind::voice_start, n).text; };
  CHECK(nth(output, EventKind::voice_end, 0).text == name(1));  // 2 gives way to 3
  CHECK(nth(output, EventKind::voice_end, 0).reason == "stolen");
  CHECK(nth(output, EventKind::voice_end, 1).text == name(0));  // of 1 and 3 the older to 4
  const Event& missed = nth(output, EventKind::voice_end, 2);   // 5 finds none
  CHECK(missed.reason == "no_voice");
  CHECK(missed.number == -1);
  CHECK(events_of(output, EventKind::voice_start).size() == 4);
  CHECK(output.voices_peak == 2);
  CHECK(output.voices_wanted_peak == 5);
  CHECK(largest_bend(output.mix) < 4.0 * 2.0 * steady_bend());
}

TEST_CASE("voices: a stolen sound is gone after 64 frames", "[drive]") {
  TwinSet twin;
  twin.profile.voices = 1;
  twin.add_key(1, twin.add_shot(clip_of(sine(40000, true, true))));
  twin.add_key(2, twin.add_shot(clip_of(std::vector<float>(1000, 0.0F))));
  model::RunCard card;
  card.seconds = 0.5;
  card.moves = {key(0.0, 1, true), key(0.2, 2, true)};
  const auto output = drive_well(twin.compile(), card);
  CHECK(output.mix[8820 + 30] != 0.0F);
  for (std::size_t i = 8820 + 64; i < output.mix.size(); ++i)
    REQUIRE(output.mix[i] == 0.0F);
  CHECK(largest_bend(output.mix) < 4.0 * steady_bend());
}

TEST_CASE("voices: with no room for one more fade a sound fades where it is", "[drive]") {
  TwinSet twin;
  twin.profile.voices = 1;  // and four fades beside it
  const auto release = twin.add_segment(clip_of(sine(4410, false, true)));
  for (int number = 0; number < 6; ++number) {
    twin.add_key(number, twin.add_held({}, twin.add_segment(sine_hold()), release));
  }
  model::RunCard card;
  card.seconds = 0.1;
  for (int number = 0; number < 6; ++number) {
    card.moves.push_back(key(2.0 * number / twin_rate_hz, number, true));
  }
  card.moves.push_back(key(14.0 / twin_rate_hz, 4, false));
  const auto output = drive_well(twin.compile(), card);
  CHECK(voices_of(output) == std::vector<std::string>{"+key", "-stolen", "+key", "-stolen", "+key",
                                                      "-stolen", "+key", "-stolen", "+key",
                                                      "-no_voice", "-ended"});
  CHECK(nth(output, EventKind::voice_end, 5).frame == 14 + 64);
  CHECK(output.mix[14 + 40] != 0.0F);
  for (std::size_t i = 14 + 64; i < output.mix.size(); ++i)
    REQUIRE(output.mix[i] == 0.0F);
}

TEST_CASE("voices: hundreds of moves on one frame are all made, whatever the block", "[drive]") {
  const auto set = sine_twin(3).compile();
  model::RunCard card;
  card.seconds = 0.5;
  for (int i = 0; i < 500; ++i)
    card.moves.push_back(key(0.1, i % 12, i % 24 < 12 || i > 480));
  for (int i = 0; i < 500; ++i)
    card.moves.push_back(key(0.1 + i * 1e-5, i % 12, i % 5 != 0));
  drive::DriveOptions options;
  const auto output = drive_well(set, card, options);
  CHECK(events_of(output, EventKind::key).size() == 1000);
  CHECK(output.voices_peak == 3);
  options.block_frames = 1;
  const auto other = drive_well(set, card, options);
  CHECK(other.mix == output.mix);
  CHECK(other.events == output.events);
}

TEST_CASE("voices: a key pressed again while its sound plays starts it afresh", "[drive]") {
  TwinSet twin;
  twin.add_key(1, twin.add_shot(clip_of(sine(40000, true, true))));
  model::RunCard card;
  card.seconds = 2.0;
  card.moves = {key(0.0, 1, true), key(0.05, 1, true), key(0.1, 1, false), key(0.2, 1, true)};
  const auto output = drive_well(twin.compile(), card);
  CHECK(voices_of(output) == std::vector<std::string>{"+key", "-replaced", "+key", "-ended"});
  CHECK(nth(output, EventKind::voice_start, 1).frame == 8820);
  CHECK(output.voices_peak == 1);
}

TEST_CASE("voices: where chuffs may not overlap each ends as the next begins", "[drive]") {
  TwinSet twin;
  twin.add_row(0, 100, Effort::easy, 1, sine(30000, true, true));
  model::RunCard card;
  card.seconds = 3.0;
  card.moves = {throttle(0.0, 126)};
  CHECK(drive_well(twin.compile(), card).voices_peak > 5);
  twin.profile.chuffs_may_overlap = false;
  const auto output = drive_well(twin.compile(), card);
  CHECK(output.voices_peak == 1);
  CHECK(output.voices_wanted_peak == 1);
  CHECK(nth(output, EventKind::voice_end, 0).reason == "replaced");
  CHECK(nth(output, EventKind::voice_end, 0).frame == nth(output, EventKind::voice_start, 1).frame);
}

TEST_CASE("voices: gains of the sound and of its storage add up", "[drive]") {
  TwinSet twin;
  const auto segment = twin.add_segment(clip_of({1.0F, 1.0F}), -20.0);
  model::Sound sound;
  sound.id = Id<model::Sound>(500);
  sound.segment = segment;
  sound.gain_db = 14.0;
  twin.project.sounds.push_back(sound);
  sound.id = Id<model::Sound>(501);
  sound.gain_db = 0.0;
  twin.project.sounds.push_back(sound);
  twin.add_key(1, Id<model::Sound>(500));
  twin.add_key(2, Id<model::Sound>(501));
  twin.project.chuffs.gain_db = 6.0;
  twin.add_row(0, 100, Effort::easy, 1, {1.0F});
  model::RunCard card;
  card.seconds = 1.0;
  card.moves = {key(0.0, 1, true), key(0.01, 2, true), throttle(0.1, 126)};
  const auto output = drive_well(twin.compile(), card);
  CHECK(output.mix[0] == Approx(0.501187).epsilon(1e-5));
  CHECK(output.mix[441] == Approx(0.1).epsilon(1e-5));
  CHECK(output.mix[static_cast<std::size_t>(nth(output, EventKind::beat, 0).frame)] ==
        Approx(1.995262).epsilon(1e-5));
}

TEST_CASE("voices: no mashing of keys puts more than the limit to sound", "[drive]") {
  for (const int limit : {1, 3, 5}) {
    const auto set = sine_twin(limit).compile();
    const auto output = drive_well(set, mashing(7, 60.0, 12), {false, false, 441});
    std::set<int> sounding;
    std::size_t most = 0;
    std::int64_t frame = 0;
    for (const Event& event : output.events) {
      REQUIRE(event.frame >= frame);
      frame = event.frame;
      if (event.kind == EventKind::voice_start) {
        REQUIRE(event.number >= 0);
        REQUIRE(event.number < limit);
        REQUIRE(sounding.insert(event.number).second);
      } else if (event.kind == EventKind::voice_end && event.reason != "no_voice") {
        REQUIRE(sounding.erase(event.number) == 1);
      }
      most = std::max(most, sounding.size());
    }
    CHECK(sounding.empty());
    CHECK(most == static_cast<std::size_t>(limit));
    CHECK(output.voices_peak == limit);
    CHECK(output.voices_wanted_peak > limit);
  }
}

TEST_CASE("voices: a set of sines mashed about never clicks", "[drive]") {
  // The second difference of n sines at once is at most n times that of one.
  for (const int limit : {1, 4}) {
    const auto output = drive_well(sine_twin(limit).compile(), mashing(11, 30.0, 12));
    CHECK(output.largest_sample > 0.9 * twin_amplitude);
    CHECK(largest_bend(output.mix) < 4.0 * limit * steady_bend());
  }
}

TEST_CASE("voices: the same set, card and block give the same samples again", "[drive]") {
  const TwinSet twin = sine_twin(3);
  const model::RunCard card = mashing(3, 5.0, 12);
  const auto once = drive_well(twin.compile(), card);
  const auto again = drive_well(twin.compile(), card);
  CHECK(once.mix == again.mix);
  CHECK(once.events == again.events);
  CHECK(once.mix != drive_well(twin.compile(), mashing(4, 5.0, 12)).mix);
}

TEST_CASE("voices: the seconds a piece sounded are those of its voice events", "[drive]") {
  TwinSet twin;
  twin.add_key(1, twin.add_shot(clip_of(sine(22050, true, true))));
  model::RunCard card;
  card.seconds = 4.0;
  card.moves = {key(0.0, 1, true), key(1.0, 1, false), key(2.0, 1, true), key(3.0, 1, false),
                key(3.9, 1, true)};
  const auto output = drive_well(twin.compile(), card);
  REQUIRE(output.sounding_s.size() == 1);
  CHECK(output.sounding_s.begin()->second == Approx(0.5 + 0.5 + 0.1));
}
