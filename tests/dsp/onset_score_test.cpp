// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/onset_score.h"

#include "support/catch.h"

using fourbeat::tests::OnsetScore;
using fourbeat::tests::score_onsets;

// Worked by hand after the definition of mir_eval's onset F-measure: each reference is matched
// once, within the window, borders included.
TEST_CASE("onset score: hand-worked windows of 50 and 70 ms", "[dsp]") {
  const std::vector<double> references = {0.0, 0.5, 1.0, 1.5};
  const std::vector<double> estimates = {0.02, 0.56, 1.04, 1.49, 1.9};
  const OnsetScore narrow = score_onsets(references, estimates, 0.05);
  CHECK(narrow.true_positives == 3);
  CHECK(narrow.precision == Approx(0.6));
  CHECK(narrow.recall == Approx(0.75));
  CHECK(narrow.f_measure == Approx(0.6667).margin(1e-4));
  const OnsetScore wide = score_onsets(references, estimates, 0.07);
  CHECK(wide.true_positives == 4);
  CHECK(wide.f_measure == Approx(0.8889).margin(1e-4));
}

TEST_CASE("onset score: two estimates near one reference count once", "[dsp]") {
  const std::vector<double> reference = {1.0};
  const std::vector<double> estimates = {0.99, 1.01};
  const OnsetScore score = score_onsets(reference, estimates, 0.05);
  CHECK(score.true_positives == 1);
  CHECK(score.precision == Approx(0.5));
  CHECK(score.recall == Approx(1.0));
}

TEST_CASE("onset score: nothing found, or nothing to find, is 0", "[dsp]") {
  const std::vector<double> some = {1.0};
  CHECK(score_onsets(some, {}, 0.05).f_measure == 0.0);
  CHECK(score_onsets({}, some, 0.05).f_measure == 0.0);
}
