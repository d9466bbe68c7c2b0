// SPDX-License-Identifier: GPL-3.0-or-later
#include "edit_members.h"
#include "member_io.h"

#include "fourbeat/store/project_file.h"

namespace fourbeat::store {

Result<std::vector<model::Edit>> parse_edits(std::string_view text, const std::string& file) {
  const Result<Json> json = parse_json(text, file);
  if (!json) return json.error();
  std::vector<model::Edit> edits;
  // Unknown members of an edit are slips; those of the entities in it are kept.
  const Reader reader(Unknown::refuse, true);
  if (Fault found = reader.value(*json, edits, model::free_rule, {})) return in_file(*found, file);
  return edits;
}

}  // namespace fourbeat::store
