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
/// where a train has gained no speed without a beat; and it is heard at its full pace at once
/// (lone_strokes.h). Removes the stretches that are likelier a pump's by all of these, those of one
/// pace, or an octave off, judged together: one that by itself is a wheel's too, where the rest
/// outweighs it wholly. Where that is sure it removes the ends of a stretch that a train joins, and
/// what a known pump made at its pace and an octave off. What else is too fast or too changeable
/// for a pump stays.
void remove_pumps(std::vector<ProvedStretch>& stretches, std::span<const Candidate> candidates,
                  std::span<const PathBeat> path);

}  // namespace fourbeat::dsp
