// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/base/text.h"

#include <charconv>

namespace fourbeat {

namespace {

/// Length in bytes of the well-formed UTF-8 sequence at `at`, or 0 (RFC 3629 section 4).
std::size_t sequence_length(std::string_view text, std::size_t at) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned char lead = byte(at);
  if (lead < 0x80U) return 1;
  std::size_t length = 0;
  unsigned char low = 0x80U;
  unsigned char high = 0xBFU;
  if (lead >= 0xC2U && lead <= 0xDFU) {
    length = 2;
  } else if (lead >= 0xE0U && lead <= 0xEFU) {
    length = 3;
    if (lead == 0xE0U) low = 0xA0U;
    if (lead == 0xEDU) high = 0x9FU;
  } else if (lead >= 0xF0U && lead <= 0xF4U) {
    length = 4;
    if (lead == 0xF0U) low = 0x90U;
    if (lead == 0xF4U) high = 0x8FU;
  } else {
    return 0;
  }
  if (at + length > text.size()) return 0;
  if (byte(at + 1) < low || byte(at + 1) > high) return 0;
  for (std::size_t i = at + 2; i < at + length; ++i) {
    if ((byte(i) & 0xC0U) != 0x80U) return 0;
  }
  return length;
}

}  // namespace

std::string printable(std::string_view text) {
  std::string out;
  out.reserve(text.size());
  for (std::size_t i = 0; i < text.size();) {
    const std::size_t length = sequence_length(text, i);
    const auto lead = static_cast<unsigned char>(text[i]);
    const bool control =
        lead < 0x20U || lead == 0x7FU ||
        (length == 2 && lead == 0xC2U && static_cast<unsigned char>(text[i + 1]) < 0xA0U);
    if (length == 0 || control) {
      out += '?';
    } else {
      out.append(text.substr(i, length));
    }
    i += length == 0 ? 1 : length;
  }
  return out;
}

bool is_utf8(std::string_view text) {
  for (std::size_t i = 0; i < text.size();) {
    const std::size_t length = sequence_length(text, i);
    if (length == 0) return false;
    i += length;
  }
  return true;
}

std::string path_text(const std::filesystem::path& path) {
  const std::u8string text = path.generic_u8string();
  return {text.begin(), text.end()};
}

std::filesystem::path text_path(std::string_view text) {
  return {std::u8string(text.begin(), text.end())};
}

std::optional<double> parse_number(std::string_view text) {
  double number = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  if (!(number - number == 0.0)) return std::nullopt;  // infinity and NaN
  return number;
}

std::string safe_name(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (out.size() == 48) break;
    if ((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-') {
      out += c;
    } else if (c >= 'A' && c <= 'Z') {
      out += static_cast<char>(c - 'A' + 'a');
    } else if (!out.empty() && out.back() != '_') {
      out += '_';
    }
  }
  while (!out.empty() && out.back() == '_')
    out.pop_back();
  return out.empty() ? "sound" : out;
}

}  // namespace fourbeat
