// SPDX-License-Identifier: GPL-3.0-or-later
#include "context.h"

#include "fourbeat/audio/take_report.h"
#include "fourbeat/base/text.h"
#include "fourbeat/work/add_takes.h"
#include "fourbeat/work/session.h"

#include <fmt/format.h>

#include <memory>

namespace fourbeat::cli {

namespace {

struct AddOptions {
  std::string project;
  std::vector<std::string> files;
  std::vector<std::string> mics;
  std::string pass;
};

int add_takes(const AddOptions& options) {
  ConsoleJob job;
  std::map<int, std::string> positions;
  for (const std::string& mic : options.mics) {
    const std::size_t equals = mic.find('=');
    const std::optional<double> channel =
        parse_number(std::string_view(mic).substr(0, std::min(equals, mic.size())));
    if (equals == std::string::npos || !channel || *channel < 1 || *channel > 1024 ||
        *channel != static_cast<int>(*channel)) {
      return fail(Error{ErrorCode::bad_argument, {}, "--mic", mic, "give it as 1=chimney"});
    }
    positions[static_cast<int>(*channel)] = mic.substr(equals + 1);
  }
  Result<work::Session> session = work::Session::open_to_change(text_path(options.project));
  if (!session) return fail(session.error());
  std::vector<std::filesystem::path> files;
  for (const std::string& file : options.files)
    files.push_back(text_path(file));
  const Result<work::DescribedTakes> described =
      work::describe_takes(session->project(), session->folder(), files, positions, job);
  if (!described) return fail(described.error());
  if (!described->refused.empty()) return fail(described->refused.front());
  for (const std::filesystem::path& file : described->already)
    warn(fmt::format("{}: it is a take of the project already", path_text(file)));
  const Result<work::AddedTakes> added =
      work::edits_to_add(session->project(), session->folder(), described->takes, options.pass);
  if (!added) return fail(added.error());
  if (!added->edits.empty()) {
    if (const Result<model::Edit> done = session->perform(added->edits); !done) {
      return fail(done.error());
    }
    if (const Status saved = session->save(); !saved) return fail(saved.error());
  }
  for (const model::Take& take : added->takes) {
    say(fmt::format("take {}: {}, {} channels, {} Hz, {:.2f} s", take.id.value(), take.path,
                    take.channels, take.sample_rate_hz,
                    static_cast<double>(take.frames.value()) / take.sample_rate_hz));
  }
  return exit_done;
}

Json channel_json(const audio::ChannelReport& c) {
  Json json;
  json["peak_dbfs"] = number(c.peak_dbfs, 2);
  json["rms_dbfs"] = number(c.rms_dbfs, 2);
  json["loudness_lufs"] = number(c.loudness_lufs, 2);
  json["noise_floor_dbfs"] = number(c.noise_floor_dbfs, 2);
  json["true_peak_dbtp"] = number(c.true_peak_dbtp, 2);
  json["flat_tops"] = c.flat_tops;
  json["dc_offset"] = number(c.dc_offset, 6);
  json["hum_hz"] = number(c.hum_hz, 1);
  json["hum_db"] = number(c.hum_db, 1);
  json["wind_db"] = number(c.wind_db, 1);
  json["dropouts"] = c.dropouts;
  return json;
}

int report(const std::vector<std::string>& files, bool as_json) {
  ConsoleJob job;
  Json all = Json::array();
  for (const std::string& file : files) {
    const Result<audio::TakeReport> report = audio::report_take(text_path(file), job);
    if (!report) return fail(report.error());
    const audio::SoundFileInfo& info = report->info;
    if (!as_json) {
      say(fmt::format("{}: {}, {} channels, {} Hz, {:.2f} s", file, info.format, info.channels,
                      info.sample_rate_hz,
                      static_cast<double>(info.frames.value()) / info.sample_rate_hz));
      int n = 0;
      for (const audio::ChannelReport& c : report->channels) {
        say(
            fmt::format("  channel {}: peak {}, true peak {}, rms {}, loudness {}, floor {}, "
                        "flat tops {}, dropouts {}, hum {} at {}, wind {}",
                        ++n, figure(c.peak_dbfs, "dBFS"), figure(c.true_peak_dbtp, "dBTP"),
                        figure(c.rms_dbfs, "dBFS"), figure(c.loudness_lufs, "LUFS"),
                        figure(c.noise_floor_dbfs, "dBFS"), c.flat_tops, c.dropouts,
                        figure(c.hum_db, "dB"), figure(c.hum_hz, "Hz"), figure(c.wind_db, "dB")));
      }
      continue;
    }
    Json json;
    json["file"] = file;
    json["format"] = info.format;
    json["sample_rate_hz"] = info.sample_rate_hz;
    json["frames"] = info.frames.value();
    json["channels"] = Json::array();
    for (const audio::ChannelReport& c : report->channels) {
      json["channels"].push_back(channel_json(c));
    }
    all.push_back(std::move(json));
  }
  if (as_json) print(all.size() == 1 ? all.front() : Json{{"takes", all}});
  return exit_done;
}

}  // namespace

void add_take_commands(const Command& app) {
  const Command take = app.group("take", "Bring takes in, and see what they are like");
  auto options = std::make_shared<AddOptions>();
  take.add(
      "add", "Add takes to a project",
      [=](const Command& c) {
        c.option("PROJECT", options->project, "Project file").required();
        c.option("FILE", options->files, "Recordings").required();
        c.option("--mic", options->mics, "Microphone position of a channel, as 1=chimney")
            .repeatable();
        c.option("--pass", options->pass, "Pass they were recorded in, on one clock");
      },
      [=] { return add_takes(*options); });
  auto files = std::make_shared<std::vector<std::string>>();
  auto json = std::make_shared<bool>(false);
  take.add(
      "report", "Levels, flat tops, hum, wind, dropouts and noise floor of recordings",
      [=](const Command& c) {
        c.option("FILE", *files, "Recordings").required();
        c.flag("--json", *json, "Print JSON");
      },
      [=] { return report(*files, *json); });
}

}  // namespace fourbeat::cli
