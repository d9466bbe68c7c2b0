// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/store/trust.h"

#include "user_folder.h"

#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"

#include <algorithm>
#include <string>

namespace fourbeat::store {

namespace {
constexpr std::int64_t list_limit_bytes = 1 << 20;
}

std::filesystem::path trust_file() {
  return user_folder("FOURBEAT_CONFIG", "XDG_CONFIG_HOME", ".config") / "trusted-folders";
}

std::vector<std::filesystem::path> trusted_folders() {
  std::vector<std::filesystem::path> folders;
  const Result<std::string> text = read_text_file(trust_file(), list_limit_bytes);
  if (!text) return folders;
  for (std::size_t start = 0; start < text->size();) {
    const std::size_t end = std::min(text->find('\n', start), text->size());
    const std::filesystem::path folder = text_path(text->substr(start, end - start));
    if (folder.is_absolute()) folders.push_back(folder);
    start = end + 1;
  }
  return folders;
}

Status trust_folder(const std::filesystem::path& folder) {
  std::vector<std::filesystem::path> folders = trusted_folders();
  const std::filesystem::path added = settled_path(folder);
  if (path_text(added).find('\n') != std::string::npos) {
    return Error{ErrorCode::bad_argument,
                 path_text(added),
                 {},
                 "the folder's name has a line break in it",
                 "rename the folder"};
  }
  if (std::find(folders.begin(), folders.end(), added) != folders.end()) return ok();
  folders.push_back(added);
  std::string text;
  for (const std::filesystem::path& each : folders)
    text += path_text(each) + '\n';
  std::error_code failed;
  std::filesystem::create_directories(trust_file().parent_path(), failed);
  return write_file_atomically(trust_file(), text);
}

bool is_trusted(const std::filesystem::path& file) {
  const std::filesystem::path whole = settled_path(file);
  const std::vector<std::filesystem::path> folders = trusted_folders();
  return std::any_of(folders.begin(), folders.end(), [&whole](const std::filesystem::path& folder) {
    const auto [end, _] = std::mismatch(folder.begin(), folder.end(), whole.begin(), whole.end());
    return end == folder.end();
  });
}

}  // namespace fourbeat::store
