// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/check/snag.h"
#include "fourbeat/dsp/seam.h"
#include "fourbeat/model/decoder_profile.h"
#include "fourbeat/model/piece.h"
#include "fourbeat/model/project.h"
#include "fourbeat/store/data_files.h"
#include "fourbeat/store/takes.h"

#include <cstdint>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace fourbeat::check {

/// Rate and depth that a piece is stored at.
struct StoredForm {
  int sample_rate_hz = 0;
  int bits = 0;
};

/// The highest true peak of the mix over a run card.
struct CardPeak {
  double true_peak_dbtp = 0.0;        ///< after ITU-R BS.1770 Annex 2
  double time_s = 0.0;                ///< of the card
  std::vector<std::string> sounding;  ///< then, in words
};

/// What the rules know beside the project itself; `work` gathers it. Absent: not known, and the
/// rules that need it stay silent.
struct Facts {
  std::vector<store::TakeStatus> takes;
  std::map<Id<model::Segment>, dsp::SeamReport> seams;       ///< of looped segments, as rendered
  std::map<Id<model::ChuffRow>, dsp::SeamReport> row_seams;  ///< of fused rows, likewise
  std::map<Id<model::Segment>, Error> render_errors;  ///< segments that could not be rendered
  std::map<Id<model::ChuffRow>, Error> chuff_errors;  ///< rows, likewise
  std::map<std::size_t, Error> card_errors;           ///< run cards that cannot be read, by place
  std::map<std::size_t, CardPeak> card_peaks;         ///< of those that sound, by place
  std::vector<store::CvDefinition> cv_definitions;
  std::optional<model::DecoderProfile> profile;
  std::optional<std::int64_t>
      bytes_used;  ///< at the best encoding, or at the smallest if none fits
  std::map<model::PieceKey, StoredForm> stored;  ///< how the fit stores each piece
  std::optional<int> voices_peak;                ///< over the shipped run cards, before any limit
};

struct Rule {
  std::string_view name;
  Severity severity;         ///< the gravest it gives
  std::string_view summary;  ///< one line for docs and lists
  void (*run)(const model::Project&, const Facts&, std::vector<Snag>& out);
};

/// Every rule, in the order they report. One file and one test a rule.
[[nodiscard]] std::span<const Rule> rules();

/// All snags: rule by rule, then in project order. Deterministic.
[[nodiscard]] std::vector<Snag> run_rules(const model::Project& project, const Facts& facts);

}  // namespace fourbeat::check
