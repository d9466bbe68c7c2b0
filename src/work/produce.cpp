// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/produce.h"

#include "fourbeat/base/text.h"
#include "fourbeat/store/data_files.h"
#include "fourbeat/store/takes.h"
#include "fourbeat/work/analyse.h"
#include "fourbeat/work/render.h"
#include "fourbeat/work/trial.h"

#include <fmt/format.h>

#include <algorithm>

namespace fourbeat::work {

namespace {

constexpr double share_min = 0.01;

std::vector<drive::PieceSound> sources_as_sounds(const RenderedSet& set) {
  std::vector<drive::PieceSound> sounds;
  for (std::size_t i = 0; i < set.pieces.size(); ++i) {
    sounds.push_back({set.pieces[i].key, set.clips[i], 0.0});
  }
  return sounds;
}

std::vector<fit::FitInput> fit_inputs(const RenderedSet& set, const Shares& shares) {
  std::vector<fit::FitInput> inputs;
  for (std::size_t i = 0; i < set.pieces.size(); ++i) {
    const model::Piece& piece = set.pieces[i];
    inputs.push_back(
        {piece.name, set.clips[i], piece.playback_db, piece.importance, shares.share[i]});
  }
  return inputs;
}

Result<FittedSet> fit_rendered(const model::Project& project,
                               const std::filesystem::path& project_folder,
                               const model::DecoderProfile& profile, RenderedSet set,
                               JobControl& job) {
  FittedSet fitted{profile, std::move(set), {}, {}};
  Result<Shares> shares = measure_shares(project, project_folder, profile, fitted.set, job);
  if (!shares) return shares.error();
  fitted.shares = std::move(*shares);
  std::optional<dsp::SpeakerResponse> speaker;
  if (project.speaker) speaker = response_of(*project.speaker);
  Result<fit::FitReport> report =
      fit::fit_uniform(fit_inputs(fitted.set, fitted.shares), profile, job, speaker);
  if (!report) return report.error();
  fitted.fit = std::move(*report);
  return fitted;
}

}  // namespace

dsp::SpeakerResponse response_of(const model::Speaker& speaker) {
  return {speaker.high_pass_hz, speaker.high_pass_q, speaker.peak_hz,   speaker.peak_db,
          speaker.peak_q,       speaker.low_pass_hz, speaker.low_pass_q};
}

Result<RenderedSet> render_set(const model::Project& project,
                               const std::filesystem::path& project_folder, JobControl& job) {
  RenderedSet set;
  Renderer renderer(project, project_folder);
  const std::vector<model::Piece> pieces = model::list_pieces(project);
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    if (job.cancelled()) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
    job.progress(static_cast<double>(i) / static_cast<double>(pieces.size()), "rendering");
    Result<audio::Clip> clip = renderer.render(pieces[i]);
    if (!clip) {
      const model::PieceKey& key = pieces[i].key;
      if (key.segment.is_set()) {
        set.errors.emplace(key.segment, clip.error());
      } else {
        set.chuff_errors.emplace(key.row, clip.error());
      }
      continue;
    }
    set.pieces.push_back(pieces[i]);
    set.clips.push_back(std::move(*clip));
  }
  return set;
}

Result<Shares> measure_shares(const model::Project& project,
                              const std::filesystem::path& project_folder,
                              const model::DecoderProfile& profile, const RenderedSet& set,
                              JobControl& job) {
  Shares shares;
  shares.share.assign(set.pieces.size(), share_min);
  shares.sounding_s.assign(set.pieces.size(), 0.0);
  if (project.run_cards.empty()) return shares;
  const Result<std::shared_ptr<const drive::CompiledSet>> compiled =
      drive::compile(project, profile, sources_as_sounds(set));
  if (!compiled) return compiled.error();
  std::map<std::string, double> sounding_s;
  double total_s = 0.0;
  for (std::size_t i = 0; i < project.run_cards.size(); ++i) {
    Result<model::RunCard> card = load_listed_card(project_folder, project.run_cards[i]);
    if (!card) {
      shares.card_errors.emplace(i, card.error());
      continue;
    }
    drive::DriveOptions options;
    options.render = false;
    const Result<drive::DriveOutput> output = drive::drive(*compiled, *card, options, job);
    if (!output) return output.error();
    total_s += card->seconds;
    for (const auto& [name, seconds] : output->sounding_s)
      sounding_s[name] += seconds;
    shares.cards.emplace(i, *std::move(card));
  }
  if (total_s == 0.0) return shares;
  for (std::size_t i = 0; i < set.pieces.size(); ++i) {
    const auto found = sounding_s.find(set.pieces[i].name);
    if (found == sounding_s.end()) continue;
    shares.sounding_s[i] = found->second;
    // Rounded, so that a figure written down is the figure used.
    const double share = std::round(found->second / total_s * 1.0e6) / 1.0e6;
    shares.share[i] = std::clamp(share, share_min, 1.0);
  }
  shares.cards_s = total_s;
  return shares;
}

