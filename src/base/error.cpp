// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/base/result.h"
#include "fourbeat/base/text.h"

#include <array>

namespace fourbeat {

namespace {

// One row a code, in the order of ErrorCode; a test walks it.
constexpr std::array<ErrorText, error_code_count> texts{{
    {"a value is out of its range", "give a value inside the range named"},
    {"the content breaks the rules of its format", "mend the place named, or use another file"},
    {"it does not exist", "check the name, or relink it"},
    {"it is not a regular file", "give a regular file"},
    {"it is not an audio file of a format read here",
     "give WAV, BWF, RF64, W64, FLAC, AIFF, CAF or Ogg"},
    {"the file ends before its header says it does", "copy it from the recorder again"},
    {"it holds samples or numbers that are not finite", "export it again without NaN or infinity"},
    {"it is larger than the limit", "give a smaller file"},
    {"it is nested deeper than the limit", "use a file written by Fourbeat"},
    {"there is too little material", "give a longer stretch"},
    {"it was written by a newer version", "open it with that version"},
    {"another program has it open for writing", "close it there first"},
    {"it is not the file it was", "bring the original back, or relink it"},
    {"the output would replace a file that must stay", "choose another output name"},
    {"the disk is full", "free some space and do it again"},
    {"the operating system refused", "check permissions and the disk"},
    {"others refer to it", "remove or change those first"},
    {"a gate refused it", "mend the errors named, then do it again"},
    {"this build lacks the feature", "use a build that has it"},
    {"it was stopped", "start it again if it is still wanted"},
    {"a defect in Fourbeat", "report it with the steps that led here"},
}};

}  // namespace

ErrorText error_text(ErrorCode code) {
  return texts.at(static_cast<std::size_t>(code));
}

std::string to_line(const Error& error) {
  const ErrorText text = error_text(error.code);
  std::string line;
  if (!error.file.empty()) line += error.file + ": ";
  if (!error.place.empty()) line += error.place + ": ";
  line += text.what;
  if (!error.detail.empty()) line += " (" + error.detail + ")";
  line += "; ";
  line += error.mend.empty() ? std::string(text.mend) : error.mend;
  return printable(line);
}

}  // namespace fourbeat
