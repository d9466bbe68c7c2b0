// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/loop_finder.h"

#include "loop_sounds.h"
#include "support/catch.h"

#include <algorithm>
#include <cmath>
#include <limits>

using namespace fourbeat;
using namespace fourbeat::dsp;
using namespace fourbeat::loop_sounds;
using namespace fourbeat::loop_sounds::at_16_khz;

namespace {

audio::Pcm at_rate(std::vector<std::vector<float>> channels) {
  return pcm_of(std::move(channels), rate);
}

ErrorCode refusal(const audio::Pcm& material, const LoopParams& params) {
  JobControl job;
  const Result<LoopSearch> search = find_loops(material, params, job);
  REQUIRE_FALSE(search);
  return search.error().code;
}

double length_s(const LoopCandidate& candidate, double rate_hz = rate) {
  return static_cast<double>(candidate.loop.range.length().value()) / rate_hz;
}

/// What holds of every answer, whatever the material.
void check_promises(const audio::Pcm& material, const LoopSearch& search,
                    const LoopParams& params = {}) {
  CHECK(search.candidates.size() <= static_cast<std::size_t>(params.count));
  const bool any_clean =
      std::any_of(search.candidates.begin(), search.candidates.end(),
                  [](const LoopCandidate& c) { return c.seam.state == SeamState::clean; });
  CHECK((any_clean || !search.reason.empty()));
  double before = 1.0;
  for (const LoopCandidate& one : search.candidates) {
    const double s = length_s(one, material.sample_rate_hz);
    CHECK(s >= params.min_s - 1e-9);
    CHECK(s <= params.max_s + 1e-9);
    CHECK(one.loop.range.start.value() >= 0);
    CHECK(one.loop.range.end <= FrameIndex(material.frames().value()));
    CHECK(4 * one.loop.crossfade_frames.value() <= one.loop.range.length().value());
    CHECK(one.score >= 0.0);
    CHECK(one.score <= before);
    before = one.score;
    CHECK(one.period_s == one.seam.period_s);
    // The seam is that of the loop as rendered.
    audio::Pcm rendered = material;
    REQUIRE(blend_loop(rendered, one.loop));
    JobControl job;
    const Result<SeamReport> seam = measure_seam(rendered, one.loop, params.seed, job);
    REQUIRE(seam);
    CHECK(seam->rank == one.seam.rank);
    CHECK(seam->state == one.seam.state);
  }
  for (std::size_t a = 0; a < search.candidates.size(); ++a) {
    for (std::size_t b = 0; b < a; ++b) {
      const FrameRange x = search.candidates[a].loop.range;
      const FrameRange y = search.candidates[b].loop.range;
      const auto shared = (std::min(x.end, y.end) - std::max(x.start, y.start)).value();
      const auto spanned = (std::max(x.end, y.end) - std::min(x.start, y.start)).value();
      CHECK(10 * shared <= 9 * spanned);
    }
  }
}

}  // namespace

TEST_CASE("loop finder: a sine's loops span whole periods, to the frame", "[dsp]") {
  for (const double period : {36.3636, rate / 61.7}) {
    const audio::Pcm pcm = at_rate({sine(6 * second, period)});
    const LoopSearch search = found(pcm);
    check_promises(pcm, search);
    REQUIRE(search.candidates.size() == 5);
    for (const LoopCandidate& one : search.candidates) {
      CHECK(one.seam.state == SeamState::clean);
      const double turns = static_cast<double>(one.loop.range.length().value()) / period;
      CHECK(std::abs(turns - std::round(turns)) * period < 1.5);
      REQUIRE(one.period_s);
      CHECK(*one.period_s == Approx(period / rate).epsilon(0.01));
    }
  }
}

TEST_CASE("loop finder: the end is found between the steps of the rough search", "[dsp]") {
  // 37.77 frames: none of the few lengths of whole 10 ms (160 frames) allowed fits.
  const audio::Pcm pcm = at_rate({sine(3 * second, 37.77)});
  const LoopParams params{0.5, 0.53, 5, 1};
  const LoopSearch search = found(pcm, params);
  check_promises(pcm, search, params);
  REQUIRE_FALSE(search.candidates.empty());
  for (const LoopCandidate& one : search.candidates) {
    const double turns = static_cast<double>(one.loop.range.length().value()) / 37.77;
    CHECK(std::abs(turns - std::round(turns)) * 37.77 < 1.5);
  }
}

