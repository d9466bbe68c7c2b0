// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/model/chuff_table.h"
#include "fourbeat/model/engine.h"

#include <cstdint>
#include <string>
#include <vector>

/// An invented railway's locomotive. Its takes are synthesised on the spot, always the same,
/// and what happens in them is known to the frame.

namespace fourbeat::demo {

/// A beat as it reaches the first channel.
struct TruthBeat {
  FrameIndex frame;  ///< beat time as the design defines it, within 2 ms where nothing masks it
  int position = 0;  ///< place in the revolution, from 0
  double speed_kmh = 0.0;
  model::Effort effort = model::Effort::easy;
  bool operator==(const TruthBeat&) const = default;
};

/// A stretch of a take that holds one named sound, or a part of it.
struct TruthEvent {
  std::string name;  ///< e.g. "whistle_long"
  std::string part;  ///< "whole", or "begin", "hold", "release"
  FrameRange range;
  float peak = 0.0F;  ///< largest magnitude on the event's own channel
  int channel = 1;    ///< the microphone that is nearest, from 1
  bool operator==(const TruthEvent&) const = default;
};

/// The speed at a time of a take with a running engine.
struct TruthSpeed {
  double time_s = 0.0;
  double speed_kmh = 0.0;
  bool operator==(const TruthSpeed&) const = default;
};

struct TakeTruth {
  std::string file;   ///< name below the takes' folder: "1_pulling_away.wav"
  std::string title;  ///< "Pulling away"
  std::string log;    ///< what the recordist wrote down
  std::vector<std::string> microphones;
  std::vector<std::int64_t> chimney_delay_frames;  ///< from the chimney to each microphone
  std::vector<TruthBeat> beats;
  std::vector<TruthSpeed> speeds;  ///< every 0.1 s; empty when the engine stands
  std::vector<TruthEvent> events;
  bool operator==(const TakeTruth&) const = default;
};

struct DemoTruth {
  std::vector<TakeTruth> takes;
};

/// One take in memory: 48 kHz, 4 channels on the running engine, 2 beside the standing one.
struct SynthTake {
  TakeTruth truth;
  audio::Pcm pcm;
};

inline constexpr std::uint64_t demo_seed = 1887;

/// The engine: invented, as everything here.
[[nodiscard]] model::Engine demo_engine();

/// All takes, each on a thread of its own. The same seed gives the same samples on any x86-64
/// processor. Errors: cancelled.
[[nodiscard]] Result<std::vector<SynthTake>> synthesise_takes(std::uint64_t seed, JobControl& job);

}  // namespace fourbeat::demo
