// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/audio/resample.h"

#include <fmt/format.h>
#include <soxr.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <memory>

namespace fourbeat::audio {

namespace {

constexpr double least_rate_hz = 1.0;
constexpr double largest_rate_hz = 1.0e6;
constexpr double most_frames = 2147483647.0;
constexpr std::size_t step_frames = 1U << 16U;
constexpr double grid = 268435456.0;  // 2^28: what 28 bits of precision can tell apart

struct DeleteResampler {
  void operator()(soxr* resampler) const { soxr_delete(resampler); }
};

Error internal_error(const char* said) {
  return Error{ErrorCode::internal, {}, "resampling", said == nullptr ? "" : said, {}};
}

}  // namespace

Result<std::vector<float>> resample(MonoView samples, double from_hz, double to_hz) {
  for (const double rate_hz : {from_hz, to_hz}) {
    if (!(rate_hz >= least_rate_hz && rate_hz <= largest_rate_hz)) {
      return Error{ErrorCode::bad_argument,
                   {},
                   "sample rate",
                   fmt::format("{} Hz; 1 Hz to 1 MHz", rate_hz),
                   {}};
    }
  }
  const auto bad = std::find_if(samples.begin(), samples.end(),
                                [](float sample) { return !std::isfinite(sample); });
  if (bad != samples.end()) {
    return Error{ErrorCode::not_finite, {}, fmt::format("frame {}", bad - samples.begin()), {}, {}};
  }
  if (from_hz == to_hz) return std::vector<float>(samples.begin(), samples.end());
  const double wanted_frames = std::round(static_cast<double>(samples.size()) * to_hz / from_hz);
  if (wanted_frames > most_frames) {
    return Error{
        ErrorCode::too_large,
        {},
        {},
        fmt::format("{:.0f} frames would come out, {:.0f} is the most", wanted_frames, most_frames),
        {}};
  }
  const auto wanted = static_cast<std::size_t>(wanted_frames);
  std::vector<float> result;
  if (wanted == 0) return result;
  result.reserve(wanted);

  const soxr_io_spec_t io = soxr_io_spec(SOXR_FLOAT32_I, SOXR_FLOAT64_I);
  const soxr_quality_spec_t quality = soxr_quality_spec(SOXR_VHQ, 0);
  const soxr_runtime_spec_t runtime = soxr_runtime_spec(1);
  soxr_error_t said = nullptr;
  const std::unique_ptr<soxr, DeleteResampler> resampler(
      soxr_create(from_hz, to_hz, 1, &said, &io, &quality, &runtime));
  if (!resampler || said != nullptr) return internal_error(said);

  std::vector<double> out(step_frames);
  const std::vector<float> silence(step_frames, 0.0F);
  // Behind the samples comes silence, as much as it takes for the last wanted frame to come out.
  std::size_t at = 0;
  int idle_steps = 0;
  while (result.size() < wanted) {
    const bool inside = at < samples.size();
    const std::size_t step =
        inside ? std::min(step_frames, samples.size() - at) : std::size_t{step_frames};
    std::size_t taken = 0;
    std::size_t made = 0;
    said = soxr_process(resampler.get(), inside ? samples.data() + at : silence.data(), step,
                        &taken, out.data(), out.size(), &made);
    if (said != nullptr) return internal_error(said);
    if (inside) at += taken;
    idle_steps = (taken == 0 && made == 0) ? idle_steps + 1 : 0;
    if (idle_steps > 8) return internal_error("no progress");
    const std::size_t keep = std::min(made, wanted - result.size());
    for (std::size_t i = 0; i < keep; ++i)
      result.push_back(static_cast<float>(std::nearbyint(out[i] * grid) / grid));
  }
  return result;
}

}  // namespace fourbeat::audio
