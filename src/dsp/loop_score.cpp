// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop_search.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace fourbeat::dsp {

namespace {

constexpr double worst_tell_db = 30.0;
constexpr double usual_tell_db = 8.0;
constexpr double plain_tell_db = 20.0;
constexpr double most_tell_cost = 0.2;
constexpr double drift_cost_a_db = 0.02;

/// A length's place between the shortest and the longest allowed.
double place_of(std::int64_t frames, const Bounds& bounds) {
  const auto span = static_cast<double>(bounds.most - bounds.least);
  if (!(span > 0.0)) return 1.0;
  return std::clamp(static_cast<double>(frames - bounds.least) / span, 0.0, 1.0);
}

double choice_of(double vouched, double length, double calm, double even, double brief) {
  return 0.25 * (vouched + length) + 0.2 * calm + 0.15 * (even + brief);
}

double clean_score(double choice) {
  return 0.6 + 0.4 * choice;
}

/// How the best loop drifts; "" where it does not.
std::string words_of_drift(const SeamReport& seam, double length_s) {
  std::string words;
  if (const double db = seam.level_drift_db; db != 0.0) {
    words = fmt::format("over the best one the sound {} by {:.1f} dB, {:.1f} dB a second",
                        db < 0.0 ? "falls" : "rises", std::abs(db),
                        // From the middle of the first quarter to that of the last.
                        std::abs(db) / (0.75 * length_s));
  }
  if (const double db = seam.tone_drift_db; db != 0.0) {
    words += fmt::format("{} by {:.1f} dB (upper octaves against lower)",
                         words.empty() ? (db < 0.0 ? "over the best one the sound grows duller"
                                                   : "over the best one the sound grows brighter")
                                       : (db < 0.0 ? " and grows duller" : " and grows brighter"),
                         std::abs(db));
  }
  if (const double db = seam.octave_drift_db; db != 0.0) {
    words += fmt::format("{}the octave about {:.0f} Hz {} by {:.1f} dB against the others",
                         words.empty() ? "over the best one " : ", and ", seam.octave_hz,
                         db < 0.0 ? "falls" : "rises", std::abs(db));
  }
  return words;
}

}  // namespace

double score_of(const SeamReport& seam, const LoopSpec& loop, const Bounds& bounds) {
  const auto all = static_cast<double>(seam.measures.size() + seam.omitted.size());
  const double vouched = all > 0.0 ? static_cast<double>(seam.measures.size()) / all : 0.0;
  const double length = place_of(loop.range.length().value(), bounds);
  const double calm = 1.0 - std::clamp(seam.tell_db / worst_tell_db, 0.0, 1.0);
  const double even = 1.0 - seam.rank / 100.0;
  const double brief = 1.0 - std::clamp(4.0 * static_cast<double>(loop.crossfade_frames.value()) /
                                            static_cast<double>(loop.range.length().value()),
                                        0.0, 1.0);
  const double choice = choice_of(vouched, length, calm, even, brief);
  switch (seam.state) {
    case SeamState::clean:
      return clean_score(choice);
    case SeamState::doubtful:
      return (seam.whole_periods ? 0.35 : 0.25) + 0.2 * choice;
    case SeamState::unclean:
      break;
  }
  double worst = 1.0;
  for (const SeamMeasure& measure : seam.measures)
    worst = std::max(worst, measure.quotient);
  return 0.2 * choice / worst;
}

double most_score(std::int64_t frames, double taken_out_db, const Bounds& bounds) {
  return clean_score(choice_of(1.0, place_of(frames, bounds), 1.0, 1.0, 1.0)) *
         steadiness(SeamReport{}, taken_out_db);
}

double drift_size_db(double level_db, const std::vector<double>& octaves_db) {
  return std::abs(level_db) +
         std::max(std::abs(tone_drift_db(octaves_db)), 0.5 * octave_drift_spread_db(octaves_db));
}

double calmness(double tell_db) {
  return 1.0 -
         most_tell_cost *
             std::clamp((tell_db - usual_tell_db) / (plain_tell_db - usual_tell_db), 0.0, 1.0);
}

double steadiness(const SeamReport& seam, double taken_out_db) {
  const double left_db = std::max({std::abs(seam.level_drift_db), std::abs(seam.tone_drift_db),
                                   std::abs(seam.octave_drift_db)});
  return (1.0 - 0.5 * std::clamp((left_db - 1.0) / 9.0, 0.0, 1.0)) *
         (1.0 - drift_cost_a_db * taken_out_db);
}

std::string why_not_clean(const LoopCandidate& best, const std::optional<LoopEvent>& event,
                          double rate_hz) {
  const double length_s = static_cast<double>(best.loop.range.length().value()) / rate_hz;
  if (const std::string drift = words_of_drift(best.seam, length_s); !drift.empty())
    return "no loop is steady: " + drift + "; take a steadier stretch or a shorter loop";
  if (event) {
    return fmt::format(
        "no loop is clean: inside the best one something stands out by {:.0f} dB at {:.2f} s and "
        "does not come again; keep clear of it",
        event->over_db, event->time_s);
  }
  if (!best.seam.whole_periods && best.period_s) {
    return fmt::format(
        "no loop is clean: none of the lengths tried spans whole periods of {:.5f} s; allow other "
        "lengths",
        *best.period_s);
  }
  const auto worst = std::max_element(
      best.seam.measures.begin(), best.seam.measures.end(),
      [](const SeamMeasure& a, const SeamMeasure& b) { return a.quotient < b.quotient; });
  if (worst == best.seam.measures.end() || best.seam.state == SeamState::doubtful) {
    return fmt::format(
        "no loop is clean: the best one, of {:.2f} s, is too short: {} of {} measures have too "
        "little room to vouch for it; allow longer loops, or give longer material",
        length_s, best.seam.omitted.size(), best.seam.omitted.size() + best.seam.measures.size());
  }
  return fmt::format(
      "no loop is clean: at the best seam {} is {:.1f} times what it is in 95 of 100 places of the "
      "loop",
      worst->name, worst->quotient);
}

}  // namespace fourbeat::dsp
