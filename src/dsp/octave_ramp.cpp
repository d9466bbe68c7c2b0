// SPDX-License-Identifier: GPL-3.0-or-later
#include "octave_ramp.h"

#include "plain_log.h"

#include "fourbeat/dsp/crossfade.h"
#include "fourbeat/dsp/fft.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <vector>

namespace fourbeat::dsp {

namespace {

constexpr double reach_s = 0.02;
constexpr double transition_octaves = 0.5;
constexpr std::size_t reaches_a_block = 8;
constexpr double ln_of_1_db = 0.11512925464970229;  // ln 10 / 20

/// What a gain does over a run of frames: even in dB from the run's first frame on, or held.
struct Run {
  std::int64_t from = 0;
  std::int64_t to = 0;
  std::int64_t first_place = 0;  ///< frames from the loop's start where the gain is that of `from`
  bool held = false;
};

/// What lies above each edge that counts, of one block of a channel.
class Edges {
 public:
  Edges(double sample_rate_hz, const std::vector<double>& edges_hz)
      : reach_(octave_reach_frames(sample_rate_hz)),
        fft_(good_fft_size(reaches_a_block * static_cast<std::size_t>(reach_))),
        window_(fft_.size()),
        bins_(fft_.size() / 2 + 1),
        product_(fft_.size() / 2 + 1) {
    for (const double edge_hz : edges_hz)
      responses_.push_back(response_above(edge_hz, sample_rate_hz));
    above_.assign(responses_.size(), std::vector<float>(fft_.size()));
  }

  [[nodiscard]] std::int64_t block() const {
    return static_cast<std::int64_t>(fft_.size()) - 2 * reach_;
  }

  /// Parts `count` frames from `from` on; nothing further off than the reach counts.
  void part(audio::MonoView samples, std::int64_t from, std::int64_t count) {
    const auto frames = static_cast<std::int64_t>(samples.size());
    std::fill(window_.begin(), window_.end(), 0.0F);
    for (std::int64_t j = 0; j < count + 2 * reach_; ++j) {
      std::int64_t i = from - reach_ + j;
      if (i < 0) i = -1 - i;
      if (i >= frames) i = 2 * frames - 1 - i;
      window_[static_cast<std::size_t>(j)] =
          samples[static_cast<std::size_t>(std::clamp<std::int64_t>(i, 0, frames - 1))];
    }
    fft_.forward(window_, bins_);
    for (std::size_t e = 0; e < responses_.size(); ++e) {
      for (std::size_t k = 0; k < bins_.size(); ++k)
        product_[k] = bins_[k] * responses_[e][k];
      fft_.inverse(product_, above_[e]);
    }
  }

  /// What lies above an edge at frame `i` of the block.
  [[nodiscard]] double above(std::size_t edge, std::int64_t i) const {
    return above_[edge][static_cast<std::size_t>(i + reach_)];
  }

 private:
  /// Real response of a high-pass of linear phase, no longer than the reach to either side: by the
  /// window method, from a rise over half an octave about the edge. Scaled for the inverse.
  [[nodiscard]] std::vector<float> response_above(double edge_hz, double sample_rate_hz) {
    const std::size_t size = fft_.size();
    std::vector<std::complex<float>> wanted(size / 2 + 1);
    for (std::size_t k = 1; k < wanted.size(); ++k) {
      const double hz = static_cast<double>(k) * sample_rate_hz / static_cast<double>(size);
      const double place =
          std::clamp(plain_log2(hz / edge_hz) / transition_octaves + 0.5, 0.0, 1.0);
      wanted[k] = static_cast<float>(place * place * (3.0 - 2.0 * place));
    }
    std::vector<float> taps(size);
    fft_.inverse(wanted, taps);
    const auto reach = static_cast<std::size_t>(reach_);
    const std::vector<float> hann = hann_window(2 * reach);
    for (std::size_t n = 0; n < size; ++n) {
      const std::size_t off = std::min(n, size - n);
      const float weight = off < reach ? hann[reach - off] : 0.0F;
      taps[n] *= weight / static_cast<float>(size);
    }
    std::vector<std::complex<float>> bins(size / 2 + 1);
    fft_.forward(taps, bins);
    std::vector<float> response(bins.size());
    for (std::size_t k = 0; k < bins.size(); ++k)
      response[k] = bins[k].real() / static_cast<float>(size);
    return response;
  }

