// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/store/journal.h"

#include "json_text.h"
#include "user_folder.h"

#include "fourbeat/base/files.h"
#include "fourbeat/base/sha256.h"
#include "fourbeat/base/text.h"
#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

#include <algorithm>
#include <string_view>

namespace fourbeat::store {

namespace {

constexpr std::string_view format_name = "fourbeat-journal";
constexpr int journal_version = 1;
constexpr std::string_view extension = ".journal";
constexpr std::string_view aside_extension = ".aside";
/// Digits of the path's hash in a journal's name: enough never to meet another's.
constexpr std::size_t name_digits = 24;
/// The first line of a journal, which tells whose it is.
constexpr std::int64_t header_limit_bytes = 64 << 10;

Error broken(const std::filesystem::path& file, std::string detail) {
  return {ErrorCode::bad_input, path_text(file), {}, std::move(detail), {}};
}

}  // namespace

std::filesystem::path journal_folder() {
  return user_folder("FOURBEAT_STATE", "XDG_STATE_HOME", ".local/state") / "journal";
}

std::filesystem::path journal_path(const std::filesystem::path& project_path) {
  const std::string name = sha256_hex(path_text(settled_path(project_path))).substr(0, name_digits);
  return journal_folder() / (name + std::string(extension));
}

Status write_journal(const std::filesystem::path& project_path, const model::Project& project,
                     Outlives outlives) {
  const std::filesystem::path file = journal_path(project_path);
  std::error_code failed;
  std::filesystem::create_directories(file.parent_path(), failed);
  if (failed) {
    return Error{ErrorCode::io_failed, path_text(file.parent_path()), {}, failed.message(), {}};
  }
  Json header = Json::object();
  header["format"] = format_name;
  header["version"] = journal_version;
  header["project_path"] = path_text(settled_path(project_path));
  return write_file_atomically(file, header.dump() + "\n" + project_text(project), false, outlives);
}

Status remove_journal(const std::filesystem::path& project_path) {
  const std::filesystem::path file = journal_path(project_path);
  std::error_code failed;
  std::filesystem::remove(file, failed);
  if (failed) return Error{ErrorCode::io_failed, path_text(file), {}, failed.message(), {}};
  return ok();
}

Result<Journal> read_journal(const std::filesystem::path& journal_file) {
  const Result<std::string> text =
      read_text_file(journal_file, project_limit_bytes + header_limit_bytes);
  if (!text) return text.error();
  const std::size_t line_end = text->find('\n');
  if (line_end == std::string::npos || static_cast<std::int64_t>(line_end) > header_limit_bytes) {
    return broken(journal_file, "no journal: its first line does not say whose it is");
  }
  const Result<Json> header =
      parse_json(std::string_view(*text).substr(0, line_end), path_text(journal_file));
  if (!header) return header.error();
  const auto member = [&header](const char* name) {
    return header->is_object() ? header->value(name, Json()) : Json();
  };
  if (member("format") != Json(format_name) || !member("project_path").is_string()) {
    return broken(journal_file, "no journal: its first line does not say whose it is");
  }
  if (member("version") != Json(journal_version)) {
    return Error{ErrorCode::newer_version, path_text(journal_file), {}, {}, {}};
  }
  Result<model::Project> project =
      parse_project(std::string_view(*text).substr(line_end + 1), path_text(journal_file));
  if (!project) return project.error();
  return Journal{text_path(member("project_path").get<std::string>()), std::move(*project)};
}

namespace {

std::vector<JournalFile> files_named(std::string_view wanted) {
  std::vector<JournalFile> found;
  std::error_code failed;
  for (std::filesystem::directory_iterator entry(journal_folder(), failed), end;
       !failed && entry != end; entry.increment(failed)) {
    if (entry->path().extension() != wanted) continue;
    JournalFile& file = found.emplace_back();
    file.file = entry->path();
    if (Result<Journal> journal = read_journal(entry->path())) {
      file.project_path = std::move(journal->project_path);
      file.title = std::move(journal->project.title);
    }
  }
  std::sort(found.begin(), found.end(),
            [](const JournalFile& a, const JournalFile& b) { return a.file < b.file; });
  return found;
}

}  // namespace

std::vector<JournalFile> list_journals() {
  return files_named(extension);
}

std::vector<JournalFile> list_journals_aside() {
  return files_named(aside_extension);
}

Result<std::filesystem::path> set_journal_aside(const std::filesystem::path& journal_file) {
  // One that was set aside before stays.
  std::filesystem::path aside;
  std::error_code failed;
  for (int number = 1; number == 1 || std::filesystem::exists(aside, failed); ++number) {
    aside = journal_file;
    if (number > 1) aside += fmt::format(".{}", number);
    aside += aside_extension;
  }
  std::filesystem::rename(journal_file, aside, failed);
  if (failed) return Error{ErrorCode::io_failed, path_text(journal_file), {}, failed.message(), {}};
  return aside;
}

Result<std::filesystem::path> take_journal_back(const std::filesystem::path& aside_file) {
  const Result<Journal> journal = read_journal(aside_file);
  if (!journal) return journal.error();
  const std::filesystem::path file = journal_path(journal->project_path);
  std::error_code failed;
  if (std::filesystem::exists(file, failed)) {
    return Error{ErrorCode::bad_argument,
                 path_text(journal->project_path),
                 {},
                 "there is later work on it that was not saved",
                 "open the project, save or discard that work, and close it first"};
  }
  std::filesystem::rename(aside_file, file, failed);
  if (failed) return Error{ErrorCode::io_failed, path_text(aside_file), {}, failed.message(), {}};
  return journal->project_path;
}

}  // namespace fourbeat::store
