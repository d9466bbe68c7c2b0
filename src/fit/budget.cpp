// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/fit/budget.h"

#include <cassert>

namespace fourbeat::fit {

namespace {

constexpr std::int64_t divide_up(std::int64_t dividend, std::int64_t divisor) {
  return dividend / divisor + (dividend % divisor != 0 ? 1 : 0);
}

}  // namespace

std::int64_t stored_bytes(std::int64_t frames, int bits, const model::DecoderProfile& profile) {
  assert(frames >= 0 && bits >= 0 && profile.sector_bytes >= 1 && profile.overhead_bytes >= 0);
  // Overhead and sector are whole bytes, so rounding the samples up first changes nothing.
  const std::int64_t bytes = divide_up(frames * bits, 8) + profile.overhead_bytes;
  return divide_up(bytes, profile.sector_bytes) * profile.sector_bytes;
}

std::int64_t set_bytes(std::span<const std::int64_t> sound_bytes,
                       const model::DecoderProfile& profile) {
  std::int64_t sum = profile.fixed_bytes;
  for (const std::int64_t bytes : sound_bytes)
    sum += bytes;
  return sum;
}

}  // namespace fourbeat::fit
