// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"

#include <nlohmann/json.hpp>

#include <cstdint>
#include <string>
#include <string_view>

/// JSON text against strangers, and the house's way of printing it.

namespace fourbeat::store {

/// Members keep the order of the text.
using Json = nlohmann::ordered_json;

/// Most values (numbers, texts, lists, objects …) of one document.
inline constexpr std::int64_t json_limit_values = std::int64_t{2} << 20U;

/// Reads one JSON document (RFC 8259) without recursion. Errors: too_large (bytes or values),
/// too_deep, not_finite (a number beyond double), bad_input (place: line and column, or the
/// JSON Pointer of a member that is there twice; broken UTF-8 too).
[[nodiscard]] Result<Json> parse_json(std::string_view text, const std::string& file);

/// Prints with two-space indent; a list or object that fits in 100 columns stays on one line, but
/// the document and the lists in it, which have a line for each item. No newline at the end.
[[nodiscard]] std::string pretty_text(const Json& json);

/// One level of a JSON Pointer, escaped (RFC 6901 section 3).
[[nodiscard]] std::string escaped_level(std::string_view key);

}  // namespace fourbeat::store
