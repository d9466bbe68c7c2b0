// SPDX-License-Identifier: GPL-3.0-or-later
#include "names.h"
#include "proving.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/files.h"
#include "fourbeat/base/sha256.h"
#include "fourbeat/base/text.h"
#include "fourbeat/fit/budget.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace fourbeat::deliver {

namespace {

namespace fs = std::filesystem;

std::string loop_text(const FrameRange& loop) {
  return fmt::format("{} to {}", loop.start.value(), loop.end.value());
}

/// True when every sample is a whole number of steps of a depth.
Result<bool> obeys_depth(audio::SoundFileReader& reader, int bits, JobControl& job) {
  const double scale = std::ldexp(1.0, bits - 1);
  bool obeys = true;
  const FrameRange whole{FrameIndex(0), FrameIndex(0) + reader.info().frames};
  const Status read = reader.read_blocks(
      whole, FrameCount(1 << 14),
      [&](const audio::Pcm& block, FrameIndex) {
        for (const float sample : block.channels.front()) {
          const double steps = static_cast<double>(sample) * scale;
          obeys = obeys && steps == std::floor(steps);
        }
        return ok();
      },
      job);
  if (!read) return read.error();
  return obeys;
}

Status prove_wav(const fs::path& path, const ManifestSound& sound, Faults& faults,
                 JobControl& job) {
  const auto fault = [&](const std::string& what) { faults.add(sound.file + ": " + what); };
  const auto differ = [&](const char* what, auto has, auto wanted) {
    if (has != wanted) fault(fmt::format("{} is {}, the manifest says {}", what, has, wanted));
  };
  Result<audio::SoundFileReader> reader = audio::SoundFileReader::open(path);
  if (!reader) {
    const Error& error = reader.error();
    if (error.code == ErrorCode::cancelled) return error;
    fault(to_line({error.code, {}, error.place, error.detail, {}}));
    return ok();
  }
  const audio::SoundFileInfo& info = reader->info();
  if (info.channels != 1) fault(fmt::format("{} channels, one is wanted", info.channels));
  differ("the rate", info.sample_rate_hz, sound.sample_rate_hz);
  differ("the length in frames", info.frames.value(), sound.frames);
  differ("the format", info.format, fmt::format("WAV {}-bit PCM", sound.file_bits));
  const std::size_t loops = sound.loop ? 1 : 0;
  if (info.loops.size() != loops) {
    fault(fmt::format("{} loops, the manifest says {}", info.loops.size(), loops));
  } else if (sound.loop && info.loops.front() != *sound.loop) {
    fault(fmt::format("the loop is {}, the manifest says {}", loop_text(info.loops.front()),
                      loop_text(*sound.loop)));
  }
  if (info.channels == 1 && sound.bits < sound.file_bits) {
    const Result<bool> obeys = obeys_depth(*reader, sound.bits, job);
    if (!obeys && obeys.error().code == ErrorCode::cancelled) return obeys.error();
    if (!obeys) fault("its samples cannot be read to the end");
    if (obeys && !*obeys) fault(fmt::format("it has samples finer than {} bits", sound.bits));
  }
  return ok();
}

template <class Value>
bool offered(const std::vector<Value>& list, Value value) {
  return std::find(list.begin(), list.end(), value) != list.end();
}

void prove_encoding(const ManifestSound& sound, const model::DecoderProfile& decoder,
                    Faults& faults) {
  const auto fault = [&](const std::string& what) { faults.add(sound.file + ": " + what); };
  if (!offered(decoder.sample_rates_hz, sound.sample_rate_hz)) {
    fault(fmt::format("the decoder offers no rate of {} Hz", sound.sample_rate_hz));
  }
  if (!offered(decoder.bits, sound.bits)) {
    fault(fmt::format("the decoder offers no depth of {} bits", sound.bits));
  }
  const std::int64_t bytes = fit::stored_bytes(sound.frames, sound.bits, decoder);
  if (bytes != sound.bytes) {
    fault(fmt::format("it takes {} bytes, the manifest says {}", bytes, sound.bytes));
  }
  if (!decoder.has_playback_gain && sound.playback_gain_db != 0.0) {
    fault("a playback gain, and the decoder has none");
  }
  if (!sound.loop) return;
  const std::int64_t length = sound.loop->length().value();
  if (length < decoder.loop.min_frames || length % decoder.loop.multiple_of_frames != 0) {
    fault(fmt::format("a loop of {} frames; the decoder wants at least {} and a multiple of {}",
                      length, decoder.loop.min_frames, decoder.loop.multiple_of_frames));
  }
}

void prove_budget(const Manifest& manifest, Faults& faults) {
  std::vector<std::int64_t> bytes;
  for (const ManifestSound& sound : manifest.sounds)
    bytes.push_back(sound.bytes);
  const auto fault = [&](const std::string& what) {
    faults.add(std::string(manifest_name) + ": " + what);
  };
  const std::int64_t used = fit::set_bytes(bytes, manifest.decoder);
  if (used != manifest.bytes_used) {
    fault(fmt::format("the sounds take {} bytes, it says {}", used, manifest.bytes_used));
  }
  if (used > manifest.bytes_available || manifest.bytes_available > manifest.decoder.memory_bytes) {
    fault(fmt::format("{} bytes of {} available, {} of memory", used, manifest.bytes_available,
                      manifest.decoder.memory_bytes));
  }
  if (bytes.size() > static_cast<std::size_t>(manifest.decoder.max_sounds)) {
    fault(
        fmt::format("{} sounds, the decoder stores {}", bytes.size(), manifest.decoder.max_sounds));
  }
}

}  // namespace

