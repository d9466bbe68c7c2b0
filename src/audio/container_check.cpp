// SPDX-License-Identifier: GPL-3.0-or-later
#include "container_check.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstring>
#include <string_view>

namespace fourbeat::audio {

namespace {

constexpr int step_limit = 10'000;
constexpr std::uint32_t unknown_size = 0xFFFFFFFFU;
constexpr int max_channels = 1024;
constexpr std::int64_t max_rate_hz = 768'000;

using Bytes = std::span<const unsigned char>;

std::uint64_t little(Bytes bytes) {
  std::uint64_t value = 0;
  for (std::size_t i = bytes.size(); i-- > 0;)
    value = (value << 8U) | bytes[i];
  return value;
}

std::uint64_t big(Bytes bytes) {
  std::uint64_t value = 0;
  for (const unsigned char byte : bytes)
    value = (value << 8U) | byte;
  return value;
}

bool starts_with(Bytes bytes, std::string_view text) {
  return bytes.size() >= text.size() && std::memcmp(bytes.data(), text.data(), text.size()) == 0;
}

Error truncated(std::uint64_t promised, std::int64_t offset, std::int64_t file_bytes) {
  return Error{ErrorCode::truncated,
               {},
               fmt::format("byte {}", offset),
               fmt::format("the header promises {} bytes of sound, the file holds {}", promised,
                           std::max<std::int64_t>(0, file_bytes - offset)),
               {}};
}

Error cut(std::string_view what, std::int64_t offset) {
  return Error{ErrorCode::truncated,
               {},
               fmt::format("byte {}", offset),
               fmt::format("it ends before {}", what),
               {}};
}

Error bad(std::string detail, std::int64_t offset) {
  return Error{ErrorCode::bad_input, {}, fmt::format("byte {}", offset), std::move(detail), {}};
}

Error no_sound() {
  return Error{ErrorCode::too_short, {}, {}, "it holds no sound at all", {}};
}

Status check_rate(std::int64_t rate_hz, std::int64_t channels, std::int64_t offset) {
  if (channels < 1 || channels > max_channels) {
    return bad(fmt::format("{} channels, 1 to {} are read", channels, max_channels), offset);
  }
  if (rate_hz < 1 || rate_hz > max_rate_hz) {
    return bad(fmt::format("sample rate {} Hz, 1 to {} are read", rate_hz, max_rate_hz), offset);
  }
  return ok();
}

/// Does [offset, end of file) look like whole chunks that follow a chunk of no length?
bool only_chunks_follow(InputFile& file, std::int64_t offset) {
  std::array<unsigned char, 8> head{};
  for (int step = 0; step < 64; ++step) {
    if (offset == file.size_bytes()) return true;
    if (!file.read_at(offset, head)) return false;
    for (std::size_t i = 0; i < 4; ++i) {
      if (head.at(i) < 0x20 || head.at(i) > 0x7E) return false;
    }
    const auto size = static_cast<std::int64_t>(little(Bytes(head).subspan(4, 4)));
    offset += 8 + size + (size & 1);
    if (offset > file.size_bytes() + 1) return false;
    offset = std::min(offset, file.size_bytes());
  }
  return false;
}

constexpr std::array<unsigned char, 4> junk_id{'J', 'U', 'N', 'K'};

/// Must the decoder see this chunk? All others are hidden from it: malformed text lists are known
/// to hang parsers.
bool is_needed(InputFile& file, Bytes id, std::int64_t payload, std::uint64_t size) {
  if (starts_with(id, "smpl")) {
    std::array<unsigned char, 36> head{};
    return size >= 36 && file.read_at(payload, head) &&
           36 + 24 * little(Bytes(head).subspan(28, 4)) <= size;
  }
  return starts_with(id, "fmt ") || starts_with(id, "ds64") || starts_with(id, "fact");
}

/// The chunks behind the sound: those not needed are hidden, and whatever is no whole chunk is cut
/// off, since nothing of the sound is in it.
void hide_from_parser(InputFile& file, std::int64_t offset, ContainerFacts& facts) {
  std::array<unsigned char, 8> chunk{};
  offset += offset & 1;
  for (int step = 0; step < step_limit && file.read_at(offset, chunk); ++step) {
    const std::uint64_t size = little(Bytes(chunk).subspan(4, 4));
    const std::int64_t payload = offset + 8;
    if (size > static_cast<std::uint64_t>(file.size_bytes() - payload)) break;
    if (starts_with(chunk, "bext")) facts.has_broadcast_chunk = true;
    if (!is_needed(file, Bytes(chunk).first(4), payload, size)) {
      facts.patches.push_back({offset, junk_id});
    }
    offset = payload + static_cast<std::int64_t>(size + (size & 1U));
  }
  facts.size_bytes = std::min(offset, file.size_bytes());
}

// RIFF/MCI (Microsoft and IBM, 1991); RF64: EBU Tech 3306; BW64: ITU-R BS.2088.
Result<ContainerFacts> check_riff(InputFile& file, Bytes head) {
  ContainerFacts facts;
  const bool wide = !starts_with(head, "RIFF");
  facts.kind = wide ? Container::rf64 : Container::wav;
  facts.size_bytes = file.size_bytes();
  if (starts_with(head, "BW64")) facts.patches.push_back({0, {'R', 'F', '6', '4'}});
  std::int64_t offset = 12;
  std::uint64_t wide_data_size = 0;
  bool has_sizes = false;
  bool has_format = false;
  std::array<unsigned char, 24> chunk{};
  for (int step = 0; step < step_limit; ++step) {
    if (!file.read_at(offset, std::span(chunk).first(8))) {
      return cut(has_format ? "its sound data" : "its format chunk", offset);
    }
    const std::array<unsigned char, 4> id{chunk[0], chunk[1], chunk[2], chunk[3]};
    const std::uint64_t size = little(Bytes(chunk).subspan(4, 4));
    const std::int64_t payload = offset + 8;
    if (starts_with(id, "data")) {
      if (!has_format) return bad("sound data before the format chunk", offset);
      std::uint64_t data_size = size;
      if (wide && size == unknown_size) {
        if (!has_sizes) return bad("no ds64 chunk in front of the sound data", offset);
        data_size = wide_data_size;
      }
      const auto held = static_cast<std::uint64_t>(file.size_bytes() - payload);
      const bool open = size == unknown_size || (size == 0 && held > 0);
      if (!wide && open && !(size == 0 && only_chunks_follow(file, payload))) {
        return Error{
            ErrorCode::truncated,
            {},
            fmt::format("byte {}", offset + 4),
            fmt::format("the length of the sound was never written, {} bytes follow", held),
            "the recorder stopped without closing the file (lost power?): let the recorder "
            "or a sound editor mend a copy of it"};
      }
      if (data_size > held) return truncated(data_size, payload, file.size_bytes());
      if (data_size == 0) return no_sound();
      hide_from_parser(file, payload + static_cast<std::int64_t>(data_size), facts);
      return facts;
    }
    if (size > static_cast<std::uint64_t>(file.size_bytes() - payload)) {
      return cut(has_format ? "its sound data" : "its format chunk", offset);
    }
    if (starts_with(id, "ds64")) {
      if (size < 28 || !file.read_at(payload, std::span(chunk).first(24))) {
        return bad(fmt::format("a ds64 chunk of {} bytes, 28 is the least", size), offset);
      }
      wide_data_size = little(Bytes(chunk).subspan(8, 8));
      has_sizes = true;
    } else if (starts_with(id, "fmt ")) {
      if (size < 14 || !file.read_at(payload, std::span(chunk).first(14))) {
        return bad(fmt::format("a format chunk of {} bytes, 14 is the least", size), offset);
      }
      const auto channels = static_cast<std::int64_t>(little(Bytes(chunk).subspan(2, 2)));
      const auto rate_hz = static_cast<std::int64_t>(little(Bytes(chunk).subspan(4, 4)));
      if (Status fine = check_rate(rate_hz, channels, payload); !fine) return fine.error();
      if (little(Bytes(chunk).subspan(12, 2)) == 0) return bad("frames of 0 bytes", payload + 12);
      has_format = true;
    } else if (starts_with(id, "bext")) {
      facts.has_broadcast_chunk = true;
    }
    if (!is_needed(file, id, payload, size)) {
      facts.patches.push_back({offset, junk_id});
    }
    offset = payload + static_cast<std::int64_t>(size + (size & 1U));
  }
  return bad("more chunks than a recording has", offset);
}

// AIFF 1.3 and AIFF-C (Apple, 1989 and 1991): big-endian chunks.
Result<ContainerFacts> check_aiff(InputFile& file) {
  ContainerFacts facts;
  facts.kind = Container::aiff;
  facts.size_bytes = file.size_bytes();
  std::int64_t offset = 12;
  bool has_format = false;
  bool has_sound = false;
  std::array<unsigned char, 8> chunk{};
  for (int step = 0; step < step_limit; ++step) {
    if (!file.read_at(offset, chunk)) {
      if (has_format && has_sound) return facts;
      return cut(has_format ? "its sound data" : "its format chunk", offset);
    }
    const std::uint64_t size = big(Bytes(chunk).subspan(4, 4));
    const std::int64_t payload = offset + 8;
    const bool fits = size <= static_cast<std::uint64_t>(file.size_bytes() - payload);
    if (starts_with(chunk, "SSND")) {
      if (!fits) return truncated(size, payload, file.size_bytes());
      if (size <= 8) return no_sound();
      has_sound = true;
    } else if (starts_with(chunk, "COMM")) {
      std::array<unsigned char, 8> body{};
      if (size < 18 || !file.read_at(payload, body)) {
        return bad(fmt::format("a COMM chunk of {} bytes, 18 is the least", size), offset);
      }
      const auto channels = static_cast<std::int64_t>(big(Bytes(body).first(2)));
      if (Status fine = check_rate(1, channels, payload); !fine) return fine.error();
      if (big(Bytes(body).subspan(2, 4)) == 0) return no_sound();
      has_format = true;
    }
    if (has_format && has_sound) return facts;
    if (!fits) return cut(has_format ? "its sound data" : "its format chunk", offset);
    offset = payload + static_cast<std::int64_t>(size + (size & 1U));
  }
  return bad("more chunks than a recording has", offset);
}

// CAF (Apple Core Audio Format 1.0): 64-bit sizes; the data chunk may have size -1 and then runs
// to the end of the file.
Result<ContainerFacts> check_caf(InputFile& file) {
  ContainerFacts facts;
  facts.kind = Container::caf;
  facts.size_bytes = file.size_bytes();
  std::int64_t offset = 8;
  bool has_format = false;
  std::array<unsigned char, 12> chunk{};
  for (int step = 0; step < step_limit; ++step) {
    if (!file.read_at(offset, chunk)) {
      return cut(has_format ? "its sound data" : "its format chunk", offset);
    }
    const std::uint64_t size = big(Bytes(chunk).subspan(4, 8));
    const std::int64_t payload = offset + 12;
    const auto held = static_cast<std::uint64_t>(file.size_bytes() - payload);
    if (starts_with(chunk, "data")) {
      if (!has_format) return bad("sound data before the format chunk", offset);
      if (size == ~std::uint64_t{0}) {
        if (held <= 4) return no_sound();
        return facts;
      }
      if (size > held) return truncated(size, payload, file.size_bytes());
      if (size <= 4) return no_sound();
      return facts;
    }
    if (size > held) return cut(has_format ? "its sound data" : "its format chunk", offset);
    if (starts_with(chunk, "desc")) {
      std::array<unsigned char, 32> body{};
      if (size < 32 || !file.read_at(payload, body)) {
        return bad(fmt::format("a desc chunk of {} bytes, 32 is due", size), offset);
      }
      const auto channels = static_cast<std::int64_t>(big(Bytes(body).subspan(24, 4)));
      if (Status fine = check_rate(1, channels, payload); !fine) return fine.error();
      has_format = true;
    }
    offset = payload + static_cast<std::int64_t>(size);
  }
  return bad("more chunks than a recording has", offset);
}

// W64: 16-byte ids, 64-bit sizes that count their own 24-byte head, chunks on 8-byte boundaries.
Result<ContainerFacts> check_w64(InputFile& file) {
  ContainerFacts facts;
  facts.kind = Container::w64;
  facts.size_bytes = file.size_bytes();
  std::int64_t offset = 40;
  bool has_format = false;
  std::array<unsigned char, 24> chunk{};
  for (int step = 0; step < step_limit; ++step) {
    if (!file.read_at(offset, chunk)) {
      return cut(has_format ? "its sound data" : "its format chunk", offset);
    }
    const std::uint64_t size = little(Bytes(chunk).subspan(16, 8));
    if (size < 24) return bad(fmt::format("a chunk of {} bytes, 24 is the least", size), offset);
    const std::int64_t payload = offset + 24;
    const std::uint64_t body_size = size - 24;
    const auto held = static_cast<std::uint64_t>(file.size_bytes() - payload);
    if (starts_with(chunk, "data")) {
      if (!has_format) return bad("sound data before the format chunk", offset);
      if (body_size > held) return truncated(body_size, payload, file.size_bytes());
      if (body_size == 0) return no_sound();
      return facts;
    }
    if (body_size > held) return cut(has_format ? "its sound data" : "its format chunk", offset);
    if (starts_with(chunk, "fmt ")) {
      std::array<unsigned char, 14> body{};
      if (body_size < 14 || !file.read_at(payload, body)) {
        return bad(fmt::format("a format chunk of {} bytes, 14 is the least", body_size), offset);
      }
      const auto channels = static_cast<std::int64_t>(little(Bytes(body).subspan(2, 2)));
      const auto rate_hz = static_cast<std::int64_t>(little(Bytes(body).subspan(4, 4)));
      if (Status fine = check_rate(rate_hz, channels, payload); !fine) return fine.error();
      if (little(Bytes(body).subspan(12, 2)) == 0) return bad("frames of 0 bytes", payload + 12);
      has_format = true;
    }
    offset += static_cast<std::int64_t>((size + 7U) & ~std::uint64_t{7});
  }
  return bad("more chunks than a recording has", offset);
}

// FLAC (RFC 9639 section 8.2): STREAMINFO is first; its sample count may be 0 for "unknown".
Result<ContainerFacts> check_flac(InputFile& file) {
  ContainerFacts facts;
  facts.kind = Container::flac;
  facts.size_bytes = file.size_bytes();
  std::array<unsigned char, 34> info{};
  std::array<unsigned char, 4> block{};
  if (!file.read_at(4, block) || !file.read_at(8, info)) return cut("its STREAMINFO block", 4);
  if ((block[0] & 0x7FU) != 0 || big(Bytes(block).subspan(1, 3)) != 34) {
    return bad("no STREAMINFO block at its head", 4);
  }
  const std::uint64_t packed = big(Bytes(info).subspan(10, 8));
  if (Status fine = check_rate(static_cast<std::int64_t>(packed >> 44U),
                               static_cast<std::int64_t>((packed >> 41U) & 7U) + 1, 18);
      !fine) {
    return fine.error();
  }
  if ((packed & 0xFFFFFFFFFULL) == 0) {
    return Error{ErrorCode::bad_input,
                 {},
                 "byte 21",
                 "its header does not say how long it is",
                 "encode it again to a file, not to a pipe"};
  }
  return facts;
}

// Ogg (RFC 3533 section 6): the last page must be whole.
Result<ContainerFacts> check_ogg(InputFile& file) {
  ContainerFacts facts;
  facts.kind = Container::ogg;
  facts.size_bytes = file.size_bytes();
  constexpr std::int64_t largest_page = 27 + 255 + 255 * 255;
  const std::int64_t from = std::max<std::int64_t>(0, file.size_bytes() - 2 * largest_page);
  std::vector<unsigned char> tail(static_cast<std::size_t>(file.size_bytes() - from));
  if (!file.read_at(from, tail)) {
    return Error{ErrorCode::io_failed, {}, {}, "reading its last page", {}};
  }
  constexpr std::string_view magic = "OggS";
  const auto last = std::find_end(tail.begin(), tail.end(), magic.begin(), magic.end());
  if (last == tail.end()) return cut("its last page", from);
  const Bytes page(last, tail.end());
  const std::int64_t at = from + (last - tail.begin());
  if (page.size() < 27 || page.size() < 27U + page[26]) return cut("the end of its last page", at);
  std::size_t length = 27U + page[26];
  for (std::size_t i = 0; i < page[26]; ++i)
    length += page[27 + i];
  if (page.size() < length) return cut("the end of its last page", at);
  return facts;
}

}  // namespace

Result<ContainerFacts> check_container(InputFile& file) {
  std::array<unsigned char, 40> head{};
  file.seek(0);
  const Bytes got = Bytes(head).first(file.read(head));
  if (file.failed()) return Error{ErrorCode::io_failed, {}, {}, "reading its head", {}};
  if (got.empty()) return Error{ErrorCode::not_audio, {}, {}, "it is empty", {}};
  // The last 12 bytes of the two W64 ids, which begin with "riff" and "wave".
  constexpr std::array<unsigned char, 12> riff_id{0x2E, 0x91, 0xCF, 0x11, 0xA5, 0xD6,
                                                  0x28, 0xDB, 0x04, 0xC1, 0x00, 0x00};
  constexpr std::array<unsigned char, 12> wave_id{0xF3, 0xAC, 0xD3, 0x11, 0x8C, 0xD1,
                                                  0x00, 0xC0, 0x4F, 0x8E, 0xDB, 0x8A};
  const auto id_at = [&](std::size_t at, std::span<const unsigned char> id) {
    return got.size() >= at + id.size() &&
           std::equal(id.begin(), id.end(), got.begin() + static_cast<std::ptrdiff_t>(at));
  };
  const bool riff =
      starts_with(got, "RIFF") || starts_with(got, "RF64") || starts_with(got, "BW64");
  if (riff && got.size() >= 12 && starts_with(got.subspan(8), "WAVE")) {
    return check_riff(file, got);
  }
  if (starts_with(got, "riff") && id_at(4, riff_id) && id_at(28, wave_id)) return check_w64(file);
  if (starts_with(got, "FORM") && got.size() >= 12 &&
      (starts_with(got.subspan(8), "AIFF") || starts_with(got.subspan(8), "AIFC"))) {
    return check_aiff(file);
  }
  if (starts_with(got, "caff")) return check_caf(file);
  if (starts_with(got, "fLaC")) return check_flac(file);
  if (starts_with(got, "OggS")) return check_ogg(file);
  if (riff && got.size() < 12) return cut("its format chunk", 0);
  return Error{ErrorCode::not_audio, {}, {}, {}, {}};
}

}  // namespace fourbeat::audio
