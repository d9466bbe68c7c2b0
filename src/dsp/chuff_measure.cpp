// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/chuff_measure.h"

#include "plain_log.h"

#include "fourbeat/audio/loudness.h"
#include "fourbeat/audio/take_report.h"
#include "fourbeat/dsp/fft.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <utility>

namespace fourbeat::dsp {

namespace {

constexpr double window_s = 0.005;  // of the envelope that the beat time is defined by
constexpr double hop_s = 0.001;
constexpr double edge_s = 0.002;
constexpr double least_interval_s = 0.010;
constexpr double background_share = 0.10;
constexpr double third_octave = 1.2589254117941673;       // 10^(1/10)
constexpr double half_third_octave = 1.1220184543019633;  // 10^(1/20)
constexpr int bands_at_most = 21;                         // 100 Hz to 10 kHz
constexpr double silent_db = -200.0;
constexpr double silent_power = 1e-20;

double level_db(double power) {
  return power > silent_power ? plain_db(power) : silent_db;
}

/// Mean power over 5 ms around every millisecond.
struct MeanPower {
  std::vector<double> power;
  double hop_frames = 1.0;

  [[nodiscard]] std::size_t at(std::int64_t frame) const {
    const double place = std::floor(static_cast<double>(frame) / hop_frames + 0.5);
    return static_cast<std::size_t>(
        std::clamp(place, 0.0, static_cast<double>(power.size()) - 1.0));
  }
  [[nodiscard]] std::int64_t frame_of(std::size_t index) const {
    return static_cast<std::int64_t>(std::floor(static_cast<double>(index) * hop_frames + 0.5));
  }
  /// The quietest point in [from, to], the first of several.
  [[nodiscard]] std::size_t quietest(std::int64_t from, std::int64_t to) const {
    const auto first = power.begin() + static_cast<std::ptrdiff_t>(at(from));
    const auto last = power.begin() + static_cast<std::ptrdiff_t>(at(to)) + 1;
    return static_cast<std::size_t>(std::min_element(first, last) - power.begin());
  }
};

MeanPower envelope_of(audio::MonoView samples, double rate_hz) {
  MeanPower envelope;
  envelope.hop_frames = hop_s * rate_hz;
  std::vector<double> sums(samples.size() + 1, 0.0);
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const auto x = static_cast<double>(samples[i]);
    sums[i + 1] = sums[i] + x * x;
  }
  const auto half = std::max<std::int64_t>(1, std::llround(0.5 * window_s * rate_hz));
  const auto size = static_cast<std::int64_t>(samples.size());
  for (std::size_t k = 0; envelope.frame_of(k) < size; ++k) {
    const std::int64_t middle = envelope.frame_of(k);
    const auto from = static_cast<std::size_t>(std::max<std::int64_t>(0, middle - half));
    const auto to = static_cast<std::size_t>(std::min(size, middle + half));
    // A difference of sums may come out a hair below nothing.
    envelope.power.push_back(
        std::max(0.0, (sums[to] - sums[from]) / static_cast<double>(to - from)));
  }
  return envelope;
}

}  // namespace

