// SPDX-License-Identifier: GPL-3.0-or-later
#include "finished_demo.h"
#include "support/catch.h"

#include "fourbeat/work/produce.h"
#include "fourbeat/work/session.h"
#include "fourbeat/work/standard_cards.h"

#include <map>
#include <optional>
#include <span>

using namespace fourbeat;
using drive::EventKind;

namespace {

/// The demo fitted once, and driven by one standard card.
class DemoDrive {
 public:
  DemoDrive() {
    auto session = work::Session::open(demo::finished());
    REQUIRE(session);
    session_.emplace(*std::move(session));
    JobControl job;
    auto fitted = work::fit_project(session_->project(), session_->folder(), "", job);
    REQUIRE(fitted);
    fitted_.emplace(*std::move(fitted));
    for (work::StandardCard& card : work::standard_cards(session_->project()))
      cards_.emplace(card.name, std::move(card.card));
  }
  [[nodiscard]] drive::DriveOutput run(const std::string& name, bool render) const {
    JobControl job;
    drive::DriveOptions options;
    options.render = render;
    options.stems = render;
    auto output = work::drive_fitted(session_->project(), *fitted_, cards_.at(name), options, job);
    if (!output) FAIL(to_line(output.error()));
    return *std::move(output);
  }
  [[nodiscard]] const std::map<std::string, model::RunCard>& cards() const { return cards_; }
  [[nodiscard]] int voices() const { return fitted_->profile.voices; }
  [[nodiscard]] const model::Driving& driving() const { return session_->project().driving; }
  [[nodiscard]] bool is_fused(Id<model::ChuffRow> row) const {
    return model::find(session_->project(), row)->fused.has_value();
  }
  [[nodiscard]] double lead_ms() const { return session_->project().chuffs.lead_ms; }

 private:
  std::optional<work::Session> session_;
  std::optional<work::FittedSet> fitted_;
  std::map<std::string, model::RunCard> cards_;
};

const DemoDrive& demo_drive() {
  static const DemoDrive drive;
  return drive;
}

double energy(std::span<const float> samples) {
  double sum = 1e-20;
  for (const float sample : samples)
    sum += static_cast<double>(sample) * sample;
  return sum;
}

}  // namespace

TEST_CASE(
    "demo: driven by every standard card, no voice is above the limit and no effort shorter "
    "than its hold",
    "[demo][deep]") {
  CHECK(demo_drive().cards().size() == 7);
  for (const auto& [name, card] : demo_drive().cards()) {
    INFO(name);
    const auto output = demo_drive().run(name, false);
    CHECK(output.voices_peak <= demo_drive().voices());
    CHECK(output.voices_peak >= 2);
    std::optional<std::int64_t> changed;
    for (const drive::Event& event : output.events) {
      if (event.kind != EventKind::effort) continue;
      if (changed) {
        CHECK(static_cast<double>(event.frame - *changed) / output.sample_rate_hz >=
              demo_drive().driving().effort_hold_s);
      }
      changed = event.frame;
    }
  }
}

TEST_CASE("demo: its own run cards leave head room", "[demo][deep]") {
  const auto session = work::Session::open(demo::finished());
  REQUIRE(session);
  JobControl job;
  const auto checked = work::check_project(session->project(), session->folder(), job);
  REQUIRE(checked);
  CHECK(checked->cards.cards.size() == session->project().run_cards.size());
  for (const work::CardFigures& card : checked->cards.cards) {
    INFO(session->project().run_cards[card.place]);
    REQUIRE(card.peak);
    CHECK(card.peak->true_peak_dbtp < 0.0);
    CHECK(card.peak->true_peak_dbtp > -6.0);
  }
}

TEST_CASE("demo: in twenty stops the brake blocks fall silent within 100 ms of rest",
          "[demo][deep]") {
  const auto output = demo_drive().run("twenty_stops", false);
  int stops = 0;
  int squeals = 0;
  std::int64_t rest = 0;
  std::map<int, std::string> sounding;
  for (const drive::Event& event : output.events) {
    const bool squeal = event.text == "brake_blocks";
    if (event.kind == EventKind::state && event.text == "standing" && event.frame > 0) {
      rest = event.frame;
      ++stops;
    }
    if (event.kind == EventKind::voice_start && squeal) ++squeals;
    if (event.kind == EventKind::voice_end && squeal && rest > 0 && event.frame >= rest) {
      CHECK(event.frame - rest <= output.sample_rate_hz / 10);
    }
    if (event.kind == EventKind::voice_start && squeal) rest = 0;
  }
  CHECK(stops == 20);
  CHECK(squeals >= 14);  // all but the emergency stops
}

TEST_CASE("demo: the log's beats are in the mix within 10 ms where they stand 10 dB over the rest",
          "[demo][deep]") {
  const auto output = demo_drive().run("start_run_stop", true);
  const int rate = output.sample_rate_hz;
  const auto& chuffs = output.stems.at("chuffs");
  std::vector<float> rest(output.mix.size());
  for (std::size_t i = 0; i < rest.size(); ++i)
    rest[i] = output.mix[i] - chuffs[i];
  const auto width = static_cast<std::size_t>(0.030 * rate);
  const auto bit = static_cast<std::size_t>(0.002 * rate);
  int judged = 0;
  for (const drive::Event& event : output.events) {
    if (event.kind != EventKind::beat || !event.row.is_set()) continue;
    if (demo_drive().is_fused(event.row)) continue;  // its beats do not stand apart
    // The beat itself comes after the lead of its chuff.
    const auto beat = static_cast<std::size_t>(
        event.frame + std::llround(demo_drive().lead_ms() * rate / 1000.0));
    if (beat < 2 * width || beat + 2 * width >= rest.size()) continue;
    const auto part = [&](const std::vector<float>& of, std::size_t from, std::size_t count) {
      return energy(std::span(of).subspan(from, count));
    };
    if (part(chuffs, beat, width) < 10.0 * part(rest, beat, width)) continue;
    // The loudest 2 ms near the beat; what went before must be 10 dB below, up to 15 ms before it.
    const auto loudest = [&](std::size_t from, std::size_t to) {
      double most = 0.0;
      for (std::size_t at = from; at < to; at += bit / 4)
        most = std::max(most, part(output.mix, at, bit));
      return most;
    };
    const double most = loudest(beat - width, beat + width);
    if (loudest(beat - width, beat - width / 2) > 0.1 * most) continue;
    std::size_t onset = beat - width / 2;
    while (part(output.mix, onset, bit) < 0.1 * most)
      onset += bit / 4;
    ++judged;
    CHECK(std::abs(static_cast<double>(onset) - static_cast<double>(beat)) <= 0.010 * rate);
  }
  CHECK(judged > 20);
}