TEST_CASE("loop finder: in even noise the best loops are clean and long", "[dsp]") {
  for (std::uint64_t seed = 1; seed <= 2; ++seed) {
    const audio::Pcm pcm = at_rate({noise(8 * second, seed)});
    const LoopSearch search = found(pcm);
    check_promises(pcm, search);
    REQUIRE(search.candidates.size() == 5);
    CHECK(search.candidates.front().seam.state == SeamState::clean);
    CHECK(length_s(search.candidates.front()) > 3.5);
    CHECK_FALSE(search.candidates.front().period_s);
  }
}

TEST_CASE("loop finder: a pump is looped by whole strokes, even or uneven", "[dsp]") {
  for (const double jitter : {0.0, 0.02, 0.1}) {
    const Pump sound = pump(10.0, rate, 0.8, jitter, 5);
    const audio::Pcm pcm = at_rate({sound.samples});
    const LoopSearch search = found(pcm);
    check_promises(pcm, search);
    REQUIRE_FALSE(search.candidates.empty());
    const LoopCandidate& best = search.candidates.front();
    CHECK(best.seam.state == SeamState::clean);
    CHECK(best.seam.whole_periods);
    const auto clean =
        std::count_if(search.candidates.begin(), search.candidates.end(),
                      [](const LoopCandidate& c) { return c.seam.state == SeamState::clean; });
    CHECK(clean >= 3);
    // Every stroke of the loop is followed by the next at a distance the pump has itself.
    const double start_s = static_cast<double>(best.loop.range.start.value()) / rate;
    const double end_s = static_cast<double>(best.loop.range.end.value()) / rate;
    std::vector<double> inside;
    for (const double stroke_s : sound.strokes_s) {
      if (stroke_s >= start_s && stroke_s < end_s) inside.push_back(stroke_s);
    }
    REQUIRE(inside.size() >= 2);
    const double across_s = inside.front() + (end_s - start_s) - inside.back();
    CHECK(across_s == Approx(0.8).margin(0.03 + 2.5 * 0.8 * jitter));
  }
}

TEST_CASE("loop finder: a loop leaves out the bird and the fade, and uses what is steady",
          "[dsp]") {
  std::vector<float> samples = noise(12 * second, 3);
  shape(samples, rate, [](double t) { return t < 7.0 ? 1.0 : std::exp(-(t - 7.0)); });
  for (std::size_t i = 2 * second; i < 2 * second + second / 5; ++i)
    samples[i] += static_cast<float>(
        0.5 * std::sin(2.0 * std::numbers::pi * 3500.0 * static_cast<double>(i) / rate));
  const audio::Pcm pcm = at_rate({samples});
  const LoopSearch search = found(pcm, {0.5, 4.0, 3, 1});
  REQUIRE_FALSE(search.candidates.empty());
  const LoopCandidate& best = search.candidates.front();
  CHECK(best.seam.state == SeamState::clean);
  CHECK(best.loop.range.end.value() < static_cast<std::int64_t>(7.3 * second));
  const bool bird = best.loop.range.start.value() < static_cast<std::int64_t>(2.2 * second) &&
                    best.loop.range.end.value() > static_cast<std::int64_t>(2 * second);
  CHECK_FALSE(bird);
}

TEST_CASE("loop finder: a sound that only dies away has no good loop, and says so", "[dsp]") {
  std::vector<float> samples = noise(4 * second, 4);
  shape(samples, rate, [](double t) { return std::exp(-1.5 * t); });
  const audio::Pcm pcm = at_rate({samples});
  const LoopSearch search = found(pcm, {1.0, 3.0, 5, 1});
  check_promises(pcm, search, {1.0, 3.0, 5, 1});
  REQUIRE_FALSE(search.candidates.empty());
  CHECK(search.reason.find("falls by") != std::string::npos);
  for (const LoopCandidate& one : search.candidates) {
    CHECK(one.seam.state != SeamState::clean);
    // The more is left, the less it counts (docs/seams.md, section 8).
    const double left_db = std::abs(one.seam.level_drift_db);
    CHECK(left_db > 5.0);
    CHECK(one.score <= 0.55 * (1.0 - 0.5 * std::min(1.0, (left_db - 1.0) / 9.0)));
  }
}

