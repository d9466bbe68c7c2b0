// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/fit/fit.h"

#include "fit/loss_memo.h"
#include "fit_sounds.h"

#include "fourbeat/base/decibels.h"

#include <functional>
#include <limits>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

/// Bright, dull, looped and quiet pieces.
std::vector<fit::FitInput> some_pieces() {
  std::vector<fit::FitInput> pieces;
  pieces.push_back({"hiss", noise(48'000.0, 9600, 0.6, 11), 0.0, 1.0, 0.2});
  pieces.push_back({"tone", sine(300.0, 48'000.0, 14'400, 0.5), -3.0, 2.0, 0.5});
  fit::FitInput held{"held", sine(480.0, 48'000.0, 12'000, 0.3), -6.0, 1.0, 0.3};
  held.clip.loop = frame_range(1000, 11'000);
  pieces.push_back(held);
  pieces.push_back({"faint", sine(2000.0, 48'000.0, 4800, 0.001), 0.0, 0.5, 0.01});
  return pieces;
}

model::DecoderProfile small_decoder() {
  model::DecoderProfile profile = open_decoder({11'025, 22'050, 44'100}, {8, 16});
  profile.sector_bytes = 256;
  profile.overhead_bytes = 16;
  profile.fixed_bytes = 1024;
  profile.loop = {64, 16};
  return profile;
}

fit::FitReport fitted(const std::vector<fit::FitInput>& pieces,
                      const model::DecoderProfile& profile) {
  JobControl job;
  auto report = fit::fit_uniform(pieces, profile, job);
  REQUIRE(report);
  return *std::move(report);
}

struct Cancelling : JobControl {
  explicit Cancelling(int after) : left(after) {}
  [[nodiscard]] bool cancelled() const override { return --left < 0; }
  mutable int left;
};

struct Listening : JobControl {
  void progress(double fraction, std::string_view) override { fractions.push_back(fraction); }
  std::vector<double> fractions;
};

}  // namespace

TEST_CASE("fit: the choice is what trying every encoding finds", "[fit]") {
  const std::vector<fit::FitInput> pieces = some_pieces();
  const model::DecoderProfile whole = small_decoder();
  std::vector<fit::FitReport> every;
  for (const int rate_hz : whole.sample_rates_hz) {
    for (const int bits : whole.bits) {
      model::DecoderProfile one = whole;
      one.sample_rates_hz = {rate_hz};
      one.bits = {bits};
      every.push_back(fitted(pieces, one));
      REQUIRE(every.back().sounds.front().encoding == fit::Encoding{rate_hz, bits});
    }
  }
  std::vector<fit::Encoding> chosen;
  for (std::int64_t memory_bytes = 10'000; memory_bytes < 90'000; memory_bytes += 4'000) {
    model::DecoderProfile profile = whole;
    profile.memory_bytes = memory_bytes;
    const fit::FitReport* best = nullptr;
    const fit::FitReport* smallest = &every.front();
    for (const fit::FitReport& report : every) {
      if (report.bytes_used < smallest->bytes_used) smallest = &report;
      if (report.bytes_used > memory_bytes) continue;
      if (best == nullptr || report.total_loss < best->total_loss) best = &report;
    }
    const fit::FitReport report = fitted(pieces, profile);
    const fit::FitReport& expected = best != nullptr ? *best : *smallest;
    CHECK(report.fits == (best != nullptr));
    CHECK(report.bytes_used == expected.bytes_used);
    CHECK(report.total_loss == expected.total_loss);
    CHECK(report.sounds.front().encoding == expected.sounds.front().encoding);
    CHECK(report.bytes_available == memory_bytes);
    if (chosen.empty() || !(chosen.back() == report.sounds.front().encoding)) {
      chosen.push_back(report.sounds.front().encoding);
    }
  }
  CHECK(chosen.size() >= 4);  // the row of memories did ask for different answers
}

TEST_CASE("fit: the report adds up", "[fit]") {
  const std::vector<fit::FitInput> pieces = some_pieces();
  const model::DecoderProfile profile = small_decoder();
  const fit::FitReport report = fitted(pieces, profile);
  CHECK(report.fits);
  REQUIRE(report.sounds.size() == pieces.size());
  std::vector<std::int64_t> bytes;
  std::int64_t loss = 0;
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    const fit::FitSound& sound = report.sounds[i];
    CHECK(sound.name == pieces[i].name);
    CHECK(sound.importance == pieces[i].importance);
    CHECK(sound.share == pieces[i].share);
    CHECK(sound.baked_db == 0.0);
    CHECK(sound.bytes ==
          fit::stored_bytes(static_cast<std::int64_t>(sound.encoded.clip.samples.size()),
                            sound.encoding.bits, profile));
    const auto ratio = fit::encoding_loss(pieces[i].clip, sound.encoded);
    REQUIRE(ratio);
    CHECK(sound.loss == std::llround(*ratio * sound.importance * sound.share * 1.0e9));
    CHECK(*sound.loss_db == Approx(10.0 * std::log10(*ratio)));
    bytes.push_back(sound.bytes);
    loss += sound.loss;
  }
  CHECK(report.bytes_used == fit::set_bytes(bytes, profile));
  CHECK(report.total_loss == loss);
}

TEST_CASE("fit: a piece is the same whatever stands beside it", "[fit]") {
  std::vector<fit::FitInput> pieces = some_pieces();
  const model::DecoderProfile profile = small_decoder();
  const fit::FitReport report = fitted(pieces, profile);
  std::reverse(pieces.begin(), pieces.end());
  const fit::FitReport reversed = fitted(pieces, profile);
  const fit::FitReport alone = fitted({pieces.back()}, profile);
  REQUIRE(reversed.sounds.size() == report.sounds.size());
  for (std::size_t i = 0; i < report.sounds.size(); ++i) {
    const fit::FitSound& same = reversed.sounds[report.sounds.size() - 1 - i];
    CHECK(same.name == report.sounds[i].name);
    CHECK(same.loss == report.sounds[i].loss);
    CHECK(same.encoded.clip == report.sounds[i].encoded.clip);
  }
  CHECK(alone.sounds.front().encoded.clip == report.sounds.front().encoded.clip);
}

TEST_CASE("fit: what was measured before changes nothing, and a changed piece is measured anew",
          "[fit]") {
  std::vector<fit::FitInput> pieces = some_pieces();
  const auto losses = [](const fit::FitReport& report) {
    std::vector<double> list;
    for (const fit::FitSound& sound : report.sounds)
      list.push_back(sound.loss_db.value());
    return list;
  };
  for (const bool has_playback_gain : {true, false}) {
    model::DecoderProfile profile = small_decoder();
    profile.has_playback_gain = has_playback_gain;
    fit::LossMemo::instance().forget_all();
    const fit::FitReport first = fitted(pieces, profile);
    const fit::FitReport again = fitted(pieces, profile);
    CHECK(again.total_loss == first.total_loss);
    CHECK(again.sounds.front().encoded.clip == first.sounds.front().encoded.clip);

    // Whatever a loss depends on: the samples, the loop, the level, the loop rules.
    const auto like_fresh = [&](const std::vector<fit::FitInput>& changed,
                                const model::DecoderProfile& with) {
      std::vector<double> remembered = losses(fitted(changed, with));
      fit::LossMemo::instance().forget_all();
      CHECK(remembered == losses(fitted(changed, with)));
      (void)fitted(pieces, profile);
      return remembered;
    };
    std::vector<fit::FitInput> changed = pieces;
    changed[1].clip.samples[7'000] += 0.25F;
    CHECK(like_fresh(changed, profile) != losses(first));
    changed = pieces;
    changed[2].clip.loop = frame_range(1'000, 11'500);
    CHECK(like_fresh(changed, profile) != losses(first));
    changed = pieces;
    changed[1].playback_db = -20.0;
    const bool differs = like_fresh(changed, profile) != losses(first);
    CHECK(differs == !has_playback_gain);
    model::DecoderProfile ruled = profile;
    ruled.loop = {64, 7};
    CHECK(like_fresh(pieces, ruled) != losses(first));
  }
}

TEST_CASE("fit: two pieces of the same sound get different dither", "[fit]") {
  const audio::Clip clip = sine(300.0, 44'100.0, 4410, 0.5);
  const fit::FitReport report =
      fitted({{"one", clip, 0.0, 1.0, 0.5}, {"two", clip, 0.0, 1.0, 0.5}}, small_decoder());
  CHECK_FALSE(report.sounds[0].encoded.clip == report.sounds[1].encoded.clip);
}

TEST_CASE("fit: more pieces than the decoder stores do not fit", "[fit]") {
  model::DecoderProfile profile = small_decoder();
  profile.max_sounds = 4;
  CHECK(fitted(some_pieces(), profile).fits);
  profile.max_sounds = 3;
  const fit::FitReport report = fitted(some_pieces(), profile);
  CHECK_FALSE(report.fits);
  CHECK(report.sounds.front().encoding == fit::Encoding{11'025, 8});
  CHECK(report.bytes_used <= report.bytes_available);
}

TEST_CASE("fit: a set that fits to the byte fits, and one byte less does not", "[fit]") {
  model::DecoderProfile profile = small_decoder();
  profile.memory_bytes = 0;
  const fit::FitReport smallest = fitted(some_pieces(), profile);
  CHECK_FALSE(smallest.fits);
  profile.memory_bytes = smallest.bytes_used;
  CHECK(fitted(some_pieces(), profile).fits);
  profile.memory_bytes = smallest.bytes_used - 1;
  CHECK_FALSE(fitted(some_pieces(), profile).fits);
}

TEST_CASE("fit: without a playback gain the balance is baked in, the loudest near full scale",
          "[fit]") {
  model::DecoderProfile profile = open_decoder({44'100}, {16});
  profile.has_playback_gain = false;
  const fit::FitReport report =
      fitted({{"loud", sine(500.0, 44'100.0, 8820, 0.1), 0.0, 1.0, 0.5},
              {"soft", sine(500.0, 44'100.0, 8820, 0.1), -12.0, 1.0, 0.5}},
             profile);
  const double loud_db = 10.0 * std::log10(2.0 * power(report.sounds[0].encoded.clip.samples));
  const double soft_db = 10.0 * std::log10(2.0 * power(report.sounds[1].encoded.clip.samples));
  CHECK(loud_db == Approx(-1.0).margin(0.01));
  CHECK(soft_db == Approx(-13.0).margin(0.01));
  CHECK(report.sounds[0].encoded.playback_gain_db == 0.0);
  CHECK(report.sounds[0].baked_db == Approx(19.0).margin(0.01));
  CHECK(report.sounds[1].baked_db == Approx(7.0).margin(0.01));
  CHECK(*report.sounds[0].loss_db < -85.0);
}

TEST_CASE("fit: an empty set fits and takes what is fixed", "[fit]") {
  const fit::FitReport report = fitted({}, small_decoder());
  CHECK(report.fits);
  CHECK(report.bytes_used == 1024);
  CHECK(report.total_loss == 0);
  CHECK(report.sounds.empty());
}

TEST_CASE("fit: silence fits without loss, and its loss in dB is left open", "[fit]") {
  const fit::FitReport report =
      fitted({{"still", level(0.0, 44'100.0, 1000), 0.0, 1.0, 0.5}}, small_decoder());
  CHECK(report.fits);
  CHECK(report.total_loss == 0);
  CHECK_FALSE(report.sounds.front().loss_db);
}

TEST_CASE("fit: what is out of range is refused and the piece is named", "[fit]") {
  const auto error_of = [](const std::function<void(fit::FitInput&)>& spoil) {
    std::vector<fit::FitInput> pieces = some_pieces();
    spoil(pieces[1]);
    JobControl job;
    const auto report = fit::fit_uniform(pieces, small_decoder(), job);
    REQUIRE_FALSE(report);
    CHECK(report.error().place.find("tone") == 0);
    return report.error().code;
  };
  constexpr double nan = std::numeric_limits<double>::quiet_NaN();
  CHECK(error_of([](auto& p) { p.importance = 0.0; }) == ErrorCode::bad_argument);
  CHECK(error_of([](auto& p) { p.importance = nan; }) == ErrorCode::bad_argument);
  CHECK(error_of([](auto& p) { p.share = 1.5; }) == ErrorCode::bad_argument);
  CHECK(error_of([](auto& p) { p.playback_db = nan; }) == ErrorCode::bad_argument);
  CHECK(error_of([](auto& p) { p.clip.sample_rate_hz = nan; }) == ErrorCode::bad_argument);
  CHECK(error_of([](auto& p) { p.clip.loop = frame_range(5, 99'999'999); }) ==
        ErrorCode::bad_argument);
  CHECK(error_of([](auto& p) { p.clip.samples[7] = static_cast<float>(nan); }) ==
        ErrorCode::not_finite);
  JobControl job;
  CHECK(fit::fit_uniform(some_pieces(), open_decoder({44'100}, {}), job).error().code ==
        ErrorCode::bad_argument);
}

TEST_CASE("fit: a cancelled fit says so, whenever it is cancelled", "[fit]") {
  for (int after = 0; after < 3; ++after) {
    Cancelling job(after);
    const auto report = fit::fit_uniform(some_pieces(), small_decoder(), job);
    REQUIRE_FALSE(report);
    CHECK(report.error().code == ErrorCode::cancelled);
  }
}

TEST_CASE("fit: progress ascends to the end", "[fit]") {
  Listening job;
  REQUIRE(fit::fit_uniform(some_pieces(), small_decoder(), job));
  REQUIRE_FALSE(job.fractions.empty());
  CHECK(std::is_sorted(job.fractions.begin(), job.fractions.end()));
  CHECK(job.fractions.front() > 0.0);
  CHECK(job.fractions.back() == 1.0);
}
