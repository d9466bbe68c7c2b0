// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/clean.h"

#include "sections.h"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

namespace fourbeat::dsp {

namespace {

Error bad(std::string_view place, std::string detail, std::string mend) {
  return {ErrorCode::bad_argument, "", std::string(place), std::move(detail), std::move(mend)};
}

}  // namespace

Status high_pass(std::span<float> samples, double sample_rate_hz, double cutoff_hz, int order) {
  if (order < 2 || order > 8 || order % 2 != 0)
    return bad("order", fmt::format("{}", order), "choose 2, 4, 6 or 8");
  if (Status checked = check_filter(samples, sample_rate_hz, "cutoff_hz", cutoff_hz); !checked)
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
  run_sections(sections, samples);
  return ok();
}

Status hum_notch(std::span<float> samples, double sample_rate_hz, double fundamental_hz,
                 int harmonics, double q) {
  if (harmonics < 1 || harmonics > 64)
    return bad("harmonics", fmt::format("{}", harmonics), "choose 1 to 64");
  if (!(q >= 0.5 && q <= 1000.0)) return bad("q", fmt::format("{:.6g}", q), "choose 0.5 to 1000");
  if (Status checked = check_filter(samples, sample_rate_hz, "fundamental_hz", fundamental_hz);
      !checked)
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
  run_sections(sections, samples);
  return ok();
}

Status tilt(std::span<float> samples, double sample_rate_hz, double db_per_octave,
            double pivot_hz) {
  constexpr double first_pole_hz = 10.0;
  constexpr double last_pole = 32.0;  // of the warped frequency: past all that matters
  constexpr double one_pole_db = 6.020599913279624;  // an octave
  if (!(db_per_octave >= -6.0 && db_per_octave <= 6.0))
    return bad("db_per_octave", fmt::format("{:.6g}", db_per_octave), "choose -6 to 6");
  if (Status checked = check_filter(samples, sample_rate_hz, "pivot_hz", pivot_hz); !checked)
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
  run_sections(sections, samples);
  return ok();
}

}  // namespace fourbeat::dsp
