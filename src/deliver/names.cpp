// SPDX-License-Identifier: GPL-3.0-or-later
#include "names.h"

#include "fourbeat/base/text.h"

#include <algorithm>

namespace fourbeat::deliver {

namespace {

constexpr std::size_t longest_path = 200;
constexpr std::size_t longest_name = 96;
constexpr std::size_t digest_digits = 64;

bool is_digest(std::string_view text) {
  return text.size() == digest_digits && std::all_of(text.begin(), text.end(), [](char c) {
           return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f');
         });
}

}  // namespace

std::string sound_file(std::string_view piece_name) {
  return "sounds/" + std::string(piece_name) + ".wav";
}

std::string fault_of_path(std::string_view path) {
  if (path.empty()) return "an empty name";
  if (path.size() > longest_path) return "a name of more than 200 bytes";
  if (path.front() == '/') return "an absolute path";
  if (path.size() > 1 && path[1] == ':') return "a path with a drive letter";
  if (path.find('\\') != std::string_view::npos) return "a path with a backslash";
  if (printable(path) != path) return "a name with control characters or invalid UTF-8";
  for (std::size_t at = 0; at <= path.size();) {
    const std::size_t end = std::min(path.find('/', at), path.size());
    const std::string_view name = path.substr(at, end - at);
    if (name == "..") return "a path that leaves the bundle by \"..\"";
    if (name.empty() || name == ".") return "a path with an empty name or \".\" in it";
    at = end + 1;
  }
  return {};
}

bool is_our_name(std::string_view name) {
  return !name.empty() && name.size() <= longest_name &&
         std::all_of(name.begin(), name.end(), [](char c) {
           return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
         });
}

std::string sums_text(const std::vector<Sum>& sums) {
  std::string text;
  for (const Sum& sum : sums) {
    text += sum.sha256 + "  " + sum.path + "\n";
  }
  return text;
}

std::vector<Sum> parse_sums(std::string_view text, std::vector<int>& bad_lines) {
  std::vector<Sum> sums;
  int number = 0;
  while (!text.empty()) {
    ++number;
    const std::size_t end = std::min(text.find('\n'), text.size());
    const std::string_view line = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    if (line.size() > digest_digits + 2 && is_digest(line.substr(0, digest_digits)) &&
        line.substr(digest_digits, 2) == "  ") {
      sums.push_back({std::string(line.substr(0, digest_digits)),
                      std::string(line.substr(digest_digits + 2))});
    } else {
      bad_lines.push_back(number);
    }
  }
  return sums;
}

std::string one_line(std::string_view text) {
  std::string line;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '\r' && i + 1 < text.size() && text[i + 1] == '\n') continue;
    line += text[i] == '\n' || text[i] == '\r' || text[i] == '\t' ? ' ' : text[i];
  }
  return printable(line);
}

}  // namespace fourbeat::deliver
