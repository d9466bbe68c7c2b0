// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace fourbeat::tests {

/// A WAV read byte by byte from the published layout (RIFF/MCI 1991), without any library: what
/// our writer's output is checked against.
struct Riff {
  std::uint32_t riff_size = 0;
  std::vector<std::string> order;               ///< chunk ids as they stand
  std::map<std::string, std::string> payloads;  ///< by id, first one wins

  static std::uint32_t number(const std::string& bytes, std::size_t at, std::size_t count) {
    std::uint32_t value = 0;
    for (std::size_t i = count; i-- > 0;)
      value = (value << 8U) | static_cast<unsigned char>(bytes.at(at + i));
    return value;
  }
  [[nodiscard]] std::uint32_t field(const std::string& id, std::size_t at,
                                    std::size_t count = 4) const {
    return number(payloads.at(id), at, count);
  }
  /// Sample `index` of the data chunk at a depth of 8, 16 or 24 bits, as a signed integer.
  [[nodiscard]] std::int32_t sample(std::size_t index, std::size_t bits) const {
    const std::size_t width = bits / 8;
    const std::uint32_t raw = field("data", index * width, width);
    if (bits == 8) return static_cast<std::int32_t>(raw) - 128;
    const std::uint32_t sign = 1U << (bits - 1);
    return static_cast<std::int32_t>(raw ^ sign) - static_cast<std::int32_t>(sign);
  }
};

/// Nothing when the chunk list does not fill the file exactly.
inline std::optional<Riff> read_riff(const std::string& bytes) {
  if (bytes.size() < 12 || bytes.substr(0, 4) != "RIFF" || bytes.substr(8, 4) != "WAVE") {
    return std::nullopt;
  }
  Riff riff;
  riff.riff_size = Riff::number(bytes, 4, 4);
  if (riff.riff_size + std::size_t{8} != bytes.size()) return std::nullopt;
  std::size_t at = 12;
  while (at + 8 <= bytes.size()) {
    const std::string id = bytes.substr(at, 4);
    const std::size_t size = Riff::number(bytes, at + 4, 4);
    if (at + 8 + size > bytes.size()) return std::nullopt;
    riff.order.push_back(id);
    riff.payloads.emplace(id, bytes.substr(at + 8, size));
    at += 8 + size + size % 2;
  }
  if (at != bytes.size()) return std::nullopt;
  return riff;
}

}  // namespace fourbeat::tests
