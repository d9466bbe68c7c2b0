// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop_sounds.h"
#include "support/catch.h"

#include "fourbeat/dsp/loop_finder.h"

using namespace fourbeat;
using namespace fourbeat::dsp;
using namespace fourbeat::loop_sounds;

namespace {

constexpr double rate = 8000.0;
constexpr std::int64_t grid = 400;  // 50 ms

double held(double x) {
  return std::clamp(x, 0.0, 1.0);
}

/// The score of docs/seams.md, section 8, written down a second time.
double score_by_the_book(const audio::Pcm& material, const LoopSpec& loop, const SeamReport& seam,
                         const LoopParams& params) {
  const auto frames = static_cast<double>(loop.range.length().value());
  const double all_s = static_cast<double>(material.frames().value()) / rate;
  const double longest_s = std::min(params.max_s, all_s);
  const double l = held((frames / rate - params.min_s) / (longest_s - params.min_s));
  const double v = static_cast<double>(seam.measures.size()) /
                   static_cast<double>(seam.measures.size() + seam.omitted.size());
  const double t = held(1.0 - seam.tell_db / 30.0);
  const double e = 1.0 - seam.rank / 100.0;
  const double b = held(1.0 - 4.0 * static_cast<double>(loop.crossfade_frames.value()) / frames);
  const double c = 0.25 * (v + l) + 0.2 * t + 0.15 * (e + b);
  double score = 0.6 + 0.4 * c;
  if (seam.state == SeamState::doubtful) score = (seam.whole_periods ? 0.35 : 0.25) + 0.2 * c;
  if (seam.state == SeamState::unclean) {
    double worst = 1.0;
    for (const SeamMeasure& measure : seam.measures)
      worst = std::max(worst, measure.quotient);
    score = 0.2 * c / worst;
  }
  score *= 1.0 - 0.02 * (std::abs(loop.drift_db) + std::abs(tone_drift_db(loop.octave_drift_db)));
  score *= 1.0 - 0.2 * held((seam.tell_db - 8.0) / 12.0);
  const double left_db = std::max(std::abs(seam.level_drift_db), std::abs(seam.tone_drift_db));
  return score * (1.0 - 0.5 * held((left_db - 1.0) / 9.0));
}

struct Tried {
  double best_score = 0.0;
  int loops = 0;
};

/// Every start and end on a grid of 50 ms with every crossfade of 0, 20, 80 and 125 ms that fits.
Tried try_all(const audio::Pcm& material, const LoopParams& params) {
  Tried tried;
  JobControl job;
  const std::int64_t frames = material.frames().value();
  for (std::int64_t start = 0; start < frames; start += grid) {
    for (std::int64_t end = start + grid; end <= frames; end += grid) {
      const double seconds = static_cast<double>(end - start) / rate;
      if (seconds < params.min_s || seconds > params.max_s) continue;
      for (const std::int64_t fade : {0, 160, 640, 1000}) {
        const LoopSpec loop = loop_of(start, end, fade, start < fade);
        audio::Pcm rendered = material;
        if (4 * fade > end - start || !blend_loop(rendered, loop)) continue;
        const Result<SeamReport> seam = measure_seam(rendered, loop, params.seed, job);
        REQUIRE(seam);
        tried.best_score =
            std::max(tried.best_score, score_by_the_book(material, loop, *seam, params));
        ++tried.loops;
      }
    }
  }
  return tried;
}

/// Noise whose level wanders by some dB, as steam's does.
std::vector<float> wandering_noise(std::uint64_t seed) {
  std::vector<float> out = dull_noise(12000, seed, 0.3);
  Random random(seed + 77);
  const double a = random.uniform(1.0, 3.0);
  const double b = random.uniform(0.0, 6.28);
  shape(out, rate, [&](double t) { return std::pow(10.0, 0.15 * std::sin(a * t * 3.0 + b)); });
  return out;
}

}  // namespace

TEST_CASE("loop finder: nothing on a grid of all loops is much better than what it finds",
          "[dsp][deep]") {
  LoopParams params;
  params.min_s = 0.5;
  params.max_s = 1.2;
  std::vector<std::vector<float>> materials;
  for (std::uint64_t seed = 1; seed <= 2; ++seed)
    materials.push_back(wandering_noise(seed));
  materials.push_back(noise(12000, 4));
  materials.push_back(pump(1.5, rate, 0.2, 0.02, 5).samples);
  for (const std::uint64_t seed : {130U, 316U}) {  // noise that falls by 5 dB a second
    materials.push_back(noise(12000, seed));
    shape(materials.back(), rate, [](double t) { return std::pow(10.0, -5.0 * t / 20.0); });
  }
  for (const std::vector<float>& samples : materials) {
    const audio::Pcm material = pcm_of({samples}, rate);
    JobControl job;
    const Result<LoopSearch> search = find_loops(material, params, job);
    REQUIRE(search);
    REQUIRE_FALSE(search->candidates.empty());
    const LoopCandidate& best = search->candidates.front();
    CHECK(best.score ==
          Approx(score_by_the_book(material, best.loop, best.seam, params)).margin(1e-3));
    const Tried tried = try_all(material, params);
    CHECK(tried.loops > 300);
    CHECK(best.score >= tried.best_score - 0.06);
  }
}

TEST_CASE("loop finder: where a short fade leaves a step in a short loop, a longer one is tried",
          "[dsp]") {
  LoopParams params;
  params.min_s = 0.5;
  params.max_s = 1.2;
  for (const std::uint64_t seed : {130U, 316U}) {
    std::vector<float> falling = noise(12000, seed);
    shape(falling, rate, [](double t) { return std::pow(10.0, -5.0 * t / 20.0); });
    const LoopSearch search = found(pcm_of({std::move(falling)}, rate), params);
    REQUIRE_FALSE(search.candidates.empty());
    CHECK(search.candidates.front().seam.state != SeamState::unclean);
  }
}

TEST_CASE("loop finder: what comes round with every turn costs a score what the book says",
          "[dsp]") {
  // So long that the bird is in every loop.
  LoopParams params;
  params.min_s = 2.0;
  params.max_s = 2.8;
  std::vector<float> samples = noise(24000, 6);
  for (std::size_t i = 11000; i < 12600; ++i)
    samples[i] += static_cast<float>(0.5 * std::sin(1.6 * static_cast<double>(i)));
  const audio::Pcm material = pcm_of({std::move(samples)}, rate);
  const LoopSearch search = found(material, params);
  REQUIRE_FALSE(search.candidates.empty());
  for (const LoopCandidate& one : search.candidates) {
    CHECK(one.seam.tell_db > 9.0);
    CHECK(one.score ==
          Approx(score_by_the_book(material, one.loop, one.seam, params)).margin(1e-3));
  }
}

TEST_CASE("loop finder: what drift is left costs a score what the book says", "[dsp]") {
  LoopParams params;
  params.min_s = 1.2;
  params.max_s = 2.4;
  std::vector<float> falling = noise(24000, 6);
  shape(falling, rate, [](double t) { return std::pow(10.0, -5.0 * t / 20.0); });
  const audio::Pcm material = pcm_of({std::move(falling)}, rate);
  const LoopSearch search = found(material, params);
  REQUIRE_FALSE(search.candidates.empty());
  int drifting = 0;
  for (const LoopCandidate& one : search.candidates) {
    CHECK(one.score ==
          Approx(score_by_the_book(material, one.loop, one.seam, params)).margin(1e-3));
    drifting += std::abs(one.seam.level_drift_db) > 1.5 ? 1 : 0;
  }
  CHECK(drifting > 0);
}