TEST_CASE("loop finder: a slow drift of level is taken out and told", "[dsp]") {
  for (const double db_a_second : {0.5, -0.5}) {
    std::vector<float> samples = noise(10 * second, 9);
    shape(samples, rate, [&](double t) { return std::pow(10.0, db_a_second * (t - 5.0) / 20.0); });
    const audio::Pcm pcm = at_rate({samples});
    const LoopSearch search = found(pcm, {3.0, 8.0, 5, 1});
    check_promises(pcm, search, {3.0, 8.0, 5, 1});
    REQUIRE_FALSE(search.candidates.empty());
    const LoopCandidate& best = search.candidates.front();
    CHECK(best.seam.state == SeamState::clean);
    CHECK(best.loop.drift_db == Approx(db_a_second * length_s(best)).margin(0.3));
    // As rendered its last second is as loud as its first.
    audio::Pcm rendered = pcm;
    REQUIRE(blend_loop(rendered, best.loop));
    const auto power = [&](std::int64_t from) {
      double sum = 0.0;
      for (std::int64_t i = from; i < from + static_cast<std::int64_t>(second); ++i) {
        const double x = rendered.channels[0][static_cast<std::size_t>(i)];
        sum += x * x;
      }
      return sum;
    };
    const double change = power(best.loop.range.end.value() - static_cast<std::int64_t>(second)) /
                          power(best.loop.range.start.value());
    CHECK(10.0 * std::log10(change) == Approx(0.0).margin(0.4));
  }
}

TEST_CASE("loop finder: neither even noise nor strokes pass for a drift", "[dsp]") {
  int drifts = 0;
  int loops = 0;
  for (std::uint64_t seed = 1; seed <= 4; ++seed) {
    for (const std::vector<float>& samples :
         {noise(6 * second, seed), pump(6.0, rate, 0.7, 0.02, seed).samples}) {
      for (const LoopCandidate& one : found(at_rate({samples})).candidates) {
        drifts += one.loop.drift_db != 0.0 || !one.loop.octave_drift_db.empty() ? 1 : 0;
        ++loops;
      }
    }
  }
  CHECK(loops >= 30);
  CHECK(20 * drifts <= loops);
}

TEST_CASE("loop finder: all channels are looped as one", "[dsp]") {
  const audio::Pcm pcm = at_rate({sine(4 * second, 100.0), sine(4 * second, 150.0)});
  const LoopSearch search = found(pcm);
  check_promises(pcm, search);
  REQUIRE_FALSE(search.candidates.empty());
  const double turns =
      static_cast<double>(search.candidates.front().loop.range.length().value()) / 300.0;
  CHECK(std::abs(turns - std::round(turns)) * 300.0 < 2.5);
  CHECK(search.candidates.front().seam.state == SeamState::clean);
}

TEST_CASE("loop finder: no room for a crossfade, and still an answer", "[dsp]") {
  const audio::Pcm pcm = at_rate({noise(second, 1)});
  for (const double seconds : {1.0, 0.9999, 0.5003}) {
    const LoopParams params{seconds, seconds, 5, 1};
    const LoopSearch search = found(pcm, params);
    // A length between two frames is rounded up.
    check_promises(pcm, search, {seconds, seconds + 1.0 / rate, 5, 1});
    CHECK_FALSE(search.candidates.empty());
  }
}

TEST_CASE("loop finder: what is too short or silent has no loop, and a reason", "[dsp]") {
  const LoopParams params;
  const auto reason = [&](std::vector<float> samples) {
    const audio::Pcm pcm = at_rate({std::move(samples)});
    const LoopSearch search = found(pcm, params);
    check_promises(pcm, search, params);
    CHECK(search.candidates.empty());
    return search.reason;
  };
  CHECK_FALSE(found(audio::Pcm{rate, {}}).reason.empty());
  CHECK_FALSE(reason({}).empty());
  CHECK(reason({0.5F}).find("shorter than") != std::string::npos);
  CHECK(reason(noise(second / 2 - 1, 1)).find("shorter than") != std::string::npos);
  CHECK(reason(std::vector<float>(2 * second, 0.0F)).find("silent") != std::string::npos);
  CHECK(reason(std::vector<float>(2 * second, 0.7F)).find("silent") != std::string::npos);
}

