// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/model/piece.h"

#include "fourbeat/base/sha256.h"
#include "fourbeat/base/text.h"
#include "fourbeat/model/members.h"

#include <fmt/format.h>

#include <cmath>
#include <iterator>
#include <map>
#include <set>

namespace fourbeat::model {

namespace {

constexpr std::size_t name_limit = 48;  // as safe_name()

/// Gives each name once: the first as it is, later ones with -2, -3 …
class NameGiver {
 public:
  std::string give(const std::string& wanted) {
    std::string name = wanted;
    int& number = last_[wanted];
    while (!given_.insert(name).second) {
      number = std::max(number + 1, 2);
      const std::string tail = fmt::format("-{}", number);
      name = wanted.substr(0, name_limit - tail.size()) + tail;
    }
    return name;
  }

 private:
  std::set<std::string> given_;
  std::map<std::string, int> last_;
};

/// The name of what a sound plays from one segment; the sound's own part is cut to fit the part.
std::string part_name(const Sound& sound, Id<Segment> segment) {
  std::string_view part;
  if (sound.kind == SoundKind::held) {
    part = segment == sound.begin ? "-begin" : segment == sound.hold ? "-hold" : "-release";
  }
  return safe_name(sound.name).substr(0, name_limit - part.size()) + std::string(part);
}

void add_segments(const Project& project, std::vector<Piece>& pieces) {
  std::map<Id<Segment>, std::size_t> known;
  std::map<Id<Segment>, const Segment*> segments;
  for (const Segment& segment : project.segments) {
    segments.emplace(segment.id, &segment);
  }
  for (const Sound& sound : project.sounds) {
    for (const Id<Segment> id : segments_of(sound)) {
      const auto segment = segments.find(id);
      if (segment == segments.end()) continue;
      const auto [at, fresh] = known.emplace(id, pieces.size());
      if (fresh) {
        Piece piece = piece_of(*segment->second);
        piece.name = part_name(sound, id);
        piece.category = sound.category;
        piece.playback_db = sound.gain_db;
        piece.importance = sound.importance;
        piece.priority = sound.priority;
        pieces.push_back(std::move(piece));
      } else {
        Piece& piece = pieces[at->second];
        piece.playback_db = std::max(piece.playback_db, sound.gain_db);
        piece.importance = std::max(piece.importance, sound.importance);
        piece.priority = std::max(piece.priority, sound.priority);
      }
    }
  }
}

std::string row_name(const ChuffRow& row) {
  std::string name = fmt::format("chuff-{}-{:03}", word_of(row.effort), std::llround(row.from_kmh));
  if (row.condition != Condition::normal) name += fmt::format("-{}", word_of(row.condition));
  return name;
}

Piece row_piece(const ChuffTable& table, const ChuffRow& row) {
  Piece piece;
  piece.key.row = row.id;
  piece.category = Category::exhaust;
  piece.playback_db = table.gain_db;
  piece.importance = table.importance;
  piece.priority = table.priority;
  return piece;
}

void add_chuffs(const ChuffTable& table, std::vector<Piece>& pieces) {
  for (const ChuffRow& row : table.rows) {
    for (std::size_t r = 0; r < row.revolutions.size(); ++r) {
      const Revolution& revolution = row.revolutions[r];
      for (std::size_t p = 0; p < revolution.chuffs.size(); ++p) {
        const Chuff& chuff = revolution.chuffs[p];
        Piece piece = row_piece(table, row);
        piece.key.revolution = static_cast<int>(r);
        piece.key.position = static_cast<int>(p);
        piece.name = fmt::format("{}-r{}-{}", row_name(row), r + 1, p + 1);
        piece.source = revolution.source;
        piece.range = chuff.range;
        piece.gain_db = chuff.gain_db;
        piece.fade_in_frames = chuff.fade_in_frames;
        piece.fade_out_frames = chuff.fade_out_frames;
        if (row.derived) piece.tilt_db_per_octave = row.derived->tilt_db_per_octave;
        pieces.push_back(std::move(piece));
      }
    }
    if (row.fused) {
      Piece piece = row_piece(table, row);
      piece.key.revolution = fused_revolution;
      piece.name = row_name(row) + "-loop";
      piece.source = row.fused->source;
      piece.range = row.fused->range;
      piece.gain_db = row.fused->gain_db;
      piece.loop = row.fused->loop;
      pieces.push_back(std::move(piece));
    }
  }
}

/// A number as it goes into a recipe: the shortest text that reads back the same; -0 is 0.
std::string number_text(double number) {
  return fmt::format("{}", number + 0.0);
}

std::string range_text(const FrameRange& range) {
  return fmt::format("{} {}", range.start.value(), range.end.value());
}

std::string step_text(const HighPass& step) {
  return fmt::format("high_pass {} {}\n", number_text(step.cutoff_hz), step.order);
}
std::string step_text(const HumNotch& step) {
  return fmt::format("hum_notch {} {} {}\n", number_text(step.fundamental_hz), step.harmonics,
                     number_text(step.q));
}

std::int64_t offset_of(const Pass* pass, Id<Take> take) {
  if (pass == nullptr) return 0;
  for (const PassTake& entry : pass->takes) {
    if (entry.take == take) return entry.offset_frames.value();
  }
  return 0;
}

/// True for a verdict on the loop of a piece.
bool is_on(const Verdict& verdict, const PieceKey& key) {
  if (key.segment.is_set()) return verdict.segment == key.segment;
  return key.row.is_set() && key.revolution == fused_revolution && verdict.row == key.row;
}

}  // namespace

std::vector<Piece> list_pieces(const Project& project) {
  std::vector<Piece> pieces;
  add_segments(project, pieces);
  add_chuffs(project.chuffs, pieces);
  NameGiver names;
  for (Piece& piece : pieces) {
    piece.name = names.give(piece.name);
  }
  return pieces;
}

Piece piece_of(const Segment& segment) {
  Piece piece;
  piece.key.segment = segment.id;
  piece.name = safe_name(segment.name);
  piece.source = segment.source;
  piece.range = segment.range;
  piece.gain_db = segment.gain_db;
  piece.fade_in_frames = segment.fade_in_frames;
  piece.fade_out_frames = segment.fade_out_frames;
  piece.loop = segment.loop;
  return piece;
}

std::vector<Piece> looped_pieces(const Project& project) {
  std::vector<Piece> pieces = list_pieces(project);
  std::erase_if(pieces, [](const Piece& piece) { return !piece.loop; });
  return pieces;
}

std::string recipe_hash(const Project& project, const Piece& piece) {
  std::string recipe;
  auto out = std::back_inserter(recipe);
  fmt::format_to(out, "fourbeat-recipe {}\n", render_method_version);
  const Pass* pass = find(project, piece.source.pass);
  for (const MixInput& input : piece.source.mix) {
    const Take* take = find(project, input.take);
    fmt::format_to(out, "mix {} {} {} {} {} {}\n", take != nullptr ? take->sha256 : "-",
                   offset_of(pass, input.take), input.channel, number_text(input.gain_db),
                   input.delay_frames.value(), input.inverted ? 1 : 0);
  }
  for (const CleanStep& step : piece.source.clean) {
    recipe += std::visit([](const auto& held) { return step_text(held); }, step);
  }
  fmt::format_to(out, "range {}\n", range_text(piece.range));
  fmt::format_to(out, "gain {}\n", number_text(piece.gain_db));
  fmt::format_to(out, "fades {} {}\n", piece.fade_in_frames.value(), piece.fade_out_frames.value());
  if (piece.tilt_db_per_octave != 0.0) {
    fmt::format_to(out, "tilt {} {}\n", number_text(piece.tilt_db_per_octave),
                   number_text(tilt_pivot_hz));
  }
  if (piece.loop) {
    fmt::format_to(out, "loop {} {} {}\n", range_text(piece.loop->range),
                   piece.loop->crossfade_frames.value(), word_of(piece.loop->crossfade_at));
    if (piece.loop->drift_db != 0.0)
      fmt::format_to(out, "drift {}\n", number_text(piece.loop->drift_db));
    for (const double db : piece.loop->octave_drift_db)
      fmt::format_to(out, "octave_drift {}\n", number_text(db));
  }
  return sha256_hex(recipe);
}

const Verdict* verdict_in_force(const Project& project, const Piece& piece) {
  std::string recipe;
  for (auto verdict = project.verdicts.rbegin(); verdict != project.verdicts.rend(); ++verdict) {
    if (!is_on(*verdict, piece.key)) continue;
    if (recipe.empty()) recipe = recipe_hash(project, piece);
    if (verdict->recipe == recipe) return &*verdict;
  }
  return nullptr;
}

const Verdict* verdict_in_force(const Project& project, const Segment& segment) {
  return verdict_in_force(project, piece_of(segment));
}

bool is_above(const Verdict& verdict, int sample_rate_hz, int bits) {
  const auto lower = [](int stored, int heard) { return heard == 0 || stored < heard; };
  return lower(sample_rate_hz, verdict.sample_rate_hz) || lower(bits, verdict.bits);
}

const Verdict* last_verdict(const Project& project, const PieceKey& key) {
  for (auto verdict = project.verdicts.rbegin(); verdict != project.verdicts.rend(); ++verdict) {
    if (is_on(*verdict, key)) return &*verdict;
  }
  return nullptr;
}

}  // namespace fourbeat::model
