// SPDX-License-Identifier: GPL-3.0-or-later
#include "csv.h"

#include "names.h"

#include <fmt/format.h>

namespace fourbeat::deliver {

namespace {

constexpr std::string_view formula_starts = "=+-@'";

bool needs_quotes(std::string_view cell) {
  return cell.find_first_of(",\"\r\n") != std::string_view::npos;
}

}  // namespace

std::string text_cell(std::string_view words) {
  std::string cell = one_line(words);
  const std::size_t first = cell.find_first_not_of(' ');
  if (first != std::string::npos && formula_starts.find(cell[first]) != std::string_view::npos) {
    cell.insert(cell.begin(), '\'');
  }
  return cell;
}

std::string words_of_cell(std::string_view cell) {
  if (!cell.empty() && cell.front() == '\'') cell.remove_prefix(1);
  return std::string(cell);
}

std::string csv_text(const std::vector<CsvRow>& rows) {
  std::string text;
  for (const CsvRow& row : rows) {
    for (std::size_t i = 0; i < row.size(); ++i) {
      if (i > 0) text += ',';
      if (!needs_quotes(row[i])) {
        text += row[i];
        continue;
      }
      text += '"';
      for (const char c : row[i]) {
        if (c == '"') text += '"';
        text += c;
      }
      text += '"';
    }
    text += "\r\n";
  }
  return text;
}

Result<std::vector<CsvRow>> parse_csv(std::string_view text) {
  std::vector<CsvRow> rows;
  std::size_t line = 1;
  const auto bad = [&](const char* what) {
    return Error{ErrorCode::bad_input, {}, fmt::format("line {}", line), what, {}};
  };
  for (std::size_t at = 0; at < text.size();) {
    CsvRow row;
    for (bool more = true; more;) {
      std::string cell;
      if (at < text.size() && text[at] == '"') {
        ++at;
        for (;; ++at) {
          if (at == text.size()) return bad("a quoted cell that does not end");
          if (text[at] == '\n') ++line;
          if (text[at] == '"') {
            if (at + 1 == text.size() || text[at + 1] != '"') break;
            ++at;
          }
          cell += text[at];
        }
        ++at;
      } else {
        while (at < text.size() && text[at] != ',' && text[at] != '\r' && text[at] != '\n') {
          if (text[at] == '"') return bad("a quote inside a cell that is not quoted");
          cell += text[at++];
        }
      }
      row.push_back(std::move(cell));
      more = at < text.size() && text[at] == ',';
      if (more) ++at;
    }
    if (at < text.size() && text[at] == '\r') ++at;
    if (at < text.size() && text[at] != '\n') return bad("text after a cell's closing quote");
    if (at < text.size()) ++at;
    ++line;
    rows.push_back(std::move(row));
  }
  return rows;
}

}  // namespace fourbeat::deliver