  std::int64_t reach_;
  RealFft fft_;
  std::vector<float> window_;
  std::vector<std::complex<float>> bins_;
  std::vector<std::complex<float>> product_;
  std::vector<std::vector<float>> responses_;
  std::vector<std::vector<float>> above_;
};

/// The gain of every band of one run: steps of gain from below each edge to above it.
struct BandGains {
  std::vector<double> ln_a_frame;  ///< of the lowest band, then of each above an edge

  void run(audio::MonoView original, const Run& run, Edges& edges, std::vector<float>& out) const {
    const std::size_t bands = std::min(ln_a_frame.size(), most_octaves);
    std::array<double, most_octaves> gains{};
    std::array<double, most_octaves> ratios{};
    ratios.fill(1.0);
    for (std::int64_t from = run.from; from < run.to; from += edges.block()) {
      const std::int64_t count = std::min(edges.block(), run.to - from);
      const std::int64_t place = run.first_place + (run.held ? 0 : from - run.from);
      for (std::size_t b = 0; b < bands; ++b) {
        gains[b] = plain_exp(ln_a_frame[b] * static_cast<double>(place));
        if (!run.held) ratios[b] = plain_exp(ln_a_frame[b]);
      }
      edges.part(original, from, count);
      for (std::int64_t i = 0; i < count; ++i) {
        const auto at = static_cast<std::size_t>(from + i);
        double y = gains[0] * original[at];
        for (std::size_t b = 1; b < bands; ++b)
          y += (gains[b] - gains[b - 1]) * edges.above(b - 1, i);
        out[at] = static_cast<float>(y);
        for (std::size_t b = 0; b < bands; ++b)
          gains[b] *= ratios[b];
      }
    }
  }
};

}  // namespace

std::int64_t octave_reach_frames(double sample_rate_hz) {
  return std::max<std::int64_t>(1, std::llround(reach_s * sample_rate_hz));
}

void take_out_octave_drift(audio::Pcm& pcm, const LoopSpec& loop) {
  const std::vector<double>& drifts_db = loop.octave_drift_db;
  if (std::all_of(drifts_db.begin(), drifts_db.end(), [](double db) { return db == 0.0; })) return;
  const double rate_hz = pcm.sample_rate_hz;
  const auto length = static_cast<double>(loop.range.length().value());
  const auto ln_a_frame = [&](double drift_db) { return -drift_db * ln_of_1_db / length; };
  BandGains gains;
  gains.ln_a_frame.push_back(ln_a_frame(drifts_db.front()));
  std::vector<double> edges_hz;
  double edge_hz = first_octave_edge_hz;
  for (std::size_t b = 1; b < drifts_db.size() && edge_hz < 0.5 * rate_hz; ++b, edge_hz *= 2.0) {
    if (drifts_db[b] == drifts_db[b - 1]) continue;
    edges_hz.push_back(edge_hz);
    gains.ln_a_frame.push_back(ln_a_frame(drifts_db[b]));
  }

  const std::int64_t start = loop.range.start.value();
  const std::int64_t fade = loop.crossfade_frames.value();
  const std::int64_t first = start - (loop.at_start ? 0 : fade);
  const std::int64_t last = loop.range.end.value() + (loop.at_start ? fade : 0);
  const std::array<Run, 3> runs = {{{0, first, first - start, true},
                                    {first, last, first - start, false},
                                    {last, pcm.frames().value(), last - 1 - start, true}}};
  Edges edges(rate_hz, edges_hz);
  for (std::vector<float>& channel : pcm.channels) {
    const std::vector<float> original = channel;
    for (const Run& run : runs) {
      // Before a loop whose blend is at its start, or has none, nothing has a gain.
      if (run.first_place != 0 || !run.held) gains.run(original, run, edges, channel);
    }
  }
}

}  // namespace fourbeat::dsp