Result<FileSizes> scan_folder(const std::filesystem::path& folder, const BundleLimits& limits,
                              Faults& faults) {
  FileSizes files;
  std::int64_t total_bytes = 0;
  std::int64_t entries = 0;
  std::error_code failed;
  for (fs::recursive_directory_iterator entry(folder, failed), end; !failed && entry != end;
       entry.increment(failed)) {
    const std::string name = path_text(entry->path().lexically_relative(folder));
    if (++entries > limits.files) {
      return Error{ErrorCode::too_large,
                   path_text(folder),
                   {},
                   fmt::format("more than {} files", limits.files),
                   {}};
    }
    const fs::file_status status = entry->symlink_status(failed);
    if (failed) break;
    if (const std::string fault = fault_of_path(name); !fault.empty()) {
      faults.add(fmt::format("{}: {}", name, fault));
      if (fs::is_directory(status)) entry.disable_recursion_pending();
      continue;
    }
    if (fs::is_directory(status)) continue;
    if (!fs::is_regular_file(status)) {
      faults.add(name + ": a link or device, no regular file");
      continue;
    }
    const std::uintmax_t size = entry->file_size(failed);
    if (failed) break;
    if (size > static_cast<std::uintmax_t>(limits.total_bytes - total_bytes)) {
      return Error{ErrorCode::too_large,
                   path_text(folder),
                   name,
                   fmt::format("all files take more than {} bytes", limits.total_bytes),
                   {}};
    }
    total_bytes += static_cast<std::int64_t>(size);
    files.emplace(name, static_cast<std::int64_t>(size));
  }
  if (failed) return Error{ErrorCode::io_failed, path_text(folder), {}, failed.message(), {}};
  return files;
}

Status prove_sums(const std::filesystem::path& folder, const FileSizes& files,
                  const BundleLimits& limits, Faults& faults, JobControl& job) {
  const std::string sums_file(sums_name);
  if (files.count(sums_file) == 0) {
    faults.add(sums_file + ": missing");
    return ok();
  }
  const Result<std::string> text = read_text_file(folder / sums_file, limits.manifest_bytes);
  if (!text) return text.error();
  std::vector<int> bad_lines;
  std::set<std::string> listed;
  for (const Sum& sum : parse_sums(*text, bad_lines)) {
    if (job.cancelled()) return Error{ErrorCode::cancelled, path_text(folder), {}, {}, {}};
    if (!listed.insert(sum.path).second) faults.add(sum.path + ": listed twice in SHA256SUMS");
    if (const std::string fault = fault_of_path(sum.path); !fault.empty()) {
      faults.add(sum.path + ": " + fault);
      continue;
    }
    if (files.count(sum.path) == 0) {
      faults.add(sum.path + ": missing");
      continue;
    }
    const Result<std::string> digest = sha256_of_file(folder / text_path(sum.path), job);
    if (!digest) return digest.error();
    if (*digest != sum.sha256) faults.add(sum.path + ": its SHA-256 is not the one listed");
    job.progress(static_cast<double>(listed.size()) / static_cast<double>(files.size() + 1),
                 "checking sums");
  }
  for (const int line : bad_lines)
    faults.add(fmt::format("{}: line {} is no digest and name", sums_file, line));
  for (const auto& [name, size] : files) {
    if (name != sums_file && listed.count(name) == 0) {
      faults.add(name + ": a stray file, not listed in SHA256SUMS");
    }
  }
  return ok();
}

void prove_names(const FileSizes& files, const Manifest& manifest, Faults& faults) {
  std::set<std::string> wanted{std::string(manifest_name), std::string(sums_name),
                               std::string(notes_name),    std::string(keys_name),
                               std::string(cvs_name),      std::string(chuffs_name)};
  for (const ManifestSound& sound : manifest.sounds) {
    if (!wanted.insert(sound.file).second) faults.add(sound.file + ": twice in the manifest");
  }
  for (const std::string& name : wanted) {
    if (files.count(name) == 0) faults.add(name + ": missing");
  }
  for (const auto& [name, size] : files) {
    if (wanted.count(name) == 0) faults.add(name + ": a stray file, not in the manifest");
  }
}

Status prove_sounds(const std::filesystem::path& folder, const FileSizes& files,
                    const Manifest& manifest, Faults& faults, JobControl& job) {
  double done = 0.0;
  for (const ManifestSound& sound : manifest.sounds) {
    if (job.cancelled()) return Error{ErrorCode::cancelled, path_text(folder), {}, {}, {}};
    prove_encoding(sound, manifest.decoder, faults);
    job.progress(++done / static_cast<double>(manifest.sounds.size()), "opening sounds");
    if (files.count(sound.file) == 0) continue;
    const fs::path path = folder / text_path(sound.file);
    const Result<std::string> digest = sha256_of_file(path, job);
    if (!digest) return digest.error();
    if (*digest != sound.sha256) {
      faults.add(sound.file + ": its SHA-256 is not the manifest's");
    }
    if (Status wav = prove_wav(path, sound, faults, job); !wav) return wav;
  }
  prove_budget(manifest, faults);
  return ok();
}

}  // namespace fourbeat::deliver
