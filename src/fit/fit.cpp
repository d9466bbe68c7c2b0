// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/fit/fit.h"

#include "plan.h"

#include "fourbeat/base/decibels.h"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <numeric>
#include <system_error>
#include <thread>

namespace fourbeat::fit {

namespace {

constexpr double loss_unit = 1.0e-9;
constexpr double set_peak = 0.8912509381337456;  // -1 dBFS
constexpr unsigned most_threads = 8;

/// FNV-1a (Fowler, Noll and Vo), 64 bits: the same seed for the same name on every machine.
std::uint64_t seed_of(const std::string& name) {
  std::uint64_t hash = 0xcbf29ce484222325ULL;
  for (const char c : name) {
    hash ^= static_cast<unsigned char>(c);
    hash *= 0x100000001b3ULL;
  }
  return hash;
}

bool within(double value, double low, double high) {
  return value >= low && value <= high;  // false for NaN
}

Error at(const FitInput& piece, Error error) {
  error.place = error.place.empty() ? piece.name : piece.name + ", " + error.place;
  return error;
}

Status check_input(const FitInput& piece) {
  const auto bad = [&](std::string detail) {
    return at(piece, Error{ErrorCode::bad_argument, {}, {}, std::move(detail), {}});
  };
  if (!within(piece.importance, 0.1, 10.0)) {
    return bad(fmt::format("an importance of {}; 0.1 to 10", piece.importance));
  }
  if (!within(piece.share, 0.01, 1.0)) {
    return bad(fmt::format("a share of {}; 0.01 to 1", piece.share));
  }
  if (!within(piece.playback_db, -120.0, 120.0)) {
    return bad(fmt::format("a playback gain of {} dB; -120 to 120", piece.playback_db));
  }
  for (const float sample : piece.clip.samples) {
    if (!std::isfinite(sample)) {
      return at(piece, Error{ErrorCode::not_finite, {}, {}, {}, {}});
    }
  }
  return ok();
}

/// One uniform encoding, and what it takes.
struct Option {
  Encoding encoding;
  std::int64_t bytes = 0;
};

Result<std::vector<Option>> list_options(const std::vector<FitInput>& pieces,
                                         const model::DecoderProfile& profile) {
  std::vector<Option> options;
  for (const int rate_hz : profile.sample_rates_hz) {
    std::vector<std::int64_t> frames;
    for (const FitInput& piece : pieces) {
      const Result<ResamplePlan> plan = plan_resampling(piece.clip, rate_hz, profile.loop);
      if (!plan) return at(piece, plan.error());
      frames.push_back(plan->frames);
    }
    for (const int bits : profile.bits) {
      std::vector<std::int64_t> bytes;
      bytes.reserve(frames.size());
      for (const std::int64_t piece_frames : frames)
        bytes.push_back(stored_bytes(piece_frames, bits, profile));
      options.push_back({{rate_hz, bits}, set_bytes(bytes, profile)});
    }
  }
  if (options.empty()) {
    return Error{ErrorCode::bad_argument,
                 {},
                 {},
                 fmt::format("the decoder “{}” offers no rate or no depth", profile.id),
                 {}};
  }
  return options;
}

/// The gain that is put into each piece's samples, in dB: none where the profile has its own.
std::vector<double> baked_gains_db(const std::vector<FitInput>& pieces,
                                   const model::DecoderProfile& profile) {
  std::vector<double> gains_db(pieces.size(), 0.0);
  if (profile.has_playback_gain) return gains_db;
  double peak = 0.0;
  for (const FitInput& piece : pieces) {
    double own = 0.0;
    for (const float sample : piece.clip.samples)
      own = std::max(own, std::abs(static_cast<double>(sample)));
    peak = std::max(peak, own * gain_of_db(piece.playback_db));
  }
  const double set_db = db_of_amplitude(set_peak / peak).value_or(0.0);
  for (std::size_t i = 0; i < pieces.size(); ++i)
    gains_db[i] = pieces[i].playback_db + set_db;
  return gains_db;
}

/// What every encoding of one fit shares.
struct Fitting {
  const std::vector<FitInput>& pieces;
  const model::DecoderProfile& profile;
  std::vector<double> baked_db;
};

/// One piece at one rate, at each of the depths.
Result<std::vector<FitSound>> encode_piece(const Fitting& fitting, std::size_t index, int rate_hz,
                                           const std::vector<int>& depths) {
  const FitInput& piece = fitting.pieces[index];
  const bool own_gain = fitting.profile.has_playback_gain;
  audio::Clip baked;
  if (!own_gain) {
    baked = piece.clip;
    const auto gain = static_cast<float>(gain_of_db(fitting.baked_db[index]));
    for (float& sample : baked.samples)
      sample *= gain;
  }
  const audio::Clip& source = own_gain ? piece.clip : baked;
  const Result<ResamplePlan> plan = plan_resampling(source, rate_hz, fitting.profile.loop);
  if (!plan) return at(piece, plan.error());
  const Result<std::vector<float>> samples = resample_clip(source, *plan);
  if (!samples) return at(piece, samples.error());
  std::vector<FitSound> sounds;
  for (const int bits : depths) {
    FitSound sound;
    sound.name = piece.name;
    sound.encoding = {rate_hz, bits};
    sound.bytes = stored_bytes(plan->frames, bits, fitting.profile);
    sound.importance = piece.importance;
    sound.share = piece.share;
    sound.baked_db = fitting.baked_db[index];
    sound.encoded = quantise(*samples, *plan, sound.encoding, own_gain, seed_of(piece.name));
    const Result<double> loss = encoding_loss(source, sound.encoded);
    if (!loss) return at(piece, loss.error());
    sound.loss = std::llround(*loss * piece.importance * piece.share / loss_unit);
    sound.loss_db = db_of_power(*loss);
    sounds.push_back(std::move(sound));
  }
  return sounds;
}

/// Calls work(i) for i = 0 … count - 1, on several threads. Returns false when cancelled.
template <class Work>
bool in_parallel(std::size_t count, JobControl& job, double done, double span, const Work& work) {
  std::atomic<std::size_t> next{0};
  std::atomic<std::size_t> finished{0};
  std::atomic<bool> stop{false};
  const auto help = [&] {
    for (std::size_t i = next++; i < count && !stop; i = next++) {
      work(i);
      ++finished;
    }
  };
  std::vector<std::thread> helpers;
  const unsigned threads = std::clamp(std::thread::hardware_concurrency(), 1U, most_threads);
  for (unsigned t = 1; t < threads; ++t) {
    try {
      helpers.emplace_back(help);
    } catch (const std::system_error&) {
      break;  // fewer helpers do the same work
    }
  }
  for (std::size_t i = next++; i < count && !stop; i = next++) {
    if (job.cancelled()) {
      stop = true;
      break;
    }
    work(i);
    ++finished;
    job.progress(done + span * static_cast<double>(finished) / static_cast<double>(count),
                 "encoding");
  }
  for (std::thread& helper : helpers)
    helper.join();
  return !stop && !job.cancelled();
}

/// Every piece at one rate: for each depth the sounds in the order of the pieces.
Result<std::vector<std::vector<FitSound>>> encode_rate(const Fitting& fitting, int rate_hz,
                                                       const std::vector<int>& depths,
                                                       JobControl& job, double done, double span) {
  const std::size_t count = fitting.pieces.size();
  std::vector<std::optional<Result<std::vector<FitSound>>>> made(count);
  const bool completed = in_parallel(count, job, done, span, [&](std::size_t i) {
    made[i].emplace(encode_piece(fitting, i, rate_hz, depths));
  });
  if (!completed) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
  std::vector<std::vector<FitSound>> sets(depths.size());
  for (std::optional<Result<std::vector<FitSound>>>& piece : made) {
    if (!*piece) return piece->error();
    for (std::size_t d = 0; d < depths.size(); ++d)
      sets[d].push_back(std::move((**piece)[d]));
  }
  return sets;
}

}  // namespace

Result<FitReport> fit_uniform(const std::vector<FitInput>& pieces,
                              const model::DecoderProfile& profile, JobControl& job) {
  for (const FitInput& piece : pieces) {
    if (const Status checked = check_input(piece); !checked) return checked.error();
  }
  const Result<std::vector<Option>> options = list_options(pieces, profile);
  if (!options) return options.error();

  std::vector<Option> candidates;
  if (std::cmp_less_equal(pieces.size(), profile.max_sounds)) {
    std::copy_if(options->begin(), options->end(), std::back_inserter(candidates),
                 [&](const Option& option) { return option.bytes <= profile.memory_bytes; });
  }
  FitReport report;
  report.fits = !candidates.empty();
  report.bytes_available = profile.memory_bytes;
  report.max_sounds = profile.max_sounds;
  if (candidates.empty()) {
    candidates.push_back(
        *std::min_element(options->begin(), options->end(),
                          [](const Option& a, const Option& b) { return a.bytes < b.bytes; }));
  }

  const Fitting fitting{pieces, profile, baked_gains_db(pieces, profile)};
  std::optional<std::int64_t> least_loss;
  for (std::size_t first = 0; first < candidates.size();) {
    const int rate_hz = candidates[first].encoding.sample_rate_hz;
    std::vector<int> depths;
    for (std::size_t i = first;
         i < candidates.size() && candidates[i].encoding.sample_rate_hz == rate_hz; ++i)
      depths.push_back(candidates[i].encoding.bits);
    const double all = static_cast<double>(candidates.size());
    auto sets = encode_rate(fitting, rate_hz, depths, job, static_cast<double>(first) / all,
                            static_cast<double>(depths.size()) / all);
    if (!sets) return sets.error();
    for (std::size_t d = 0; d < depths.size(); ++d) {
      std::vector<FitSound>& sounds = (*sets)[d];
      const std::int64_t loss =
          std::accumulate(sounds.begin(), sounds.end(), std::int64_t{0},
                          [](std::int64_t sum, const FitSound& sound) { return sum + sound.loss; });
      if (least_loss && loss >= *least_loss) continue;
      least_loss = loss;
      report.total_loss = loss;
      report.bytes_used = candidates[first + d].bytes;
      report.sounds = std::move(sounds);
    }
    first += depths.size();
  }
  job.progress(1.0, "encoding");
  return report;
}

}  // namespace fourbeat::fit