Result<model::DecoderProfile> profile_of(const model::Project& project,
                                         const std::string& decoder) {
  const std::string& id = decoder.empty() ? project.decoder : decoder;
  if (id.empty()) {
    return Error{ErrorCode::bad_argument,
                 {},
                 "decoder",
                 "no decoder is chosen",
                 "name one with --decoder, or set the project's decoder"};
  }
  return store::load_decoder_profile(id);
}

Result<FittedSet> fit_project(const model::Project& project,
                              const std::filesystem::path& project_folder,
                              const std::string& decoder, JobControl& job) {
  const Result<model::DecoderProfile> profile = profile_of(project, decoder);
  if (!profile) return profile.error();
  Result<RenderedSet> set = render_set(project, project_folder, job);
  if (!set) return set.error();
  if (!set->errors.empty()) return set->errors.begin()->second;
  if (!set->chuff_errors.empty()) return set->chuff_errors.begin()->second;
  if (set->pieces.empty()) {
    return Error{ErrorCode::too_short,
                 {},
                 {},
                 "the set has nothing to play",
                 "make sounds of segments, or build a chuff table"};
  }
  Result<FittedSet> fitted = fit_rendered(project, project_folder, *profile, std::move(*set), job);
  if (fitted && !fitted->shares.card_errors.empty()) {
    return fitted->shares.card_errors.begin()->second;
  }
  return fitted;
}

Result<Checked> check_project(const model::Project& project,
                              const std::filesystem::path& project_folder, JobControl& job,
                              bool verify_hashes, const Checked* before) {
  Checked checked;
  Result<std::vector<store::TakeStatus>> takes =
      store::look_at_takes(project, project_folder, verify_hashes, job);
  if (!takes) return takes.error();
  checked.facts.takes = std::move(*takes);
  Result<std::vector<store::CvDefinition>> cvs = store::load_cv_definitions();
  if (!cvs) return cvs.error();
  checked.facts.cv_definitions = std::move(*cvs);
  Result<RenderedSet> set = render_set(project, project_folder, job);
  if (!set) return set.error();
  checked.facts.render_errors = set->errors;
  checked.facts.chuff_errors = set->chuff_errors;
  for (std::size_t i = 0; i < set->pieces.size(); ++i) {
    const model::Piece& piece = set->pieces[i];
    const audio::Clip& clip = set->clips[i];
    if (!clip.loop) continue;
    const audio::Pcm pcm{clip.sample_rate_hz, {clip.samples}};
    const dsp::LoopSpec loop = spec_in_material(*piece.loop, piece.range.start);
    const Result<dsp::SeamReport> seam = dsp::measure_seam(pcm, loop, 1, job);
    const bool of_row = piece.key.row.is_set();
    if (seam && of_row) {
      checked.facts.row_seams.emplace(piece.key.row, *seam);
    } else if (seam) {
      checked.facts.seams.emplace(piece.key.segment, *seam);
    } else if (seam.error().code == ErrorCode::cancelled) {
      return seam.error();
    } else if (of_row) {
      checked.facts.chuff_errors.emplace(piece.key.row, seam.error());
    } else {
      checked.facts.render_errors.emplace(piece.key.segment, seam.error());
    }
  }
  if (!project.decoder.empty()) {
    const Result<model::DecoderProfile> profile = profile_of(project, "");
    if (!profile) return profile.error();
    checked.facts.profile = *profile;
    if (set->errors.empty() && set->chuff_errors.empty() && !set->pieces.empty()) {
      Result<FittedSet> fitted =
          fit_rendered(project, project_folder, *profile, std::move(*set), job);
      if (!fitted) return fitted.error();
      checked.facts.bytes_used = fitted->fit.bytes_used;
      for (std::size_t i = 0; i < fitted->set.pieces.size(); ++i) {
        const fit::Encoding& encoding = fitted->fit.sounds[i].encoding;
        checked.facts.stored[fitted->set.pieces[i].key] = {encoding.sample_rate_hz, encoding.bits};
      }
      Result<MeasuredCards> cards =
          measure_cards(project, *fitted, job, before == nullptr ? nullptr : &before->cards);
      if (!cards) return cards.error();
      checked.facts.voices_peak = voices_wanted(*cards);
      for (const CardFigures& card : cards->cards) {
        if (card.peak) checked.facts.card_peaks.emplace(card.place, *card.peak);
      }
      checked.cards = *std::move(cards);
      checked.facts.card_errors = fitted->shares.card_errors;
      checked.fitted = std::move(*fitted);
    }
  }
  checked.snags = check::run_rules(project, checked.facts);
  return checked;
}

