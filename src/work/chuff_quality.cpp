// SPDX-License-Identifier: GPL-3.0-or-later
#include "chuff_quality.h"

#include "fourbeat/model/members.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <string_view>
#include <utility>

namespace fourbeat::work {

namespace {

/// A measure's bounds: no loss at `good`, its whole `weight` lost at `bad`; docs/chuffs.md.
struct Scale {
  double good = 0.0;
  double bad = 1.0;
  double weight = 1.0;

  [[nodiscard]] double loss(double value) const {
    return weight * std::clamp((value - good) / (bad - good), 0.0, 1.0);
  }
};
constexpr Scale signal_scale{15.0, 3.0, 0.8};
constexpr Scale end_scale{-15.0, -3.0, 0.4};
constexpr Scale accent_scale{1.0, 5.0, 0.6};
constexpr Scale evenness_scale{2.0, 10.0, 0.6};
constexpr Scale middle_scale{0.0, 1.0, 0.3};
constexpr Scale oddity_scale{4.0, 12.0, 0.8};
constexpr Scale flat_scale{0.0, 8.0, 0.9};
constexpr Scale confidence_scale{1.0, 0.0, 0.5};
constexpr double mark_loss = 0.9;
constexpr double told_from = 0.1;      ///< losses below this are not worth a word
constexpr std::size_t neighbours = 4;  ///< turns to either side that oddity is judged by
constexpr std::size_t neighbours_need = 3;
constexpr std::size_t thirds_an_octave = 3;

double median(std::vector<double> values) {
  if (values.empty()) return 0.0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  if (values.size() % 2 == 1) return *middle;
  return 0.5 * (*middle + *std::max_element(values.begin(), middle));
}

double rms_difference(const std::vector<double>& a, const std::vector<double>& b) {
  double sum = 0.0;
  for (std::size_t k = 0; k < a.size(); ++k)
    sum += (a[k] - b[k]) * (a[k] - b[k]);
  return a.empty() ? 0.0 : std::sqrt(sum / static_cast<double>(a.size()));
}

bool names_another_sound(model::MarkKind kind) {
  using model::MarkKind;
  return kind == MarkKind::whistle || kind == MarkKind::safety_valve || kind == MarkKind::pump ||
         kind == MarkKind::injector || kind == MarkKind::unusable;
}

/// Levels of the octaves of a chuff, each the sum of three third octaves.
std::vector<double> octaves_db(const dsp::ChuffMeasure& chuff) {
  std::vector<double> levels;
  for (std::size_t band = 0; band + thirds_an_octave <= chuff.bands_db.size();
       band += thirds_an_octave) {
    double sum = 0.0;
    for (std::size_t i = 0; i < thirds_an_octave; ++i)
      sum += std::pow(10.0, static_cast<double>(chuff.bands_db[band + i]) / 10.0);
    levels.push_back(10.0 * std::log10(sum));
  }
  return levels;
}

/// The largest departure of an octave of a chuff, and where.
struct Oddity {
  double db = 0.0;  ///< signed
  std::size_t chuff = 0;
  std::size_t octave = 0;
};

/// How far each octave of each chuff stands off the median of the same chuff in the turns around
/// it, less what the whole chuff stands off.
Oddity oddity_of(const std::vector<Turn>& turns, std::size_t index) {
  const Turn& turn = turns[index];
  std::vector<const Turn*> around;
  const std::size_t first = index > neighbours ? index - neighbours : 0;
  for (std::size_t i = first; i < turns.size() && i <= index + neighbours; ++i) {
    if (i != index && turns[i].take == turn.take) around.push_back(&turns[i]);
  }
  Oddity worst;
  if (around.size() < neighbours_need) return worst;
  for (std::size_t k = 0; k < turn.levels_db.size(); ++k) {
    const std::vector<double> own = octaves_db(turn.chuff(k));
    std::vector<std::vector<double>> theirs;
    theirs.reserve(around.size());
    for (const Turn* other : around)
      theirs.push_back(octaves_db(other->chuff(k)));
    std::vector<double> off(own.size());
    for (std::size_t octave = 0; octave < own.size(); ++octave) {
      std::vector<double> levels;
      levels.reserve(theirs.size());
      for (const auto& each : theirs)
        levels.push_back(each[octave]);
      off[octave] = own[octave] - median(std::move(levels));
    }
    const double whole = median(off);
    for (std::size_t octave = 0; octave < own.size(); ++octave) {
      if (std::fabs(off[octave] - whole) > std::fabs(worst.db)) {
        worst = {off[octave] - whole, k, octave};
      }
    }
  }
  return worst;
}

/// The marks that overlap a turn, and the chuff that the first of them lies over.
std::optional<std::size_t> find_marks(const model::Project& project, const Turn& turn,
                                      RevolutionQuality& quality) {
  std::optional<std::size_t> first;
  const std::vector<dsp::Beat>& beats = turn.take->beats();
  for (const model::Mark& mark : project.marks) {
    if (mark.take != turn.take->tracked->take || !names_another_sound(mark.kind)) continue;
    for (std::size_t k = 0; k < turn.levels_db.size(); ++k) {
      const FrameIndex from = beats[turn.first_beat + k].frame;
      const FrameIndex to = beats[turn.first_beat + k + 1].frame;
      if (mark.range.end < from || mark.range.start >= to) continue;
      if (std::find(quality.marks.begin(), quality.marks.end(), mark.kind) == quality.marks.end()) {
        quality.marks.push_back(mark.kind);
      }
      if (!first) first = k;
      break;
    }
  }
  return first;
}

std::string words_of(model::MarkKind kind) {
  std::string words(model::word_of(kind));
  std::replace(words.begin(), words.end(), '_', ' ');
  return words;
}

}  // namespace

UsualPattern usual_pattern(const std::vector<const Turn*>& turns, std::size_t n) {
  UsualPattern usual;
  for (std::size_t k = 0; k < n; ++k) {
    std::vector<double> levels;
    std::vector<double> angles;
    for (const Turn* turn : turns) {
      levels.push_back(turn->levels_db[k]);
      angles.push_back(turn->angles_deg[k]);
    }
    usual.levels_db.push_back(median(std::move(levels)));
    usual.angles_deg.push_back(median(std::move(angles)));
  }
  return usual;
}

RevolutionQuality judge_turn(const model::Project& project, const std::vector<Turn>& turns,
                             std::size_t index, const UsualPattern& usual, const Band& band) {
  const Turn& turn = turns[index];
  const auto n = static_cast<double>(turn.levels_db.size());
  RevolutionQuality quality;
  for (std::size_t k = 0; k < turn.levels_db.size(); ++k) {
    const dsp::ChuffMeasure& chuff = turn.chuff(k);
    quality.signal_db += (chuff.peak_dbfs - chuff.background_dbfs) / n;
    quality.end_db += (chuff.end_dbfs - chuff.peak_dbfs) / n;
    quality.flat_tops += chuff.flat_tops;
  }
  quality.accent_db = rms_difference(turn.levels_db, usual.levels_db);
  quality.evenness_deg = rms_difference(turn.angles_deg, usual.angles_deg);
  const double half = 0.5 * std::log(band.to_kmh / band.from_kmh);
  const double middle = std::sqrt(band.from_kmh * band.to_kmh);
  quality.off_middle = std::min(1.0, std::fabs(std::log(turn.speed_kmh / middle)) / half);
  quality.beat_confidence = turn.confidence;
  const Oddity odd = oddity_of(turns, index);
  quality.oddity_db = odd.db;
  const std::optional<std::size_t> marked = find_marks(project, turn, quality);

  quality.total = 1.0;
  double worst = told_from;
  const auto lose = [&](double share, std::string words) {
    quality.total *= 1.0 - share;
    if (share < worst || (share == worst && !quality.reason.empty())) return;
    worst = share;
    quality.reason = std::move(words);
  };
  if (marked) {
    lose(mark_loss,
         fmt::format("{} mark over chuff {}", words_of(quality.marks.front()), *marked + 1));
  }
  lose(flat_scale.loss(static_cast<double>(quality.flat_tops)),
       fmt::format("{} flat tops", quality.flat_tops));
  const double octave_hz = 125.0 * static_cast<double>(std::size_t{1} << odd.octave);
  lose(oddity_scale.loss(std::fabs(odd.db)),
       fmt::format("chuff {} is odd: {:+.0f} dB around {:.0f} Hz", odd.chuff + 1, odd.db,
                   octave_hz));
  lose(signal_scale.loss(quality.signal_db),
       fmt::format("only {:.0f} dB over its background", quality.signal_db));
  lose(accent_scale.loss(quality.accent_db),
       fmt::format("its accents are {:.1f} dB off the usual", quality.accent_db));
  lose(evenness_scale.loss(quality.evenness_deg),
       fmt::format("its beats are {:.1f} degrees off", quality.evenness_deg));
  lose(confidence_scale.loss(quality.beat_confidence),
       fmt::format("a beat is unsure ({:.2f})", quality.beat_confidence));
  lose(end_scale.loss(quality.end_db),
       fmt::format("its tail ends {:.0f} dB under the peak", -quality.end_db));
  lose(middle_scale.loss(quality.off_middle), "far from the row's middle");
  return quality;
}

}  // namespace fourbeat::work
