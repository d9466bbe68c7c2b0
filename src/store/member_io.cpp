// SPDX-License-Identifier: GPL-3.0-or-later
#include "member_io.h"

namespace fourbeat::store {

Result<int> read_header(const Json& json, std::string_view format, int version) {
  const Place document;
  if (!json.is_object()) return *Reader::wrong(document, json, "an object");
  const auto named = json.find("format");
  if (named == json.end() || !named->is_string() || *named != format) {
    return *model::fault({&document, "format"}, "is not that of such a file",
                         fmt::format("give a file of format {}", format));
  }
  const auto numbered = json.find("version");
  const std::optional<std::int64_t> number =
      numbered == json.end() ? std::nullopt : whole_number(*numbered);
  if (!number || *number < 1) {
    return *model::fault({&document, "version"}, "is not a version", "give 1 or above");
  }
  if (*number > version) {
    return *model::fault({&document, "version"},
                         fmt::format("version {}, this program reads up to {}", *number, version),
                         {}, ErrorCode::newer_version);
  }
  return static_cast<int>(*number);
}

Error in_file(Error error, const std::string& file) {
  if (error.code == ErrorCode::bad_argument) error.code = ErrorCode::bad_input;
  error.file = file;
  return error;
}

}  // namespace fourbeat::store
