// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/card_figures.h"

#include "fourbeat/drive/drive.h"
#include "fourbeat/work/produce.h"

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

namespace fourbeat::work {

namespace {

/// The pieces that sound at a frame, by name, in the order in which they began.
std::vector<std::string> pieces_at(const drive::DriveOutput& output, std::int64_t frame) {
  std::vector<std::pair<int, std::string>> open;  // voice, piece
  for (const drive::Event& event : output.events) {
    if (event.frame > frame) break;
    if (event.kind == drive::EventKind::voice_start) open.emplace_back(event.number, event.text);
    if (event.kind == drive::EventKind::voice_end) {
      std::erase_if(open, [&](const auto& one) { return one.first == event.number; });
    }
  }
  std::vector<std::string> names;
  names.reserve(open.size());
  for (auto& [voice, name] : open)
    names.push_back(std::move(name));
  return names;
}

/// A piece as a designer calls it: its segment, or the chuffs all together.
std::string word_of(const model::Project& project, const RenderedSet& set,
                    const std::string& piece) {
  const auto found = std::find_if(set.pieces.begin(), set.pieces.end(),
                                  [&](const model::Piece& one) { return one.name == piece; });
  if (found == set.pieces.end() || found->key.row.is_set()) return "the chuffs";
  const model::Segment* segment = model::find(project, found->key.segment);
  return segment == nullptr ? piece : "“" + segment->name + "”";
}

std::optional<check::CardPeak> peak_of(const model::Project& project, const RenderedSet& set,
                                       const drive::DriveOutput& output) {
  if (!output.true_peak_dbtp) return std::nullopt;
  check::CardPeak peak;
  peak.true_peak_dbtp = *output.true_peak_dbtp;
  peak.time_s = output.true_peak_s;
  for (const std::string& piece :
       pieces_at(output, std::llround(output.true_peak_s * output.sample_rate_hz))) {
    std::string word = word_of(project, set, piece);
    if (std::find(peak.sounding.begin(), peak.sounding.end(), word) == peak.sounding.end()) {
      peak.sounding.push_back(std::move(word));
    }
  }
  return peak;
}

}  // namespace

Result<MeasuredCards> measure_cards(const model::Project& project, const FittedSet& fitted,
                                    JobControl& job, const MeasuredCards* before) {
  MeasuredCards measured;
  if (fitted.shares.cards.empty()) return measured;
  Result<std::shared_ptr<const drive::CompiledSet>> compiled = compile_fitted(project, fitted);
  if (!compiled) return compiled.error();
  measured.set = *std::move(compiled);
  const bool same_set =
      before != nullptr && before->set != nullptr && drive::is_same(*before->set, *measured.set);
  if (same_set) measured.set = before->set;
  for (const auto& listed : fitted.shares.cards) {
    const auto& place = listed.first;
    const model::RunCard& card = listed.second;
    if (same_set) {
      const auto known = std::find_if(before->cards.begin(), before->cards.end(),
                                      [&](const CardFigures& one) { return one.card == card; });
      if (known != before->cards.end()) {
        measured.cards.push_back(*known);
        measured.cards.back().place = place;
        continue;
      }
    }
    drive::DriveOptions options;
    options.keep_mix = false;
    const Result<drive::DriveOutput> output = drive::drive(measured.set, card, options, job);
    if (!output) return output.error();
    measured.cards.push_back({place, card, peak_of(project, fitted.set, *output),
                              output->voices_peak, output->voices_wanted_peak});
  }
  return measured;
}

std::optional<int> voices_wanted(const MeasuredCards& measured) {
  std::optional<int> most;
  for (const CardFigures& card : measured.cards)
    most = std::max(most.value_or(0), card.voices_wanted_peak);
  return most;
}

const CardFigures* loudest_card(const MeasuredCards& measured) {
  const CardFigures* loudest = nullptr;
  for (const CardFigures& card : measured.cards) {
    if (!card.peak) continue;
    if (loudest == nullptr || card.peak->true_peak_dbtp > loudest->peak->true_peak_dbtp) {
      loudest = &card;
    }
  }
  return loudest;
}

}  // namespace fourbeat::work
