// SPDX-License-Identifier: GPL-3.0-or-later
#include "context.h"

#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"
#include "fourbeat/store/data_files.h"
#include "fourbeat/work/session.h"
#include "fourbeat/work/standard_cards.h"

#include <fmt/format.h>

#include <algorithm>
#include <memory>
#include <utility>

namespace fourbeat::cli {

namespace {

/// Below the project's folder.
std::string path_of(const work::StandardCard& made) {
  return fmt::format("cards/standard-{}.json", made.name);
}

/// Writes the cards that are not there as they would be, and lists those the set does not list.
int write_cards(const std::string& path, const std::vector<work::StandardCard>& cards,
                bool replace) {
  Result<work::Session> session = work::Session::open_to_change(text_path(path));
  if (!session) return fail(session.error());
  std::error_code failed;
  std::filesystem::create_directories(session->folder() / "cards", failed);
  if (failed) {
    return fail(Error{
        ErrorCode::io_failed, path_text(session->folder() / "cards"), {}, failed.message(), {}});
  }
  std::vector<std::pair<std::filesystem::path, std::string>> wanted;
  for (const work::StandardCard& made : cards) {
    const std::filesystem::path file = session->folder() / text_path(path_of(made));
    std::string text = store::run_card_text(made.card);
    if (std::filesystem::exists(std::filesystem::symlink_status(file, failed))) {
      const Result<std::string> there = read_text_file(file, text.size() + 1);
      if (there && *there == text) continue;
      if (!replace) {
        return fail(Error{ErrorCode::would_overwrite,
                          path_text(file),
                          {},
                          "there is another card of that name",
                          "give --replace, or keep it under another name"});
      }
    }
    wanted.emplace_back(file, std::move(text));
  }
  for (const auto& [file, text] : wanted) {
    if (const Status wrote = write_file_atomically(file, text); !wrote) return fail(wrote.error());
  }
  std::vector<std::string> listed = session->project().run_cards;
  for (const work::StandardCard& made : cards) {
    if (std::find(listed.begin(), listed.end(), path_of(made)) == listed.end()) {
      listed.push_back(path_of(made));
    }
  }
  if (listed == session->project().run_cards) return exit_done;
  if (const auto done = session->perform({model::SetRunCards{std::move(listed)}}); !done) {
    return fail_in(path, done.error());
  }
  if (const Status saved = session->save(); !saved) return fail(saved.error());
  return exit_done;
}

int cards_command(const std::string& path, bool write, bool replace, bool as_json) {
  std::vector<work::StandardCard> cards;
  {
    const Result<work::Session> session = work::Session::open(text_path(path));
    if (!session) return fail(session.error());
    cards = work::standard_cards(session->project());
  }
  if (write || replace) {
    if (const int status = write_cards(path, cards, replace); status != exit_done) return status;
  }
  Json json;
  json["cards"] = Json::array();
  for (const work::StandardCard& made : cards) {
    if (as_json) {
      json["cards"].push_back({{"path", path_of(made)},
                               {"title", made.card.title},
                               {"seconds", number(made.card.seconds, 3)}});
    } else {
      say(fmt::format("{}: {}, {:.0f} s", path_of(made), made.card.title, made.card.seconds));
    }
  }
  if (as_json) print(json);
  return exit_done;
}

}  // namespace

void add_card_command(const Command& app) {
  auto path = std::make_shared<std::string>();
  auto write = std::make_shared<bool>(false);
  auto replace = std::make_shared<bool>(false);
  auto json = std::make_shared<bool>(false);
  app.add(
      "cards", "The standard run cards, made for the set",
      [=](const Command& c) {
        c.option("PROJECT", *path, "Project file").required();
        c.flag("--write", *write, "Write them below the project's cards folder, and list them");
        c.flag("--replace", *replace, "As --write, over cards of the same names");
        c.flag("--json", *json, "Print JSON");
      },
      [=] { return cards_command(*path, *write, *replace, *json); });
}

}  // namespace fourbeat::cli
