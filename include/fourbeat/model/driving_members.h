// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/driving.h"
#include "fourbeat/model/duties.h"
#include "fourbeat/model/key_map.h"
#include "fourbeat/model/layer.h"
#include "fourbeat/model/member.h"
#include "fourbeat/model/option.h"
#include "fourbeat/model/state.h"
#include "fourbeat/model/trigger.h"

#include <array>
#include <string_view>
#include <tuple>

/// The members of the values that say how a set lives: keys, CVs, options, states, triggers,
/// layers, driving and duties.

namespace fourbeat::model {

template <>
struct EnumNames<Effort> {
  static constexpr std::array<std::string_view, 3> list{"drifting", "easy", "hard"};
};
template <>
struct EnumNames<KeyMode> {
  static constexpr std::array<std::string_view, 2> list{"latching", "momentary"};
};
template <>
struct EnumNames<KeyDirection> {
  static constexpr std::array<std::string_view, 3> list{"any", "forward", "reverse"};
};
template <>
struct EnumNames<State> {
  static constexpr std::array<std::string_view, 8> list{
      "standing", "starting", "working", "coasting", "braking", "stopping", "asleep", "no_power"};
};
template <>
struct EnumNames<TriggerEvent> {
  static constexpr std::array<std::string_view, 19> list{
      "state_entered",    "state_left",  "leaving_rest", "at_rest",   "regulator_opened",
      "regulator_closed", "speed_rises", "speed_falls",  "reversing", "sound_on",
      "sound_off",        "power_on",    "power_off",    "every",     "blows_off",
      "reseats",          "primes",      "fire_dropped", "slips"};
};
template <>
struct EnumNames<TriggerAction> {
  static constexpr std::array<std::string_view, 3> list{"start", "stop", "swap"};
};
template <>
struct EnumNames<LayerKind> {
  static constexpr std::array<std::string_view, 3> list{"wheel", "distance", "bed"};
};
template <>
struct EnumNames<SyncKind> {
  static constexpr std::array<std::string_view, 3> list{"exact", "sensor", "calculated"};
};
template <>
struct EnumNames<Chore> {
  static constexpr std::array<std::string_view, 2> list{"fire", "feed"};
};
template <>
struct EnumNames<CvTarget> {
  static constexpr std::array<std::string_view, 14> list{
      "set_gain",   "chuff_gain",   "sound_gain", "layer_gain", "state_speed",
      "state_time", "trigger_time", "sync_error", "row_delay",  "full_brake",
      "coasting",   "cocks_open",   "duties",     "duty_pace"};
};
template <>
struct VariantNames<KeyTask> {
  static constexpr std::string_view tag = "task";
  static constexpr std::array<std::string_view, 9> list{
      "brake", "direct_control", "silence", "soften", "chore", "effort", "option", "wake", "slip"};
};

inline constexpr MemberRule speed_rule = between(0, 300);
inline constexpr MemberRule level_rule = between(-60, 20);
inline constexpr MemberRule share_rule = between(0, 1);
inline constexpr MemberRule rate_rule = between(0, 60);

template <>
struct Members<OptionChoice> {
  static constexpr std::tuple list{member("value", &OptionChoice::value, between(0, 255).must()),
                                   member("name", &OptionChoice::name)};
};
template <>
struct Members<Option> {
  static constexpr std::tuple list{
      member("id", &Option::id, own_id_rule), member("name", &Option::name),
      member("cv", &Option::cv, between(1, 1024).must()), member("choices", &Option::choices)};
};
template <>
struct Members<OwnState> {
  static constexpr std::tuple list{
      member("id", &OwnState::id, own_id_rule),
      member("name", &OwnState::name),
      member("during", &OwnState::during),
      member("effort", &OwnState::effort),
      member("from_kmh", &OwnState::from_kmh, speed_rule.rarely()),
      member("below_kmh", &OwnState::below_kmh, speed_rule.rarely()),
      member("hysteresis_kmh", &OwnState::hysteresis_kmh, between(0, 50).rarely()),
      member("after_s", &OwnState::after_s, between(0, 7200).rarely()),
      member("hold_s", &OwnState::hold_s, between(0, 3600).rarely())};
};
template <>
struct Members<When> {
  static constexpr std::tuple list{
      member("states", &When::states), member("own_states", &When::own_states),
      member("option", &When::option),
      member("option_value", &When::option_value, between(0, 255).rarely())};
};
template <>
struct Members<TimeSpan> {
  static constexpr std::tuple list{member("from_s", &TimeSpan::from_s, between(0, 7200).must()),
                                   member("to_s", &TimeSpan::to_s, between(0, 7200).must())};
};
template <>
struct Members<Trigger> {
  static constexpr std::tuple list{
      member("id", &Trigger::id, own_id_rule),
      member("name", &Trigger::name),
      member("event", &Trigger::event, must_rule),
      member("state", &Trigger::state, sparse_rule),
      member("own_state", &Trigger::own_state),
      member("speed_kmh", &Trigger::speed_kmh, speed_rule.rarely()),
      member("every", &Trigger::every),
      member("delay_s", &Trigger::delay_s, between(0, 600).rarely()),
      member("chance", &Trigger::chance, share_rule.rarely()),
      member("when", &Trigger::when, sparse_rule),
      member("action", &Trigger::action),
      member("sound", &Trigger::sound),
      member("instead_of", &Trigger::instead_of, sparse_rule),
      member("gain_db", &Trigger::gain_db, level_rule.rarely()),
      member("fade_s", &Trigger::fade_s, between(0, 30).rarely()),
      member("lasts", &Trigger::lasts),
      member("holds_motion_s", &Trigger::holds_motion_s, between(0, 60).rarely())};
};
template <>
struct Members<SpeedLevel> {
  static constexpr std::tuple list{member("speed_kmh", &SpeedLevel::speed_kmh, speed_rule.must()),
                                   member("gain_db", &SpeedLevel::gain_db, level_rule.must())};
};
template <>
struct Members<Layer> {
  static constexpr std::tuple list{
      member("id", &Layer::id, own_id_rule),
      member("name", &Layer::name),
      member("kind", &Layer::kind),
      member("sounds", &Layer::sounds, must_rule),
      member("angles_deg", &Layer::angles_deg, between(0, 360)),
      member("joint_m", &Layer::joint_m, between(0, 1000).rarely()),
      member("axles_m", &Layer::axles_m, between(0, 200)),
      member("from_kmh", &Layer::from_kmh, speed_rule.rarely()),
      member("to_kmh", &Layer::to_kmh, speed_rule.rarely()),
      member("first_turns", &Layer::first_turns, between(0, 1000).rarely()),
      member("drifting_db", &Layer::drifting_db, level_rule.rarely()),
      member("easy_db", &Layer::easy_db, level_rule.rarely()),
      member("hard_db", &Layer::hard_db, level_rule.rarely()),
      member("levels", &Layer::levels),
      member("gain_db", &Layer::gain_db, level_rule.rarely()),
      member("fade_s", &Layer::fade_s, between(0.01, 30).rarely()),
      member("when", &Layer::when, sparse_rule)};
};
template <>
struct Members<SpeedVariant> {
  static constexpr std::tuple list{member("from_kmh", &SpeedVariant::from_kmh, speed_rule.must()),
                                   member("sound", &SpeedVariant::sound)};
};
template <>
struct Members<BrakeKey> {
  static constexpr std::tuple list{
      member("strength", &BrakeKey::strength, between(0.01, 1).rarely()),
      member("grows_s", &BrakeKey::grows_s, between(0, 60).rarely())};
};
template <>
struct Members<DirectControlKey> {
  static constexpr std::tuple list{
      member("momentum", &DirectControlKey::momentum, share_rule.rarely())};
};
template <>
struct Members<SilenceKey> {
  static constexpr std::tuple list{
      member("fade_s", &SilenceKey::fade_s, between(0.02, 30).rarely())};
};
template <>
struct Members<SoftenKey> {
  static constexpr std::tuple list{member("by_db", &SoftenKey::by_db, between(0, 60).rarely())};
};
template <>
struct Members<ChoreKey> {
  static constexpr std::tuple list{member("chore", &ChoreKey::chore)};
};
template <>
struct Members<EffortKey> {
  static constexpr std::tuple list{member("effort", &EffortKey::effort)};
};
template <>
struct Members<OptionKey> {
  static constexpr std::tuple list{member("option", &OptionKey::option, must_rule),
                                   member("value", &OptionKey::value, between(0, 255).rarely())};
};
template <>
struct Members<WakeKey> {
  static constexpr std::tuple list{member("starts_asleep", &WakeKey::starts_asleep, sparse_rule)};
};
template <>
struct Members<SlipKey> {
  static constexpr std::tuple list{
      member("strength", &SlipKey::strength, between(0.1, 3).rarely())};
};
template <>
struct Members<Key> {
  static constexpr std::tuple list{member("id", &Key::id, own_id_rule),
                                   member("number", &Key::number, between(0, highest_key)),
                                   member("label", &Key::label),
                                   member("mode", &Key::mode),
                                   member("direction", &Key::direction),
                                   member("when", &Key::when, sparse_rule),
                                   member("sound", &Key::sound),
                                   member("by_speed", &Key::by_speed),
                                   member("gain_db", &Key::gain_db, level_rule.rarely()),
                                   member("task", &Key::task)};
};
template <>
struct Members<CvEffect> {
  static constexpr std::tuple list{
      member("target", &CvEffect::target, must_rule),
      member("sound", &CvEffect::sound),
      member("layer", &CvEffect::layer),
      member("state", &CvEffect::state, sparse_rule),
      member("trigger", &CvEffect::trigger),
      member("at_0", &CvEffect::at_0, between(-7200, 7200).rarely()),
      member("at_255", &CvEffect::at_255, between(-7200, 7200).rarely())};
};
template <>
struct Members<Cv> {
  static constexpr std::tuple list{member("id", &Cv::id, own_id_rule),
                                   member("number", &Cv::number, cv_rule.must()),
                                   member("value", &Cv::value, cv_rule.must()),
                                   member("name", &Cv::name),
                                   member("note", &Cv::note),
                                   member("effect", &Cv::effect)};
};
template <>
struct Members<SpeedPoint> {
  static constexpr std::tuple list{member("level", &SpeedPoint::level, between(0, 255).must()),
                                   member("speed_kmh", &SpeedPoint::speed_kmh, speed_rule.must())};
};
template <>
struct Members<Synchronisation> {
  static constexpr std::tuple list{
      member("kind", &Synchronisation::kind),
      member("pulses_per_turn", &Synchronisation::pulses_per_turn, between(1, 64).rarely()),
      member("error_percent", &Synchronisation::error_percent, between(-50, 50).rarely()),
      member("row_delay_s", &Synchronisation::row_delay_s, between(0, 2).rarely())};
};
template <>
struct Members<Slip> {
  static constexpr std::tuple list{
      member("chance", &Slip::chance, share_rule.rarely()),
      member("wheel_kmh", &Slip::wheel_kmh, between(1, 100).rarely()),
      member("rises_s", &Slip::rises_s, between(0.05, 10).rarely()),
      member("lasts_s", &Slip::lasts_s, between(0, 10).rarely()),
      member("recovers_s", &Slip::recovers_s, between(0.05, 10).rarely())};
};
template <>
struct Members<Driving> {
  static constexpr std::tuple list{
      member("speed_curve", &Driving::speed_curve),
      member("sync", &Driving::sync, sparse_rule),
      member("cocks_open_turns", &Driving::cocks_open_turns, between(0, 50).rarely()),
      member("heavy_start_load", &Driving::heavy_start_load, share_rule.rarely()),
      member("effort_hold_s", &Driving::effort_hold_s, between(0, 30).rarely()),
      member("state_hold_s", &Driving::state_hold_s, between(0, 30).rarely()),
      member("drifting_without_chuffs", &Driving::drifting_without_chuffs, sparse_rule),
      member("coasts_until_braked", &Driving::coasts_until_braked, sparse_rule),
      member("coasting_factor", &Driving::coasting_factor, between(1, 100).rarely()),
      member("full_brake_s", &Driving::full_brake_s, between(0.1, 600).rarely()),
      member("power_reserve_s", &Driving::power_reserve_s, between(0, 600).rarely()),
      member("power_fade_s", &Driving::power_fade_s, between(0.01, 30).rarely()),
      member("sleeps_after_s", &Driving::sleeps_after_s, between(0, 600).rarely()),
      member("slip", &Driving::slip, sparse_rule)};
};
template <>
struct Members<Duties> {
  static constexpr std::tuple list{
      member("on", &Duties::on),
      member("start_bar", &Duties::start_bar, between(0, 30).rarely()),
      member("lift_bar", &Duties::lift_bar, between(0, 30).rarely()),
      member("reseat_bar", &Duties::reseat_bar, between(0, 30).rarely()),
      member("weak_bar", &Duties::weak_bar, between(0, 30).rarely()),
      member("stalled_bar", &Duties::stalled_bar, between(0, 30).rarely()),
      member("heat_bar_per_min", &Duties::heat_bar_per_min, rate_rule.rarely()),
      member("standing_bar_per_min", &Duties::standing_bar_per_min, rate_rule.rarely()),
      member("working_bar_per_min", &Duties::working_bar_per_min, rate_rule.rarely()),
      member("valve_bar_per_min", &Duties::valve_bar_per_min, rate_rule.rarely()),
      member("start_fire", &Duties::start_fire, share_rule.rarely()),
      member("burn_per_min", &Duties::burn_per_min, rate_rule.rarely()),
      member("working_burn_per_min", &Duties::working_burn_per_min, rate_rule.rarely()),
      member("charge", &Duties::charge, share_rule.rarely()),
      member("kindling_s", &Duties::kindling_s, between(0, 600).rarely()),
      member("charge_bar", &Duties::charge_bar, between(0, 10).rarely()),
      member("start_water", &Duties::start_water, share_rule.rarely()),
      member("working_water_per_min", &Duties::working_water_per_min, rate_rule.rarely()),
      member("feed_water_per_min", &Duties::feed_water_per_min, rate_rule.rarely()),
      member("feed_bar_per_min", &Duties::feed_bar_per_min, rate_rule.rarely()),
      member("low_water", &Duties::low_water, share_rule.rarely()),
      member("high_water", &Duties::high_water, share_rule.rarely()),
      member("grace_s", &Duties::grace_s, between(0, 600).rarely()),
      member("relight_s", &Duties::relight_s, between(0, 3600).rarely())};
};

}  // namespace fourbeat::model