Result<std::shared_ptr<const drive::CompiledSet>> compile_fitted(const model::Project& project,
                                                                 const FittedSet& fitted) {
  std::vector<drive::PieceSound> sounds;
  for (std::size_t i = 0; i < fitted.set.pieces.size(); ++i) {
    // Where the levels are in the samples already, drive must not put them there again.
    const fit::FitSound& sound = fitted.fit.sounds[i];
    sounds.push_back({fitted.set.pieces[i].key, sound.encoded.clip,
                      sound.encoded.playback_gain_db - sound.baked_db});
  }
  return drive::compile(project, fitted.profile, sounds);
}

Result<drive::DriveOutput> drive_fitted(const model::Project& project, const FittedSet& fitted,
                                        const model::RunCard& card,
                                        const drive::DriveOptions& options, JobControl& job) {
  const Result<std::shared_ptr<const drive::CompiledSet>> compiled =
      compile_fitted(project, fitted);
  if (!compiled) return compiled.error();
  return drive::drive(*compiled, card, options, job);
}

model::RunCard sweep_card(const model::Project& project) {
  const auto rate_of = [&](int number) {
    for (const model::Cv& cv : project.cvs) {
      if (cv.number == number) return cv.value;
    }
    return 0;
  };
  // Momentum of at least 20 s each way, so that every row is heard; S-9.2.2: CV × 0.896 s a sweep.
  const int up = std::max(rate_of(3), 23);
  const int down = std::max(rate_of(4), 23);
  constexpr double seconds_a_unit = 0.896;
  constexpr double rest_s = 2.0;
  model::RunCard card;
  card.title = "Sweep of the chuff table";
  card.speed_steps = 128;
  card.moves.push_back({0.0, model::MoveCv{3, up}});
  card.moves.push_back({0.0, model::MoveCv{4, down}});
  card.moves.push_back({0.5, model::MoveThrottle{model::last_step(card.speed_steps)}});
  const double at_top_s = 0.5 + up * seconds_a_unit + rest_s;
  card.moves.push_back({at_top_s, model::MoveThrottle{0}});
  card.seconds = at_top_s + down * seconds_a_unit + rest_s;
  return card;
}

Result<deliver::BundleInput> bundle_input(const model::Project& project, const Checked& checked) {
  if (!checked.fitted) {
    Error refused{ErrorCode::refused, {}, {}, "the set could not be fitted", {}};
    for (const check::Snag& snag : checked.snags) {
      if (snag.severity != check::Severity::error) continue;
      refused.place = snag.label;
      refused.detail = snag.message;
      refused.mend = snag.mend;
      return refused;
    }
    if (model::list_pieces(project).empty()) {
      refused.detail = "the set has nothing to play";
      refused.mend = "cut segments and make sounds of them, or build a chuff table";
    } else if (project.decoder.empty()) {
      refused.detail = "no decoder is chosen";
      refused.mend = "choose one";
    }
    return refused;
  }
  deliver::BundleInput input;
  input.project = project;
  input.profile = checked.fitted->profile;
  input.pieces = checked.fitted->set.pieces;
  input.fit = checked.fitted->fit;
  input.snags = checked.snags;
  for (const model::Piece& piece : input.pieces) {
    if (!piece.loop) continue;
    const model::Verdict* verdict = model::verdict_in_force(project, piece);
    if (verdict == nullptr || verdict->kind != model::VerdictKind::signed_off) {
      input.unsigned_seams.push_back(piece.name);
    }
  }
  return input;
}

}  // namespace fourbeat::work
