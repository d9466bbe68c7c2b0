// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/tracked_take.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"
#include "fourbeat/store/takes.h"
#include "fourbeat/work/beat_edits.h"
#include "fourbeat/work/file_source.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

namespace fourbeat::work {

namespace {

using BeatSounds = std::vector<std::optional<dsp::BeatSound>>;

std::vector<model::Mark> marks_of(const model::Project& project, Id<model::Take> take) {
  std::vector<model::Mark> marks;
  std::copy_if(project.marks.begin(), project.marks.end(), std::back_inserter(marks),
               [&](const model::Mark& mark) { return mark.take == take; });
  return marks;
}

std::optional<int> chimney_channel(const model::Take& take) {
  for (std::size_t c = 0; c < take.microphones.size(); ++c) {
    if (take.microphones[c].find("chimney") != std::string::npos) return static_cast<int>(c) + 1;
  }
  return std::nullopt;
}

Error no_take(Id<model::Take> id) {
  return Error{ErrorCode::not_found, {}, "--take", fmt::format("no take {}", id.value()), {}};
}

Error of_file(Error error, const std::filesystem::path& file) {
  if (error.file.empty()) error.file = path_text(file);
  return error;
}

bool is_fused(const dsp::BeatTrack& track, FrameIndex frame) {
  return std::any_of(track.stretches.begin(), track.stretches.end(), [&](const auto& stretch) {
    return stretch.fused && stretch.range.start <= frame && frame < stretch.range.end;
  });
}

/// Everything but what the project says of the take.
Result<TrackedTake> measured(dsp::BeatTrack track, const BeatSounds& sounds,
                             const dsp::WheelParams& wheel) {
  TrackedTake tracked;
  tracked.track = std::move(track);
  const Result<std::optional<dsp::PassBy>> pass_by = dsp::find_pass_by(tracked.track, wheel);
  if (!pass_by) return pass_by.error();
  tracked.pass_by = *pass_by;
  Result<dsp::SpeedCurve> speed = dsp::measure_speed(tracked.track, wheel, tracked.pass_by);
  if (!speed) return speed.error();
  tracked.speed = std::move(*speed);
  for (std::size_t i = 0; i < tracked.track.beats.size(); ++i) {
    dsp::Beat& beat = tracked.track.beats[i];
    EffortSign sign;
    sign.frame = beat.frame;
    // Fused beats leave no quiet between them to stand out from.
    if (i < sounds.size() && !is_fused(tracked.track, beat.frame)) sign.sound = sounds[i];
    if (const std::optional<dsp::SpeedPoint> point = tracked.speed.at(beat.time_s)) {
      beat.speed_kmh = point->speed_kmh;
      sign.acceleration_m_s2 = point->acceleration_m_s2;
      sign.acceleration_sd_m_s2 = point->acceleration_sd_m_s2;
    }
    tracked.signs.push_back(sign);
  }
  return tracked;
}

}  // namespace

int chuff_channel(const model::Take& take) {
  return chimney_channel(take).value_or(1);
}

dsp::BeatHints beat_hints(const model::Engine& engine) {
  dsp::BeatHints hints;
  hints.driver_diameter_mm = engine.driver_diameter_mm;
  hints.beats_per_rev = engine.beats_per_rev;
  hints.top_speed_kmh = engine.top_speed_kmh;
  return hints;
}

dsp::WheelParams wheel_params(const model::Engine& engine) {
  dsp::WheelParams wheel;
  wheel.driver_diameter_mm = engine.driver_diameter_mm;
  wheel.beats_per_rev = engine.beats_per_rev;
  wheel.beat_angles_deg = engine.beat_angles_deg;
  return wheel;
}

Result<TrackedTake> measure_take(const model::Project& project, Id<model::Take> id, int channel,
                                 dsp::BeatTrack track, const BeatSounds& sounds) {
  const model::Take* take = model::find(project, id);
  if (take == nullptr) return no_take(id);
  Result<TrackedTake> tracked = measured(std::move(track), sounds, wheel_params(project.engine));
  if (!tracked) return tracked;
  tracked->take = id;
  tracked->channel = channel;
  tracked->chuff_source = take->chuff_source.value_or(!tracked->pass_by.has_value());
  judge_takes(project, std::span(&*tracked, 1));
  return tracked;
}

Result<TrackedTake> track_take(const model::Project& project,
                               const std::filesystem::path& project_folder, Id<model::Take> id,
                               JobControl& job) {
  const model::Take* take = model::find(project, id);
  if (take == nullptr) return no_take(id);
  const Result<std::filesystem::path> path = store::take_path(project_folder, *take);
  if (!path) return path.error();
  const dsp::BeatHints hints = beat_hints(project.engine);
  Result<int> heard = chimney_channel(*take).value_or(1);
  if (!chimney_channel(*take)) heard = surest_channel(*path, {}, hints, job);
  if (!heard) return heard.error();
  const int channel = *heard;
  Result<FileSource> source = FileSource::open(*path, {channel, std::nullopt, std::nullopt});
  if (!source) return source.error();
  const double rate = source->info().sample_rate_hz;
  const FrameIndex start = source->range().start;
  const Result<dsp::BeatTrack> track = beats_of_source(*source, hints, job);
  if (!track) return of_file(track.error(), *path);
  const MarkedCorrections marked = corrections_of(project, id);
  Result<dsp::CorrectedBeats> corrected =
      dsp::correct_beats(*track, marked.corrections, *source, rate, start, hints, job);
  if (!corrected) return of_file(corrected.error(), *path);
  const Result<BeatSounds> sounds =
      dsp::measure_beat_sounds(*source, rate, corrected->track, start, job);
  if (!sounds) return of_file(sounds.error(), *path);
  Result<TrackedTake> tracked =
      measure_take(project, id, channel, std::move(corrected->track), *sounds);
  if (!tracked) return tracked;
  for (const std::size_t idle : corrected->idle)
    tracked->idle_marks.push_back(marked.marks[idle]);
  return tracked;
}

Result<int> surest_channel(const std::filesystem::path& file, const Stretch& stretch,
                           const dsp::BeatHints& hints, JobControl& job) {
  // The middle ten minutes bound what several channels cost.
  constexpr std::int64_t longest_s = 600;
  const Result<FileSource> whole =
      FileSource::open(file, {std::nullopt, stretch.from_s, stretch.to_s});
  if (!whole) return whole.error();
  const audio::SoundFileInfo& info = whole->info();
  if (info.channels < 2) return 1;
  const FrameCount length = std::min(whole->frames(), FrameCount(longest_s * info.sample_rate_hz));
  const FrameIndex from = whole->range().start + FrameCount((whole->frames() - length).value() / 2);
  std::vector<FileSource> sources;
  sources.reserve(static_cast<std::size_t>(info.channels));
  for (int channel = 1; channel <= info.channels; ++channel)
    sources.push_back(whole->of_channel(channel, {from, from + length}));
  std::vector<dsp::SampleSource*> channels;
  channels.reserve(sources.size());
  for (FileSource& source : sources)
    channels.push_back(&source);
  const Result<dsp::ChannelBeats> best =
      dsp::track_best_channel(channels, info.sample_rate_hz, hints, job);
  if (!best) return of_file(best.error(), file);
  return static_cast<int>(best->channel) + 1;
}

Result<TrackedTake> track_file(const std::filesystem::path& file, const Stretch& stretch,
                               const dsp::BeatHints& hints, JobControl& job) {
  Result<FileSource> source = FileSource::open(file, stretch);
  if (!source) return source.error();
  Result<dsp::BeatTrack> track = beats_of_source(*source, hints, job);
  if (!track) return of_file(track.error(), file);
  const Result<BeatSounds> sounds = dsp::measure_beat_sounds(*source, source->info().sample_rate_hz,
                                                             *track, source->range().start, job);
  if (!sounds) return of_file(sounds.error(), file);
  dsp::WheelParams wheel;
  wheel.driver_diameter_mm = hints.driver_diameter_mm;
  wheel.beats_per_rev = hints.beats_per_rev.value_or(wheel.beats_per_rev);
  Result<TrackedTake> tracked = measured(std::move(*track), *sounds, wheel);
  if (!tracked) return of_file(tracked.error(), file);
  tracked->channel = stretch.channel.value_or(0);
  model::Project project;
  project.engine.beats_per_rev = wheel.beats_per_rev;
  judge_takes(project, std::span(&*tracked, 1));
  return tracked;
}

model::EffortCalibration judge_takes(const model::Project& project, std::span<TrackedTake> takes) {
  model::EffortCalibration calibration;
  if (project.engine.effort) {
    calibration = *project.engine.effort;
  } else {
    std::vector<EffortSign> all;
    for (const TrackedTake& tracked : takes)
      all.insert(all.end(), tracked.signs.begin(), tracked.signs.end());
    calibration = measure_calibration(all);
  }
  for (TrackedTake& tracked : takes) {
    const std::vector<model::Mark> marks = marks_of(project, tracked.take);
    tracked.efforts =
        judge_efforts(tracked.signs, project.engine.beats_per_rev, calibration, marks);
  }
  return calibration;
}

}  // namespace fourbeat::work
