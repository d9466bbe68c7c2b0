// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/decoder_profile.h"
#include "fourbeat/model/members.h"
#include "fourbeat/model/run_card.h"
#include "fourbeat/store/data_files.h"

/// The members of the values in data files.

namespace fourbeat::model {

/// Sizes of memory: up to a tebibyte.
inline constexpr double memory_limit_bytes = 1'099'511'627'776.0;

template <>
struct Members<LoopRules> {
  static constexpr std::tuple list{
      member("min_frames", &LoopRules::min_frames, between(1, 1'000'000'000).must()),
      member("multiple_of_frames", &LoopRules::multiple_of_frames, between(1, 65'536).must())};
};
template <>
struct Members<DecoderProfile> {
  static constexpr std::tuple list{
      member("id", &DecoderProfile::id, must_rule),
      member("name", &DecoderProfile::name, must_rule),
      member("invented", &DecoderProfile::invented),
      member("memory_bytes", &DecoderProfile::memory_bytes, between(1, memory_limit_bytes).must()),
      member("fixed_bytes", &DecoderProfile::fixed_bytes, between(0, memory_limit_bytes)),
      member("sector_bytes", &DecoderProfile::sector_bytes, between(1, 16'777'216)),
      member("overhead_bytes", &DecoderProfile::overhead_bytes, between(0, 16'777'216)),
      member("voices", &DecoderProfile::voices, between(1, 256).must()),
      member("output_rate_hz", &DecoderProfile::output_rate_hz, between(1000, 768'000).must()),
      member("sample_rates_hz", &DecoderProfile::sample_rates_hz, between(1000, 768'000).must()),
      member("bits", &DecoderProfile::bits, between(8, 16).must()),
      member("highest_key", &DecoderProfile::highest_key, between(0, highest_key)),
      member("max_sounds", &DecoderProfile::max_sounds, between(1, 1'000'000).must()),
      member("chuffs_may_overlap", &DecoderProfile::chuffs_may_overlap),
      member("has_playback_gain", &DecoderProfile::has_playback_gain),
      member("loop", &DecoderProfile::loop)};
};
template <>
struct Members<store::CvDefinition> {
  static constexpr std::tuple list{
      member("number", &store::CvDefinition::number, between(1, 1024).must()),
      member("name", &store::CvDefinition::name, must_rule),
      member("min", &store::CvDefinition::min, between(0, 255)),
      member("max", &store::CvDefinition::max, between(0, 255)),
      member("read_only", &store::CvDefinition::read_only),
      member("reserved", &store::CvDefinition::reserved),
      member("reserved_bits", &store::CvDefinition::reserved_bits, between(0, 255))};
};

/// Most seconds of a run card: four hours.
inline constexpr double card_limit_s = 14'400;

template <>
struct Members<RunCard> {
  static constexpr std::tuple list{
      member("title", &RunCard::title), member("seed", &RunCard::seed, at_least(0)),
      member("seconds", &RunCard::seconds, between(0.001, card_limit_s).must()),
      member("speed_steps", &RunCard::speed_steps, between(14, 128)),
      member("moves", &RunCard::moves)};
};
/// A move's time; what it does is told by which other member is there.
template <>
struct Members<Move> {
  static constexpr std::tuple list{
      member("time_s", &Move::time_s, between(0, card_limit_s).must())};
};
template <>
struct Members<MoveThrottle> {
  static constexpr std::tuple list{
      member("throttle_step", &MoveThrottle::step, between(0, 126).must())};
};
template <>
struct Members<MoveKey> {
  static constexpr std::tuple list{member("key", &MoveKey::key, between(0, highest_key).must()),
                                   member("on", &MoveKey::on, must_rule)};
};
template <>
struct Members<MoveCv> {
  static constexpr std::tuple list{member("cv", &MoveCv::cv, between(1, 1024).must()),
                                   member("value", &MoveCv::value, between(0, 255).must())};
};
template <>
struct Members<MoveLoad> {
  static constexpr std::tuple list{member("load", &MoveLoad::load, between(0, 1).must())};
};
template <>
struct Members<MovePower> {
  static constexpr std::tuple list{member("power", &MovePower::on, must_rule)};
};
template <>
struct Members<MoveGradient> {
  static constexpr std::tuple list{
      member("gradient_percent", &MoveGradient::gradient_percent, between(-100, 100).must())};
};

}  // namespace fourbeat::model
