// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/print/print.h"

#include "support/catch.h"
#include "support/temp_folder.h"
#include "tiny_bundle.h"

#include "fourbeat/deliver/sheets.h"

#include <cerrno>
#include <clocale>
#include <cstdio>
#include <cstdlib>
#include <ctime>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

deliver::Sheet notes() {
  const auto profile = tiny_profile();
  return deliver::notes_sheet(tiny_project(), &profile);
}

/// What a command writes; nothing when it is not on this machine.
std::optional<std::string> output_of(const std::string& program, const std::string& command) {
  if (std::system(("command -v " + program + " >/dev/null 2>&1").c_str()) != 0) {
    WARN(program << " is not here: skipped");
    return std::nullopt;
  }
  std::string output;
  FILE* pipe = ::popen((program + " " + command).c_str(), "r");
  REQUIRE(pipe != nullptr);
  for (int c = 0; (c = std::fgetc(pipe)) != EOF;)
    output += static_cast<char>(c);
  CHECK(::pclose(pipe) == 0);
  return output;
}

int no_space() {
  return ENOSPC;
}

}  // namespace

TEST_CASE("print: a sheet becomes pages with its words on them", "[print]") {
  const TempFolder folder;
  REQUIRE(print::print_pdf(notes(), folder / "notes.pdf"));
  const std::string quoted = "'" + (folder / "notes.pdf").string() + "'";
  if (const auto info = output_of("pdfinfo", quoted)) {
    CHECK(info->find("Title:           Tern Valley No. 4") != std::string::npos);
    CHECK(info->find("A4") != std::string::npos);
    CHECK(info->find("Pages:           2") != std::string::npos);
  }
  if (const auto text = output_of("pdftotext", "-layout " + quoted + " -")) {
    for (const char* words : {"Function keys", "“Bell” plays once", "CV 3", "Tiny class",
                              "emergency stop", "Tern Valley Railway"})
      CHECK(text->find(words) != std::string::npos);
    CHECK(text->find('<') == std::string::npos);
  }
}

TEST_CASE("print: the same sheet gives the same bytes, at any time in any zone", "[print]") {
  const auto once = print::pdf_bytes(notes());
  ::setenv("TZ", "Asia/Kolkata", 1);
  ::tzset();
  const auto again = print::pdf_bytes(notes());
  ::unsetenv("TZ");
  ::tzset();
  REQUIRE(once);
  REQUIRE(again);
  CHECK(*once == *again);
  CHECK(once->find("(D:19800101000000Z)") != std::string::npos);
}

TEST_CASE("print: the program's locale stays as it was", "[print]") {
  const std::string before = std::setlocale(LC_ALL, nullptr);
  REQUIRE(print::pdf_bytes({"Title", "", {}}));
  CHECK(std::setlocale(LC_ALL, nullptr) == before);
}

TEST_CASE("print: every sheet prints, an empty one too", "[print]") {
  CHECK(print::pdf_bytes({}));
  CHECK(print::pdf_bytes(deliver::day_sheet(tiny_project())));
  CHECK(print::pdf_bytes(deliver::loading_sheet(tiny_input()).value()));
}

TEST_CASE("print: a failed write leaves nothing", "[print]") {
  const TempFolder folder;
  set_write_fault_for_tests(no_space);
  const auto printed = print::print_pdf(notes(), folder / "notes.pdf");
  set_write_fault_for_tests(nullptr);
  REQUIRE_FALSE(printed);
  CHECK(printed.error().code == ErrorCode::no_space);
  CHECK(std::filesystem::is_empty(folder.path()));
  CHECK(print::print_pdf(notes(), folder.path()).error().code == ErrorCode::not_a_file);
}
