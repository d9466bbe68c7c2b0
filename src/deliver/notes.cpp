// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/deliver/notes.h"

#include "digits.h"
#include "sheet_blocks.h"
#include "tables.h"

#include "fourbeat/base/speed_units.h"
#include "fourbeat/base/wheel.h"
#include "fourbeat/model/members.h"
#include "fourbeat/model/piece.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

namespace fourbeat::deliver {

namespace {

std::string or_else(const std::string& text, const std::string& fallback) {
  return text.empty() ? fallback : text;
}

std::string effort_words(model::Effort effort) {
  switch (effort) {
    case model::Effort::drifting:
      return "drifting, steam off";
    case model::Effort::easy:
      return "working easily";
    case model::Effort::hard:
      return "working hard";
  }
  return {};
}

/// What goes behind the words for the effort.
std::string condition_words(model::Condition condition) {
  switch (condition) {
    case model::Condition::normal:
      return {};
    case model::Condition::cocks_open:
      return ", cylinder cocks open";
    case model::Condition::heavy_start:
      return ", starting a heavy train";
    case model::Condition::slip:
      return ", slipping";
  }
  return {};
}

std::string category_words(model::Category category) {
  std::string words(model::word_of(category));
  std::replace(words.begin(), words.end(), '_', ' ');
  return words;
}

/// How a held sound begins and ends, in words.
std::string held_parts(const model::Sound& sound) {
  if (sound.begin.is_set() && sound.release.is_set()) return ", with its own beginning and end";
  if (sound.begin.is_set()) return ", with its own beginning";
  if (sound.release.is_set()) return ", with its own end";
  return {};
}

std::string how_it_plays(const model::Sound& sound) {
  return sound.kind == model::SoundKind::one_shot ? "once"
                                                  : "as long as it is wanted" + held_parts(sound);
}

std::string what_happens(const model::Key& key, const model::Sound* sound) {
  if (sound == nullptr) return "no sound";
  if (sound->kind == model::SoundKind::one_shot) {
    return fmt::format("“{}” plays once", sound->name);
  }
  return key.mode == model::KeyMode::momentary
             ? fmt::format("“{}” sounds while the key is held{}", sound->name, held_parts(*sound))
             : fmt::format("“{}” sounds until the key is switched off{}", sound->name,
                           held_parts(*sound));
}

void add_contents(const model::Project& project, Sheet& sheet) {
  std::size_t revolutions = 0;
  for (const model::ChuffRow& row : project.chuffs.rows)
    revolutions += row.revolutions.size();
  sheet.blocks.push_back(heading("What is in it"));
  std::string words =
      fmt::format("{}, {}", count_of(project.sounds.size(), "sound", "sounds"),
                  count_of(project.keys.size(), "use of a function key", "uses of function keys"));
  if (!project.chuffs.rows.empty()) {
    words +=
        fmt::format(", and the exhaust in {} of speed and effort with {} of the driving wheels",
                    count_of(project.chuffs.rows.size(), "row", "rows"),
                    count_of(revolutions, "recorded turn", "recorded turns"));
  }
  sheet.blocks.push_back(paragraph(words + "."));
  if (project.sounds.empty()) return;
  std::vector<Cells> rows;
  for (const model::Sound& sound : project.sounds)
    rows.push_back({sound.name, category_words(sound.category), how_it_plays(sound)});
  sheet.blocks.push_back(table({"Sound", "Sort", "Plays"}, std::move(rows)));
}

void add_keys(const model::Project& project, Sheet& sheet) {
  sheet.blocks.push_back(heading("Function keys"));
  if (project.keys.empty()) {
    sheet.blocks.push_back(paragraph("This set uses no function key."));
    return;
  }
  std::vector<const model::Key*> keys;
  bool one_way = false;
  for (const model::Key& key : project.keys) {
    keys.push_back(&key);
    one_way = one_way || key.direction != model::KeyDirection::any;
  }
  std::stable_sort(keys.begin(), keys.end(),
                   [](const model::Key* a, const model::Key* b) { return a->number < b->number; });
  std::vector<Cells> rows;
  for (const model::Key* key : keys) {
    const model::Sound* sound = model::find(project, key->sound);
    Cells row{fmt::format("F{}", key->number), key->label, what_happens(*key, sound),
              key->mode == model::KeyMode::momentary ? "hold it down" : "press on, press off"};
    if (one_way) {
      row.emplace_back(key->direction == model::KeyDirection::forward   ? "forwards only"
                       : key->direction == model::KeyDirection::reverse ? "backwards only"
                                                                        : "either way");
    }
    rows.push_back(std::move(row));
  }
  Cells columns{"Key", "Label", "What happens", "How to press"};
  if (one_way) columns.emplace_back("When driving");
  sheet.blocks.push_back(table(std::move(columns), std::move(rows)));
}

const model::Cv* cv_of(const model::Project& project, int number) {
  const auto found = std::find_if(project.cvs.begin(), project.cvs.end(),
                                  [&](const model::Cv& cv) { return cv.number == number; });
  return found == project.cvs.end() ? nullptr : &*found;
}

/// NMRA S-9.2.2, CVs 3 and 4: seconds a speed step are value × 0.896 over the steps in use, so
/// the whole range takes value × 0.896.
void add_momentum(const model::Project& project, Sheet& sheet) {
  constexpr double seconds_a_unit = 0.896;
  const auto sentence = [&](int number, const char* what) {
    const model::Cv* cv = cv_of(project, number);
    if (cv == nullptr) return;
    sheet.blocks.push_back(paragraph(
        cv->value == 0 ? fmt::format("CV {} is 0: {} at once.", number, what)
                       : fmt::format("CV {} is {}: {} in about {} seconds.", number, cv->value,
                                     what, up_to(cv->value * seconds_a_unit, 1))));
  };
  sentence(3, "from rest to full speed");
  sentence(4, "from full speed to rest");
}

void add_driving(const model::Project& project, Sheet& sheet) {
  const model::Engine& engine = project.engine;
  sheet.blocks.push_back(heading("How it drives"));
  sheet.blocks.push_back(paragraph(fmt::format(
      "The chuffs follow the wheels: {} to every turn of driving wheels {} mm across. At {} km/h "
      "they turn {} times a minute. Speeds are those of the real engine.",
      count_of(static_cast<std::size_t>(std::max(engine.beats_per_rev, 0)), "beat", "beats"),
      up_to(engine.driver_diameter_mm, 0), up_to(engine.top_speed_kmh, 0),
      up_to(wheel_rpm(engine.top_speed_kmh, engine.driver_diameter_mm), 0))));
  if (engine.scale_ratio) {
    sheet.blocks.push_back(paragraph(
        fmt::format("A model of scale 1:{} looks as fast at {} mm a second: {} km/h ({} mph) of "
                    "the real engine.",
                    up_to(*engine.scale_ratio, 1),
                    up_to(model_speed_mm_s(engine.top_speed_kmh, *engine.scale_ratio), 0),
                    up_to(engine.top_speed_kmh, 0), up_to(mph_of_kmh(engine.top_speed_kmh), 0))));
  }
  add_momentum(project, sheet);
  if (project.chuffs.rows.empty()) return;
  std::vector<Cells> rows;
  for (const model::ChuffRow& row : project.chuffs.rows) {
    const RowFigures figures = row_figures(row, engine);
    const std::string slowest = row.from_kmh > 0.0 ? fixed(figures.from.interval_s, 2) : "rest";
    std::string stored = fmt::format("{}", row.revolutions.size());
    if (row.fused) {
      if (row.revolutions.empty()) {
        stored = "a loop";
      } else {
        stored += " and a loop";
      }
    }
    if (row.derived)
      stored += fmt::format(", made from {} km/h", up_to(row.derived->recorded_kmh, 1));
    rows.push_back({effort_words(row.effort) + condition_words(row.condition),
                    fmt::format("{} to {}", up_to(row.from_kmh, 1), up_to(row.to_kmh, 1)),
                    fmt::format("{} to {}", up_to(figures.from.rpm, 0), up_to(figures.to.rpm, 0)),
                    fmt::format("{} to {}", slowest, fixed(figures.to.interval_s, 2)),
                    std::move(stored)});
  }
  sheet.blocks.push_back(table(
      {"Engine", "Speed, km/h", "Wheel turns a minute", "Seconds between beats", "Turns stored"},
      std::move(rows)));
}

void add_cvs(const model::Project& project, Sheet& sheet) {
  sheet.blocks.push_back(heading("CVs"));
  if (project.cvs.empty()) {
    sheet.blocks.push_back(paragraph("This set asks for no CV of its own."));
    return;
  }
  sheet.blocks.push_back(paragraph("The values the set was made with:"));
  std::vector<Cells> rows;
  for (const model::Cv& cv : project.cvs)
    rows.push_back(
        {fmt::format("CV {}", cv.number), fmt::format("{}", cv.value), cv.name, cv.note});
  sheet.blocks.push_back(table({"CV", "Value", "Name", "Note"}, std::move(rows)));
}

std::string list_words(const std::vector<int>& numbers, const char* unit) {
  std::string words;
  for (const int number : numbers)
    words += fmt::format("{}{}", words.empty() ? "" : ", ", number);
  return words + unit;
}

void add_decoder(const model::DecoderProfile* profile, Sheet& sheet) {
  sheet.blocks.push_back(heading("The decoder it is made for"));
  if (profile == nullptr) {
    sheet.blocks.push_back(paragraph("No decoder class is chosen for this set yet."));
  } else {
    sheet.blocks.push_back(paragraph(fmt::format(
        "The set is made for the class “{}”{}. A decoder suits it when it offers at least these "
        "figures; look for them in its data sheet.",
        profile->name,
        profile->invented ? ", an invented class of decoders that stands for no product" : "")));
    sheet.blocks.push_back(table(
        {"What", "Figure"}, {{"Memory for sounds", fmt::format("{} bytes", profile->memory_bytes)},
                             {"Sounds at once", fmt::format("{}", profile->voices)},
                             {"Sounds stored", fmt::format("{}", profile->max_sounds)},
                             {"Output rate", fmt::format("{} Hz", profile->output_rate_hz)},
                             {"Sample rates", list_words(profile->sample_rates_hz, " Hz")},
                             {"Sample depths", list_words(profile->bits, " bits")},
                             {"Function keys", fmt::format("F0 to F{}", profile->highest_key)}}));
  }
  sheet.blocks.push_back(paragraph(
      "How sounds are loaded into a decoder is the decoder maker's business: follow the maker's "
      "own instructions and use the maker's own tools."));
}

void add_cautions(Sheet& sheet) {
  sheet.blocks.push_back(heading("Before you run it"));
  for (const char* text :
       {"Follow the decoder maker's instructions for fitting, wiring and loading; where they and "
        "these notes differ, they come first.",
        "Keep track voltage and current within the limits of the decoder, the speaker and the "
        "model; switch off before you open the model or touch its wiring.",
        "Speakers, magnets, screws and clips are small parts: keep them away from small children.",
        "The emergency stop of your command station works whatever the keys do, a brake key "
        "included. Know where it is before the first run.",
        "The rules of the place where you run, and the law there, go before anything said here."})
    sheet.blocks.push_back(caution(text));
}

void add_rights(const model::Project& project, Sheet& sheet) {
  std::set<Id<model::Pass>> used;
  for (const model::Piece& piece : model::list_pieces(project))
    used.insert(piece.source.pass);
  std::vector<Cells> rows;
  for (const model::Pass& pass : project.passes) {
    if (used.count(pass.id) == 0) continue;
    const model::Rights rights = pass.rights.value_or(model::Rights{});
    rows.push_back({or_else(pass.name, "recording"), or_else(rights.owner, "not recorded"),
                    or_else(rights.purpose, "not recorded"),
                    pass.rights ? or_else(rights.until, "no end") : "not recorded"});
  }
  sheet.blocks.push_back(heading("Rights and credits"));
  if (!project.author.empty()) {
    sheet.blocks.push_back(paragraph(fmt::format("Made by {}.", project.author)));
  }
  if (rows.empty()) {
    sheet.blocks.push_back(paragraph("No recording is in use."));
    return;
  }
  sheet.blocks.push_back(paragraph("The recordings in use, and what they may be used for:"));
  sheet.blocks.push_back(
      table({"Recording", "With permission of", "For", "Until"}, std::move(rows)));
}

}  // namespace

std::string count_of(std::size_t count, const std::string& one, const std::string& many) {
  return count == 1 ? "one " + one : fmt::format("{} {}", count, many);
}

Sheet notes_sheet(const model::Project& project, const model::DecoderProfile* profile) {
  Sheet sheet;
  sheet.title = or_else(project.title, "Untitled sound set");
  sheet.subtitle = "User notes";
  if (!project.author.empty()) sheet.subtitle += ", by " + project.author;
  if (!project.date.empty()) sheet.subtitle += ", " + project.date;
  sheet.blocks.push_back(
      paragraph(project.engine.name.empty()
                    ? std::string("A sound set for the model of a steam locomotive.")
                    : fmt::format("A sound set for a model of the steam locomotive {}.",
                                  project.engine.name)));
  if (!project.user_notes.empty()) {
    sheet.blocks.push_back(heading("From the designer"));
    sheet.blocks.push_back(markdown(project.user_notes));
  }
  add_contents(project, sheet);
  add_keys(project, sheet);
  add_driving(project, sheet);
  add_cvs(project, sheet);
  add_decoder(profile, sheet);
  add_cautions(sheet);
  add_rights(project, sheet);
  return sheet;
}

}  // namespace fourbeat::deliver
