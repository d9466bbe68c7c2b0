// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/model/check_value.h"

#include "fourbeat/base/text.h"

#include <fmt/format.h>

#include <array>
#include <cmath>

namespace fourbeat::model {

namespace {

Fault outside(const std::string& found, const MemberRule& rule, const Place& place) {
  return fault(place, fmt::format("is {}", found),
               fmt::format("give {} to {}", rule.low, rule.high));
}

bool is_date(std::string_view text) {
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return false;
  const auto number = [&](std::size_t at, std::size_t count) {
    int value = 0;
    for (std::size_t i = at; i < at + count; ++i) {
      if (text[i] < '0' || text[i] > '9') return -1;
      value = value * 10 + (text[i] - '0');
    }
    return value;
  };
  const int year = number(0, 4);
  const int month = number(5, 2);
  const int day = number(8, 2);
  if (year < 0 || month < 1 || month > 12 || day < 1) return false;
  constexpr std::array<int, 12> days{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  const bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
  return day <= days.at(static_cast<std::size_t>(month) - 1) + (month == 2 && leap ? 1 : 0);
}

bool is_sha256(std::string_view text) {
  return text.size() == 64 && text.find_first_not_of("0123456789abcdef") == std::string_view::npos;
}

}  // namespace

std::string Place::pointer() const {
  std::string text = up != nullptr ? up->pointer() : "";
  if (index) return text + fmt::format("/{}", *index);
  if (name.empty() || name.front() == '/') return text + std::string(name);
  return text + "/" + std::string(name);
}

Fault fault(const Place& place, std::string detail, std::string mend, ErrorCode code) {
  return Error{code, {}, place.pointer(), std::move(detail), std::move(mend)};
}

Fault check_number(double value, const MemberRule& rule, const Place& place) {
  if (!std::isfinite(value)) {
    return fault(place, "is not a finite number", {}, ErrorCode::not_finite);
  }
  if (value >= rule.low && value <= rule.high) return std::nullopt;
  return outside(fmt::format("{}", value), rule, place);
}

Fault check_whole(std::int64_t value, const MemberRule& rule, const Place& place) {
  // Within the whole limit a double holds the number exactly, so the comparison is exact.
  if (value >= -whole_limit && value <= whole_limit && static_cast<double>(value) >= rule.low &&
      static_cast<double>(value) <= rule.high) {
    return std::nullopt;
  }
  return outside(fmt::format("{}", value), rule, place);
}

Fault check_text(std::string_view text, const MemberRule& rule, const Place& place) {
  if (!is_utf8(text)) return fault(place, "is not UTF-8", "give text in UTF-8");
  switch (rule.form) {
    case TextForm::any:
      return std::nullopt;
    case TextForm::path:
      if (!text.empty() && text.find('\0') == std::string_view::npos) return std::nullopt;
      return fault(place, "is not a path", "give a path relative to the project's folder");
    case TextForm::sha256:
      if (is_sha256(text)) return std::nullopt;
      return fault(place, "is not a SHA-256", "give 64 lower-case hexadecimal digits");
    case TextForm::date:
      if (text.empty() || is_date(text)) return std::nullopt;
      return fault(place, "is not a date", "give yyyy-mm-dd, or nothing");
  }
  return std::nullopt;
}

}  // namespace fourbeat::model
