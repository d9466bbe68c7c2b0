// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/decoder_profile.h"
#include "fourbeat/model/project.h"

#include <string>
#include <string_view>
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

/// The user notes of a set, for its buyer: what it is, the designer's own words, keys, how it
/// drives, CVs, what decoder it needs, cautions, rights. Without a profile the decoder's part says
/// that none is chosen.
[[nodiscard]] Sheet notes_sheet(const model::Project& project,
                                const model::DecoderProfile* profile);

/// Markdown (CommonMark) as HTML: raw HTML and unsafe links dropped, pictures replaced by their
/// text, headings two levels down, so that a page keeps its own first two.
[[nodiscard]] std::string markdown_html(std::string_view markdown);

/// The title and the blocks of a sheet as HTML without page or style; all text escaped. Tables
/// mark their headings by `scope`.
[[nodiscard]] std::string body_html_of(const Sheet& sheet);

/// A sheet as one self-contained HTML page: all text escaped, raw HTML in Markdown dropped,
/// light and dark, prints well.
[[nodiscard]] std::string html_of(const Sheet& sheet);

}  // namespace fourbeat::deliver
