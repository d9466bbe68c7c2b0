// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/deliver/notes.h"

#include <string>
#include <utility>
#include <vector>

namespace fourbeat::deliver {

using Cells = std::vector<std::string>;

[[nodiscard]] inline SheetBlock heading(std::string text) {
  return {SheetBlock::Kind::heading, std::move(text), {}, {}};
}
[[nodiscard]] inline SheetBlock paragraph(std::string text) {
  return {SheetBlock::Kind::paragraph, std::move(text), {}, {}};
}
[[nodiscard]] inline SheetBlock caution(std::string text) {
  return {SheetBlock::Kind::caution, std::move(text), {}, {}};
}
[[nodiscard]] inline SheetBlock markdown(std::string text) {
  return {SheetBlock::Kind::markdown, std::move(text), {}, {}};
}
[[nodiscard]] inline SheetBlock table(Cells columns, std::vector<Cells> rows) {
  return {SheetBlock::Kind::table, {}, std::move(columns), std::move(rows)};
}

/// "one sound", "12 sounds".
[[nodiscard]] std::string count_of(std::size_t count, const std::string& one,
                                   const std::string& many);

}  // namespace fourbeat::deliver
