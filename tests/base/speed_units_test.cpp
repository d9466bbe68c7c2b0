// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/base/speed_units.h"

#include "support/catch.h"

using namespace fourbeat;

TEST_CASE("speed units: the international mile, both ways", "[base]") {
  CHECK(kmh_of_mph(60.0) == Approx(96.56064).epsilon(1e-12));
  CHECK(mph_of_kmh(1.609344) == Approx(1.0).epsilon(1e-12));
  CHECK(kmh_of_m_s(m_s_of_kmh(83.0)) == Approx(83.0).epsilon(1e-12));
}

TEST_CASE("speed units: speed at scale, as lengths shrink and time does not", "[base]") {
  // NEM 010 ratios; figures by arithmetic: 100 km/h over 87, 160 and 220; 60 mph over 76.2.
  CHECK(model_speed_mm_s(100.0, 87.0) == Approx(319.28).margin(0.01));
  CHECK(model_speed_mm_s(100.0, 160.0) == Approx(173.61).margin(0.01));
  CHECK(model_speed_mm_s(100.0, 220.0) == Approx(126.26).margin(0.01));
  CHECK(model_speed_mm_s(kmh_of_mph(60.0), 76.2) == Approx(352.0).margin(0.01));
  CHECK(real_speed_kmh(model_speed_mm_s(47.0, 43.5), 43.5) == Approx(47.0).epsilon(1e-12));
}