std::optional<ChuffMeasure> measure_chuff(audio::MonoView samples, double sample_rate_hz,
                                          FrameIndex beat_frame, FrameIndex next_frame,
                                          FrameCount lead_frames) {
  const std::int64_t beat = beat_frame.value();
  const std::int64_t next = next_frame.value();
  const std::int64_t lead = lead_frames.value();
  if (!(sample_rate_hz >= 1000.0 && sample_rate_hz <= 768'000.0)) return std::nullopt;
  if (beat < 0 || lead < 0 || lead > beat || std::cmp_greater_equal(next, samples.size()) ||
      static_cast<double>(next - beat) < least_interval_s * sample_rate_hz ||
      !std::all_of(samples.begin(), samples.end(), [](float x) { return std::isfinite(x); })) {
    return std::nullopt;
  }
  const MeanPower envelope = envelope_of(samples, sample_rate_hz);
  const std::int64_t next_lead = std::min(lead, next - beat - 1);
  const std::size_t quiet = envelope.quietest(beat - lead, beat);
  const std::size_t end = envelope.quietest(next - next_lead, next);
  std::vector<double> inside(envelope.power.begin() + static_cast<std::ptrdiff_t>(quiet),
                             envelope.power.begin() + static_cast<std::ptrdiff_t>(end) + 1);
  const auto background =
      inside.begin() +
      static_cast<std::ptrdiff_t>(background_share * static_cast<double>(inside.size() - 1));
  std::nth_element(inside.begin(), background, inside.end());
  const double highest = *std::max_element(inside.begin(), inside.end());
  if (highest <= silent_power) return std::nullopt;

  ChuffMeasure measure;
  for (std::size_t part = 0; part < chuff_course_parts; ++part) {
    const std::size_t from = quiet + (end - quiet) * part / chuff_course_parts;
    const std::size_t to =
        std::max(from + 1, quiet + (end - quiet) * (part + 1) / chuff_course_parts);
    double sum = 0.0;
    for (std::size_t i = from; i < to; ++i)
      sum += envelope.power[i];
    measure.course[part] = static_cast<float>(sum / static_cast<double>(to - from));
  }
  measure.peak_dbfs = level_db(highest);
  measure.background_dbfs = level_db(*background);
  measure.end_dbfs = level_db(envelope.power[end]);
  measure.quiet_frames =
      FrameCount(std::clamp<std::int64_t>(beat - envelope.frame_of(quiet), 0, lead));
  measure.next_quiet_frames =
      FrameCount(std::clamp<std::int64_t>(next - envelope.frame_of(end), 0, next_lead));
  const audio::MonoView chuff =
      samples.subspan(static_cast<std::size_t>(beat - measure.quiet_frames.value()),
                      static_cast<std::size_t>(next - measure.next_quiet_frames.value() - beat +
                                               measure.quiet_frames.value()));
  measure.flat_tops = audio::count_flat_tops(chuff);
  const std::optional<double> energy_db = audio::k_weighted_energy_db(chuff, sample_rate_hz);
  if (!energy_db) return std::nullopt;
  measure.energy_db = *energy_db;
  measure.bands_db = third_octave_energies_db(chuff, sample_rate_hz);
  return measure;
}

std::vector<double> third_octave_centres_hz(double sample_rate_hz) {
  std::vector<double> centres;
  double centre_hz = 100.0;
  for (int band = 0; band < bands_at_most; ++band) {
    if (centre_hz * half_third_octave > 0.45 * sample_rate_hz) break;
    centres.push_back(centre_hz);
    centre_hz *= third_octave;
  }
  return centres;
}

std::vector<float> third_octave_energies_db(audio::MonoView samples, double sample_rate_hz) {
  const std::vector<double> centres = third_octave_centres_hz(sample_rate_hz);
  std::vector<float> levels(centres.size(), static_cast<float>(silent_db));
  if (samples.size() < 8) return levels;
  // Zero-padded to a bin of at most 5 Hz, so that the lowest band has several.
  const auto size = good_fft_size(
      std::max(samples.size(), static_cast<std::size_t>(std::ceil(sample_rate_hz / 5.0))));
  const RealFft fft(size);
  std::vector<float> padded(size, 0.0F);
  std::copy(samples.begin(), samples.end(), padded.begin());
  const auto edge =
      std::min(samples.size() / 2, static_cast<std::size_t>(std::ceil(edge_s * sample_rate_hz)));
  for (std::size_t i = 0; i < edge; ++i) {
    const float gain = (static_cast<float>(i) + 0.5F) / static_cast<float>(edge);
    padded[i] *= gain;
    padded[samples.size() - 1 - i] *= gain;
  }
  std::vector<std::complex<float>> bins(size / 2 + 1);
  fft.forward(padded, bins);
  const double bin_hz = sample_rate_hz / static_cast<double>(size);
  // Parseval: the sum of |X|² over both halves / size is the sum of x²; over the rate, an energy.
  const double scale = 2.0 / (static_cast<double>(size) * sample_rate_hz);
  for (std::size_t band = 0; band < centres.size(); ++band) {
    const double low_hz = centres[band] / half_third_octave;
    const double high_hz = centres[band] * half_third_octave;
    double energy = 0.0;
    for (auto bin = static_cast<std::size_t>(std::lround(low_hz / bin_hz)); bin < bins.size();
         ++bin) {
      const double low = std::max(low_hz, (static_cast<double>(bin) - 0.5) * bin_hz);
      const double high = std::min(high_hz, (static_cast<double>(bin) + 0.5) * bin_hz);
      if (high <= low) break;
      energy += scale * (high - low) / bin_hz * static_cast<double>(std::norm(bins[bin]));
    }
    levels[band] = static_cast<float>(level_db(energy));
  }
  return levels;
}

double spectral_tilt_db_per_octave(const std::vector<float>& bands_db) {
  constexpr std::size_t first = 1;                        // 125 Hz
  constexpr std::size_t last = 19;                        // 8 kHz
  constexpr double octaves_a_band = 0.33219280948873623;  // log2(10) / 10
  double count = 0.0;
  double sum_x = 0.0;
  double sum_y = 0.0;
  double sum_xx = 0.0;
  double sum_xy = 0.0;
  for (std::size_t band = first; band <= last && band < bands_db.size(); ++band) {
    const auto y = static_cast<double>(bands_db[band]);
    if (y <= silent_db) continue;
    const double x = octaves_a_band * static_cast<double>(band);
    count += 1.0;
    sum_x += x;
    sum_y += y;
    sum_xx += x * x;
    sum_xy += x * y;
  }
  const double spread = count * sum_xx - sum_x * sum_x;
  return count < 3.0 || spread <= 0.0 ? 0.0 : (count * sum_xy - sum_x * sum_y) / spread;
}

}  // namespace fourbeat::dsp
