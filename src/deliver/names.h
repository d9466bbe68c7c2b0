// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>
#include <vector>

/// Names of files inside a bundle.

namespace fourbeat::deliver {

inline constexpr std::string_view manifest_name = "manifest.json";
inline constexpr std::string_view sums_name = "SHA256SUMS";
inline constexpr std::string_view notes_name = "notes.html";
inline constexpr std::string_view keys_name = "keys.csv";
inline constexpr std::string_view cvs_name = "cvs.csv";
inline constexpr std::string_view chuffs_name = "chuffs.csv";

/// "sounds/NAME.wav".
[[nodiscard]] std::string sound_file(std::string_view piece_name);

/// What is wrong with a path inside a bundle, or "" when it is one: relative, '/' between names,
/// no ".", "..", empty name or control character, at most 200 bytes.
[[nodiscard]] std::string fault_of_path(std::string_view path);

/// True for a name as Fourbeat gives pieces: a-z, 0-9, '_' and '-', 1 to 96 characters.
[[nodiscard]] bool is_our_name(std::string_view name);

/// One line of a SHA256SUMS.
struct Sum {
  std::string sha256;  ///< 64 lower-case hexadecimal digits
  std::string path;
};

/// As `sha256sum` writes and checks it: digest, two blanks, path, LF.
[[nodiscard]] std::string sums_text(const std::vector<Sum>& sums);

/// Reads such a text; a line that is none is left out and its number appended to `bad_lines`.
[[nodiscard]] std::vector<Sum> parse_sums(std::string_view text, std::vector<int>& bad_lines);

/// `text` as one printable line: line breaks and tabs become blanks.
[[nodiscard]] std::string one_line(std::string_view text);

}  // namespace fourbeat::deliver
