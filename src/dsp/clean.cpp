// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/clean.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace fourbeat::dsp {

namespace {

constexpr double highest_share_of_rate = 0.45;

/// A value of the mathematical library, rounded to 24 bits: libraries and processors differ in
/// the last of a double's 53.
double settled(double value) {
  return static_cast<double>(static_cast<float>(value));
}

/// One second-order section, normalised to a0 = 1 (transposed direct form II).
struct Section {
  double b0 = 1.0;
  double b1 = 0.0;
  double b2 = 0.0;
  double a1 = 0.0;
  double a2 = 0.0;
};

/// Sample by sample through all sections, not section by section through all samples: while one
/// section waits for its own last value, the others have theirs to work on.
void run(const std::vector<Section>& sections, std::span<float> samples) {
  constexpr double vanishing = 1e-60;
  struct Stage {
    Section section;
    double s1 = 0.0;
    double s2 = 0.0;
  };
  std::vector<Stage> stages;
  stages.reserve(sections.size());
  for (const Section& section : sections)
    stages.push_back({section});
  for (float& sample : samples) {
    double x = static_cast<double>(sample);
    for (Stage& stage : stages) {
      const Section& section = stage.section;
      const double y = section.b0 * x + stage.s1;
      stage.s1 = section.b1 * x - section.a1 * y + stage.s2;
      stage.s2 = section.b2 * x - section.a2 * y;
      if (std::abs(stage.s1) < vanishing && std::abs(stage.s2) < vanishing)
        stage.s1 = stage.s2 = 0.0;
      x = y;
    }
    sample = static_cast<float>(x);
  }
}

Error bad(std::string_view place, std::string detail, std::string mend) {
  return {ErrorCode::bad_argument, "", std::string(place), std::move(detail), std::move(mend)};
}

Status check(std::span<const float> samples, double rate_hz, std::string_view name, double hz) {
  if (!std::isfinite(rate_hz) || rate_hz <= 0.0)
    return bad("sample_rate_hz", "the sample rate is not a positive number", "");
  if (!(hz > 0.0 && hz < highest_share_of_rate * rate_hz)) {
    return bad(name, fmt::format("{:.6g} Hz at a rate of {:.6g} Hz", hz, rate_hz),
               fmt::format("choose a frequency above 0 and below {:.6g} Hz",
                           highest_share_of_rate * rate_hz));
  }
  const auto broken =
      std::find_if(samples.begin(), samples.end(), [](float x) { return !std::isfinite(x); });
  if (broken != samples.end()) {
    return Error{ErrorCode::not_finite, "", fmt::format("frame {}", broken - samples.begin()), "",
                 ""};
  }
  return ok();
}

}  // namespace

Status high_pass(std::span<float> samples, double sample_rate_hz, double cutoff_hz, int order) {
  if (order < 2 || order > 8 || order % 2 != 0)
    return bad("order", fmt::format("{}", order), "choose 2, 4, 6 or 8");
  if (Status checked = check(samples, sample_rate_hz, "cutoff_hz", cutoff_hz); !checked)
    return checked;
  // Analogue prototype s² / (s² + s / Q + 1) for each pair of poles, s = (1 - z⁻¹) / (1 + z⁻¹) / k.
  const double k = settled(std::tan(std::numbers::pi * cutoff_hz / sample_rate_hz));
  std::vector<Section> sections;
  for (int pair = 0; pair < order / 2; ++pair) {
    const double inverse_q =
        2.0 * settled(std::sin(std::numbers::pi * (2 * pair + 1) / (2 * order)));
    const double scale = 1.0 / (1.0 + k * inverse_q + k * k);
    sections.push_back({scale, -2.0 * scale, scale, 2.0 * (k * k - 1.0) * scale,
                        (1.0 - k * inverse_q + k * k) * scale});
  }
  run(sections, samples);
  return ok();
}

Status hum_notch(std::span<float> samples, double sample_rate_hz, double fundamental_hz,
                 int harmonics, double q) {
  if (harmonics < 1 || harmonics > 64)
    return bad("harmonics", fmt::format("{}", harmonics), "choose 1 to 64");
  if (!(q >= 0.5 && q <= 1000.0)) return bad("q", fmt::format("{:.6g}", q), "choose 0.5 to 1000");
  if (Status checked = check(samples, sample_rate_hz, "fundamental_hz", fundamental_hz); !checked)
    return checked;
  std::vector<Section> sections;
  for (int line = 1; line <= harmonics; ++line) {
    const double line_hz = fundamental_hz * line;
    if (line_hz >= highest_share_of_rate * sample_rate_hz) break;
    // (s² + 1) / (s² + s / q + 1) through the same transform: zeros on the unit circle at the line.
    const double k = settled(std::tan(std::numbers::pi * line_hz / sample_rate_hz));
    const double scale = 1.0 / (1.0 + k / q + k * k);
    const double middle = 2.0 * (k * k - 1.0) * scale;
    sections.push_back({(1.0 + k * k) * scale, middle, (1.0 + k * k) * scale, middle,
                        (1.0 - k / q + k * k) * scale});
  }
  run(sections, samples);
  return ok();
}

Status tilt(std::span<float> samples, double sample_rate_hz, double db_per_octave,
            double pivot_hz) {
  constexpr double first_pole_hz = 10.0;
  constexpr double last_pole = 32.0;  // of the warped frequency: past all that matters
  constexpr double one_pole_db = 6.020599913279624;  // an octave
  if (!(db_per_octave >= -6.0 && db_per_octave <= 6.0))
    return bad("db_per_octave", fmt::format("{:.6g}", db_per_octave), "choose -6 to 6");
  if (Status checked = check(samples, sample_rate_hz, "pivot_hz", pivot_hz); !checked)
    return checked;
  if (db_per_octave == 0.0) return ok();
  // Between a zero and its pole the level rises by 6 dB an octave, from that pole to the next zero
  // it stays: a share of the way gives that share of the slope.
  const double zero_ratio = settled(std::exp2(-db_per_octave / one_pole_db));
  const double pivot = settled(std::tan(std::numbers::pi * pivot_hz / sample_rate_hz));
  std::vector<Section> sections;
  double at_pivot = 1.0;
  for (double pole = settled(std::tan(std::numbers::pi * first_pole_hz / sample_rate_hz));
       pole < last_pole; pole *= 2.0) {
    // (1 + s / zero) / (1 + s / pole), s = (1 - z⁻¹) / (1 + z⁻¹).
    const double zero = pole * zero_ratio;
    const double scale = pole / (zero * (pole + 1.0));
    sections.push_back(
        {(zero + 1.0) * scale, (zero - 1.0) * scale, 0.0, (pole - 1.0) / (pole + 1.0), 0.0});
    const double up = pivot / zero;
    const double down = pivot / pole;
    at_pivot *= std::sqrt((1.0 + up * up) / (1.0 + down * down));
  }
  sections.front().b0 /= at_pivot;
  sections.front().b1 /= at_pivot;
  run(sections, samples);
  return ok();
}

}  // namespace fourbeat::dsp
