// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/segment.h"

#include <string>
#include <vector>

namespace fourbeat::model {

enum class SoundKind {
  one_shot,  ///< plays `segment` once
  held       ///< `begin` once, `hold` looped until let go, then `release`; begin, release optional
};

/// What sort of noise it is: sets the encoding policy and the loudness table's group.
enum class Category {
  exhaust,
  whistle,
  bell,
  safety_valve,
  pump,
  injector,
  motion,
  ambience,
  voice,
  other
};

/// What becomes of a sound that is started while it still plays.
enum class Retrigger {
  afresh,  ///< it begins anew, what played fades out
  ignore,  ///< it plays on
  overlap  ///< both play; a held sound begins anew
};

/// Something the set can play.
struct Sound {
  Id<Sound> id;
  std::string name;
  SoundKind kind = SoundKind::one_shot;
  Category category = Category::other;
  Id<Segment> segment;      ///< one_shot
  Id<Segment> begin;        ///< held, may be none
  Id<Segment> hold;         ///< held
  Id<Segment> release;      ///< held, may be none
  double gain_db = 0.0;     ///< playback gain, -60 to +20
  int priority = 50;        ///< who keeps a voice when there are too few; 0 to 100, more wins
  double importance = 1.0;  ///< weight of its loss in a fit; 0.1 to 10
  Retrigger retrigger = Retrigger::afresh;
  std::string group;  ///< of the sounds of a group one plays at a time, the latest; "": none
  Extra extra;
  bool operator==(const Sound&) const = default;
};

/// The segments a sound plays, in order, none left out that is set.
[[nodiscard]] std::vector<Id<Segment>> segments_of(const Sound& sound);

}  // namespace fourbeat::model
