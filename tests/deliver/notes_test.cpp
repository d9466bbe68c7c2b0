// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/deliver/notes.h"

#include "support/catch.h"
#include "tiny_bundle.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using namespace fourbeat::deliver;

namespace {

const char* const hostile = "<script>alert(1)</script>\"'&<img src=x onerror=y>";

bool has(const std::string& text, const std::string& what) {
  return text.find(what) != std::string::npos;
}

std::string page_of(const model::Project& project) {
  const auto profile = tiny_profile();
  return html_of(notes_sheet(project, &profile));
}

}  // namespace

TEST_CASE("notes: a buyer finds the keys, CVs, driving, decoder, cautions and rights",
          "[deliver]") {
  const std::string page = page_of(tiny_project());
  for (const char* wanted :
       {"<title>Tern Valley No. 4</title>", "<html lang=\"en\">", "the steam locomotive No. 4",
        "Made on a <strong>cold</strong> morning.", "<th scope=\"row\">F2</th><td>Whistle</td>",
        "“Whistle, long” sounds while the key is held, with its own beginning and end",
        "“Bell” plays once", "forwards only", "<th scope=\"row\">CV 3</th><td>20</td>",
        // 20 × 0.896 = 17.92 s; 10 × 0.896 = 8.96 s (NMRA S-9.2.2, CVs 3 and 4)
        "from rest to full speed in about 17.9 seconds",
        "from full speed to rest in about 9 seconds",
        "<th scope=\"row\">working hard</th><td>0 to 20</td><td>0 to 106</td>",
        "<td>rest to 0.14</td><td>1</td>", "“Tiny class”, an invented class of decoders",
        "100000 bytes", "small parts", "emergency stop", "track voltage and current",
        "maker's own instructions",
        "<td>Tern Valley Railway</td><td>this sound set</td><td>2030-12-31</td>",
        "Made by A. Sounder"}) {
    std::string text = wanted;
    // Apostrophes are escaped in the page.
    for (std::size_t at = 0; (at = text.find('\'', at)) != std::string::npos; at += 5)
      text.replace(at, 1, "&#39;");
    INFO(text);
    CHECK(has(page, text));
  }
}

TEST_CASE("notes: unsigned seams and snags are not the buyer's", "[deliver]") {
  const std::string page = content_of(tiny_bundle(), "notes.html");
  CHECK_FALSE(has(page, "whistle_long-hold"));
  CHECK_FALSE(has(page, "signed"));
}

TEST_CASE("notes: every text of a stranger is escaped", "[deliver]") {
  auto project = tiny_project();
  SECTION("title") {
    project.title = hostile;
  }
  SECTION("author") {
    project.author = hostile;
  }
  SECTION("date") {
    project.date = hostile;
  }
  SECTION("user notes") {
    project.user_notes = hostile;
  }
  SECTION("user notes, as a block") {
    project.user_notes = std::string("<div>\n") + hostile + "\n</div>\n\n[x](javascript:alert(1))";
  }
  SECTION("engine") {
    project.engine.name = hostile;
  }
  SECTION("sound") {
    project.sounds[0].name = hostile;
  }
  SECTION("key") {
    project.keys[0].label = hostile;
  }
  SECTION("CV name") {
    project.cvs[0].name = hostile;
  }
  SECTION("CV note") {
    project.cvs[0].note = hostile;
  }
  SECTION("pass") {
    project.passes[0].name = hostile;
  }
  SECTION("owner") {
    project.passes[0].rights->owner = hostile;
  }
  SECTION("purpose") {
    project.passes[0].rights->purpose = hostile;
  }
  SECTION("until") {
    project.passes[0].rights->until = hostile;
  }
  const std::string page = page_of(project);
  CHECK_FALSE(has(page, "<script"));
  CHECK_FALSE(has(page, "<img"));
  CHECK_FALSE(has(page, "javascript:"));
  CHECK_FALSE(has(page, "href=\"j"));
}

TEST_CASE("notes: a hostile decoder name is escaped", "[deliver]") {
  auto profile = tiny_profile();
  profile.name = hostile;
  const std::string page = html_of(notes_sheet(tiny_project(), &profile));
  CHECK_FALSE(has(page, "<script"));
  CHECK(has(page, "&lt;script&gt;alert(1)&lt;/script&gt;&quot;&#39;&amp;&lt;img"));
}

TEST_CASE("notes: Markdown keeps its text, and nothing that loads or runs", "[deliver]") {
  CHECK(markdown_html("# Top\n\nsome *words*") == "<h3>Top</h3>\n<p>some <em>words</em></p>\n");
  CHECK(markdown_html("###### Low") == "<h6>Low</h6>\n");
  CHECK(markdown_html("a ![the engine](http://example.org/x.png) b") == "<p>a the engine b</p>\n");
  CHECK(markdown_html("a <b>c</b> d\n\n<div>\ne\n</div>") == "<p>a c d</p>\n");
  CHECK(markdown_html("![![inner](x)](y)") == "<p>inner</p>\n");
  CHECK(markdown_html("ü\xFF") == "<p>ü\xEF\xBF\xBD</p>\n");
  CHECK(markdown_html("a\x01"
                      "b\r\nc") == "<p>ab\nc</p>\n");
  CHECK(markdown_html("").empty());
  CHECK(has(markdown_html("[rules](https://example.org/)"), "<a href=\"https://example.org/\">"));
  std::string deep(20'000, '>');
  deep.append("x");
  CHECK(has(markdown_html(deep), "x"));
}

TEST_CASE("notes: an empty project without a decoder still gives a page", "[deliver]") {
  const std::string page = html_of(notes_sheet(model::Project{}, nullptr));
  CHECK(has(page, "<title>Untitled sound set</title>"));
  CHECK(has(page, "No decoder class is chosen"));
  CHECK(has(page, "This set uses no function key."));
  CHECK_FALSE(has(page, "inf"));
  CHECK_FALSE(has(page, "nan"));
}

TEST_CASE("notes: the page stands alone, in light, dark and print", "[deliver]") {
  const std::string page = page_of(tiny_project());
  CHECK(has(page, "prefers-color-scheme: dark"));
  CHECK(has(page, "@media print"));
  CHECK(has(page, "width=device-width"));
  CHECK(has(page, "default-src 'none'"));
  CHECK_FALSE(has(page, "src="));
  CHECK_FALSE(has(page, "<link"));
  CHECK_FALSE(has(page, "@import"));
}
