// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/check/rules.h"
#include "fourbeat/drive/compiled_set.h"
#include "fourbeat/model/project.h"
#include "fourbeat/model/run_card.h"

#include <cstddef>
#include <memory>
#include <optional>
#include <vector>

namespace fourbeat::work {

struct FittedSet;

/// What one shipped run card asks of a set as its decoder plays it.
struct CardFigures {
  std::size_t place = 0;  ///< in Project::run_cards
  model::RunCard card;
  std::optional<check::CardPeak> peak;  ///< nothing: the card is silent
  int voices_peak = 0;                  ///< most that sounded at once
  int voices_wanted_peak = 0;           ///< most that would have, without the limit
};

struct MeasuredCards {
  std::shared_ptr<const drive::CompiledSet> set;  ///< what was driven; null without cards
  std::vector<CardFigures> cards;                 ///< in the project's order
};

/// Renders a fitted set by every shipped card that can be read. A card that is as `before` had it,
/// with a set that sounds as it did then, is not rendered again. Errors: those of compile and
/// drive.
[[nodiscard]] Result<MeasuredCards> measure_cards(const model::Project& project,
                                                  const FittedSet& fitted, JobControl& job,
                                                  const MeasuredCards* before = nullptr);

/// The most voices that any card wants; nothing without cards.
[[nodiscard]] std::optional<int> voices_wanted(const MeasuredCards& measured);

/// The card with the highest true peak, or null: none sounds.
[[nodiscard]] const CardFigures* loudest_card(const MeasuredCards& measured);

}  // namespace fourbeat::work
