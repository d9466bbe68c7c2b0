// SPDX-License-Identifier: GPL-3.0-or-later
#include "pdf_stamp.h"

#include "support/catch.h"

using fourbeat::print::fix_stamps;

namespace {

std::string ten_digits(std::size_t number) {
  std::string digits = std::to_string(number);
  return std::string(10 - digits.size(), '0').append(digits);
}

/// A file of two objects, the first with a date, and a true cross-reference table.
std::string tiny_pdf(const std::string& date) {
  std::string pdf = "%PDF-1.4\n";
  const std::size_t first = pdf.size();
  pdf += "1 0 obj\n<<\n/CreationDate (" + date + ")\n>>\nendobj\n";
  const std::size_t second = pdf.size();
  pdf += "2 0 obj\n<<>>\nendobj\n";
  const std::size_t table = pdf.size();
  pdf += "xref\n0 3\n0000000000 65535 f \n" + ten_digits(first) + " 00000 n \n" +
         ten_digits(second) + " 00000 n \n";
  pdf += "trailer\n<< /Size 3 >>\nstartxref\n" + std::to_string(table) + "\n%%EOF\n";
  return pdf;
}

}  // namespace

TEST_CASE("pdf stamp: no clock and no time zone is left, and all offsets are true", "[print]") {
  const std::string wanted = tiny_pdf("D:19800101000000Z");
  for (const char* date :
       {"D:20240229123456Z", "D:20240229123456+05'30'", "D:19991231235959-08'00"}) {
    std::string pdf = tiny_pdf(date);
    REQUIRE(fix_stamps(pdf));
    CHECK(pdf == wanted);
  }
}

TEST_CASE("pdf stamp: what has no plain table is left alone", "[print]") {
  const std::string whole = tiny_pdf("D:20240229123456Z");
  std::string text = "not a PDF";
  CHECK_FALSE(fix_stamps(text));
  CHECK(text == "not a PDF");
  for (std::size_t cut = 1; cut + 8 < whole.size(); cut += 3) {
    const std::string before = whole.substr(0, cut);
    std::string after = before;
    if (!fix_stamps(after)) CHECK(after == before);
  }
  std::string lying = whole;
  lying.replace(lying.find("0 3\n"), 4, "0 9\n");
  CHECK_FALSE(fix_stamps(lying));
}
