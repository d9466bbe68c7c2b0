// SPDX-License-Identifier: GPL-3.0-or-later
#include "digits.h"
#include "names.h"
#include "proving.h"
#include "tables.h"

#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"
#include "fourbeat/base/wheel.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <tuple>

namespace fourbeat::deliver {

namespace {

std::optional<int> whole(std::string_view text, int low, int high) {
  int number = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc() || end != text.data() + text.size() || number < low || number > high) {
    return std::nullopt;
  }
  return number;
}

/// One table of the bundle: its rows without the heading, each of the right width. Columns from
/// `always` on may be missing, all of the table alike; their cells are then empty.
template <std::size_t Count>
Result<std::vector<CsvRow>> read_table(const std::filesystem::path& folder, const FileSizes& files,
                                       std::string_view name,
                                       const std::array<std::string_view, Count>& columns,
                                       const BundleLimits& limits, Faults& faults,
                                       std::size_t always = Count) {
  const std::string file(name);
  if (files.count(file) == 0) return std::vector<CsvRow>{};
  const Result<std::string> text = read_text_file(folder / file, limits.manifest_bytes);
  if (!text) return text.error();
  Result<std::vector<CsvRow>> rows = parse_csv(*text);
  if (!rows) {
    faults.add(fmt::format("{}: {}: {}", file, rows.error().place, rows.error().detail));
    return std::vector<CsvRow>{};
  }
  const std::size_t width = rows->empty() ? 0 : rows->front().size();
  if (width < always || width > Count ||
      !std::equal(rows->front().begin(), rows->front().end(), columns.begin())) {
    faults.add(file + ": line 1: not the headings of this table");
    return std::vector<CsvRow>{};
  }
  rows->erase(rows->begin());
  std::size_t line = 1;
  std::vector<CsvRow> good;
  for (CsvRow& row : *rows) {
    ++line;
    if (row.size() == width) {
      row.resize(Count);
      good.push_back(std::move(row));
    } else {
      faults.add(
          fmt::format("{}: line {}: {} cells, {} are wanted", file, line, row.size(), width));
    }
  }
  return good;
}

using SoundsByFile = std::map<std::string, const ManifestSound*>;

void prove_keys(const std::vector<CsvRow>& rows, const SoundsByFile& sounds,
                const model::DecoderProfile& decoder, Faults& faults) {
  constexpr std::size_t first_file = 6;
  std::map<std::string, std::set<int>> keys_of;
  for (const CsvRow& row : rows) {
    const auto number =
        row[0].rfind('F', 0) == 0 ? whole(std::string_view(row[0]).substr(1), 0, 68) : std::nullopt;
    if (!number) {
      faults.add(fmt::format("keys.csv: {} is no key", row[0]));
      continue;
    }
    if (*number > decoder.highest_key) {
      faults.add(
          fmt::format("keys.csv: {}: the decoder has keys up to F{}", row[0], decoder.highest_key));
    }
    for (std::size_t i = first_file; i < row.size(); ++i) {
      if (row[i].empty()) continue;
      if (sounds.count(row[i]) == 0) {
        faults.add(fmt::format("keys.csv: {}: {} is not in the manifest", row[0], row[i]));
      }
      keys_of[row[i]].insert(*number);
    }
  }
  for (const auto& [file, sound] : sounds) {
    const std::set<int> wanted(sound->keys.begin(), sound->keys.end());
    if (keys_of[file] != wanted) {
      faults.add(fmt::format("keys.csv: the keys of {} are not those of the manifest", file));
    }
  }
}

void prove_cvs(const std::vector<CsvRow>& rows, Faults& faults) {
  for (const CsvRow& row : rows) {
    if (!whole(row[0], 1, 1024) || !whole(row[1], 0, 255)) {
      faults.add(fmt::format("cvs.csv: CV {} = {} is out of range", row[0], row[1]));
    }
  }
}

/// True when the figures of one end of a row follow from its speed, within their digits.
bool figures_agree(const CsvRow& row, std::size_t end, const model::Engine& engine) {
  const std::optional<double> speed_kmh = parse_number(row[2 + end]);
  const std::optional<double> rpm = parse_number(row[5 + end]);
  const std::string& interval = row[8 + end];
  if (!speed_kmh || !rpm || *speed_kmh < 0.0) return false;
  constexpr double half_digit_kmh = 0.0051;  // of a speed, and of a wheel's turns
  const double slack_rpm = wheel_rpm(half_digit_kmh, engine.driver_diameter_mm) + half_digit_kmh;
  if (std::abs(*rpm - wheel_rpm(*speed_kmh, engine.driver_diameter_mm)) > slack_rpm) return false;
  if (*speed_kmh < 2.0 * half_digit_kmh) return true;  // at rest: no interval, or a very long one
  const std::optional<double> interval_s = parse_number(interval);
  const double wanted_s =
      beat_interval_s(*speed_kmh, engine.driver_diameter_mm, engine.beats_per_rev);
  return interval_s && std::abs(*interval_s - wanted_s) <=
                           0.000051 + wanted_s * half_digit_kmh / (*speed_kmh - half_digit_kmh);
}

void prove_chuffs(const std::vector<CsvRow>& rows, const SoundsByFile& sounds,
                  const model::Engine& engine, Faults& faults) {
  std::map<std::string, std::vector<ChuffUse>> uses;
  for (const CsvRow& row : rows) {
    const std::string& file = row[14];
    const auto number = whole(row[0], 1, 1'000'000);
    const bool fused = row[11].empty() && row[12].empty();
    const auto revolution = fused ? std::optional<int>(0) : whole(row[11], 1, 1'000'000);
    const auto position = fused ? std::optional<int>(0) : whole(row[12], 1, 16);
    if (!number || !revolution || !position) {
      faults.add(fmt::format("chuffs.csv: {}: no row, revolution and position", file));
      continue;
    }
    if (sounds.count(file) == 0) {
      faults.add(fmt::format("chuffs.csv: {} is not in the manifest", file));
    }
    uses[file].push_back({*number, *revolution, *position, row[15], parse_number(row[16])});
    for (std::size_t end = 0; end < 3; ++end) {
      if (!figures_agree(row, end, engine)) {
        faults.add(
            fmt::format("chuffs.csv: row {}: its speed, turns and interval do not agree", row[0]));
      }
    }
  }
  const auto place = [](const ChuffUse& use) {
    return std::tuple(use.row, use.revolution, use.position);
  };
  for (const auto& [file, sound] : sounds) {
    const std::vector<ChuffUse>& found = uses[file];
    const std::vector<ChuffUse>& told = sound->chuffs;
    if (!std::equal(found.begin(), found.end(), told.begin(), told.end(),
                    [&](const ChuffUse& a, const ChuffUse& b) { return place(a) == place(b); })) {
      faults.add(fmt::format("chuffs.csv: the places of {} are not those of the manifest", file));
      continue;
    }
    for (std::size_t i = 0; i < told.size(); ++i) {
      // A table of an earlier version tells neither.
      if (found[i].condition.empty() || found[i] == told[i]) continue;
      faults.add(
          fmt::format("chuffs.csv: row {}: its condition or recorded speed is not the manifest's",
                      told[i].row));
    }
  }
}

}  // namespace

Status prove_tables(const std::filesystem::path& folder, const FileSizes& files,
                    const Manifest& manifest, const BundleLimits& limits, Faults& faults) {
  SoundsByFile sounds;
  for (const ManifestSound& sound : manifest.sounds)
    sounds.emplace(sound.file, &sound);
  const auto keys = read_table(folder, files, keys_name, keys_columns, limits, faults);
  if (!keys) return keys.error();
  prove_keys(*keys, sounds, manifest.decoder, faults);
  const auto cvs = read_table(folder, files, cvs_name, cvs_columns, limits, faults);
  if (!cvs) return cvs.error();
  prove_cvs(*cvs, faults);
  const auto chuffs =
      read_table(folder, files, chuffs_name, chuffs_columns, limits, faults, chuffs_columns_always);
  if (!chuffs) return chuffs.error();
  prove_chuffs(*chuffs, sounds, manifest.engine, faults);
  return ok();
}

}  // namespace fourbeat::deliver
