// SPDX-License-Identifier: GPL-3.0-or-later
#include "fit/weighting.h"

#include "fit_sounds.h"

using namespace fourbeat;
using namespace fourbeat::tests;

TEST_CASE("weighting: the curve is the A column of IEC 61672-1", "[fit]") {
  // IEC 61672-1, A-weighting at the exact third-octave centres 1000 × 10^(k/10) Hz, to 0.1 dB.
  const std::vector<std::pair<int, double>> table{
      {-20, -70.4}, {-17, -50.5}, {-13, -30.2}, {-10, -19.1}, {-7, -10.9}, {-3, -3.2}, {0, 0.0},
      {3, 1.2},     {4, 1.3},     {7, 0.5},     {10, -2.5},   {12, -6.6},  {13, -9.3}};
  for (const auto& [k, db] : table) {
    const double weight = fit::a_weight_power(1000.0 * std::pow(10.0, k / 10.0));
    CHECK(10.0 * std::log10(weight) == Approx(db).margin(0.051));
  }
  CHECK(fit::a_weight_power(0.0) == 0.0);
}

TEST_CASE("weighting: the energy of a tone is its own, times the curve at its place", "[fit]") {
  for (const double frequency_hz : {100.0, 1000.0, 6309.6}) {
    const audio::Clip tone = sine(frequency_hz, 48'000.0, 48'000, 0.5);
    const double plain = power(tone.samples) * 48'000.0;
    const double ratio = fit::a_weighted_energy(tone.samples, 48'000.0) / plain;
    CHECK(10.0 * std::log10(ratio) ==
          Approx(10.0 * std::log10(fit::a_weight_power(frequency_hz))).margin(0.05));
  }
}

TEST_CASE("weighting: every sample counts once, wherever it stands", "[fit]") {
  std::vector<double> energies;
  for (const std::size_t frame : {0U, 1U, 1023U, 2048U, 4095U, 4999U}) {
    std::vector<float> click(5000, 0.0F);
    click[frame] = 1.0F;
    energies.push_back(fit::a_weighted_energy(click, 48'000.0));
  }
  CHECK(energies.front() > 0.1);
  for (const double energy : energies)
    CHECK(energy == Approx(energies.front()).epsilon(1.0e-4));
}

TEST_CASE("weighting: nothing, silence and a level without sound have no energy", "[fit]") {
  CHECK(fit::a_weighted_energy({}, 48'000.0) == 0.0);
  CHECK(fit::a_weighted_energy(level(0.0, 48'000.0, 9000).samples, 48'000.0) == 0.0);
  const double of_dc = fit::a_weighted_energy(level(1.0, 48'000.0, 480'000).samples, 48'000.0);
  const double of_tone =
      fit::a_weighted_energy(sine(1000.0, 48'000.0, 480'000, 1.0).samples, 48'000.0);
  CHECK(of_dc < 1.0e-3 * of_tone);
}
