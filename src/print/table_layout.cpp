// SPDX-License-Identifier: GPL-3.0-or-later
#include "table_layout.h"

#include <algorithm>
#include <numeric>

namespace fourbeat::print {

namespace {

constexpr std::string_view joints = " _-./,";

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

/// The end of the first piece of a text: behind its first joint, but not inside a date or a number.
std::size_t piece_end(std::string_view text) {
  std::size_t at = text.find_first_of(joints);
  while (at != std::string_view::npos && at > 0 && at + 1 < text.size() && text[at] != ' ' &&
         is_digit(text[at - 1]) && is_digit(text[at + 1])) {
    at = text.find_first_of(joints, at + 1);
  }
  return at == std::string_view::npos ? text.size() : at + 1;
}

/// Cuts a text into pieces that may end a line, each with the joint it ends in.
std::vector<std::string_view> pieces_of(std::string_view text) {
  std::vector<std::string_view> pieces;
  while (!text.empty()) {
    const std::size_t end = piece_end(text);
    pieces.push_back(text.substr(0, end));
    text.remove_prefix(end);
  }
  return pieces;
}

std::string_view without_last_spaces(std::string_view text) {
  while (!text.empty() && text.back() == ' ')
    text.remove_suffix(1);
  return text;
}

/// The length of the first character of a UTF-8 text.
std::size_t first_length(std::string_view text) {
  constexpr unsigned char marks = 0xC0U;
  constexpr unsigned char follower = 0x80U;
  std::size_t length = 1;
  while (length < text.size() && (static_cast<unsigned char>(text[length]) & marks) == follower)
    ++length;
  return length;
}

/// As much of a text as fits, one character at least.
std::size_t fitting_length(std::string_view text, const Measure& measure, double width) {
  std::size_t fits = first_length(text);
  while (fits < text.size()) {
    const std::size_t more = fits + first_length(text.substr(fits));
    if (measure(text.substr(0, more)) > width) break;
    fits = more;
  }
  return fits;
}

double sum_of(const std::vector<double>& values) {
  return std::accumulate(values.begin(), values.end(), 0.0);
}

}  // namespace

std::vector<std::string> wrapped(std::string_view text, const Measure& measure, double width) {
  std::vector<std::string> lines;
  std::string line;
  const auto end_line = [&] {
    lines.emplace_back(without_last_spaces(line));
    line.clear();
  };
  for (const std::string_view piece : pieces_of(text)) {
    if (!line.empty() && measure(without_last_spaces(line + std::string(piece))) > width) {
      end_line();
    }
    line += piece;
    // A piece that is wider than a line is broken where it must be.
    while (measure(without_last_spaces(line)) > width) {
      const std::size_t fits = fitting_length(line, measure, width);
      if (fits >= line.size()) break;
      lines.push_back(line.substr(0, fits));
      line.erase(0, fits);
    }
  }
  if (!line.empty() || lines.empty()) end_line();
  return lines;
}

double least_width(std::string_view text, const Measure& measure) {
  double widest = 0.0;
  for (const std::string_view piece : pieces_of(text))
    widest = std::max(widest, measure(without_last_spaces(piece)));
  return widest;
}

std::vector<double> column_widths(const std::vector<double>& least,
                                  const std::vector<double>& wanted, double width, Sharing sharing,
                                  bool fill) {
  std::vector<double> widths = wanted;
  const double all_wanted = sum_of(wanted);
  const double all_least = sum_of(least);
  if (all_wanted <= width) {
    if (fill && all_wanted > 0.0) {
      for (double& each : widths)
        each *= width / all_wanted;
    }
    return widths;
  }
  if (all_least >= width) {
    for (std::size_t i = 0; i < widths.size(); ++i)
      widths[i] = least[i] * width / all_least;
    return widths;
  }
  if (sharing == Sharing::by_its_want) {
    const double share = (width - all_least) / (all_wanted - all_least);
    for (std::size_t i = 0; i < widths.size(); ++i)
      widths[i] = least[i] + share * (wanted[i] - least[i]);
    return widths;
  }
  // Those that want little more get it; the others get equal shares of the rest.
  std::vector<std::size_t> by_need(widths.size());
  std::iota(by_need.begin(), by_need.end(), std::size_t{0});
  std::sort(by_need.begin(), by_need.end(), [&](std::size_t a, std::size_t b) {
    return wanted[a] - least[a] < wanted[b] - least[b];
  });
  double spare = width - all_least;
  for (std::size_t i = 0; i < by_need.size(); ++i) {
    const std::size_t column = by_need[i];
    const double share = spare / static_cast<double>(by_need.size() - i);
    const double more = std::min(share, wanted[column] - least[column]);
    widths[column] = least[column] + more;
    spare -= more;
  }
  return widths;
}

}  // namespace fourbeat::print
