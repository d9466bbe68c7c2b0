// SPDX-License-Identifier: GPL-3.0-or-later
#include "digits.h"
#include "sheet_blocks.h"

#include "fourbeat/base/wheel.h"
#include "fourbeat/deliver/sheets.h"

#include <fmt/format.h>

#include <array>

namespace fourbeat::deliver {

namespace {

/// A sound that a set usually needs. Common practice, no source.
struct Wanted {
  model::Category category;
  const char* sound;
  const char* microphone;
  const char* engine;
};

constexpr std::array wanted_sounds{
    Wanted{model::Category::exhaust, "Beats, working hard from rest upward", "chimney",
           "starting with a load, regulator well open, no slipping; ten turns or more a speed"},
    Wanted{model::Category::exhaust, "Beats, working easily at each speed", "chimney",
           "steady speeds from a walk to the highest allowed, short cut-off"},
    Wanted{model::Category::exhaust, "Drifting, steam off", "chimney and motion",
           "coasting from the highest speed allowed to a stand"},
    Wanted{model::Category::motion, "Rods and motion", "motion", "drifting slowly, no steam"},
    Wanted{model::Category::whistle, "Whistle, short and long", "cab roof or lineside, 5 m away",
           "standing; one short, one of four seconds or more held steady, each three times"},
    Wanted{model::Category::bell, "Bell, where there is one", "bell side", "standing"},
    Wanted{model::Category::safety_valve, "Safety valves lifting, blowing, closing",
           "lineside, well clear of the steam", "standing, pressure at the blowing-off mark"},
    Wanted{model::Category::pump, "Air or feed pump, from start to stop", "pump side",
           "standing; also the pump alone with the engine quiet"},
    Wanted{model::Category::injector, "Injector starting, running, stopping", "firebox side",
           "standing, injector set by the crew"},
    Wanted{model::Category::ambience, "Simmer: the engine quiet", "firebox side and chimney",
           "standing, no pump, no injector; one minute or more for a loop"},
    Wanted{model::Category::voice, "Crew calls, if the crew agree", "cab", "standing"},
    Wanted{model::Category::other, "Shovel, fire door, brake, coupling", "cab or lineside",
           "standing; each three times"}};

/// Names of the project's sounds of a category, for the sheet.
std::string at_hand(const model::Project& project, const Wanted& wanted) {
  if (wanted.category == model::Category::exhaust && !project.chuffs.rows.empty()) {
    return count_of(project.chuffs.rows.size(), "chuff row", "chuff rows");
  }
  std::string names;
  for (const model::Sound& sound : project.sounds) {
    if (sound.category != wanted.category) continue;
    names += (names.empty() ? "" : ", ") + sound.name;
    if (model::segments_of(sound).empty()) names += " (no segment yet)";
  }
  return names.empty() ? "nothing yet" : names;
}

}  // namespace

Sheet day_sheet(const model::Project& project) {
  Sheet sheet;
  sheet.title = "Recording day: " + (project.title.empty() ? "untitled set" : project.title);
  sheet.subtitle = project.engine.name;
  sheet.blocks.push_back(heading("First of all"));
  for (const char* text :
       {"Record only with permission, and with a competent person in charge who knows that you are "
        "there and what you are doing.",
        "Go on or near the line, the engine or the footplate only under the railway's rules and as "
        "its people tell you. Their word ends any recording at once.",
        "Keep clear of moving and hot parts, steam, drain cocks and blow-down. An engine can move "
        "without warning.",
        "Wear hearing protection near whistles, safety valves and a working chimney: loud enough "
        "to harm is common there.",
        "Secure every microphone, stand and cable so that nothing can fall, catch fire, foul the "
        "motion or trip the crew. Fix nothing to the engine without its crew.",
        "The railway's rules and local law go before anything on this sheet."})
    sheet.blocks.push_back(caution(text));

  sheet.blocks.push_back(heading("Sounds wanted"));
  std::vector<Cells> rows;
  rows.reserve(wanted_sounds.size());
  for (const Wanted& wanted : wanted_sounds) {
    rows.push_back({wanted.sound, wanted.microphone, wanted.engine, at_hand(project, wanted), "☐"});
  }
  sheet.blocks.push_back(table(
      {"Sound", "Microphone", "State of the engine", "In the project", "Done"}, std::move(rows)));
  const model::Engine& engine = project.engine;
  if (engine.driver_diameter_mm > 0.0 && engine.beats_per_rev > 0) {
    sheet.blocks.push_back(heading("Beats and speed"));
    sheet.blocks.push_back(paragraph(fmt::format(
        "Driving wheels {} mm across, {} a turn: count beats over ten seconds to know the speed.",
        up_to(engine.driver_diameter_mm, 0),
        count_of(static_cast<std::size_t>(engine.beats_per_rev), "beat", "beats"))));
    std::vector<Cells> speeds;
    for (double speed_kmh = 10.0; speed_kmh <= engine.top_speed_kmh; speed_kmh += 10.0) {
      const double beats_a_second =
          1.0 / beat_interval_s(speed_kmh, engine.driver_diameter_mm, engine.beats_per_rev);
      speeds.push_back({fixed(speed_kmh, 0), fixed(10.0 * beats_a_second, 0),
                        fixed(wheel_rpm(speed_kmh, engine.driver_diameter_mm), 0)});
    }
    sheet.blocks.push_back(
        table({"km/h", "Beats in ten seconds", "Wheel turns a minute"}, std::move(speeds)));
  }

  sheet.blocks.push_back(heading("Log"));
  sheet.blocks.push_back(paragraph(
      "One line a pass; say the slate aloud at its start and clap once in front of every recorder. "
      "Note whose engine it is, what the recording may be used for, and until when."));
  constexpr int log_lines = 12;
  std::vector<Cells> log;
  for (int i = 1; i <= log_lines; ++i)
    log.push_back({fmt::format("{}", i), "", "", "", "", "", ""});
  sheet.blocks.push_back(table(
      {"Slate", "Time", "Regulator", "Cut-off", "Gradient", "Load", "Remarks"}, std::move(log)));
  return sheet;
}

}  // namespace fourbeat::deliver
