// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"
#include "fourbeat/dsp/sample_source.h"

#include <optional>

namespace fourbeat::dsp {

/// When exactly a beat comes: where the attack near `near_s`, as a 5 ms RMS envelope (centred),
/// crosses midway in dB between the quietest of the 50 ms before and the attack's peak. Of several
/// crossings the one nearest to near_s. Windows shrink with the interval, so that neighbouring
/// beats stay out. Nothing where no such attack stands out within 25 ms of near_s.
/// interval_s: seconds to the neighbouring beats. Errors: those of reading.
[[nodiscard]] Result<std::optional<double>> attack_time_s(SampleSource& samples,
                                                          double sample_rate_hz, double near_s,
                                                          double interval_s);

}  // namespace fourbeat::dsp
