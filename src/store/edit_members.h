// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/edit_value.h"
#include "fourbeat/model/members.h"

/// The members of every edit, as edit files name them, and the edits' own names.

namespace fourbeat::model {

template <class T>
struct Members<Add<T>> {
  static constexpr std::tuple list{member("value", &Add<T>::value, must_rule),
                                   member("at", &Add<T>::at, at_least(0))};
};
template <class T>
struct Members<Remove<T>> {
  static constexpr std::tuple list{member("id", &Remove<T>::id, must_rule)};
};
template <class T>
struct Members<Replace<T>> {
  static constexpr std::tuple list{member("value", &Replace<T>::value, must_rule)};
};
template <>
struct Members<SetTitle> {
  static constexpr std::tuple list{member("title", &SetTitle::title, must_rule)};
};
template <>
struct Members<SetAuthor> {
  static constexpr std::tuple list{member("author", &SetAuthor::author, must_rule)};
};
template <>
struct Members<SetDate> {
  static constexpr std::tuple list{
      member("date", &SetDate::date, text_form(TextForm::date).must())};
};
template <>
struct Members<SetDecoder> {
  static constexpr std::tuple list{member("decoder", &SetDecoder::decoder, must_rule)};
};
template <>
struct Members<SetSpeaker> {
  static constexpr std::tuple list{member("speaker", &SetSpeaker::speaker)};
};
template <>
struct Members<SetUserNotes> {
  static constexpr std::tuple list{member("markdown", &SetUserNotes::markdown, must_rule)};
};
template <>
struct Members<SetEngine> {
  static constexpr std::tuple list{member("engine", &SetEngine::engine, must_rule)};
};
template <>
struct Members<SetDriving> {
  static constexpr std::tuple list{member("driving", &SetDriving::driving, must_rule)};
};
template <>
struct Members<SetDuties> {
  static constexpr std::tuple list{member("duties", &SetDuties::duties)};
};
template <>
struct Members<SetRunCards> {
  static constexpr std::tuple list{
      member("paths", &SetRunCards::paths, text_form(TextForm::path).must())};
};
template <>
struct Members<SetRights> {
  static constexpr std::tuple list{member("pass", &SetRights::pass, must_rule),
                                   member("rights", &SetRights::rights)};
};
template <>
struct Members<TrimSegment> {
  static constexpr std::tuple list{member("segment", &TrimSegment::segment, must_rule),
                                   member("range", &TrimSegment::range, must_rule)};
};
template <>
struct Members<SetSegmentGain> {
  static constexpr std::tuple list{
      member("segment", &SetSegmentGain::segment, must_rule),
      member("gain_db", &SetSegmentGain::gain_db, segment_gain_rule.must())};
};
template <>
struct Members<SetLoop> {
  static constexpr std::tuple list{member("segment", &SetLoop::segment, must_rule),
                                   member("loop", &SetLoop::loop)};
};
template <>
struct Members<SetSoundGain> {
  static constexpr std::tuple list{
      member("sound", &SetSoundGain::sound, must_rule),
      member("gain_db", &SetSoundGain::gain_db, playback_gain_rule.must())};
};
template <>
struct Members<SetChuffTable> {
  static constexpr std::tuple list{member("table", &SetChuffTable::table, must_rule)};
};
template <>
struct Members<SetCv> {
  static constexpr std::tuple list{member("number", &SetCv::number, cv_rule.must()),
                                   member("value", &SetCv::value, cv_rule.must())};
};
template <>
struct Members<EditGroup> {
  static constexpr std::tuple list{member("edits", &EditGroup::edits, must_rule)};
};

template <>
struct VariantNames<EditKinds::In<std::variant>> {
  static constexpr std::string_view tag = "edit";
  /// In the order of the alternatives.
  static constexpr std::array<std::string_view, std::variant_size_v<EditKinds::In<std::variant>>>
      list{"add_take",         "remove_take",      "replace_take",
           "add_pass",         "remove_pass",      "replace_pass",
           "add_mark",         "remove_mark",      "replace_mark",
           "add_segment",      "remove_segment",   "replace_segment",
           "add_sound",        "remove_sound",     "replace_sound",
           "add_chuff_row",    "remove_chuff_row", "replace_chuff_row",
           "add_key",          "remove_key",       "replace_key",
           "add_state",        "remove_state",     "replace_state",
           "add_trigger",      "remove_trigger",   "replace_trigger",
           "add_layer",        "remove_layer",     "replace_layer",
           "add_option",       "remove_option",    "replace_option",
           "add_cv",           "remove_cv",        "replace_cv",
           "add_verdict",      "remove_verdict",   "replace_verdict",
           "set_title",        "set_author",       "set_date",
           "set_decoder",      "set_speaker",      "set_user_notes",
           "set_engine",       "set_driving",      "set_duties",
           "set_run_cards",    "set_rights",       "trim_segment",
           "set_segment_gain", "set_loop",         "set_sound_gain",
           "set_chuff_table",  "set_cv",           "group"};
};

}  // namespace fourbeat::model
