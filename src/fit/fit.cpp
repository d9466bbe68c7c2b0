// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/fit/fit.h"

#include "loss_memo.h"
#include "plan.h"

#include "fourbeat/base/decibels.h"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <system_error>
#include <thread>

namespace fourbeat::fit {

namespace {

constexpr double loss_unit = 1.0e-9;
constexpr double set_peak = 0.8912509381337456;  // -1 dBFS
constexpr unsigned most_threads = 8;

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

/// A piece's part of the set's loss, in units of loss_unit.
std::int64_t weighted_loss(const FitInput& piece, double loss) {
  return std::llround(loss * piece.importance * piece.share / loss_unit);
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
  std::optional<dsp::SpeakerResponse> speaker;
  std::vector<double> baked_db;
  std::vector<std::string> names;  ///< source_name() of each piece
};

/// A piece as it is encoded: with its level in the samples where the profile has no gain of its
/// own. `room` holds the copy that takes.
const audio::Clip& source_of(const Fitting& fitting, std::size_t index, audio::Clip& room) {
  const audio::Clip& clip = fitting.pieces[index].clip;
  if (fitting.profile.has_playback_gain) return clip;
  room = clip;
  const auto gain = static_cast<float>(gain_of_db(fitting.baked_db[index]));
  for (float& sample : room.samples)
    sample *= gain;
  return room;
}

/// Power lost by one piece at one rate, at each of the depths.
Result<std::vector<double>> measure_losses(const Fitting& fitting, std::size_t index, int rate_hz,
                                           const std::vector<int>& depths) {
  const FitInput& piece = fitting.pieces[index];
  const bool own_gain = fitting.profile.has_playback_gain;
  const std::uint64_t seed = dither_seed(piece.name);
  LossMemo& memo = LossMemo::instance();
  std::vector<double> losses;
  losses.reserve(depths.size());
  audio::Clip room;
  const audio::Clip* source = nullptr;
  std::optional<ResamplePlan> plan;
  std::vector<float> samples;
  for (const int bits : depths) {
    const Encoding encoding{rate_hz, bits};
    const LossQuestion question{fitting.names[index],    encoding, fitting.profile.loop, own_gain,
                                fitting.baked_db[index], seed,     fitting.speaker};
    if (const std::optional<double> known = memo.find(question); known) {
      losses.push_back(*known);
      continue;
    }
    if (source == nullptr) {
      source = &source_of(fitting, index, room);
      Result<ResamplePlan> planned = plan_resampling(*source, rate_hz, fitting.profile.loop);
      if (!planned) return at(piece, planned.error());
      Result<std::vector<float>> resampled = resample_clip(*source, *planned);
      if (!resampled) return at(piece, resampled.error());
      plan = *planned;
      samples = std::move(*resampled);
    }
    const Result<double> loss =
        encoding_loss(*source, quantise(samples, *plan, encoding, own_gain, seed), fitting.speaker);
    if (!loss) return at(piece, loss.error());
    memo.keep(question, *loss);
    losses.push_back(*loss);
  }
  return losses;
}

/// One piece in the encoding chosen.
Result<FitSound> encode_piece(const Fitting& fitting, std::size_t index, Encoding encoding,
                              double loss) {
  const FitInput& piece = fitting.pieces[index];
  audio::Clip room;
  Result<EncodedClip> encoded =
      encode(source_of(fitting, index, room), encoding, fitting.profile, dither_seed(piece.name));
  if (!encoded) return at(piece, encoded.error());
  FitSound sound;
  sound.name = piece.name;
  sound.encoding = encoding;
  sound.bytes = stored_bytes(static_cast<std::int64_t>(encoded->clip.samples.size()), encoding.bits,
                             fitting.profile);
  sound.loss = weighted_loss(piece, loss);
  sound.loss_db = db_of_power(loss);
  sound.importance = piece.importance;
  sound.share = piece.share;
  sound.baked_db = fitting.baked_db[index];
  sound.encoded = std::move(*encoded);
  return sound;
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

/// make(i) for every piece, on several threads: the results in the pieces' order, or the first
/// error of that order.
template <class Made, class Make>
Result<std::vector<Made>> for_every_piece(const Fitting& fitting, JobControl& job, double done,
                                          double span, const Make& make) {
  std::vector<std::optional<Result<Made>>> made(fitting.pieces.size());
  const bool completed =
      in_parallel(made.size(), job, done, span, [&](std::size_t i) { made[i].emplace(make(i)); });
  if (!completed) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
  std::vector<Made> values;
  values.reserve(made.size());
  for (std::optional<Result<Made>>& piece : made) {
    if (!*piece) return piece->error();
    values.push_back(std::move(**piece));
  }
  return values;
}

}  // namespace

Result<FitReport> fit_uniform(const std::vector<FitInput>& pieces,
                              const model::DecoderProfile& profile, JobControl& job,
                              const std::optional<dsp::SpeakerResponse>& speaker) {
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

  Fitting fitting{pieces, profile, speaker, baked_gains_db(pieces, profile), {}};
  fitting.names.reserve(pieces.size());
  for (const FitInput& piece : pieces) {
    if (job.cancelled()) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
    fitting.names.push_back(source_name(piece.clip));
  }
  // Every candidate is measured, the best one is then encoded: as one more step of the work.
  const double steps = static_cast<double>(candidates.size()) + 1.0;
  std::optional<std::int64_t> least_loss;
  Option best;
  std::vector<double> best_losses;
  for (std::size_t first = 0; first < candidates.size();) {
    const int rate_hz = candidates[first].encoding.sample_rate_hz;
    std::vector<int> depths;
    for (std::size_t i = first;
         i < candidates.size() && candidates[i].encoding.sample_rate_hz == rate_hz; ++i)
      depths.push_back(candidates[i].encoding.bits);
    const Result<std::vector<std::vector<double>>> losses = for_every_piece<std::vector<double>>(
        fitting, job, static_cast<double>(first) / steps,
        static_cast<double>(depths.size()) / steps,
        [&](std::size_t i) { return measure_losses(fitting, i, rate_hz, depths); });
    if (!losses) return losses.error();
    for (std::size_t d = 0; d < depths.size(); ++d) {
      std::int64_t total = 0;
      for (std::size_t i = 0; i < pieces.size(); ++i)
        total += weighted_loss(pieces[i], (*losses)[i][d]);
      if (least_loss && total >= *least_loss) continue;
      least_loss = total;
      best = candidates[first + d];
      best_losses.clear();
      best_losses.reserve(losses->size());
      for (const std::vector<double>& of_piece : *losses)
        best_losses.push_back(of_piece[d]);
    }
    first += depths.size();
  }
  Result<std::vector<FitSound>> sounds = for_every_piece<FitSound>(
      fitting, job, (steps - 1.0) / steps, 1.0 / steps,
      [&](std::size_t i) { return encode_piece(fitting, i, best.encoding, best_losses[i]); });
  if (!sounds) return sounds.error();
  report.total_loss = least_loss.value_or(0);
  report.bytes_used = best.bytes;
  report.sounds = std::move(*sounds);
  job.progress(1.0, "encoding");
  return report;
}

}  // namespace fourbeat::fit
