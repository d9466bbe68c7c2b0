// SPDX-License-Identifier: GPL-3.0-or-later
#include "names.h"

#include "fourbeat/deliver/notes.h"

#include <cmark.h>

#include <algorithm>
#include <cstdlib>
#include <memory>
#include <vector>

namespace fourbeat::deliver {

namespace {

constexpr std::string_view style = R"css(
:root { color-scheme: light dark; --ink: #22262a; --soft: #5a626b; --page: #fdfdfb;
  --rule: #d9d8d2; --band: #f3f2ec; --warn: #8a4b08; --warn-page: #fdf3e3; --link: #1d5a8a; }
@media (prefers-color-scheme: dark) { :root { --ink: #e4e3de; --soft: #a3a8ae; --page: #1b1d1f;
  --rule: #3a3d40; --band: #24272a; --warn: #f0b96a; --warn-page: #2f2618; --link: #8fc1ea; } }
* { box-sizing: border-box; }
body { margin: 0; background: var(--page); color: var(--ink); line-height: 1.55;
  font-family: system-ui, -apple-system, "Segoe UI", "Noto Sans", "DejaVu Sans", sans-serif;
  -webkit-text-size-adjust: 100%; }
main { max-width: 46rem; margin: 0 auto; padding: 1.5rem 1.1rem 4rem; }
h1 { font-size: 1.75rem; line-height: 1.2; margin: 1rem 0 .3rem; overflow-wrap: anywhere; }
.subtitle { color: var(--soft); margin: 0 0 1.5rem; overflow-wrap: anywhere; }
h2 { font-size: 1.2rem; line-height: 1.3; margin: 2.2rem 0 .6rem; padding-top: .7rem;
  border-top: 1px solid var(--rule); }
h3, h4, h5, h6 { font-size: 1rem; margin: 1.4rem 0 .4rem; }
p, ul, ol { margin: .6rem 0; overflow-wrap: break-word; }
a { color: var(--link); }
code, pre { font-family: ui-monospace, "DejaVu Sans Mono", monospace; font-size: .92em; }
pre { overflow-x: auto; background: var(--band); padding: .6rem .8rem; }
.table { overflow-x: auto; margin: .8rem 0; }
.table:focus-visible { outline: 2px solid var(--link); outline-offset: 2px; }
table { border-collapse: collapse; width: 100%; font-size: .95rem;
  font-variant-numeric: tabular-nums; }
th, td { text-align: left; vertical-align: top; padding: .4rem .9rem .4rem 0;
  border-bottom: 1px solid var(--rule); }
th:last-child, td:last-child { padding-right: 0; }
thead th { color: var(--soft); font-weight: 600; vertical-align: bottom; }
tbody th { font-weight: 600; }
.cautions { list-style: none; margin: .8rem 0; padding: .3rem 1rem; background: var(--warn-page);
  border-left: 4px solid var(--warn); }
.cautions li { margin: .5rem 0; }
@media print { :root { --ink: #000; --soft: #444; --page: #fff; --rule: #bbb; --band: #f4f4f4;
  --warn: #000; --warn-page: #fff; --link: #000; }
  @page { margin: 18mm; }
  body { font-size: 10.5pt; } main { max-width: none; padding: 0; } .table { overflow: visible; }
  thead { display: table-header-group; } tr, .cautions li { break-inside: avoid; }
  h1, h2, h3 { break-after: avoid; } }
)css";

/// `text` for HTML, in content and in quoted attributes.
std::string escaped(std::string_view text) {
  std::string out;
  for (const char c : one_line(text)) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      case '\'':
        out += "&#39;";
        break;
      default:
        out += c;
    }
  }
  return out;
}

struct FreeNode {
  void operator()(cmark_node* node) const { cmark_node_free(node); }
};
struct FreeIterator {
  void operator()(cmark_iter* iterator) const { cmark_iter_free(iterator); }
};
struct FreeText {
  void operator()(char* text) const { std::free(text); }  // NOLINT: cmark's default allocator
};

/// Pictures give way to their text; raw HTML goes; headings go two levels down.
void tame(cmark_node* document) {
  constexpr int levels_down = 2;
  constexpr int lowest_level = 6;
  std::vector<cmark_node*> gone;
  const std::unique_ptr<cmark_iter, FreeIterator> walk(cmark_iter_new(document));
  while (cmark_iter_next(walk.get()) != CMARK_EVENT_DONE) {
    cmark_node* node = cmark_iter_get_node(walk.get());
    if (cmark_iter_get_event_type(walk.get()) != CMARK_EVENT_ENTER) continue;
    const cmark_node_type type = cmark_node_get_type(node);
    if (type == CMARK_NODE_HEADING) {
      const int level = cmark_node_get_heading_level(node) + levels_down;
      cmark_node_set_heading_level(node, std::min(level, lowest_level));
    }
    if (type == CMARK_NODE_IMAGE || type == CMARK_NODE_HTML_BLOCK ||
        type == CMARK_NODE_HTML_INLINE) {
      gone.push_back(node);
    }
  }
  for (cmark_node* node : gone) {
    while (cmark_node* child = cmark_node_first_child(node)) {
      cmark_node_insert_before(node, child);
    }
    cmark_node_unlink(node);
    cmark_node_free(node);
  }
}

void add_table(const SheetBlock& block, std::string_view label, std::string& out) {
  out += "<div class=\"table\" role=\"region\" tabindex=\"0\" aria-label=\"" + escaped(label) +
         "\">\n<table>\n<thead>\n<tr>";
  for (const std::string& column : block.columns)
    out += "<th scope=\"col\">" + escaped(column) + "</th>";
  out += "</tr>\n</thead>\n<tbody>\n";
  for (const std::vector<std::string>& row : block.rows) {
    out += "<tr>";
    for (std::size_t i = 0; i < row.size(); ++i) {
      out += i == 0 ? "<th scope=\"row\">" + escaped(row[i]) + "</th>"
                    : "<td>" + escaped(row[i]) + "</td>";
    }
    out += "</tr>\n";
  }
  out += "</tbody>\n</table>\n</div>\n";
}

}  // namespace

std::string markdown_html(std::string_view text) {
  std::string clean;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte >= 0x20U ? byte != 0x7FU : c == '\n' || c == '\t') clean += c;
  }
  const std::unique_ptr<cmark_node, FreeNode> document(
      cmark_parse_document(clean.data(), clean.size(), CMARK_OPT_VALIDATE_UTF8));
  if (!document) return {};
  tame(document.get());
  const std::unique_ptr<char, FreeText> html(cmark_render_html(document.get(), CMARK_OPT_SAFE));
  return html ? std::string(html.get()) : std::string();
}

