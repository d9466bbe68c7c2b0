// SPDX-License-Identifier: GPL-3.0-or-later
#include "context.h"
#include "stretch_options.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/files.h"
#include "fourbeat/base/speed_units.h"
#include "fourbeat/base/text.h"
#include "fourbeat/model/members.h"
#include "fourbeat/store/takes.h"
#include "fourbeat/work/session.h"
#include "fourbeat/work/tracked_take.h"

#include <fmt/format.h>

#include <algorithm>
#include <memory>

namespace fourbeat::cli {

namespace {

/// Seconds between the points of the speed curve that are printed.
constexpr double curve_step_s = 0.25;

struct BeatOptions {
  dsp::BeatHints hints;
  std::optional<double> scale_ratio;
  std::optional<std::int64_t> take;
};

/// What is printed, and of which file.
struct Heard {
  std::string file;
  int sample_rate_hz = 0;
  work::TrackedTake tracked;
  std::optional<double> scale_ratio;
};

Result<Heard> of_take(const StretchOptions& o, std::int64_t id, JobControl& job) {
  const Result<work::Session> session = work::Session::open(text_path(o.file));
  if (!session) return session.error();
  Result<work::TrackedTake> tracked =
      work::track_take(session->project(), session->folder(), Id<model::Take>(id), job);
  if (!tracked) {
    Error error = tracked.error();
    if (error.file.empty()) error.file = o.file;
    return error;
  }
  const model::Take* take = model::find(session->project(), Id<model::Take>(id));
  return Heard{take->path, take->sample_rate_hz, std::move(*tracked),
               session->project().engine.scale_ratio};
}

Result<Heard> of_recording(const StretchOptions& o, const dsp::BeatHints& hints,
                           std::optional<double> scale_ratio, JobControl& job) {
  Result<work::Stretch> stretch = stretch_of(o);
  if (!stretch) return stretch.error();
  if (o.channel.empty()) {
    const Result<int> channel = work::surest_channel(text_path(o.file), *stretch, hints, job);
    if (!channel) return channel.error();
    stretch->channel = *channel;
  }
  Result<work::TrackedTake> tracked = work::track_file(text_path(o.file), *stretch, hints, job);
  if (!tracked) return tracked.error();
  const Result<audio::SoundFileReader> reader = audio::SoundFileReader::open(text_path(o.file));
  if (!reader) return reader.error();
  return Heard{o.file, reader->info().sample_rate_hz, std::move(*tracked), scale_ratio};
}

std::string speed_text(double speed_kmh) {
  return fmt::format("{:.1f} km/h ({:.1f} mph)", speed_kmh, mph_of_kmh(speed_kmh));
}

/// Slowest and fastest of the curve over a stretch; none without a driver diameter.
std::string speeds_text(const dsp::SpeedCurve& speed, double from_s, double to_s,
                        std::optional<double> scale_ratio) {
  std::optional<double> slowest;
  std::optional<double> fastest;
  for (const dsp::SpeedPoint& point : speed.points(curve_step_s)) {
    if (point.time_s < from_s || point.time_s > to_s || !point.speed_kmh) continue;
    slowest = std::min(slowest.value_or(*point.speed_kmh), *point.speed_kmh);
    fastest = std::max(fastest.value_or(*point.speed_kmh), *point.speed_kmh);
  }
  if (!slowest) return {};
  std::string text = fmt::format(", {} to {}", speed_text(*slowest), speed_text(*fastest));
  if (scale_ratio) {
    text += fmt::format("; at 1:{:.6g} {:.0f} to {:.0f} mm/s", *scale_ratio,
                        model_speed_mm_s(*slowest, *scale_ratio),
                        model_speed_mm_s(*fastest, *scale_ratio));
  }
  return text;
}

void tell(const Heard& heard) {
  const work::TrackedTake& tracked = heard.tracked;
  const std::string from = tracked.channel > 0 ? fmt::format("channel {}", tracked.channel)
                                               : std::string("all channels");
  say(fmt::format("{}, {}: {} beats", heard.file, from, tracked.track.beats.size()));
  for (const dsp::BeatStretch& run : tracked.track.stretches) {
    const double from_s = static_cast<double>(run.range.start.value()) / heard.sample_rate_hz;
    const double to_s = static_cast<double>(run.range.end.value()) / heard.sample_rate_hz;
    say(fmt::format("  {:.3f} to {:.3f} s, median interval {:.1f} ms{}", from_s, to_s,
                    run.median_interval_s * 1000.0,
                    speeds_text(tracked.speed, from_s, to_s, heard.scale_ratio)));
  }
  if (tracked.pass_by) {
    const dsp::PassBy& pass_by = *tracked.pass_by;
    say(fmt::format(
        "  passes by at {:.1f} s, {:.1f} ± {:.1f} m off, at {}: the Doppler shift is "
        "taken out",
        pass_by.time_s, pass_by.distance_m, pass_by.distance_sd_m, speed_text(pass_by.speed_kmh)));
  }
}

Json json_of(const dsp::PassBy& pass_by) {
  return {{"time_s", number(pass_by.time_s, 3)},
          {"time_sd_s", number(pass_by.time_sd_s, 3)},
          {"distance_m", number(pass_by.distance_m, 2)},
          {"distance_sd_m", number(pass_by.distance_sd_m, 2)},
          {"speed_kmh", number(pass_by.speed_kmh, 3)},
          {"speed_sd_kmh", number(pass_by.speed_sd_kmh, 3)},
          {"speed_mph", number(mph_of_kmh(pass_by.speed_kmh), 3)},
          {"confidence", number(pass_by.confidence, 4)}};
}

Json json_of(const dsp::SpeedPoint& point, std::optional<double> scale_ratio) {
  std::optional<double> mph;
  std::optional<double> at_scale_mm_s;
  if (point.speed_kmh) mph = mph_of_kmh(*point.speed_kmh);
  if (point.speed_kmh && scale_ratio) {
    at_scale_mm_s = model_speed_mm_s(*point.speed_kmh, *scale_ratio);
  }
  return {{"time_s", number(point.time_s, 3)},
          {"turns_per_s", number(point.turns_per_s, 5)},
          {"turns_per_s_sd", number(point.turns_per_s_sd, 5)},
          {"speed_kmh", number(point.speed_kmh, 3)},
          {"speed_sd_kmh", number(point.speed_sd_kmh, 3)},
          {"speed_mph", number(mph, 3)},
          {"speed_at_scale_mm_s", number(at_scale_mm_s, 2)},
          {"acceleration_m_s2", number(point.acceleration_m_s2, 4)},
          {"acceleration_sd_m_s2", number(point.acceleration_sd_m_s2, 4)}};
}

Json json_of(const Heard& heard) {
  const work::TrackedTake& tracked = heard.tracked;
  Json json;
  json["file"] = heard.file;
  json["sample_rate_hz"] = heard.sample_rate_hz;
  json["channel"] = tracked.channel > 0 ? Json(tracked.channel) : Json("mix");
  json["beats"] = Json::array();
  for (std::size_t i = 0; i < tracked.track.beats.size(); ++i) {
    const dsp::Beat& beat = tracked.track.beats[i];
    const work::EffortSign& sign = tracked.signs[i];
    const std::optional<dsp::SpeedPoint> point = tracked.speed.at(beat.time_s);
    Json each;
    each["time_s"] = number(beat.time_s, 6);
    each["frame"] = beat.frame.value();
    each["strength"] = number(beat.strength, 4);
    each["confidence"] = number(beat.confidence, 4);
    each["tilt_db"] = number(beat.tilt_db, 2);
    each["position"] = beat.position ? Json(*beat.position) : Json(nullptr);
    each["speed_kmh"] = number(beat.speed_kmh, 3);
    each["speed_sd_kmh"] = number(point ? point->speed_sd_kmh : std::nullopt, 3);
    each["acceleration_m_s2"] = number(sign.acceleration_m_s2, 4);
    const bool judged = sign.sound || sign.acceleration_m_s2;
    each["effort"] = judged ? Json(model::word_of(tracked.efforts[i])) : Json(nullptr);
    std::optional<double> loudness;
    std::optional<double> length;
    if (sign.sound) {
      loudness = sign.sound->over_background_db;
      length = sign.sound->length_share;
    }
    each["over_background_db"] = number(loudness, 2);
    each["length_share"] = number(length, 3);
    json["beats"].push_back(std::move(each));
  }
  json["stretches"] = Json::array();
  for (const dsp::BeatStretch& run : tracked.track.stretches) {
    json["stretches"].push_back(
        {{"from_s", number(static_cast<double>(run.range.start.value()) / heard.sample_rate_hz, 6)},
         {"to_s", number(static_cast<double>(run.range.end.value()) / heard.sample_rate_hz, 6)},
         {"median_interval_s", number(run.median_interval_s, 6)},
         {"fused", run.fused}});
  }
  json["speed_curve"] = Json::array();
  for (const dsp::SpeedPoint& point : tracked.speed.points(curve_step_s))
    json["speed_curve"].push_back(json_of(point, heard.scale_ratio));
  json["measured_angles_deg"] = Json::array();
  for (const double angle : tracked.speed.measured_angles_deg())
    json["measured_angles_deg"].push_back(number(angle, 2));
  json["pass_by"] = tracked.pass_by ? json_of(*tracked.pass_by) : Json(nullptr);
  json["chuff_source"] = tracked.chuff_source;
  return json;
}

int beats(const StretchOptions& o, const BeatOptions& beat_options) {
  ConsoleJob job;
  const Result<Heard> heard =
      beat_options.take ? of_take(o, *beat_options.take, job)
                        : of_recording(o, beat_options.hints, beat_options.scale_ratio, job);
  if (!heard) return fail(heard.error());
  for (const Id<model::Mark> mark : heard->tracked.idle_marks)
    warn(fmt::format("{}: mark {} finds no beat to correct", heard->file, mark.value()));
  if (o.json) {
    print(json_of(*heard));
  } else {
    tell(*heard);
  }
  return exit_done;
}

}  // namespace

void add_beat_command(const Command& app) {
  auto stretch = std::make_shared<StretchOptions>();
  auto options = std::make_shared<BeatOptions>();
  app.add(
      "beats", "Exhaust beats of a recording, and the speed they tell",
      [=](const Command& c) {
        add_stretch(c, stretch);
        c.option("--driver-mm", options->hints.driver_diameter_mm, "Driver diameter in mm");
        c.option("--beats-per-rev", options->hints.beats_per_rev, "Beats a revolution");
        c.option("--top-kmh", options->hints.top_speed_kmh, "Top speed in km/h");
        c.option("--scale", options->scale_ratio,
                 "Real length over a model's, 87 for H0: speeds at scale are told too")
            .within(1.0, 1000.0);
        c.option("--take", options->take,
                 "FILE is a project: beats of this take, corrected by its marks")
            .excludes({"--channel", "--from", "--to", "--driver-mm", "--beats-per-rev", "--top-kmh",
                       "--scale"});
      },
      [=] { return beats(*stretch, *options); });
}

}  // namespace fourbeat::cli
