// SPDX-License-Identifier: GPL-3.0-or-later
#include "finished_demo.h"
#include "support/catch.h"
#include "support/swept_table.h"

#include "fourbeat/work/session.h"

using namespace fourbeat;

TEST_CASE("demo: its table swept has every beat on the closed form's frame", "[demo][deep]") {
  const auto session = work::Session::open(demo::finished());
  REQUIRE(session);
  tests::check_swept(tests::sweep_against_closed_form(session->project(), session->folder()));
}