TEST_CASE("loop finder: the same material and seed give the same loops", "[dsp]") {
  const audio::Pcm pcm = pcm_of({pump(4.0, 22050.0, 0.6, 0.05, 2).samples}, 22050.0);
  const LoopSearch a = found(pcm);
  const LoopSearch b = found(pcm);
  REQUIRE(a.candidates.size() == b.candidates.size());
  for (std::size_t i = 0; i < a.candidates.size(); ++i) {
    CHECK(a.candidates[i].loop.range == b.candidates[i].loop.range);
    CHECK(a.candidates[i].score == b.candidates[i].score);
  }
}

TEST_CASE("loop finder: wrong arguments are refused", "[dsp]") {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  audio::Pcm pcm = at_rate({noise(2 * second, 1)});
  CHECK(refusal(pcm, {0.02, 8.0, 5, 1}) == ErrorCode::bad_argument);
  CHECK(refusal(pcm, {nan, 8.0, 5, 1}) == ErrorCode::bad_argument);
  CHECK(refusal(pcm, {0.5, 0.4, 5, 1}) == ErrorCode::bad_argument);
  CHECK(refusal(pcm, {0.5, nan, 5, 1}) == ErrorCode::bad_argument);
  CHECK(refusal(pcm, {0.5, 8.0, 0, 1}) == ErrorCode::bad_argument);
  CHECK(refusal(pcm, {0.5, 8.0, 51, 1}) == ErrorCode::bad_argument);
  pcm.sample_rate_hz = nan;
  CHECK(refusal(pcm, {}) == ErrorCode::bad_argument);
  pcm.sample_rate_hz = rate;
  pcm.channels.emplace_back(10);
  CHECK(refusal(pcm, {}) == ErrorCode::bad_argument);
  pcm.channels.pop_back();
  pcm.channels[0][777] = std::numeric_limits<float>::quiet_NaN();
  CHECK(refusal(pcm, {}) == ErrorCode::not_finite);
}

TEST_CASE("loop finder: a cancelled job stops", "[dsp]") {
  class Cancelling : public JobControl {
   public:
    explicit Cancelling(int after) : left_(after) {}
    [[nodiscard]] bool cancelled() const override { return left_-- <= 0; }

   private:
    mutable int left_;
  };
  for (const int after : {0, 5, 60}) {
    Cancelling job(after);
    const Result<LoopSearch> search = find_loops(at_rate({noise(4 * second, 1)}), {}, job);
    REQUIRE_FALSE(search);
    CHECK(search.error().code == ErrorCode::cancelled);
  }
}

TEST_CASE("loops: in noise too, every loop found has sides that do not cancel", "[dsp]") {
  // Loops so short that all crossfades are one: where its sides cancel, only a shift helps.
  int hard_cuts = 0;
  for (std::uint64_t seed = 1; seed <= 6; ++seed) {
    const audio::Pcm material = at_rate({dull_noise(4 * second, seed, 0.2)});
    LoopParams params;
    params.min_s = 0.03;
    params.max_s = 0.08;
    params.count = 40;
    const LoopSearch search = found(material, params);
    REQUIRE(search.candidates.size() >= 20);
    for (const LoopCandidate& one : search.candidates) {
      hard_cuts += one.loop.crossfade_frames.value() == 0 ? 1 : 0;
      CHECK(blend_correlation(material, one.loop) >= -1.0e-6);
      CHECK(one.loop.range.length().value() >= static_cast<std::int64_t>(params.min_s * rate));
      CHECK(one.loop.range.length().value() <= static_cast<std::int64_t>(params.max_s * rate));
    }
  }
  CHECK(hard_cuts <= 2);  // lengths at a bound, where no shift helps
}
