// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "beat_path.h"
#include "beat_proof.h"

#include <span>
#include <vector>

namespace fourbeat::dsp {

/// Tells beats from the strokes of an air pump, which beat as steadily. Beats are tied to a wheel:
/// a beat that comes late does not delay the next, so that its two intervals stray to opposite
/// sides (lag-one correlation −1/2), and what repeats with the revolution repeats every three,
/// four, six or eight beats. A pump's stroke begins when the one before has ended: a late one
/// delays all that follow (a renewal process, Cox 1962; lag-one correlation 0), its two ends
/// differ, and its pace changes little, but falls in run after run and is the greater after a rest,
/// where a train has gained no speed without a beat. Removes the stretches that are likelier a
/// pump's by all of these, those of one pace, or an octave off, judged together, and where that is
/// sure the ends of a stretch that a train joins; what is too fast or too changeable for a pump
/// stays.
void remove_pumps(std::vector<ProvedStretch>& stretches, std::span<const Candidate> candidates,
                  std::span<const PathBeat> path);

/// Whether all that was proved in a take of `take_s` seconds is a few strokes here and there, at a
/// pump's pace: in less than a tenth of it, and fewer than forty each time. A train that is first
/// heard in the middle of a take either sets off, and gains pace, or passes: at four beats a turn
/// of a wheel of 1.5 m, forty beats are 47 m of its way, and it is heard from farther off. What
/// begins within the first 10 s may have been under way.
[[nodiscard]] bool are_lone_strokes(std::span<const ProvedStretch> stretches,
                                    std::span<const Candidate> candidates,
                                    std::span<const PathBeat> path, double take_s);

}  // namespace fourbeat::dsp
