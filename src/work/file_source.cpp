// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/file_source.h"

#include "fourbeat/base/text.h"

#include <algorithm>
#include <cstdint>
#include <utility>

namespace fourbeat::work {

Result<FileSource> FileSource::open(const std::filesystem::path& file, const Stretch& stretch,
                                    FrameCount block) {
  Result<audio::SoundFileReader> reader = audio::SoundFileReader::open(file);
  if (!reader) return reader.error();
  const Result<FrameRange> range = frames_of(reader->info(), stretch);
  if (!range) {
    Error error = range.error();
    error.file = path_text(file);
    return error;
  }
  return FileSource(std::make_shared<audio::SoundFileReader>(*std::move(reader)), *range,
                    stretch.channel, block);
}

FileSource::FileSource(std::shared_ptr<audio::SoundFileReader> reader, FrameRange range,
                       std::optional<int> channel, FrameCount block)
    : reader_(std::move(reader)), range_(range), block_(block) {
  if (channel) channels_.push_back(*channel);
}

FileSource FileSource::of_channel(int channel, FrameRange range) const {
  return {reader_, range, channel, block_};
}

Result<audio::MonoView> FileSource::fetch(const FrameRange& range) {
  const auto held_end = [&] { return held_from_ + held(); };
  if (range.start < held_from_ || range.end > held_end()) {
    const FrameIndex from = std::max(FrameIndex(0), range.start - FrameCount(block_.value() / 4));
    if (from >= held_from_ && from <= held_end()) {
      held_.erase(held_.begin(), held_.begin() + (from - held_from_).value());
    } else {
      held_.clear();
    }
    held_from_ = from;
    const FrameIndex to =
        std::max(range.end, std::min(held_end() + block_, FrameIndex(0) + range_.length()));
    if (const Status added = append(held_end(), to); !added) {
      held_.clear();
      return added.error();
    }
  }
  return audio::MonoView(held_).subspan(
      static_cast<std::size_t>((range.start - held_from_).value()),
      static_cast<std::size_t>(range.length().value()));
}

Status FileSource::append(FrameIndex start, FrameIndex end) {
  const FrameCount offset = range_.start - FrameIndex(0);
  const Result<audio::Pcm> block = reader_->read({start + offset, end + offset}, channels_);
  if (!block) return block.error();
  const std::vector<std::vector<float>>& channels = block->channels;
  if (channels.size() == 1) {
    held_.insert(held_.end(), channels.front().begin(), channels.front().end());
    return ok();
  }
  const float scale = 1.0F / static_cast<float>(channels.size());
  for (std::size_t i = 0; i < channels.front().size(); ++i) {
    float sum = 0.0F;
    for (const std::vector<float>& channel : channels)
      sum += channel[i];
    held_.push_back(sum * scale);
  }
  return ok();
}

}  // namespace fourbeat::work
