// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/audio/sound_file_writer.h"

#include "wav_encoder.h"

#include "fourbeat/base/text.h"

#include <fmt/format.h>

#include <cerrno>
#include <cstdio>
#include <system_error>
#include <utility>

namespace fourbeat::audio {

namespace {

constexpr int most_names = 100;

Error system_error(int number, const std::filesystem::path& path, const char* doing) {
  ErrorCode code = ErrorCode::io_failed;
  if (number == ENOENT || number == ENOTDIR) code = ErrorCode::not_found;
  if (number == ENOSPC || number == EDQUOT) code = ErrorCode::no_space;
  return Error{code,
               path_text(path),
               {},
               fmt::format("{}: {}", doing, std::generic_category().message(number)),
               {}};
}

/// The file while it grows; removed unless it got its name.
class PartFile {
 public:
  PartFile() = default;
  PartFile(const PartFile&) = delete;
  PartFile& operator=(const PartFile&) = delete;
  ~PartFile() {
    if (file_ == nullptr) return;
    std::fclose(file_);
    std::error_code ignored;
    std::filesystem::remove(part_, ignored);
  }

  Status open(const std::filesystem::path& path) {
    std::error_code failed;
    const auto found = std::filesystem::status(path, failed);
    const bool exists = std::filesystem::exists(found);
    if (exists && !std::filesystem::is_regular_file(found))
      return Error{ErrorCode::not_a_file, path_text(path), {}, "cannot be replaced", {}};
    named_ = path;
    // A link is followed, so that the file it names is the one replaced.
    final_ = exists ? std::filesystem::canonical(path, failed) : path;
    if (final_.empty()) final_ = path;
    for (int n = 0; n < most_names; ++n) {
      part_ = final_;
      part_ += n == 0 ? std::string(".part") : fmt::format(".part{}", n);
      errno = 0;
      file_ = std::fopen(part_.c_str(), "wbxe");  // x: never an existing file or link
      if (file_ != nullptr) return ok();
      if (errno != EEXIST) break;
    }
    return system_error(errno, named_, "creating a temporary file beside it");
  }

  Status write(std::int64_t offset, std::string_view bytes) {
    errno = 0;
    if (offset != position_ && std::fseek(file_, static_cast<long>(offset), SEEK_SET) != 0)
      return system_error(errno, named_, "writing");
    if (std::fwrite(bytes.data(), 1, bytes.size(), file_) != bytes.size())
      return system_error(errno, named_, "writing");
    position_ = offset + static_cast<std::int64_t>(bytes.size());
    return ok();
  }

  Status give_name() {
    errno = 0;
    if (std::fclose(std::exchange(file_, nullptr)) != 0) {
      const int number = errno;
      std::error_code ignored;
      std::filesystem::remove(part_, ignored);
      return system_error(number, named_, "closing");
    }
    std::error_code failed;
    std::filesystem::rename(part_, final_, failed);
    if (!failed) return ok();
    std::error_code ignored;
    std::filesystem::remove(part_, ignored);
    return system_error(failed.value(), named_, "replacing");
  }

  [[nodiscard]] const std::filesystem::path& named() const { return named_; }

 private:
  std::FILE* file_ = nullptr;
  std::filesystem::path named_;
  std::filesystem::path final_;
  std::filesystem::path part_;
  std::int64_t position_ = 0;
};

Error in_file(Error error, const std::filesystem::path& path) {
  if (error.file.empty()) error.file = path_text(path);
  return error;
}

}  // namespace

struct SoundFileWriter::State {
  PartFile part;
  std::optional<WavEncoder> encoder;  // goes before the file it writes to
  std::optional<FrameRange> loop;
  std::int64_t frames = 0;
  bool failed = false;
};

SoundFileWriter::SoundFileWriter(std::unique_ptr<State> state) : state_(std::move(state)) {}
SoundFileWriter::SoundFileWriter(SoundFileWriter&&) noexcept = default;
SoundFileWriter& SoundFileWriter::operator=(SoundFileWriter&&) noexcept = default;
SoundFileWriter::~SoundFileWriter() = default;

Result<SoundFileWriter> SoundFileWriter::create(const std::filesystem::path& path,
                                                double sample_rate_hz, int channels, WavDepth depth,
                                                std::optional<FrameRange> loop) {
  auto state = std::make_unique<State>();
  state->loop = loop;
  if (channels < 1) {
    return Error{ErrorCode::bad_argument,
                 path_text(path),
                 "channels",
                 fmt::format("{} channels", channels),
                 {}};
  }
  if (Status opened = state->part.open(path); !opened) return opened.error();
  PartFile* part = &state->part;
  auto encoder = WavEncoder::make(
      sample_rate_hz, static_cast<std::size_t>(channels), depth, !loop, loop,
      [part](std::int64_t offset, std::string_view bytes) { return part->write(offset, bytes); });
  if (!encoder) return in_file(encoder.error(), path);
  state->encoder = *std::move(encoder);
  return SoundFileWriter(std::move(state));
}

Status SoundFileWriter::add(const Pcm& block) {
  if (state_->failed)
    return Error{ErrorCode::bad_argument,
                 path_text(state_->part.named()),
                 {},
                 "an earlier block failed",
                 {}};
  if (Status added = state_->encoder->add(block); !added) {
    state_->failed = true;
    return in_file(added.error(), state_->part.named());
  }
  state_->frames += block.frames().value();
  return ok();
}

Status SoundFileWriter::finish() {
  const std::filesystem::path named = state_->part.named();
  const std::unique_ptr<State> state = std::move(state_);
  if (state->failed)
    return Error{ErrorCode::bad_argument, path_text(named), {}, "an earlier block failed", {}};
  if (state->loop && state->loop->end.value() > state->frames) {
    return Error{ErrorCode::bad_argument,
                 path_text(named),
                 "loop",
                 fmt::format("frames {} to {} of {}", state->loop->start.value(),
                             state->loop->end.value(), state->frames),
                 {}};
  }
  if (Status finished = state->encoder->finish(); !finished)
    return in_file(finished.error(), named);
  return state->part.give_name();
}

}  // namespace fourbeat::audio
