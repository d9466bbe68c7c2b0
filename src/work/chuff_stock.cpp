// SPDX-License-Identifier: GPL-3.0-or-later
#include "chuff_stock.h"

#include "fourbeat/audio/resample.h"
#include "fourbeat/base/decibels.h"
#include "fourbeat/drive/row_choice.h"
#include "fourbeat/model/piece.h"
#include "fourbeat/work/render.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace fourbeat::work {

Result<ChuffStock> ChuffStock::render(const model::Project& project,
                                      const std::filesystem::path& project_folder,
                                      std::optional<Id<model::ChuffRow>> only, JobControl& job) {
  ChuffStock stock;
  stock.gain_ = static_cast<float>(gain_of_db(project.chuffs.gain_db));
  Renderer renderer(project, project_folder);
  const std::vector<model::Piece> pieces = model::list_pieces(project);
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    const model::PieceKey& key = pieces[i].key;
    if (!key.row.is_set() || (only && key.row != *only)) continue;
    if (job.cancelled()) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
    job.progress(static_cast<double>(i) / static_cast<double>(pieces.size()), "rendering chuffs");
    Result<audio::Clip> clip = renderer.render(pieces[i]);
    if (!clip) return clip.error();
    if (stock.sample_rate_hz_ == 0.0) stock.sample_rate_hz_ = clip->sample_rate_hz;
    if (key.revolution == model::fused_revolution) {
      stock.loops_.emplace(key.row, std::move(*clip));
      continue;
    }
    const model::ChuffRow& row = *model::find(project, key.row);
    const auto revolution = static_cast<std::size_t>(key.revolution);
    const auto position = static_cast<std::size_t>(key.position);
    const model::Chuff& cut = row.revolutions[revolution].chuffs[position];
    Chuff chuff;
    chuff.lead_frames =
        std::llround(static_cast<double>((cut.beat_frame - cut.range.start).value()) *
                     stock.sample_rate_hz_ / clip->sample_rate_hz);
    Result<std::vector<float>> samples =
        audio::resample(clip->samples, clip->sample_rate_hz, stock.sample_rate_hz_);
    if (!samples) return samples.error();
    chuff.samples = std::move(*samples);
    stock.lead_frames_ = std::max(stock.lead_frames_, chuff.lead_frames);
    Revolutions& revolutions = stock.rows_[key.row];
    revolutions.resize(row.revolutions.size());
    revolutions[revolution].emplace(position, std::move(chuff));
  }
  if (stock.rows_.empty() && stock.loops_.empty()) {
    return Error{ErrorCode::too_short, {}, {}, "there is no chuff to play", "build the table"};
  }
  return stock;
}

bool ChuffStock::play(std::vector<float>& samples, std::int64_t beat_frame, Id<model::ChuffRow> row,
                      std::int64_t turn, std::size_t position) const {
  const auto found = rows_.find(row);
  if (found == rows_.end()) return false;
  const auto& revolution = found->second[drive::revolution_of_turn(turn, found->second.size())];
  const auto chuff = revolution.find(position);
  if (chuff == revolution.end()) return false;
  const std::vector<float>& played = chuff->second.samples;
  const std::int64_t start = beat_frame - chuff->second.lead_frames;
  const std::int64_t end = std::min(static_cast<std::int64_t>(samples.size()),
                                    start + static_cast<std::int64_t>(played.size()));
  for (std::int64_t i = std::max<std::int64_t>(start, 0); i < end; ++i) {
    samples[static_cast<std::size_t>(i)] += gain_ * played[static_cast<std::size_t>(i - start)];
  }
  return true;
}

Status ChuffStock::play_loop(std::vector<float>& samples, std::int64_t from_frame,
                             std::int64_t to_frame, Id<model::ChuffRow> row) const {
  const audio::Clip& clip = loops_.at(row);
  const auto fade =
      std::max<std::int64_t>(1, static_cast<std::int64_t>(drive::fused_fade_s * sample_rate_hz_));
  const std::int64_t length = to_frame - from_frame + fade;
  const auto unrolled_frames = static_cast<std::size_t>(
      std::ceil(static_cast<double>(length) * clip.sample_rate_hz / sample_rate_hz_) + 1.0);
  std::vector<float> unrolled;
  unrolled.reserve(unrolled_frames);
  const auto start = static_cast<std::size_t>(clip.loop ? clip.loop->start.value() : 0);
  const auto end =
      clip.loop ? static_cast<std::size_t>(clip.loop->end.value()) : clip.samples.size();
  for (std::size_t at = 0; unrolled.size() < unrolled_frames; at = at + 1 == end ? start : at + 1)
    unrolled.push_back(clip.samples[at]);
  const Result<std::vector<float>> played =
      audio::resample(unrolled, clip.sample_rate_hz, sample_rate_hz_);
  if (!played) return played.error();
  for (std::int64_t i = 0; i < length; ++i) {
    const std::int64_t at = from_frame + i;
    if (at < 0 || std::cmp_greater_equal(at, samples.size()) ||
        std::cmp_greater_equal(i, played->size())) {
      continue;
    }
    // Equal power: the square root of the smooth rise 3p² - 2p³, as a fade of drive.
    const double inwards =
        std::min(1.0, static_cast<double>(i + 1) / static_cast<double>(fade + 1));
    const double outwards =
        std::min(1.0, static_cast<double>(length - i) / static_cast<double>(fade + 1));
    const auto gain = [](double p) {
      const double rise = p * p * (3.0 - 2.0 * p);
      return rise / std::sqrt(rise * rise + (1.0 - rise) * (1.0 - rise));
    };
    samples[static_cast<std::size_t>(at)] += gain_ *
                                             static_cast<float>(gain(inwards) * gain(outwards)) *
                                             (*played)[static_cast<std::size_t>(i)];
  }
  return ok();
}

}  // namespace fourbeat::work
