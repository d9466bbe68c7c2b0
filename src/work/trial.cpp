// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/trial.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"
#include "fourbeat/drive/motion.h"
#include "fourbeat/model/cv_values.h"
#include "fourbeat/model/members.h"
#include "fourbeat/store/data_files.h"
#include "fourbeat/store/takes.h"
#include "fourbeat/work/produce.h"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <cmath>

namespace fourbeat::work {

namespace {

using Json = nlohmann::ordered_json;

/// A figure rounded to `digits` after the point; null where there is none.
Json number(double value, int digits) {
  if (!std::isfinite(value)) return nullptr;
  const double scale = std::pow(10.0, digits);
  const double rounded = std::round(value * scale) / scale;
  return rounded == 0.0 ? 0.0 : rounded;  // no negative zero
}

Json event_json(const drive::Event& event, double rate) {
  Json json;
  json["time_s"] = number(static_cast<double>(event.frame) / rate, 6);
  switch (event.kind) {
    case drive::EventKind::beat:
      json["kind"] = "beat";
      json["speed_kmh"] = number(event.speed_kmh, 4);
      json["row"] = event.row.is_set() ? Json(event.row.value()) : Json(nullptr);
      json["effort"] = model::word_of(event.effort);
      json["position"] = event.position;
      json["turns"] = number(event.turns, 4);
      json["frame"] = event.frame;
      break;
    case drive::EventKind::state:
      json["kind"] = "state";
      json["state"] = event.text;
      break;
    case drive::EventKind::key:
      json["kind"] = "key";
      json["key"] = event.number;
      json["on"] = event.value != 0;
      break;
    case drive::EventKind::cv:
      json["kind"] = "cv";
      json["cv"] = event.number;
      json["value"] = event.value;
      break;
    case drive::EventKind::voice_start:
    case drive::EventKind::voice_end:
      json["kind"] = event.kind == drive::EventKind::voice_start ? "voice_start" : "voice_end";
      json["voice"] = event.number;
      json["sound"] = event.text;
      json["frame"] = event.frame;
      json["reason"] = event.reason;
      break;
    case drive::EventKind::speed:
      json["kind"] = "speed";
      json["speed_kmh"] = number(event.speed_kmh, 4);
      break;
    case drive::EventKind::own_state:
      json["kind"] = "own_state";
      json["state"] = event.text;
      json["on"] = event.value != 0;
      break;
    case drive::EventKind::effort:
      json["kind"] = "effort";
      json["effort"] = model::word_of(event.effort);
      break;
    case drive::EventKind::duty:
      json["kind"] = "duty";
      json["duty"] = event.text;
      break;
    case drive::EventKind::gauges:
      json["kind"] = "gauges";
      json["pressure_bar"] = number(event.pressure_bar, 3);
      json["fire"] = number(event.fire, 4);
      json["water"] = number(event.water, 4);
      break;
    case drive::EventKind::slip:
    case drive::EventKind::hold:
    case drive::EventKind::power:
      json["kind"] = event.kind == drive::EventKind::slip   ? "slip"
                     : event.kind == drive::EventKind::hold ? "hold"
                                                            : "power";
      json["on"] = event.value != 0;
      break;
  }
  return json;
}

}  // namespace

Result<TrialRun> trial_run(const model::Project& project,
                           const std::filesystem::path& project_folder, const model::RunCard& card,
                           bool stems, JobControl& job) {
  const Result<FittedSet> fitted = fit_project(project, project_folder, "", job);
  if (!fitted) return fitted.error();
  drive::DriveOptions options;
  options.stems = stems;
  Result<drive::DriveOutput> output = drive_fitted(project, *fitted, card, options, job);
  if (!output) return output.error();
  return TrialRun{card, fitted->profile, std::move(*output)};
}

Result<model::RunCard> load_listed_card(const std::filesystem::path& project_folder,
                                        const std::string& card_path) {
  // A card's path obeys the rules of a take's.
  model::Take as_take;
  as_take.path = card_path;
  const Result<std::filesystem::path> path = store::take_path(project_folder, as_take);
  if (!path) return path.error();
  return store::load_run_card(*path);
}

Result<std::string> listed_card_path(const std::filesystem::path& project_folder,
                                     const std::filesystem::path& file) {
  if (const Result<model::RunCard> card = store::load_run_card(file); !card) return card.error();
  std::error_code failed;
  const std::filesystem::path relative =
      std::filesystem::relative(file, project_folder.empty() ? "." : project_folder, failed);
  if (failed || relative.empty()) {
    return Error{ErrorCode::bad_input, path_text(file), {}, "no way there from the project", {}};
  }
  std::string text = path_text(relative.generic_string());
  if (!is_utf8(text)) {
    return Error{ErrorCode::bad_input, path_text(file), {}, "its path is no UTF-8", "rename it"};
  }
  // A card that lies outside the folder is refused here and not only when it is driven.
  if (const Result<model::RunCard> card = load_listed_card(project_folder, text); !card) {
    return card.error();
  }
  return text;
}

std::string card_template(const model::Project& project) {
  constexpr int speed_steps = 128;
  constexpr double start_s = 3.0;
  constexpr double rest_s = 4.0;
  constexpr double cruise_s = 10.0;
  const int last = model::last_step(speed_steps);
  const int half = last / 2;
  const auto ramp_s = [&](int cv, int adjustment_cv) {
    const int rate =
        drive::momentum_rate(model::cv_value(project, cv).value_or(drive::default_momentum_rate),
                             model::cv_value(project, adjustment_cv).value_or(0));
    return std::ceil(drive::seconds_per_step(rate, speed_steps) * half);
  };
  const double slow_s = start_s + ramp_s(3, 23) + cruise_s;
  Json card;
  card["format"] = "fourbeat-runcard";
  card["version"] = 1;
  card["title"] = "Away, half speed, and back to rest";
  card["seed"] = 1;
  card["seconds"] = slow_s + ramp_s(4, 24) + rest_s;
  card["speed_steps"] = speed_steps;
  card["moves"] = Json::array();
  const auto key =
      std::min_element(project.keys.begin(), project.keys.end(),
                       [](const auto& a, const auto& b) { return a.number < b.number; });
  if (key != project.keys.end()) {
    card["moves"].push_back({{"time_s", 1.0}, {"key", key->number}, {"on", true}});
    card["moves"].push_back({{"time_s", 2.0}, {"key", key->number}, {"on", false}});
  }
  card["moves"].push_back({{"time_s", start_s}, {"throttle_step", half}});
  card["moves"].push_back({{"time_s", slow_s}, {"throttle_step", 0}});
  return card.dump(2) + "\n";
}

std::string drive_log(const drive::DriveOutput& output) {
  Json json;
  json["sample_rate_hz"] = output.sample_rate_hz;
  json["beats_per_turn"] =
      output.beats_per_turn ? number(*output.beats_per_turn, 4) : Json(nullptr);
  json["voices_peak"] = output.voices_peak;
  json["voices_wanted_peak"] = output.voices_wanted_peak;
  json["true_peak_dbtp"] =
      output.true_peak_dbtp ? number(*output.true_peak_dbtp, 2) : Json(nullptr);
  json["true_peak_s"] = output.true_peak_dbtp ? number(output.true_peak_s, 3) : Json(nullptr);
  json["events"] = Json::array();
  for (const drive::Event& event : output.events)
    json["events"].push_back(event_json(event, output.sample_rate_hz));
  return json.dump(1) + "\n";
}

Status write_drive(const model::Project& project, const std::filesystem::path& project_folder,
                   const drive::DriveOutput& output, const std::filesystem::path& wav,
                   const std::filesystem::path& log, JobControl& job) {
  for (const std::filesystem::path& path : {wav, log}) {
    if (path.empty()) continue;
    if (Status safe = store::refuse_takes_as_output(project, project_folder, path); !safe) {
      return safe;
    }
  }
  const std::string told = log.empty() ? std::string() : drive_log(output);
  if (job.cancelled()) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
  if (!wav.empty()) {
    const audio::Pcm pcm{static_cast<double>(output.sample_rate_hz), {output.mix}};
    if (Status wrote = audio::write_wav(wav, pcm, audio::WavDepth::s24); !wrote) return wrote;
  }
  if (log.empty()) return ok();
  return write_file_atomically(log, told);
}

}  // namespace fourbeat::work
