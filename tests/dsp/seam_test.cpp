// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/seam.h"

#include "loop_sounds.h"
#include "support/catch.h"

#include <array>
#include <cmath>
#include <cstddef>
#include <limits>
#include <optional>

using namespace fourbeat;
using namespace fourbeat::dsp;
using namespace fourbeat::loop_sounds;

namespace {

constexpr std::int64_t second = 48000;

SeamReport measured(const audio::Pcm& pcm, const LoopSpec& loop, std::uint64_t seed = 1) {
  JobControl job;
  Result<SeamReport> report = measure_seam(pcm, loop, seed, job);
  REQUIRE(report);
  return *report;
}

ErrorCode refusal(const audio::Pcm& pcm, const LoopSpec& loop) {
  JobControl job;
  const Result<SeamReport> report = measure_seam(pcm, loop, 1, job);
  REQUIRE_FALSE(report);
  return report.error().code;
}

bool has(const std::vector<std::string>& names, const std::string& name) {
  return std::find(names.begin(), names.end(), name) != names.end();
}

/// 14 s of noise with a blend of 3 s at its end.
audio::Pcm long_fade(std::uint64_t seed, const LoopSpec& loop) {
  audio::Pcm pcm = pcm_of({noise(18 * second, seed)});
  turn_to_blend(pcm, loop);
  REQUIRE(blend_loop(pcm, loop));
  return pcm;
}

}  // namespace

TEST_CASE("seam: a hard cut in stationary noise is not condemned", "[dsp]") {
  int clean = 0;
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    const SeamReport white = measured(pcm_of({noise(4 * second, seed)}), loop_of(0, 4 * second));
    const SeamReport dull =
        measured(pcm_of({dull_noise(2 * second, seed, 0.05)}), loop_of(0, 2 * second));
    clean += white.state == SeamState::clean ? 1 : 0;
    clean += dull.state == SeamState::clean ? 1 : 0;
    CHECK_FALSE(white.period_s.has_value());
  }
  CHECK(clean >= 17);
}

TEST_CASE("seam: a long fade does not hide what stands in it", "[dsp]") {
  const LoopSpec loop = loop_of(4 * second, 18 * second, 3 * second);
  for (std::uint64_t seed = 1; seed <= 2; ++seed) {
    const audio::Pcm even = long_fade(seed, loop);
    CHECK(measured(even, loop).state == SeamState::clean);

    audio::Pcm rising = even;
    shape(rising.channels[0], 48000.0,
          [](double t) { return t < 15.0 ? 1.0 : std::pow(10.0, 3.0 / 20.0 * (t - 15.0) / 3.0); });
    CHECK(measured(rising, loop).state == SeamState::unclean);

    audio::Pcm step = even;
    shape(step.channels[0], 48000.0, [](double t) { return t < 16.5 ? 1.0 : 1.4125; });
    CHECK(measured(step, loop).state == SeamState::unclean);

    // Equal gain on sides that share nothing: 3 dB missing halfway.
    audio::Pcm dip = even;
    shape(dip.channels[0], 48000.0, [](double t) {
      const double x = (t - 15.0) / 3.0;
      return x < 0.0 ? 1.0 : std::sqrt(x * x + (1.0 - x) * (1.0 - x));
    });
    CHECK(measured(dip, loop).state == SeamState::unclean);

    // Duller noise of the same level slides in.
    audio::Pcm colour = even;
    const std::vector<float> dull = dull_noise(18 * second, seed + 50, 0.3);
    for (std::size_t i = 15 * second; i < 18 * second; ++i) {
      const FadeGains g = fade_gains(static_cast<double>(i - 15 * second) / (3.0 * second), 0.0);
      colour.channels[0][i] =
          static_cast<float>(g.out * colour.channels[0][i] + g.in * 2.38 * dull[i]);
    }
    const SeamReport report = measured(colour, loop);
    CHECK(report.state == SeamState::unclean);
    CHECK(report.rank == 100.0);
  }
}

TEST_CASE("seam: one channel that steps is enough", "[dsp]") {
  std::vector<float> right = noise(4 * second, 2);
  shape(right, 48000.0, [](double t) { return t < 1.0 ? 0.7 + 0.3 * t : 1.0; });
  const audio::Pcm pcm = pcm_of({noise(4 * second, 1), right});
  CHECK(measured(pcm, loop_of(0, 4 * second)).state == SeamState::unclean);
}

