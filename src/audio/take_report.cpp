// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/audio/take_report.h"

#include "channel_levels.h"
#include "channel_loudness.h"
#include "low_band.h"

#include "fourbeat/base/text.h"

#include <algorithm>

namespace fourbeat::audio {

namespace {

/// So many samples of all channels are read at once: few enough to stop within 100 ms.
constexpr std::int64_t block_samples = 1 << 17;

struct Channel {
  ChannelLevels levels;
  ChannelLoudness loudness;
  LowBand low_band;
};

}  // namespace

Result<TakeReport> report_take(const std::filesystem::path& path, JobControl& job) {
  Result<SoundFileReader> reader = SoundFileReader::open(path);
  if (!reader) return reader.error();
  TakeReport report;
  report.info = reader->info();
  const double rate_hz = report.info.sample_rate_hz;
  std::vector<Channel> channels;
  for (int c = 0; c < report.info.channels; ++c) {
    Result<ChannelLoudness> loudness = ChannelLoudness::make(rate_hz);
    if (!loudness) {
      Error error = loudness.error();
      error.file = path_text(path);
      return error;
    }
    channels.push_back({ChannelLevels(rate_hz), *std::move(loudness), LowBand(rate_hz)});
  }
  const auto take_in = [&](const Pcm& block, FrameIndex) -> Status {
    for (std::size_t c = 0; c < channels.size(); ++c) {
      const MonoView samples = block.channels[c];
      channels[c].levels.add(samples);
      channels[c].low_band.add(samples);
      if (Status added = channels[c].loudness.add(samples); !added) return added;
    }
    return ok();
  };
  const std::int64_t block_frames =
      std::clamp<std::int64_t>(block_samples / report.info.channels, 256, 1 << 14);
  const FrameRange whole{FrameIndex(0), FrameIndex(0) + report.info.frames};
  const Status read = reader->read_blocks(whole, FrameCount(block_frames), take_in, job);
  if (!read) return read.error();
  for (const Channel& channel : channels) {
    ChannelReport figures;
    channel.levels.report(figures);
    figures.loudness_lufs = channel.loudness.integrated_lufs();
    figures.true_peak_dbtp = channel.loudness.true_peak_dbtp();
    channel.low_band.report(channel.levels.power(), figures);
    report.channels.push_back(figures);
  }
  return report;
}

}  // namespace fourbeat::audio
