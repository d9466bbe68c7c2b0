// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/card_files.h"

#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"
#include "fourbeat/store/data_files.h"
#include "fourbeat/store/takes.h"
#include "fourbeat/work/standard_cards.h"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <utility>

namespace fourbeat::work {

namespace fs = std::filesystem;

std::string standard_card_path(const std::string& name) {
  return fmt::format("cards/standard-{}.json", name);
}

Result<StandardCardFiles> write_standard_cards(const model::Project& project,
                                               const fs::path& project_folder, CardInTheWay others,
                                               JobControl& job) {
  StandardCardFiles files;
  std::vector<std::pair<std::string, std::string>> wanted;
  for (const StandardCard& made : standard_cards(project)) {
    const std::string path = standard_card_path(made.name);
    const fs::path file = project_folder / text_path(path);
    const Status free = store::refuse_takes_as_output(project, project_folder, file);
    if (!free) return free.error();
    std::string text = store::run_card_text(made.card);
    std::error_code failed;
    if (fs::exists(fs::symlink_status(file, failed))) {
      const Result<std::string> there = read_text_file(file, std::ssize(text) + 1);
      if (there && *there == text) {
        files.paths.push_back(path);
        continue;
      }
      if (others != CardInTheWay::replace) {
        files.in_the_way.push_back(path);
        continue;
      }
    }
    files.paths.push_back(path);
    wanted.emplace_back(path, std::move(text));
  }
  if (others == CardInTheWay::refuse && !files.in_the_way.empty()) return files;
  if (job.cancelled()) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
  std::error_code failed;
  fs::create_directories(project_folder / "cards", failed);
  if (failed) {
    return Error{
        ErrorCode::io_failed, path_text(project_folder / "cards"), {}, failed.message(), {}};
  }
  for (auto& [path, text] : wanted) {
    const Status wrote = write_file_atomically(project_folder / text_path(path), text);
    if (!wrote) return wrote.error();
    files.written.push_back(std::move(path));
  }
  return files;
}

std::vector<std::string> listed_with(std::vector<std::string> listed,
                                     const std::vector<std::string>& more) {
  for (const std::string& path : more) {
    if (std::find(listed.begin(), listed.end(), path) == listed.end()) listed.push_back(path);
  }
  return listed;
}

}  // namespace fourbeat::work
