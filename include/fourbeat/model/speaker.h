// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/extra.h"

#include <string>

namespace fourbeat::model {

/// What a small loudspeaker in its enclosure does to a sound, as far as it matters to a choice: a
/// second-order high-pass, one peak and a second-order low-pass. dsp::through_speaker() applies it.
/// The figures are Fourbeat's own example of a speaker until a measured one takes their place.
struct Speaker {
  std::string name;              ///< not empty
  bool invented = false;         ///< the figures are of no real speaker
  double high_pass_hz = 400.0;   ///< 10 to 5000
  double high_pass_q = 0.7;      ///< 0.3 to 10
  double peak_hz = 2000.0;       ///< 50 to 20000
  double peak_db = 0.0;          ///< -24 to 24
  double peak_q = 1.0;           ///< 0.1 to 20
  double low_pass_hz = 12000.0;  ///< above high_pass_hz, 500 to 40000
  double low_pass_q = 0.7;       ///< 0.3 to 10
  Extra extra;
  bool operator==(const Speaker&) const = default;
};

}  // namespace fourbeat::model
