// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/store/project_file.h"

#include "member_io.h"
#include "migrate.h"

#include "fourbeat/base/text.h"
#include "fourbeat/model/entities.h"
#include "fourbeat/model/validate.h"

#include <array>
#include <charconv>

namespace fourbeat::store {

namespace {

constexpr std::string_view format_name = "fourbeat-project";
constexpr std::array<std::string_view, 2> header_members{"format", "version"};

Json project_json(const model::Project& project) {
  Json json = Json::object();
  json["format"] = format_name;
  json["version"] = project_version;
  Writer().add_members(project, json);
  return json;
}

/// The levels of a JSON Pointer, unescaped; nothing when it is none.
std::optional<std::vector<std::string>> pointer_levels(std::string_view pointer) {
  std::vector<std::string> levels;
  if (!pointer.empty() && pointer.front() != '/') return std::nullopt;
  for (std::size_t i = 0; i < pointer.size(); ++i) {
    if (pointer[i] == '/') {
      levels.emplace_back();
    } else if (pointer[i] != '~') {
      levels.back() += pointer[i];
    } else if (i + 1 < pointer.size() && (pointer[i + 1] == '0' || pointer[i + 1] == '1')) {
      levels.back() += pointer[++i] == '0' ? '~' : '/';
    } else {
      return std::nullopt;
    }
  }
  return levels;
}

const Json* step_into(const Json& json, const std::string& level) {
  if (json.is_object()) {
    const auto found = json.find(level);
    return found == json.end() ? nullptr : &*found;
  }
  if (!json.is_array() || level.empty() || (level.size() > 1 && level.front() == '0')) {
    return nullptr;
  }
  std::size_t index = 0;
  const auto [end, error] = std::from_chars(level.data(), level.data() + level.size(), index);
  if (error != std::errc() || end != level.data() + level.size()) return nullptr;
  return index < json.size() ? &json[index] : nullptr;
}

template <class T>
std::string entity_pointer(const model::Project& project, Id<T> id) {
  const std::optional<std::size_t> at = model::index_of(project, id);
  return at ? fmt::format("{}/{}", model::Entity<T>::list, *at) : std::string();
}

}  // namespace

std::string project_text(const model::Project& project) {
  return pretty_text(project_json(project)) + "\n";
}

Result<model::Project> parse_project(std::string_view text, const std::string& file) {
  Result<Json> json = parse_json(text, file);
  if (!json) return json.error();
  const Result<int> version = read_header(*json, format_name, project_version);
  if (!version) return in_file(version.error(), file);
  migrate(*json, *version, project_migrations());
  model::Project project;
  if (Fault found = Reader(Unknown::refuse).object(*json, project, {}, header_members)) {
    return in_file(*found, file);
  }
  if (const Status holds = model::validate(project); !holds) return in_file(holds.error(), file);
  return project;
}

Result<model::Project> load_project(const std::filesystem::path& path) {
  const Result<std::string> text = read_text_file(path, project_limit_bytes);
  if (!text) return text.error();
  return parse_project(*text, path_text(path));
}

Status save_project(const std::filesystem::path& path, const model::Project& project) {
  if (Status holds = model::validate(project); !holds) {
    Error error = holds.error();
    error.file = path_text(path);
    return error;
  }
  const std::string text = project_text(project);
  // Nothing is written that could not be opened again.
  if (const Result<model::Project> again = parse_project(text, path_text(path)); !again) {
    return again.error();
  }
  return write_file_atomically(path, text, true);
}

Result<std::string> show(const model::Project& project, const std::string& pointer) {
  const Json whole = project_json(project);
  const Json* json = &whole;
  const std::optional<std::vector<std::string>> levels = pointer_levels(pointer);
  if (!levels) {
    return Error{ErrorCode::not_found,
                 {},
                 pointer,
                 "is not a JSON Pointer",
                 "start it with /, as in /segments/0"};
  }
  for (const std::string& level : *levels) {
    json = step_into(*json, level);
    if (json == nullptr) {
      return Error{ErrorCode::not_found,
                   {},
                   pointer,
                   fmt::format("the project has no such place (at “{}”)", level),
                   "show the project without a pointer to see its places"};
    }
  }
  return pretty_text(*json);
}

std::string pointer_of(const model::Project& project, Id<model::Take> id) {
  return entity_pointer(project, id);
}
std::string pointer_of(const model::Project& project, Id<model::Pass> id) {
  return entity_pointer(project, id);
}
std::string pointer_of(const model::Project& project, Id<model::Segment> id) {
  return entity_pointer(project, id);
}
std::string pointer_of(const model::Project& project, Id<model::Sound> id) {
  return entity_pointer(project, id);
}
std::string pointer_of(const model::Project& project, Id<model::ChuffRow> id) {
  return entity_pointer(project, id);
}
std::string pointer_of(const model::Project& project, Id<model::Key> id) {
  return entity_pointer(project, id);
}
std::string pointer_of(const model::Project& project, Id<model::OwnState> id) {
  return entity_pointer(project, id);
}
std::string pointer_of(const model::Project& project, Id<model::Trigger> id) {
  return entity_pointer(project, id);
}
std::string pointer_of(const model::Project& project, Id<model::Layer> id) {
  return entity_pointer(project, id);
}
std::string pointer_of(const model::Project& project, Id<model::Option> id) {
  return entity_pointer(project, id);
}
std::string pointer_of(const model::Project& project, Id<model::Cv> id) {
  return entity_pointer(project, id);
}

}  // namespace fourbeat::store
