// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"
#include "fourbeat/dsp/beat_corrections.h"
#include "fourbeat/model/edit.h"
#include "fourbeat/model/project.h"
#include "fourbeat/work/tracked_take.h"

#include <optional>
#include <vector>

/// Corrections of beats by hand, as edits of the project: each act adds, replaces or removes marks
/// of the take (model::MarkKind from `effort` on), which track_take() applies in the order of the
/// project's list whenever it tracks. Performing an act and undoing it gives the former track.
/// `tracked`: the take as it is now, corrections included; frames are the take's. A place names the
/// beat near it (dsp::beat_near()). All errors are bad_argument (file: the take; place: the frame;
/// detail and mend in words) or not_found (the take is not in the project).

namespace fourbeat::work {

using BeatEdits = Result<std::vector<model::Edit>>;

/// A beat where there is none. Refused: within 20 ms of one.
[[nodiscard]] BeatEdits insert_beat(const model::Project& project, const TrackedTake& tracked,
                                    FrameIndex at);

/// The beat near a place is none. One that was inserted or moved by hand loses that mark.
[[nodiscard]] BeatEdits delete_beat(const model::Project& project, const TrackedTake& tracked,
                                    FrameIndex near);

/// Moves the beat near `from`. Refused: onto or past its neighbours. One that was moved by hand
/// before is moved from its first place, and back there is no longer moved.
[[nodiscard]] BeatEdits move_beat(const model::Project& project, const TrackedTake& tracked,
                                  FrameIndex from, FrameIndex to);

/// Every other beat of a stretch is none: of the two halves the softer one. Refused: fewer than
/// three beats.
[[nodiscard]] BeatEdits halve_beats(const model::Project& project, const TrackedTake& tracked,
                                    const FrameRange& range);

/// Between each two beats of a stretch is one more. Refused: fewer than two beats.
[[nodiscard]] BeatEdits double_beats(const model::Project& project, const TrackedTake& tracked,
                                     const FrameRange& range);

/// A point: the beat there is position 0. A stretch: so is the beat at its end, and those from its
/// start to before its end are one revolution. Takes away an older such mark less than a revolution
/// off. Refused: no beat there; a revolution of another number of beats than the engine has.
[[nodiscard]] BeatEdits set_revolution(const model::Project& project, const TrackedTake& tracked,
                                       const FrameRange& range);

/// Beats at `first` and `second` are pinned, those between tracked anew; `intervals` (1 to
/// 100 000): how many there are between the two, where the ear knows better. Refused: `second` not
/// after `first`.
[[nodiscard]] BeatEdits retrack_between(const model::Project& project, const TrackedTake& tracked,
                                        FrameIndex first, FrameIndex second,
                                        std::optional<int> intervals = std::nullopt);

/// The effort of a stretch, set by hand. Takes the place of older ones that lie inside. Refused: an
/// empty stretch, one outside the take.
[[nodiscard]] BeatEdits set_effort(const model::Project& project, const TrackedTake& tracked,
                                   const FrameRange& range, model::Effort effort);

/// Takes away all that was set by hand (beats, revolutions, efforts) in a stretch: every such mark
/// that touches it. Empty where there is none.
[[nodiscard]] BeatEdits clear_hand_set(const model::Project& project, const TrackedTake& tracked,
                                       const FrameRange& range);

/// The corrections that marks of a take say, in the project's order, and which mark says each.
struct MarkedCorrections {
  std::vector<dsp::BeatCorrection> corrections;
  std::vector<Id<model::Mark>> marks;
};
[[nodiscard]] MarkedCorrections corrections_of(const model::Project& project, Id<model::Take> take);

}  // namespace fourbeat::work
