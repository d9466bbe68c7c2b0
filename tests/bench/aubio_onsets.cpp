// SPDX-License-Identifier: GPL-3.0-or-later
#include "aubio_onsets.h"

#include <aubio/aubio.h>

#include <algorithm>
#include <cstddef>

namespace fourbeat::tests {

std::vector<double> aubio_onsets(audio::MonoView samples, double sample_rate_hz, const char* method,
                                 double threshold, double least_s) {
  const uint_t scale = sample_rate_hz > 48000.0 ? 2 : 1;
  const uint_t hop = 256 * scale;
  aubio_onset_t* detector =
      new_aubio_onset(method, 1024 * scale, hop, static_cast<uint_t>(sample_rate_hz));
  if (detector == nullptr) return {};
  if (threshold > 0.0) aubio_onset_set_threshold(detector, static_cast<smpl_t>(threshold));
  aubio_onset_set_minioi_s(detector, static_cast<smpl_t>(least_s));
  fvec_t* in = new_fvec(hop);
  fvec_t* out = new_fvec(1);
  std::vector<double> times_s;
  for (std::size_t at = 0; at + hop <= samples.size(); at += hop) {
    std::copy_n(samples.data() + at, hop, in->data);
    aubio_onset_do(detector, in, out);
    if (out->data[0] != 0.0F)
      times_s.push_back(static_cast<double>(aubio_onset_get_last(detector)) / sample_rate_hz);
  }
  del_fvec(in);
  del_fvec(out);
  del_aubio_onset(detector);
  return times_s;
}

}  // namespace fourbeat::tests
