// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/beat_tracker.h"

#include "beat_make.h"
#include "beat_search.h"

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <utility>

namespace fourbeat::dsp {

namespace {

std::optional<Error> refusal(const BeatHints& hints) {
  const auto bad = [](std::string_view place, std::string_view detail) {
    return Error{ErrorCode::bad_argument, "", std::string(place), std::string(detail), ""};
  };
  // Comparisons are turned so that NaN is refused too.
  if (hints.driver_diameter_mm &&
      !(*hints.driver_diameter_mm >= 200.0 && *hints.driver_diameter_mm <= 4000.0))
    return bad("driver diameter", "must be 200 to 4000 mm");
  if (hints.beats_per_rev && !(*hints.beats_per_rev >= 1 && *hints.beats_per_rev <= 24))
    return bad("beats per revolution", "must be 1 to 24");
  if (hints.top_speed_kmh && !(*hints.top_speed_kmh >= 1.0 && *hints.top_speed_kmh <= 300.0))
    return bad("top speed", "must be 1 to 300 km/h");
  return std::nullopt;
}

/// One channel's share of the progress of several.
class ChannelJob : public JobControl {
 public:
  ChannelJob(JobControl& job, std::size_t channel, std::size_t channels)
      : job_(job), first_(static_cast<double>(channel)), channels_(static_cast<double>(channels)) {}
  [[nodiscard]] bool cancelled() const override { return job_.cancelled(); }
  void progress(double fraction, std::string_view stage) override {
    job_.progress((first_ + fraction) / channels_, stage);
  }

 private:
  JobControl& job_;
  double first_;
  double channels_;
};

}  // namespace

Result<BeatTrack> track_beats(SampleSource& samples, double sample_rate_hz, const BeatHints& hints,
                              JobControl& job) {
  if (const std::optional<Error> error = refusal(hints)) return *error;
  const Result<BeatSearch> search = search_beats(samples, sample_rate_hz, hints, job);
  if (!search) return search.error();
  return make_track(*search, samples, sample_rate_hz, hints, job);
}

Result<BeatTrack> track_beats(audio::MonoView samples, double sample_rate_hz,
                              const BeatHints& hints, JobControl& job) {
  MemorySource source(samples);
  return track_beats(source, sample_rate_hz, hints, job);
}

Result<ChannelBeats> track_best_channel(std::span<SampleSource* const> channels,
                                        double sample_rate_hz, const BeatHints& hints,
                                        JobControl& job) {
  if (channels.empty()) return Error{ErrorCode::bad_argument, "", "channels", "there are none", ""};
  ChannelBeats best;
  for (std::size_t channel = 0; channel < channels.size(); ++channel) {
    ChannelJob part(job, channel, channels.size());
    Result<BeatTrack> track = track_beats(*channels[channel], sample_rate_hz, hints, part);
    if (!track) return track.error();
    if (channel > 0 && track->evidence <= best.track.evidence) continue;
    best = {channel, *std::move(track)};
  }
  return best;
}

}  // namespace fourbeat::dsp
