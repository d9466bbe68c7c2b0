// SPDX-License-Identifier: GPL-3.0-or-later
#include "tables.h"

#include "digits.h"
#include "names.h"

#include "fourbeat/base/wheel.h"
#include "fourbeat/model/members.h"

#include <fmt/format.h>

#include <algorithm>
#include <limits>

namespace fourbeat::deliver {

namespace {

template <std::size_t Count>
CsvRow heading(const std::array<std::string_view, Count>& columns) {
  return {columns.begin(), columns.end()};
}

template <class Numbered>
std::vector<const Numbered*> by_number(const std::vector<Numbered>& list) {
  std::vector<const Numbered*> order;
  order.reserve(list.size());
  for (const Numbered& one : list)
    order.push_back(&one);
  std::stable_sort(order.begin(), order.end(),
                   [](const Numbered* a, const Numbered* b) { return a->number < b->number; });
  return order;
}

RowFigures::At figures_at(double speed_kmh, const model::Engine& engine) {
  const bool moves = speed_kmh > 0.0;
  return {speed_kmh, wheel_rpm(speed_kmh, engine.driver_diameter_mm),
          moves ? beat_interval_s(speed_kmh, engine.driver_diameter_mm, engine.beats_per_rev)
                : std::numeric_limits<double>::infinity()};
}

}  // namespace

RowFigures row_figures(const model::ChuffRow& row, const model::Engine& engine) {
  return {figures_at(row.from_kmh, engine), figures_at((row.from_kmh + row.to_kmh) / 2.0, engine),
          figures_at(row.to_kmh, engine)};
}

std::vector<CsvRow> keys_table(const model::Project& project,
                               const std::vector<model::Piece>& pieces) {
  const auto file_of = [&](Id<model::Segment> segment) -> std::string {
    if (!segment.is_set()) return {};
    const auto found = std::find_if(pieces.begin(), pieces.end(), [&](const model::Piece& piece) {
      return piece.key.segment == segment;
    });
    return found == pieces.end() ? std::string() : sound_file(found->name);
  };
  std::vector<CsvRow> rows{heading(keys_columns)};
  for (const model::Key* key : by_number(project.keys)) {
    const model::Sound* sound = model::find(project, key->sound);
    CsvRow row{fmt::format("F{}", key->number), text_cell(key->label),
               std::string(model::word_of(key->mode)), std::string(model::word_of(key->direction))};
    if (sound == nullptr) {
      row.resize(keys_columns.size());
    } else {
      const bool held = sound->kind == model::SoundKind::held;
      row.push_back(text_cell(sound->name));
      row.emplace_back(model::word_of(sound->kind));
      row.push_back(held ? file_of(sound->begin) : std::string());
      row.push_back(held ? file_of(sound->hold) : std::string());
      row.push_back(held ? file_of(sound->release) : std::string());
      row.push_back(held ? std::string() : file_of(sound->segment));
    }
    rows.push_back(std::move(row));
  }
  return rows;
}

std::vector<CsvRow> cvs_table(const model::Project& project) {
  std::vector<CsvRow> rows{heading(cvs_columns)};
  for (const model::Cv* cv : by_number(project.cvs)) {
    rows.push_back({fmt::format("{}", cv->number), fmt::format("{}", cv->value),
                    text_cell(cv->name), text_cell(cv->note)});
  }
  return rows;
}

std::vector<CsvRow> chuffs_table(const model::Project& project,
                                 const std::vector<model::Piece>& pieces) {
  std::vector<CsvRow> rows{heading(chuffs_columns)};
  const std::vector<double> angles_deg = model::beat_angles_deg(project.engine);
  const auto& table = project.chuffs.rows;
  for (const model::Piece& piece : pieces) {
    if (!piece.key.row.is_set()) continue;
    const auto row = std::find_if(table.begin(), table.end(), [&](const model::ChuffRow& one) {
      return one.id == piece.key.row;
    });
    if (row == table.end()) continue;
    const RowFigures figures = row_figures(*row, project.engine);
    const bool fused = piece.key.revolution == model::fused_revolution;
    const auto position = static_cast<std::size_t>(piece.key.position);
    rows.push_back(
        {fmt::format("{}", row - table.begin() + 1), std::string(model::word_of(row->effort)),
         fixed(figures.from.speed_kmh, 2), fixed(figures.middle.speed_kmh, 2),
         fixed(figures.to.speed_kmh, 2), fixed(figures.from.rpm, 2), fixed(figures.middle.rpm, 2),
         fixed(figures.to.rpm, 2), fixed(figures.from.interval_s, 4),
         fixed(figures.middle.interval_s, 4), fixed(figures.to.interval_s, 4),
         fused ? std::string() : fmt::format("{}", piece.key.revolution + 1),
         fused ? std::string() : fmt::format("{}", piece.key.position + 1),
         !fused && position < angles_deg.size() ? fixed(angles_deg[position], 2) : std::string(),
         sound_file(piece.name), std::string(model::word_of(row->condition)),
         row->derived ? fixed(row->derived->recorded_kmh, 2) : std::string()});
  }
  return rows;
}

}  // namespace fourbeat::deliver
