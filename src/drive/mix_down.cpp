// SPDX-License-Identifier: GPL-3.0-or-later
#include "mix_down.h"

#include "fourbeat/base/decibels.h"

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

namespace fourbeat::drive {

StemSpans part_of(const StemSpans& stems, std::size_t at, std::size_t count) {
  StemSpans parts;
  for (std::size_t i = 0; i < stem_count; ++i) {
    if (!stems[i].empty()) parts[i] = stems[i].subspan(at, count);
  }
  return parts;
}

Result<MixDown> MixDown::make(const DriveOptions& options, std::int64_t frames,
                              DriveOutput& output) {
  MixDown made;
  if (!options.render) return made;
  Result<audio::TruePeakMeter> meter = audio::TruePeakMeter::make(output.sample_rate_hz);
  if (!meter) return meter.error();
  made.meter_.emplace(*std::move(meter));
  made.second_ = static_cast<std::size_t>(output.sample_rate_hz);
  if (!options.keep_mix) {
    made.passing_.resize(made.second_);
    return made;
  }
  output.mix.resize(static_cast<std::size_t>(frames));
  made.mix_ = output.mix;
  if (!options.stems) return made;
  for (std::size_t i = 0; i < stem_count; ++i) {
    std::vector<float>& stem = output.stems[std::string(stem_name(static_cast<Stem>(i)))];
    stem.resize(output.mix.size());
    made.stems_[i] = stem;
  }
  return made;
}

std::span<float> MixDown::room(std::int64_t frame, std::int64_t count) {
  const auto at = static_cast<std::size_t>(frame);
  const auto length = static_cast<std::size_t>(count);
  if (!passing_.empty()) return std::span(passing_).subspan(at % second_, length);
  return mix_.empty() ? mix_ : mix_.subspan(at, length);
}

StemSpans MixDown::stem_room(std::int64_t frame, std::int64_t count) const {
  return part_of(stems_, static_cast<std::size_t>(frame), static_cast<std::size_t>(count));
}

Status MixDown::measure(std::span<const float> samples) {
  if (!meter_) return ok();
  for (const float sample : samples)
    largest_ = std::max(largest_, std::abs(static_cast<double>(sample)));
  return meter_->add(samples);
}

void MixDown::finish(DriveOutput& output) const {
  if (!meter_) return;
  output.largest_sample = largest_;
  if (const auto peak_db = db_of_amplitude(meter_->peak())) {
    // Rounded, so that a figure written down is the figure used.
    output.true_peak_dbtp = std::round(*peak_db * 100.0) / 100.0;
  }
  output.true_peak_s = static_cast<double>(meter_->frame()) / output.sample_rate_hz;
}

}  // namespace fourbeat::drive
