// SPDX-License-Identifier: GPL-3.0-or-later
#include "pdf_stamp.h"

#include <fmt/format.h>

#include <charconv>
#include <optional>
#include <string_view>
#include <vector>

namespace fourbeat::print {

namespace {

constexpr std::string_view fixed_time = "(D:19800101000000Z)";
constexpr std::size_t entry_bytes = 20;  // of a cross-reference table: 10 digits, 5 digits, letter
constexpr std::size_t offset_digits = 10;

/// One stretch that was replaced: where it began before, and how many bytes went.
struct Cut {
  std::size_t at = 0;
  std::size_t bytes = 0;
};

std::optional<std::size_t> number_at(std::string_view text, std::size_t& at) {
  std::size_t number = 0;
  const char* begin = text.data() + at;
  const auto [end, error] = std::from_chars(begin, text.data() + text.size(), number);
  if (error != std::errc()) return std::nullopt;
  at += static_cast<std::size_t>(end - begin);
  return number;
}

std::size_t moved(std::size_t offset, const std::vector<Cut>& cuts) {
  std::size_t bytes = 0;
  for (const Cut& cut : cuts) {
    if (cut.at < offset) bytes += cut.bytes;
  }
  return offset - bytes;
}

/// Shortens every date to fixed_time; false for one that is shorter, or does not end.
bool cut_dates(std::string& pdf, std::vector<Cut>& cuts) {
  for (const std::string_view key : {"/CreationDate ", "/ModDate "}) {
    for (std::size_t at = 0; (at = pdf.find(key, at)) != std::string::npos; at += key.size()) {
      const std::size_t open = at + key.size();
      if (pdf.compare(open, 3, "(D:") != 0) continue;
      const std::size_t close = pdf.find(')', open);
      if (close == std::string::npos || close + 1 - open < fixed_time.size()) return false;
      const std::size_t length = close + 1 - open;
      pdf.replace(open, length, fixed_time);
      if (length > fixed_time.size()) cuts.push_back({open, length - fixed_time.size()});
    }
  }
  // Several would need their places in the original; the files here hold one date.
  return cuts.size() <= 1;
}

}  // namespace

bool fix_stamps(std::string& pdf) {
  std::string changed = pdf;
  std::vector<Cut> cuts;
  if (!cut_dates(changed, cuts)) return false;
  constexpr std::string_view last = "startxref\n";
  const std::size_t pointer = changed.rfind(last);
  if (pointer == std::string::npos) return false;
  std::size_t at = pointer + last.size();
  const std::size_t pointer_start = at;
  const std::optional<std::size_t> table = number_at(changed, at);
  if (!table) return false;
  const std::size_t table_at = moved(*table, cuts);
  changed.replace(pointer_start, at - pointer_start, fmt::format("{}", table_at));
  constexpr std::string_view head = "xref\n0 ";
  if (changed.compare(table_at, head.size(), head) != 0) return false;
  at = table_at + head.size();
  const std::optional<std::size_t> entries = number_at(changed, at);
  if (!entries || at >= changed.size() || changed[at] != '\n') return false;
  ++at;
  if (*entries > (changed.size() - at) / entry_bytes) return false;
  for (std::size_t i = 0; i < *entries; ++i, at += entry_bytes) {
    std::size_t digits = at;
    const std::optional<std::size_t> offset = number_at(changed, digits);
    if (!offset || digits != at + offset_digits) return false;
    if (changed[at + 17] != 'n') continue;
    changed.replace(at, offset_digits, fmt::format("{:010}", moved(*offset, cuts)));
  }
  pdf = std::move(changed);
  return true;
}

}  // namespace fourbeat::print
