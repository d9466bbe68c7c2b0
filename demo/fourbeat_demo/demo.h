// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/model/chuff_table.h"
#include "fourbeat/model/engine.h"
#include "fourbeat/model/project.h"

#include <cstdint>
#include <filesystem>
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
  std::string file;   ///< path below the project's folder: "takes/1_pulling_away.wav"
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

/// Synthesises the takes and writes them below `folder`, as 24-bit WAV files in its folder "takes".
/// An existing file is never written over.
/// Errors: would_overwrite, io_failed, no_space, cancelled; the files of this call are then gone.
[[nodiscard]] Result<DemoTruth> write_takes(const std::filesystem::path& folder, JobControl& job);

/// The demo project over takes that write_takes() wrote into `folder`: engine, takes, passes with
/// rights, marks, the set's segments and sounds, keys, CVs, notes and run cards. Writes the run
/// cards into the folder "cards". What the designer works out from the takes is left open: the
/// chuff table is empty, and no loop is set (work::holds_without_loop()).
/// Errors: not_found (a take), those of store::describe_take and model::apply, io_failed,
/// cancelled.
[[nodiscard]] Result<model::Project> demo_project(const std::filesystem::path& folder,
                                                  const DemoTruth& truth, JobControl& job);

/// Does to the demo project what its designer would do next: builds the chuff table from the takes
/// of the running engine, sets the loop of every hold that lacks one, and saves. Errors: those of
/// work::Session, work::refresh_chuffs and work::find_segment_loops.
[[nodiscard]] Status finish_demo(const std::filesystem::path& project, JobControl& job);

/// The whole demo in a folder, which is made where there is none: takes, cards and the project
/// "demo.fourbeat", whose path it returns. Errors: would_overwrite (one of its files is there
/// already), locked, those of the two calls above. On error nothing that this call made is left,
/// not even a folder.
[[nodiscard]] Result<std::filesystem::path> make_demo(const std::filesystem::path& folder,
                                                      JobControl& job);

}  // namespace fourbeat::demo
