// SPDX-License-Identifier: GPL-3.0-or-later
#include "exact_math.h"

#include "support/catch.h"

#include <numbers>

using namespace fourbeat::demo;

// Source of the values: the C library's own functions.

TEST_CASE("exact math: the sine is within 1e-7 of the C library's over many turns", "[demo]") {
  double worst = 0.0;
  for (int k = -40000; k <= 40000; ++k) {
    const double turns = k * 0.000317;
    worst =
        std::max(worst, std::fabs(sine_turns(turns) - std::sin(2.0 * std::numbers::pi * turns)));
    worst =
        std::max(worst, std::fabs(cosine_turns(turns) - std::cos(2.0 * std::numbers::pi * turns)));
  }
  CHECK(worst < 1e-7);
  CHECK(sine_turns(0.0) == 0.0);
  CHECK(sine_turns(0.25) == Approx(1.0).margin(1e-8));
  CHECK(sine_turns(-0.25) == Approx(-1.0).margin(1e-8));
  CHECK(sine_turns(1e6 + 0.125) == Approx(std::sqrt(0.5)).margin(1e-7));
}

TEST_CASE("exact math: powers of two are within 1e-7 of the C library's", "[demo]") {
  double worst = 0.0;
  for (int k = -30000; k <= 30000; ++k) {
    const double x = k * 0.00271;
    worst = std::max(worst, std::fabs(power_of_two(x) / std::exp2(x) - 1.0));
  }
  CHECK(worst < 1e-7);
  CHECK(power_of_two(0.0) == 1.0);
  CHECK(power_of_two(10.0) == 1024.0);
  CHECK(power_of_two(-3.0) == 0.125);
  CHECK(power_of_two(-200.0) > 0.0);
}

TEST_CASE("exact math: gains, cents and decays mean what they say", "[demo]") {
  CHECK(exact_gain_of_db(20.0) == Approx(10.0).epsilon(1e-7));
  CHECK(exact_gain_of_db(-6.0) == Approx(std::pow(10.0, -0.3)).epsilon(1e-7));
  CHECK(ratio_of_cents(1200.0) == Approx(2.0));
  CHECK(std::pow(decay_per_frame(0.5, 48000.0), 24000.0) == Approx(std::exp(-1.0)).epsilon(1e-5));
}
