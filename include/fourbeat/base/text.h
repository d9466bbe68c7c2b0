// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

namespace fourbeat {

/// `text` with control characters (and invalid UTF-8) replaced by '?': safe for a terminal.
[[nodiscard]] std::string printable(std::string_view text);

/// True when `text` is well-formed UTF-8 (RFC 3629).
[[nodiscard]] bool is_utf8(std::string_view text);

/// A path as UTF-8 text, and back: the only two places where paths and text meet.
[[nodiscard]] std::string path_text(const std::filesystem::path& path);
[[nodiscard]] std::filesystem::path text_path(std::string_view text);

/// A finite decimal number without regard to the locale; nothing else may follow it.
[[nodiscard]] std::optional<double> parse_number(std::string_view text);

/// A name made safe for a bundle: lower case a-z, 0-9, '_' and '-'; at most 48 characters;
/// never empty ("sound").
[[nodiscard]] std::string safe_name(std::string_view text);

}  // namespace fourbeat
