// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/speaker.h"

#include "sections.h"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

namespace fourbeat::dsp {

namespace {

/// What the Cookbook's formulas are made of.
struct Angle {
  double cosine = 0.0;
  double alpha = 0.0;
};

Angle angle_of(double hz, double q, double rate_hz) {
  const double w = 2.0 * std::numbers::pi * hz / rate_hz;
  return {settled(std::cos(w)), settled(std::sin(w)) / (2.0 * q)};
}

Section normalised(double b0, double b1, double b2, double a0, double a1, double a2) {
  return {b0 / a0, b1 / a0, b2 / a0, a1 / a0, a2 / a0};
}

std::vector<Section> sections_of(const SpeakerResponse& speaker, double rate_hz) {
  std::vector<Section> sections;
  const double nyquist_hz = 0.5 * rate_hz;
  {
    const auto [c, alpha] = angle_of(speaker.high_pass_hz, speaker.high_pass_q, rate_hz);
    const double b = 0.5 * (1.0 + c);
    sections.push_back(normalised(b, -2.0 * b, b, 1.0 + alpha, -2.0 * c, 1.0 - alpha));
  }
  if (speaker.peak_db != 0.0 && speaker.peak_hz < nyquist_hz) {
    const auto [c, alpha] = angle_of(speaker.peak_hz, speaker.peak_q, rate_hz);
    const double a = settled(std::pow(10.0, speaker.peak_db / 40.0));
    sections.push_back(normalised(1.0 + alpha * a, -2.0 * c, 1.0 - alpha * a, 1.0 + alpha / a,
                                  -2.0 * c, 1.0 - alpha / a));
  }
  if (speaker.low_pass_hz < nyquist_hz) {
    const auto [c, alpha] = angle_of(speaker.low_pass_hz, speaker.low_pass_q, rate_hz);
    const double b = 0.5 * (1.0 - c);
    sections.push_back(normalised(b, 2.0 * b, b, 1.0 + alpha, -2.0 * c, 1.0 - alpha));
  }
  return sections;
}

}  // namespace

Status through_speaker(std::span<float> samples, double sample_rate_hz,
                       const SpeakerResponse& speaker) {
  if (Status checked = check_filter(samples, sample_rate_hz, "high_pass_hz", speaker.high_pass_hz);
      !checked) {
    return checked;
  }
  struct Figure {
    const char* name;
    double value;
  };
  for (const Figure& figure : std::array<Figure, 5>{{{"high_pass_q", speaker.high_pass_q},
                                                     {"peak_hz", speaker.peak_hz},
                                                     {"peak_q", speaker.peak_q},
                                                     {"low_pass_hz", speaker.low_pass_hz},
                                                     {"low_pass_q", speaker.low_pass_q}}}) {
    if (figure.value > 0.0 && std::isfinite(figure.value)) continue;
    return Error{ErrorCode::bad_argument, "", figure.name, fmt::format("is {}", figure.value),
                 "give a number above 0"};
  }
  if (!(std::abs(speaker.peak_db) <= 60.0)) {
    return Error{ErrorCode::bad_argument, "", "peak_db", fmt::format("is {}", speaker.peak_db),
                 "give -60 to 60 dB"};
  }
  run_sections(sections_of(speaker, sample_rate_hz), samples);
  return ok();
}

double speaker_power(double frequency_hz, double sample_rate_hz, const SpeakerResponse& speaker) {
  const double w = 2.0 * std::numbers::pi * frequency_hz / sample_rate_hz;
  const std::complex<double> z(std::cos(w), -std::sin(w));  // z⁻¹
  double power = 1.0;
  for (const Section& section : sections_of(speaker, sample_rate_hz)) {
    const std::complex<double> above = section.b0 + z * (section.b1 + z * section.b2);
    const std::complex<double> below = 1.0 + z * (section.a1 + z * section.a2);
    power *= std::norm(above) / std::norm(below);
  }
  return power;
}

}  // namespace fourbeat::dsp
