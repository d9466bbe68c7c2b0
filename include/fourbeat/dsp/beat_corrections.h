// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/dsp/beat_tracker.h"
#include "fourbeat/dsp/sample_source.h"

#include <cstddef>
#include <optional>
#include <span>
#include <variant>
#include <vector>

namespace fourbeat::dsp {

/// Corrections of a beat track by hand. Frames are those of the track. A beat is named by a place
/// near it: the nearest one within 0.4 of the interval there is meant, so that a correction finds
/// its beat again when tracking anew puts it a little elsewhere.

/// There is a beat at `at`. One within 30 ms and a quarter of the interval there moves to it.
struct AddBeat {
  FrameIndex at;
};
/// There is no beat near `at`.
struct RemoveBeat {
  FrameIndex at;
};
/// The beat near `from` is at `to`.
struct MoveBeat {
  FrameIndex from;
  FrameIndex to;
};
/// Of the beats in `range` the first, third, fifth … are beats. `beats`: how many are left then; a
/// track that has no more than one beside that already is left alone.
struct HalveBeats {
  FrameRange range;
  std::optional<int> beats;
};
/// Between each two neighbouring beats in `range` is one more, at the attack near their middle
/// where there is one. `beats`: how many there are then; as above, no fewer.
struct DoubleBeats {
  FrameRange range;
  std::optional<int> beats;
};
/// The beat near `range.start` has position 0, and so has the one near `range.end` where that is
/// another. Positions count on from there to the stretch's ends or the next such place.
struct SetRevolution {
  FrameRange range;
};
/// There are beats at both ends of `range`, and those between are tracked from the sound between:
/// `intervals` of them where given, else as many as the tracker hears there, else as the beats
/// around have it.
struct RetrackBetween {
  FrameRange range;
  std::optional<int> intervals;
};

using BeatCorrection = std::variant<AddBeat, RemoveBeat, MoveBeat, HalveBeats, DoubleBeats,
                                    SetRevolution, RetrackBetween>;

/// A corrected track.
struct CorrectedBeats {
  BeatTrack track;
  std::vector<std::size_t> idle;  ///< corrections that found nothing to correct, by index
};

/// The track with corrections applied in their order, positions last. Beats set by hand have
/// confidence 1 and no speed; their strength is measured in the samples. Stretches follow their
/// beats: a beat set within 2.2 intervals of a stretch joins it, and so may join two; any others
/// make stretches of their own. Where beats came or went, positions are found anew. Without
/// corrections the track is returned as it is. samples: what was tracked, beginning at frame
/// `first` of the track; hints as for track_beats(). Errors: bad_argument (a place outside the
/// samples, a stretch that is empty, hints, a revolution without beats_per_rev), cancelled, those
/// of reading.
[[nodiscard]] Result<CorrectedBeats> correct_beats(const BeatTrack& track,
                                                   std::span<const BeatCorrection> corrections,
                                                   SampleSource& samples, double sample_rate_hz,
                                                   FrameIndex first, const BeatHints& hints,
                                                   JobControl& job);

/// The beat that a correction at `near` means, as an index into the track's beats: the nearest one
/// within 0.4 of the interval there (of 0.4 s for a lone beat); none where there is no such beat.
[[nodiscard]] std::optional<std::size_t> beat_near(const BeatTrack& track, FrameIndex near,
                                                   double sample_rate_hz);

}  // namespace fourbeat::dsp
