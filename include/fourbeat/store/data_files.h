// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"
#include "fourbeat/model/decoder_profile.h"
#include "fourbeat/model/run_card.h"
#include "fourbeat/model/segment.h"
#include "fourbeat/model/speaker.h"

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

/// The other JSON files Fourbeat reads: decoder profiles, speaker models, CV definitions, run
/// cards, clean chains. Same limits and error manners as projects.

namespace fourbeat::store {

/// All decoder profiles, by id: those of data_folder()/decoders, and the user's own. Errors: those
/// of the first file that cannot be read, bad_input (an id twice).
[[nodiscard]] Result<std::vector<model::DecoderProfile>> load_decoder_profiles();
/// Those of data_folder()/decoders alone, by id.
[[nodiscard]] Result<std::vector<model::DecoderProfile>> load_shipped_decoder_profiles();
/// Where a user's own profiles are: $FOURBEAT_CONFIG, else $XDG_CONFIG_HOME/fourbeat, else
/// ~/.config/fourbeat; "/decoders" below it. It need not be there.
[[nodiscard]] std::filesystem::path own_decoder_folder();
/// One of them. Errors: not_found (detail lists the ids there are).
[[nodiscard]] Result<model::DecoderProfile> load_decoder_profile(const std::string& id);
[[nodiscard]] Result<model::DecoderProfile> parse_decoder_profile(std::string_view text,
                                                                  const std::string& file);

/// A profile's file; parse_decoder_profile() gives it back.
[[nodiscard]] std::string decoder_profile_text(const model::DecoderProfile& profile);
/// The id of a profile of that name: its letters a to z and digits, "-" between words; "" where it
/// has none.
[[nodiscard]] std::string decoder_profile_id(std::string_view name);
/// Writes a profile to the user's own; over: in the place of the one of the same id. Errors:
/// bad_argument (an id that is none, or another's), those of parse_decoder_profile(), io_failed.
[[nodiscard]] Status save_own_decoder_profile(const model::DecoderProfile& profile, bool over);

/// The speaker models of data_folder()/speakers ("format": "fourbeat-speaker"), by file name.
[[nodiscard]] Result<std::vector<model::Speaker>> load_speakers();
[[nodiscard]] Result<model::Speaker> parse_speaker(std::string_view text, const std::string& file);

/// What the standards say of a CV; data_folder()/cvs.json (NMRA S-9.2.2 table 1, RCN-225).
struct CvDefinition {
  int number = 0;
  std::string name;
  int min = 0;
  int max = 255;
  bool read_only = false;
  bool reserved = false;
  int reserved_bits = 0;  ///< mask of the bits that must stay 0
};
[[nodiscard]] Result<std::vector<CvDefinition>> load_cv_definitions();
/// {"format": "fourbeat-cvs", "version": 1, "cvs": [{"number": 1, "name": …}, …]}, rising.
[[nodiscard]] Result<std::vector<CvDefinition>> parse_cv_definitions(std::string_view text,
                                                                     const std::string& file);

/// A run card ("format": "fourbeat-runcard"). Moves are sorted by time, stably.
[[nodiscard]] Result<model::RunCard> parse_run_card(std::string_view text, const std::string& file);
[[nodiscard]] Result<model::RunCard> load_run_card(const std::filesystem::path& path);
/// The text of a card's file: parse_run_card() gives back the card, its times to the last bit.
[[nodiscard]] std::string run_card_text(const model::RunCard& card);

/// A clean chain: {"format": "fourbeat-chain", "version": 1, "steps": [{"step": "high_pass",
/// "cutoff_hz": 60, "order": 4}, {"step": "hum_notch", …}]}.
[[nodiscard]] Result<std::vector<model::CleanStep>> parse_clean_chain(std::string_view text,
                                                                      const std::string& file);

}  // namespace fourbeat::store