TEST_CASE("seam: a sine loop of whole periods is clean, one cut at a wrong phase is not", "[dsp]") {
  const audio::Pcm pcm = pcm_of({sine(5 * second, 109.0909)});  // 440 Hz
  const SeamReport whole = measured(pcm, loop_of(0, 96000));
  CHECK(whole.state == SeamState::clean);
  REQUIRE(whole.period_s);
  CHECK(*whole.period_s == Approx(1.0 / 440.0).epsilon(1e-3));
  CHECK(whole.whole_periods);
  CHECK(whole.tell_db < 0.5);

  for (const std::int64_t off : {11, 30, 54, 80}) {
    const SeamReport wrong = measured(pcm, loop_of(0, 96000 - off));
    CHECK(wrong.state == SeamState::unclean);
    CHECK_FALSE(wrong.whole_periods);
  }
  // A fade glides from one phase to the other: no click, and yet no whole periods.
  const LoopSpec glided = loop_of(24000, 120000 - 11, 4800);
  audio::Pcm blended = pcm;
  REQUIRE(blend_loop(blended, glided));
  const SeamReport report = measured(blended, glided);
  CHECK_FALSE(report.whole_periods);
  CHECK(report.state != SeamState::clean);
}

TEST_CASE("seam: a click under the sound is found wherever it stands", "[dsp]") {
  for (const std::int64_t at : {2 * second - 1, 2 * second - 700, std::int64_t{900}}) {
    audio::Pcm pcm = pcm_of({dull_noise(2 * second, 3, 0.05)});
    pcm.channels[0][static_cast<std::size_t>(at)] += 0.1F;
    CHECK(measured(pcm, loop_of(0, 2 * second)).state == SeamState::unclean);
  }
}

TEST_CASE("seam: a pump's strokes are counted across the wrap", "[dsp]") {
  for (std::uint64_t seed = 1; seed <= 3; ++seed) {
    const Pump sound = pump(12.0, 48000.0, 0.8, 0.01, seed);
    const audio::Pcm pcm = pcm_of({sound.samples});
    const auto frame = [&](double s) { return static_cast<std::int64_t>(s * 48000.0); };
    const auto cut = [&](double more_s) {
      return loop_of(frame(sound.strokes_s[2] - 0.1), frame(sound.strokes_s[10] - 0.1 + more_s));
    };
    const SeamReport whole = measured(pcm, cut(0.0));
    CHECK(whole.state == SeamState::clean);
    CHECK(whole.whole_periods);
    REQUIRE(whole.period_s);
    CHECK(*whole.period_s == Approx(0.8).epsilon(0.03));
    for (const double more_s : {0.2, 0.4, -0.2}) {
      const SeamReport broken = measured(pcm, cut(more_s));
      CHECK_FALSE(broken.whole_periods);
      CHECK(broken.state != SeamState::clean);
    }
  }
}

TEST_CASE("seam: a level that flutters hides its step from short windows, not from long ones",
          "[dsp]") {
  // By 2 dB every 50 ms, and 4 dB down from the loop's start to its end.
  Random random(17);
  std::array<double, 160> flutter_db{};
  for (double& level : flutter_db)
    level = 2.0 * random.normal();
  std::vector<float> samples = noise(8 * second, 17);
  shape(samples, 48000.0, [&](double t) {
    const double db = flutter_db.at(static_cast<std::size_t>(t / 0.05)) - 4.0 * t / 8.0;
    return std::pow(10.0, db / 20.0);
  });
  const SeamReport report = measured(pcm_of({samples}), loop_of(0, 8 * second));
  const auto quotient = [&](const std::string& name) {
    for (const SeamMeasure& measure : report.measures)
      if (measure.name == name) return measure.quotient;
    return 0.0;
  };
  CHECK(quotient("rms_500ms") > 1.2);
  CHECK(quotient("rms_500ms") > 1.2 * quotient("rms_50ms"));
}

