// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>

namespace fourbeat::dsp {

/// What intervals say of a pump, in nats.
struct PumpSigns {
  double two_ends = 0.0;  ///< for two ends of a stroke that differ
  double free = 0.0;      ///< for strokes that delay one another, against what a wheel repeats
  int slowing = 0;        ///< runs in which the pace falls
  int speeding_up = 0;    ///< runs in which it rises
  int fresh = 0;          ///< runs that begin faster than the one before ended
  int tired = 0;          ///< runs that begin slower
  int lone = 0;           ///< runs that stand alone: lone_strokes.h

  PumpSigns& operator+=(const PumpSigns& other) {
    two_ends += other.two_ends;
    free += other.free;
    slowing += other.slowing;
    speeding_up += other.speeding_up;
    fresh += other.fresh;
    tired += other.tired;
    lone += other.lone;
    return *this;
  }
  /// Evidence in nats for a pump. It slows down as the reservoir fills, and starts again as fast as
  /// before; it never speeds up. One run that slows down says nothing.
  [[nodiscard]] double odds() const;
  /// Whether they are likelier a pump's, and show its strokes or leave no doubt without.
  [[nodiscard]] bool pump() const;
};

/// What a run of intervals between single strokes, or beats, says: two_ends and free. At least 8.
[[nodiscard]] PumpSigns signs_of(std::span<const double> intervals_s);

}  // namespace fourbeat::dsp