std::string body_html_of(const Sheet& sheet) {
  std::string out = "<h1>" + escaped(sheet.title) + "</h1>\n";
  if (!sheet.subtitle.empty()) {
    out += "<p class=\"subtitle\">" + escaped(sheet.subtitle) + "</p>\n";
  }
  std::string last_heading = sheet.title;
  bool in_cautions = false;
  for (const SheetBlock& block : sheet.blocks) {
    const bool is_caution = block.kind == SheetBlock::Kind::caution;
    if (is_caution != in_cautions) out += is_caution ? "<ul class=\"cautions\">\n" : "</ul>\n";
    in_cautions = is_caution;
    switch (block.kind) {
      case SheetBlock::Kind::heading:
        last_heading = block.text;
        out += "<h2>" + escaped(block.text) + "</h2>\n";
        break;
      case SheetBlock::Kind::paragraph:
        out += "<p>" + escaped(block.text) + "</p>\n";
        break;
      case SheetBlock::Kind::caution:
        out += "<li>" + escaped(block.text) + "</li>\n";
        break;
      case SheetBlock::Kind::table:
        add_table(block, last_heading, out);
        break;
      case SheetBlock::Kind::markdown:
        out += markdown_html(block.text);
        break;
    }
  }
  if (in_cautions) out += "</ul>\n";
  return out;
}

std::string html_of(const Sheet& sheet) {
  std::string out = "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n";
  out +=
      "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src "
      "'unsafe-inline'\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
      "<meta name=\"color-scheme\" content=\"light dark\">\n"
      "<meta name=\"referrer\" content=\"no-referrer\">\n";
  out += "<title>" + escaped(sheet.title) + "</title>\n<style>";
  out += style;
  out +=
      "</style>\n</head>\n<body>\n<main>\n" + body_html_of(sheet) + "</main>\n</body>\n</html>\n";
  return out;
}

}  // namespace fourbeat::deliver