TEST_CASE("seam: windows longer than a quarter of the loop are omitted and listed", "[dsp]") {
  const audio::Pcm pcm = pcm_of({noise(8 * second, 4)});
  CHECK(measured(pcm, loop_of(0, 8 * second)).omitted.empty());
  const SeamReport short_loop = measured(pcm, loop_of(0, second));
  CHECK(has(short_loop.omitted, "rms_500ms"));
  CHECK(has(short_loop.omitted, "rhythm"));
  CHECK_FALSE(has(short_loop.omitted, "spectrum_low"));
  CHECK_FALSE(has(short_loop.omitted, "spectrum_fine"));
  for (const SeamMeasure& measure : short_loop.measures)
    CHECK_FALSE(has(short_loop.omitted, measure.name));
  CHECK(short_loop.measures.size() + short_loop.omitted.size() == 8);
}

TEST_CASE("seam: a fade longer than a quarter of the loop is never clean", "[dsp]") {
  audio::Pcm pcm = pcm_of({sine(5 * second, 100.0)});
  const LoopSpec loop = loop_of(second, 3 * second, second);
  REQUIRE(blend_loop(pcm, loop));
  CHECK(measured(pcm, loop).state != SeamState::clean);
}

TEST_CASE("seam: however well it ranks, a long fade or too little room inside is never clean",
          "[dsp]") {
  constexpr double rate_hz = 8000.0;
  struct Case {
    std::int64_t length = 0;
    std::int64_t fade = 0;
    bool can_be_clean = false;
  };
  // A quarter and less; over a quarter, with room for two stretches as long as the seam's and the
  // longest windows beside them; a quarter of a loop that has no such room.
  for (const Case& one :
       {Case{64'000, 15'200, true}, Case{64'000, 16'800, false}, Case{12'800, 3'200, false}}) {
    CAPTURE(one.length, one.fade);
    int well_ranked = 0;
    int clean = 0;
    for (std::uint64_t seed = 1; seed <= 6; ++seed) {
      const LoopSpec loop = loop_of(20'000, 20'000 + one.length, one.fade);
      audio::Pcm pcm = pcm_of({noise(90'000, seed)}, rate_hz);
      turn_to_blend(pcm, loop);
      REQUIRE(blend_loop(pcm, loop));
      const SeamReport report = measured(pcm, loop);
      well_ranked += report.rank <= 95.0 ? 1 : 0;
      clean += report.state == SeamState::clean ? 1 : 0;
    }
    CHECK(well_ranked >= 3);
    CHECK(clean == (one.can_be_clean ? well_ranked : 0));
  }
}

TEST_CASE("seam: a loop too short to compare with itself is never clean", "[dsp]") {
  const audio::Pcm pcm = pcm_of({sine(5 * second, 100.0)});
  const SeamReport report = measured(pcm, loop_of(0, 4800));
  CHECK(report.state == SeamState::unclean);
  CHECK(report.rank == 100.0);
  CHECK(report.measures.empty());
  CHECK(report.omitted.size() == 8);
}

TEST_CASE("seam: a loop that fades and starts afresh is not clean, however short", "[dsp]") {
  for (const double seconds : {0.25, 0.3, 0.4, 0.6, 1.5, 4.0}) {
    audio::Pcm pcm = pcm_of({noise(6 * second, 11)});
    shape(pcm.channels[0], 48000.0,
          [&](double t) { return std::pow(10.0, -10.0 / 20.0 * (t - 1.0) / seconds); });
    const std::int64_t length = std::llround(seconds * 48000.0);
    for (const std::int64_t fade : {std::int64_t{0}, length / 40, length / 10}) {
      audio::Pcm rendered = pcm;
      const LoopSpec loop = loop_of(second, second + length, fade);
      turn_to_blend(rendered, loop);
      REQUIRE(blend_loop(rendered, loop));
      CHECK(measured(rendered, loop).state != SeamState::clean);
    }
  }
}

TEST_CASE("seam: a blend at the start is looked at where it is", "[dsp]") {
  const LoopSpec loop = loop_of(0, 8 * second, second, true);
  int clean = 0;
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    audio::Pcm pcm = pcm_of({noise(10 * second, seed)});
    turn_to_blend(pcm, loop);
    REQUIRE(blend_loop(pcm, loop));
    clean += measured(pcm, loop).state == SeamState::clean ? 1 : 0;
    shape(pcm.channels[0], 48000.0, [](double t) { return t > 0.5 && t < 1.0 ? 1.5 : 1.0; });
    CHECK(measured(pcm, loop).state == SeamState::unclean);
  }
  CHECK(clean >= 4);
}

TEST_CASE("seam: the tell is the event that gives the loop away", "[dsp]") {
  std::vector<float> bird = noise(6 * second, 6);
  CHECK(measured(pcm_of({bird}), loop_of(0, 6 * second)).tell_db < 6.0);
  for (std::size_t i = 3 * second; i < 3 * second + 9600; ++i)
    bird[i] += static_cast<float>(
        0.2 * std::sin(2.0 * std::numbers::pi * 3500.0 * static_cast<double>(i) / 48000.0));
  const SeamReport report = measured(pcm_of({bird}), loop_of(0, 6 * second));
  // 0.2 amplitude is -17 dB; the noise in the octave 2.8 to 5.6 kHz is -20 - 9.3 dB.
  CHECK(report.tell_db == Approx(12.5).margin(2.0));
  CHECK(report.state == SeamState::clean);
}

TEST_CASE("seam: silence and a constant have no seam", "[dsp]") {
  for (const float level : {0.0F, 0.5F, 1.0F}) {
    const SeamReport report =
        measured(pcm_of({std::vector<float>(2 * second, level)}), loop_of(0, 2 * second));
    CHECK(report.state == SeamState::clean);
    CHECK(report.tell_db == 0.0);
    for (const SeamMeasure& measure : report.measures)
      CHECK(measure.value == 0.0);
  }
}

TEST_CASE("seam: the same loop and seed give the same report, at any level", "[dsp]") {
  audio::Pcm pcm = pcm_of({noise(3 * second, 7), noise(3 * second, 8)});
  const SeamReport a = measured(pcm, loop_of(0, 3 * second), 9);
  const SeamReport b = measured(pcm, loop_of(0, 3 * second), 9);
  CHECK(a.rank == b.rank);
  CHECK(a.tell_db == b.tell_db);
  REQUIRE(a.measures.size() == b.measures.size());
  for (std::size_t m = 0; m < a.measures.size(); ++m)
    CHECK(a.measures[m].quotient == b.measures[m].quotient);
  for (std::vector<float>& channel : pcm.channels) {
    for (float& x : channel)
      x *= 0.125F;
  }
  CHECK(measured(pcm, loop_of(0, 3 * second), 9).rank == Approx(a.rank).margin(0.5));
}

TEST_CASE("seam: what cannot be measured is refused", "[dsp]") {
  audio::Pcm pcm = pcm_of({noise(second, 1)});
  CHECK(refusal(audio::Pcm{}, loop_of(0, 1)) == ErrorCode::bad_argument);
  CHECK(refusal(pcm, loop_of(0, 1)) == ErrorCode::too_short);
  CHECK(refusal(pcm, loop_of(0, 959)) == ErrorCode::too_short);
  CHECK(refusal(pcm, loop_of(0, second + 1)) == ErrorCode::bad_argument);
  CHECK(refusal(pcm, loop_of(-1, second)) == ErrorCode::bad_argument);
  CHECK(refusal(pcm, loop_of(5000, 5000)) == ErrorCode::bad_argument);
  CHECK(refusal(pcm, loop_of(0, 20000, 20001)) == ErrorCode::bad_argument);
  CHECK(refusal(pcm, loop_of(0, 20000, -1)) == ErrorCode::bad_argument);
  pcm.sample_rate_hz = std::numeric_limits<double>::quiet_NaN();
  CHECK(refusal(pcm, loop_of(0, second)) == ErrorCode::bad_argument);
  pcm.sample_rate_hz = 48000.0;
  pcm.channels.emplace_back(10);
  CHECK(refusal(pcm, loop_of(0, second)) == ErrorCode::bad_argument);
  pcm.channels.pop_back();
  pcm.channels[0][777] = std::numeric_limits<float>::quiet_NaN();
  CHECK(refusal(pcm, loop_of(0, second)) == ErrorCode::not_finite);
}

TEST_CASE("seam: a cancelled job stops", "[dsp]") {
  class Cancelling : public JobControl {
   public:
    [[nodiscard]] bool cancelled() const override { return true; }
  };
  Cancelling job;
  const Result<SeamReport> report =
      measure_seam(pcm_of({noise(4 * second, 1)}), loop_of(0, 4 * second), 1, job);
  REQUIRE_FALSE(report);
  CHECK(report.error().code == ErrorCode::cancelled);
}
