// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/decoder_profile.h"
#include "fourbeat/model/project.h"

#include <string>
#include <vector>

namespace fourbeat::deliver {

/// A sheet is one structured value; renderers turn it into HTML here, into PDF in `print`.
struct SheetBlock {
  enum class Kind { heading, paragraph, caution, table, markdown };
  Kind kind = Kind::paragraph;
  std::string text;                            ///< heading, paragraph, caution, markdown
  std::vector<std::string> columns;            ///< table
  std::vector<std::vector<std::string>> rows;  ///< table
};
struct Sheet {
  std::string title;
  std::string subtitle;
  std::vector<SheetBlock> blocks;
};

/// The user notes of a set: what it is, keys, CVs, how it drives, what it needs, cautions, rights.
[[nodiscard]] Sheet notes_sheet(const model::Project& project,
                                const model::DecoderProfile* profile);

/// A sheet as one self-contained HTML page: all text escaped, raw HTML in Markdown dropped,
/// light and dark, prints well.
[[nodiscard]] std::string html_of(const Sheet& sheet);

}  // namespace fourbeat::deliver
