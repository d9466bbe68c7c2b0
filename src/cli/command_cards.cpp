// SPDX-License-Identifier: GPL-3.0-or-later
#include "context.h"

#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"
#include "fourbeat/work/card_files.h"
#include "fourbeat/work/session.h"
#include "fourbeat/work/standard_cards.h"

#include <fmt/format.h>

#include <memory>
#include <utility>

namespace fourbeat::cli {

namespace {

/// Writes the cards that are not there as they would be, and lists those the set does not list.
int write_cards(const std::string& path, bool replace) {
  Result<work::Session> session = work::Session::open_to_change(text_path(path));
  if (!session) return fail(session.error());
  JobControl job;
  const Result<work::StandardCardFiles> files = work::write_standard_cards(
      session->project(), session->folder(),
      replace ? work::CardInTheWay::replace : work::CardInTheWay::refuse, job);
  if (!files) return fail(files.error());
  if (!files->in_the_way.empty()) {
    return fail(Error{ErrorCode::would_overwrite,
                      path_text(session->folder() / text_path(files->in_the_way.front())),
                      {},
                      "there is another card of that name",
                      "give --replace, or keep it under another name"});
  }
  std::vector<std::string> listed = work::listed_with(session->project().run_cards, files->paths);
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
    if (const int status = write_cards(path, replace); status != exit_done) return status;
  }
  Json json;
  json["cards"] = Json::array();
  for (const work::StandardCard& made : cards) {
    if (as_json) {
      json["cards"].push_back({{"path", work::standard_card_path(made.name)},
                               {"title", made.card.title},
                               {"seconds", number(made.card.seconds, 3)}});
    } else {
      say(fmt::format("{}: {}, {:.0f} s", work::standard_card_path(made.name), made.card.title,
                      made.card.seconds));
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
