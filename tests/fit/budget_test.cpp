// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/fit/budget.h"

#include "support/catch.h"

#include <array>

using namespace fourbeat;

namespace {

model::DecoderProfile decoder(std::int64_t sector_bytes, std::int64_t overhead_bytes,
                              std::int64_t fixed_bytes) {
  model::DecoderProfile profile;
  profile.sector_bytes = sector_bytes;
  profile.overhead_bytes = overhead_bytes;
  profile.fixed_bytes = fixed_bytes;
  return profile;
}

}  // namespace

TEST_CASE("budget: ten seconds take rate times seconds times bits over eight", "[fit]") {
  const model::DecoderProfile bare = decoder(1, 0, 0);
  // Arithmetic: 10 s × 16 kHz × 1 byte, 10 s × 22.05 kHz × 2 bytes, and × 1.5 bytes packed.
  CHECK(fit::stored_bytes(160'000, 8, bare) == 160'000);
  CHECK(fit::stored_bytes(220'500, 16, bare) == 441'000);
  CHECK(fit::stored_bytes(220'500, 12, bare) == 330'750);
}

TEST_CASE("budget: an odd number of packed 12-bit frames takes a whole last byte", "[fit]") {
  CHECK(fit::stored_bytes(1, 12, decoder(1, 0, 0)) == 2);
  CHECK(fit::stored_bytes(3, 12, decoder(1, 0, 0)) == 5);
  CHECK(fit::stored_bytes(2, 12, decoder(1, 0, 0)) == 3);
}

TEST_CASE("budget: a sound with its overhead fills whole sectors", "[fit]") {
  CHECK(fit::stored_bytes(0, 16, decoder(512, 0, 0)) == 0);
  CHECK(fit::stored_bytes(0, 16, decoder(512, 24, 0)) == 512);
  CHECK(fit::stored_bytes(244, 16, decoder(512, 24, 0)) == 512);
  CHECK(fit::stored_bytes(245, 16, decoder(512, 24, 0)) == 1024);
  CHECK(fit::stored_bytes(1, 8, decoder(4096, 64, 0)) == 4096);
}

TEST_CASE("budget: hours of sound are counted without overflow", "[fit]") {
  const std::int64_t frames = std::int64_t{48'000} * 3600 * 100;
  CHECK(fit::stored_bytes(frames, 16, decoder(1, 0, 0)) == frames * 2);
}

TEST_CASE("budget: a set is its sounds and what is fixed", "[fit]") {
  const std::array<std::int64_t, 3> bytes{512, 1024, 512};
  CHECK(fit::set_bytes(bytes, decoder(512, 0, 16'384)) == 18'432);
  CHECK(fit::set_bytes({}, decoder(512, 0, 16'384)) == 16'384);
}
