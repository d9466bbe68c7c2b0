// SPDX-License-Identifier: GPL-3.0-or-later
#include "migrate.h"

#include "support/catch.h"

#include "fourbeat/store/project_file.h"

#include <array>

using namespace fourbeat::store;

namespace {

void rename_name(Json& document) {
  document["title"] = document["name"];
  document.erase("name");
}
void shout_title(Json& document) {
  document["title"] = document["title"].get<std::string>() + "!";
}
constexpr std::array<Migration, 2> steps{&rename_name, &shout_title};

}  // namespace

TEST_CASE("migrate: each step from the document's version on is taken once, in order", "[store]") {
  Json oldest = {{"version", 1}, {"name", "x"}};
  migrate(oldest, 1, steps);
  CHECK(oldest == Json{{"version", 3}, {"title", "x!"}});
  Json middle = {{"version", 2}, {"title", "y"}};
  migrate(middle, 2, steps);
  CHECK(middle == Json{{"version", 3}, {"title", "y!"}});
  Json latest = {{"version", 3}, {"title", "z"}};
  migrate(latest, 3, steps);
  CHECK(latest == Json{{"version", 3}, {"title", "z"}});
}

TEST_CASE("migrate: the project format has a step for each version but the last", "[store]") {
  CHECK(project_migrations().size() + 1 == static_cast<std::size_t>(project_version));
}
