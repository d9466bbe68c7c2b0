// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/drive/neglect.h"

#include "steam_runs.h"
#include "support/catch.h"

using namespace fourbeat;
using namespace fourbeat::drive;
using namespace fourbeat::tests;
using model::Duties;
using model::Effort;

namespace {
double minutes(const std::optional<double>& seconds) {
  REQUIRE(seconds);
  return *seconds / 60.0;
}
}  // namespace

TEST_CASE("neglect: a new set's figures are those of docs/steam.md, section 5", "[drive]") {
  const Duties duties;  // off: they are played as if they were on
  const Neglect rest = neglect(duties, standing);
  CHECK(minutes(rest.warns_s) == Approx(47).margin(0.5));
  CHECK(minutes(rest.weakens_s) == Approx(52).margin(0.5));
  CHECK_FALSE(rest.drops_s);
  CHECK(minutes(rest.stands_s) == Approx(66).margin(0.5));
  const Neglect easy = neglect(duties, {0.6, Effort::easy, false});
  CHECK(minutes(easy.warns_s) == Approx(14).margin(0.5));
  CHECK(minutes(easy.weakens_s) == Approx(17).margin(0.5));
  CHECK_FALSE(easy.drops_s);
  CHECK(minutes(easy.stands_s) == Approx(28).margin(0.5));
  const Neglect hard = neglect(duties, flat_out);
  CHECK(minutes(hard.warns_s) == Approx(3.9).margin(0.05));
  CHECK(minutes(hard.weakens_s) == Approx(4.8).margin(0.05));
  CHECK(minutes(hard.drops_s) == Approx(8.4).margin(0.05));
  CHECK(minutes(hard.stands_s) == Approx(11).margin(0.5));
}

TEST_CASE("neglect: what never comes is none", "[drive]") {
  Duties duties = still_duties();
  CHECK(neglect(duties, standing) == Neglect{});
  duties.start_bar = 0.0;
  const Neglect cold = neglect(duties, standing);
  CHECK(cold.warns_s == 0.0);
  CHECK(cold.weakens_s == 0.0);
  CHECK(cold.stands_s == 0.0);
}
