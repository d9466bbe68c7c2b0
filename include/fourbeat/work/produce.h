// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/check/rules.h"
#include "fourbeat/deliver/bundle.h"
#include "fourbeat/drive/drive.h"
#include "fourbeat/dsp/speaker.h"
#include "fourbeat/fit/fit.h"
#include "fourbeat/model/piece.h"
#include "fourbeat/model/run_card.h"
#include "fourbeat/work/card_figures.h"

#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace fourbeat::work {

/// The pieces of a set as rendered from the takes.
struct RenderedSet {
  std::vector<model::Piece> pieces;            ///< those that could be rendered, in the set's order
  std::vector<audio::Clip> clips;              ///< in the order of pieces
  std::map<Id<model::Segment>, Error> errors;  ///< segments that could not be rendered
  std::map<Id<model::ChuffRow>, Error> chuff_errors;  ///< rows, likewise
};

/// Renders every piece of the set; what cannot be rendered is told in the value.
/// Errors: cancelled.
[[nodiscard]] Result<RenderedSet> render_set(const model::Project& project,
                                             const std::filesystem::path& project_folder,
                                             JobControl& job);

/// How long each piece sounds in the shipped run cards.
struct Shares {
  std::vector<double> share;       ///< in the order of pieces: 0.01 to 1
  std::vector<double> sounding_s;  ///< in the order of pieces: seconds sounding, all cards together
  double cards_s = 0.0;            ///< length of the cards together
  std::map<std::size_t, model::RunCard> cards;  ///< by place in run_cards
  std::map<std::size_t, Error> card_errors;     ///< likewise: cards that cannot be read
};

/// Drives the shipped run cards without rendering; a card that cannot be read is told in the value
/// and counts for nothing. Without cards every share is 0.01. Errors: those of drive.
[[nodiscard]] Result<Shares> measure_shares(const model::Project& project,
                                            const std::filesystem::path& project_folder,
                                            const model::DecoderProfile& profile,
                                            const RenderedSet& set, JobControl& job);

/// The filters of a project's speaker.
[[nodiscard]] dsp::SpeakerResponse response_of(const model::Speaker& speaker);

/// A set fitted to a decoder.
struct FittedSet {
  model::DecoderProfile profile;
  RenderedSet set;
  Shares shares;
  fit::FitReport fit;  ///< sounds in the order of set.pieces
};

/// The decoder profile asked for or, with "", the one the project names. Errors: not_found,
/// bad_argument (none named).
[[nodiscard]] Result<model::DecoderProfile> profile_of(const model::Project& project,
                                                       const std::string& decoder);

/// Renders and fits. Errors: as above; the first rendering error; that of a run card;
/// too_short (nothing to fit).
[[nodiscard]] Result<FittedSet> fit_project(const model::Project& project,
                                            const std::filesystem::path& project_folder,
                                            const std::string& decoder, JobControl& job);

/// Every snag of a project, with the facts they rest on. A missing take or decoder silences what
/// needs it, not the rest. verify_hashes: takes are read whole and must hash as recorded; else
/// their size and header are compared, which is enough between two looks at a project being
/// worked on. before: an earlier answer, of which what still holds is taken over.
struct Checked {
  check::Facts facts;
  std::vector<check::Snag> snags;
  std::optional<FittedSet> fitted;  ///< when a decoder is chosen and every piece was rendered
  MeasuredCards cards;              ///< by the fitted set
};
[[nodiscard]] Result<Checked> check_project(const model::Project& project,
                                            const std::filesystem::path& project_folder,
                                            JobControl& job, bool verify_hashes = true,
                                            const Checked* before = nullptr);

/// What an engine plays of a fitted set. Errors: those of compile.
[[nodiscard]] Result<std::shared_ptr<const drive::CompiledSet>> compile_fitted(
    const model::Project& project, const FittedSet& fitted);

/// Drives a fitted set by a card. Errors: those of compile and drive.
[[nodiscard]] Result<drive::DriveOutput> drive_fitted(const model::Project& project,
                                                      const FittedSet& fitted,
                                                      const model::RunCard& card,
                                                      const drive::DriveOptions& options,
                                                      JobControl& job);

/// The run card of a sweep: full regulator from rest to top speed, then shut off to rest.
[[nodiscard]] model::RunCard sweep_card(const model::Project& project);

/// The values a bundle is made from. Errors: refused (nothing to play, no decoder, or pieces that
/// cannot be rendered).
[[nodiscard]] Result<deliver::BundleInput> bundle_input(const model::Project& project,
                                                        const Checked& checked);

}  // namespace fourbeat::work
