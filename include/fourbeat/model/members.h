// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/driving_members.h"
#include "fourbeat/model/member.h"
#include "fourbeat/model/project.h"

#include <array>
#include <string_view>
#include <tuple>

/// Every member of every value of a project: its name in files, where it is, what it may be. The
/// checks of apply() and the reading and writing of files all walk these lists, so a new member
/// is one line here, or, where it is about driving, in driving_members.h.

namespace fourbeat::model {

template <>
struct EnumNames<MarkKind> {
  static constexpr std::array<std::string_view, 16> list{
      "beat",         "whistle",       "safety_valve", "pump",       "injector",     "standing",
      "unusable",     "other",         "effort",       "beat_added", "beat_removed", "beat_moved",
      "beats_halved", "beats_doubled", "revolution",   "retracked"};
};
template <>
struct EnumNames<CrossfadeAt> {
  static constexpr std::array<std::string_view, 2> list{"end", "start"};
};
template <>
struct EnumNames<VerdictKind> {
  static constexpr std::array<std::string_view, 2> list{"signed_off", "rejected"};
};
template <>
struct EnumNames<SoundKind> {
  static constexpr std::array<std::string_view, 2> list{"one_shot", "held"};
};
template <>
struct EnumNames<Retrigger> {
  static constexpr std::array<std::string_view, 3> list{"afresh", "ignore", "overlap"};
};
template <>
struct EnumNames<Category> {
  static constexpr std::array<std::string_view, 10> list{
      "exhaust",  "whistle", "bell",     "safety_valve", "pump",
      "injector", "motion",  "ambience", "voice",        "other"};
};
template <>
struct EnumNames<Condition> {
  static constexpr std::array<std::string_view, 4> list{"normal", "cocks_open", "heavy_start",
                                                        "slip"};
};
template <>
struct VariantNames<CleanStep> {
  static constexpr std::string_view tag = "step";
  static constexpr std::array<std::string_view, 2> list{"high_pass", "hum_notch"};
};

template <>
struct Members<FrameRange> {
  static constexpr std::tuple list{member("start_frame", &FrameRange::start, must_rule),
                                   member("end_frame", &FrameRange::end, must_rule)};
};
template <>
struct Members<Take> {
  static constexpr std::tuple list{
      member("id", &Take::id, own_id_rule),
      member("path", &Take::path, text_form(TextForm::path).must()),
      member("size_bytes", &Take::size_bytes, at_least(0).must()),
      member("sha256", &Take::sha256, text_form(TextForm::sha256).must()),
      member("sample_rate_hz", &Take::sample_rate_hz, between(1, 768'000).must()),
      member("channels", &Take::channels, between(1, 1024).must()),
      member("frames", &Take::frames, at_least(1).must()),
      member("format", &Take::format),
      member("microphones", &Take::microphones),
      member("chuff_source", &Take::chuff_source)};
};
template <>
struct Members<Rights> {
  static constexpr std::tuple list{member("owner", &Rights::owner),
                                   member("purpose", &Rights::purpose),
                                   member("until", &Rights::until, text_form(TextForm::date))};
};
template <>
struct Members<PassTake> {
  static constexpr std::tuple list{member("take", &PassTake::take, must_rule),
                                   member("offset_frames", &PassTake::offset_frames)};
};
template <>
struct Members<Pass> {
  static constexpr std::tuple list{member("id", &Pass::id, own_id_rule),
                                   member("name", &Pass::name), member("takes", &Pass::takes),
                                   member("log", &Pass::log), member("rights", &Pass::rights)};
};
template <>
struct Members<Mark> {
  static constexpr std::tuple list{
      member("id", &Mark::id, own_id_rule), member("take", &Mark::take, must_rule),
      member("kind", &Mark::kind),          member("range", &Mark::range, must_rule),
      member("to_frame", &Mark::to_frame),  member("beats", &Mark::beats, between(1, 100'000)),
      member("effort", &Mark::effort),      member("label", &Mark::label)};
};
template <>
struct Members<MixInput> {
  static constexpr std::tuple list{member("take", &MixInput::take, must_rule),
                                   member("channel", &MixInput::channel, between(1, 1024)),
                                   member("gain_db", &MixInput::gain_db, segment_gain_rule),
                                   member("delay_frames", &MixInput::delay_frames),
                                   member("inverted", &MixInput::inverted)};
};
template <>
struct Members<HighPass> {
  static constexpr std::tuple list{member("cutoff_hz", &HighPass::cutoff_hz, between(10, 2000)),
                                   member("order", &HighPass::order, between(2, 8))};
};
template <>
struct Members<HumNotch> {
  static constexpr std::tuple list{
      member("fundamental_hz", &HumNotch::fundamental_hz, between(40, 70)),
      member("harmonics", &HumNotch::harmonics, between(1, 20)),
      member("q", &HumNotch::q, between(5, 200))};
};
template <>
struct Members<Source> {
  static constexpr std::tuple list{member("pass", &Source::pass, must_rule),
                                   member("mix", &Source::mix, must_rule),
                                   member("clean", &Source::clean)};
};
template <>
struct Members<Loop> {
  static constexpr std::tuple list{
      member("range", &Loop::range, must_rule),
      member("crossfade_frames", &Loop::crossfade_frames, at_least(0)),
      member("crossfade_at", &Loop::crossfade_at),
      member("drift_db", &Loop::drift_db, between(-12, 12)),
      member("octave_drift_db", &Loop::octave_drift_db, between(-12, 12))};
};
template <>
struct Members<Segment> {
  static constexpr std::tuple list{
      member("id", &Segment::id, own_id_rule),
      member("name", &Segment::name),
      member("source", &Segment::source, must_rule),
      member("range", &Segment::range, must_rule),
      member("gain_db", &Segment::gain_db, segment_gain_rule),
      member("fade_in_frames", &Segment::fade_in_frames, at_least(0)),
      member("fade_out_frames", &Segment::fade_out_frames, at_least(0)),
      member("loop", &Segment::loop)};
};
template <>
struct Members<Verdict> {
  static constexpr std::tuple list{
      member("id", &Verdict::id, own_id_rule),
      member("segment", &Verdict::segment),
      member("row", &Verdict::row),
      member("kind", &Verdict::kind),
      member("recipe", &Verdict::recipe),
      member("sample_rate_hz", &Verdict::sample_rate_hz, between(0, 768'000)),
      member("bits", &Verdict::bits, between(0, 64)),
      member("speaker", &Verdict::speaker),
      member("note", &Verdict::note)};
};
template <>
struct Members<Sound> {
  static constexpr std::tuple list{member("id", &Sound::id, own_id_rule),
                                   member("name", &Sound::name),
                                   member("kind", &Sound::kind),
                                   member("category", &Sound::category),
                                   member("segment", &Sound::segment),
                                   member("begin", &Sound::begin),
                                   member("hold", &Sound::hold),
                                   member("release", &Sound::release),
                                   member("gain_db", &Sound::gain_db, playback_gain_rule),
                                   member("priority", &Sound::priority, priority_rule),
                                   member("importance", &Sound::importance, importance_rule),
                                   member("retrigger", &Sound::retrigger, sparse_rule),
                                   member("group", &Sound::group)};
};
template <>
struct Members<Chuff> {
  static constexpr std::tuple list{member("range", &Chuff::range, must_rule),
                                   member("beat_frame", &Chuff::beat_frame),
                                   member("gain_db", &Chuff::gain_db, segment_gain_rule),
                                   member("fade_in_frames", &Chuff::fade_in_frames, at_least(0)),
                                   member("fade_out_frames", &Chuff::fade_out_frames, at_least(0))};
};
template <>
struct Members<Revolution> {
  static constexpr std::tuple list{member("source", &Revolution::source, must_rule),
                                   member("chuffs", &Revolution::chuffs)};
};
template <>
struct Members<Derived> {
  static constexpr std::tuple list{
      member("recorded_kmh", &Derived::recorded_kmh, between(0, 1000)),
      member("tilt_db_per_octave", &Derived::tilt_db_per_octave, between(-6, 6))};
};
template <>
struct Members<FusedLoop> {
  static constexpr std::tuple list{
      member("source", &FusedLoop::source, must_rule),
      member("range", &FusedLoop::range, must_rule), member("loop", &FusedLoop::loop, must_rule),
      member("recorded_kmh", &FusedLoop::recorded_kmh, between(0, 1000)),
      member("gain_db", &FusedLoop::gain_db, segment_gain_rule)};
};
template <>
struct Members<ChuffRow> {
  static constexpr std::tuple list{member("id", &ChuffRow::id, own_id_rule),
                                   member("from_kmh", &ChuffRow::from_kmh, between(0, 1000).must()),
                                   member("to_kmh", &ChuffRow::to_kmh, between(0, 1000).must()),
                                   member("effort", &ChuffRow::effort),
                                   member("condition", &ChuffRow::condition),
                                   member("revolutions", &ChuffRow::revolutions),
                                   member("fused", &ChuffRow::fused),
                                   member("derived", &ChuffRow::derived)};
};
template <>
struct Members<ChuffTable> {
  static constexpr std::tuple list{member("lead_ms", &ChuffTable::lead_ms, between(0, 50)),
                                   member("gain_db", &ChuffTable::gain_db, playback_gain_rule),
                                   member("priority", &ChuffTable::priority, priority_rule),
                                   member("importance", &ChuffTable::importance, importance_rule),
                                   member("rows", &ChuffTable::rows, always_rule)};
};
template <>
struct Members<EffortCalibration> {
  static constexpr std::tuple list{
      member("drifting_below_db", &EffortCalibration::drifting_below_db, between(0, 120)),
      member("hard_from_db", &EffortCalibration::hard_from_db, between(0, 120)),
      member("drifting_below_share", &EffortCalibration::drifting_below_share, between(0, 1)),
      member("hard_from_share", &EffortCalibration::hard_from_share, between(0, 1)),
      member("drifting_below_m_s2", &EffortCalibration::drifting_below_m_s2, between(-5, 5)),
      member("hard_from_m_s2", &EffortCalibration::hard_from_m_s2, between(-5, 5))};
};
template <>
struct Members<Engine> {
  static constexpr std::tuple list{
      member("name", &Engine::name),
      member("driver_diameter_mm", &Engine::driver_diameter_mm, between(300, 3000)),
      member("beats_per_rev", &Engine::beats_per_rev, between(1, 16)),
      member("beat_angles_deg", &Engine::beat_angles_deg, between(0, 360)),
      member("top_speed_kmh", &Engine::top_speed_kmh, between(1, 300)),
      member("scale_ratio", &Engine::scale_ratio, between(1, 1000)),
      member("effort", &Engine::effort)};
};
template <>
struct Members<Speaker> {
  static constexpr std::tuple list{
      member("name", &Speaker::name, must_rule),
      member("invented", &Speaker::invented),
      member("high_pass_hz", &Speaker::high_pass_hz, between(10, 5000).must()),
      member("high_pass_q", &Speaker::high_pass_q, between(0.3, 10).must()),
      member("peak_hz", &Speaker::peak_hz, between(50, 20'000).must()),
      member("peak_db", &Speaker::peak_db, between(-24, 24).must()),
      member("peak_q", &Speaker::peak_q, between(0.1, 20).must()),
      member("low_pass_hz", &Speaker::low_pass_hz, between(500, 40'000).must()),
      member("low_pass_q", &Speaker::low_pass_q, between(0.3, 10).must())};
};
template <>
struct Members<Project> {
  static constexpr std::tuple list{
      member("title", &Project::title, always_rule),
      member("author", &Project::author, always_rule),
      member("date", &Project::date, {.form = TextForm::date, .always = true}),
      member("decoder", &Project::decoder, always_rule),
      member("speaker", &Project::speaker),
      member("user_notes", &Project::user_notes, always_rule),
      member("engine", &Project::engine),
      member("takes", &Project::takes, always_rule),
      member("passes", &Project::passes, always_rule),
      member("marks", &Project::marks, always_rule),
      member("segments", &Project::segments, always_rule),
      member("sounds", &Project::sounds, always_rule),
      member("chuffs", &Project::chuffs),
      member("keys", &Project::keys, always_rule),
      member("states", &Project::states),
      member("triggers", &Project::triggers),
      member("layers", &Project::layers),
      member("options", &Project::options),
      member("cvs", &Project::cvs, always_rule),
      member("driving", &Project::driving, sparse_rule),
      member("duties", &Project::duties),
      member("verdicts", &Project::verdicts, always_rule),
      member("run_cards", &Project::run_cards, {.form = TextForm::path, .always = true}),
      member("next_id", &Project::next_id, at_least(1).must())};
};

}  // namespace fourbeat::model
