// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/store/data_files.h"

#include "data_members.h"
#include "member_io.h"
#include "user_folder.h"

#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"
#include "fourbeat/model/validate.h"
#include "fourbeat/store/project_file.h"

#include <system_error>

namespace fourbeat::store {

namespace {

constexpr int data_version = 1;
constexpr std::array<std::string_view, 2> header_members{"format", "version"};

/// The document of a data file, its header proved.
Result<Json> parse_data(std::string_view text, const std::string& file, std::string_view format) {
  Result<Json> json = parse_json(text, file);
  if (!json) return json.error();
  if (const Result<int> version = read_header(*json, format, data_version); !version) {
    return in_file(version.error(), file);
  }
  return json;
}

Fault check_rising(const std::vector<int>& list, const Place& place) {
  if (list.empty()) return model::fault(place, "is empty", "give at least one");
  for (std::size_t i = 1; i < list.size(); ++i) {
    if (list[i] > list[i - 1]) continue;
    return model::fault({&place, {}, i}, fmt::format("is {}", list[i]), "let the list rise");
  }
  return std::nullopt;
}

Fault check_profile(const model::DecoderProfile& profile) {
  const Place document;
  if (profile.id.empty()) return model::fault({&document, "id"}, "is empty", "give it an id");
  if (profile.fixed_bytes > profile.memory_bytes) {
    return model::fault({&document, "fixed_bytes"}, "is above memory_bytes",
                        "leave memory for sounds");
  }
  if (Fault found = check_rising(profile.sample_rates_hz, {&document, "sample_rates_hz"})) {
    return found;
  }
  const Place bits{&document, "bits"};
  if (Fault found = check_rising(profile.bits, bits)) return found;
  for (std::size_t i = 0; i < profile.bits.size(); ++i) {
    const int depth = profile.bits[i];
    if (depth == 8 || depth == 12 || depth == 16) continue;
    return model::fault({&bits, {}, i}, fmt::format("is {}", depth), "give 8, 12 or 16");
  }
  return std::nullopt;
}

Fault check_definitions(const std::vector<CvDefinition>& cvs, const Place& list) {
  for (std::size_t i = 0; i < cvs.size(); ++i) {
    const Place place{&list, {}, i};
    if (cvs[i].min > cvs[i].max) {
      return model::fault(place, "min is above max", "let min be at most max");
    }
    if (i > 0 && cvs[i].number <= cvs[i - 1].number) {
      return model::fault({&place, "number"}, fmt::format("is {}", cvs[i].number),
                          "list each number once, rising");
    }
  }
  return std::nullopt;
}

/// The list of one member of a document.
template <class T>
Fault read_list(const Json& json, std::string_view name, std::vector<T>& out) {
  const Place document;
  const Place place{&document, name};
  const auto list = json.find(name);
  if (list == json.end()) return model::fault(place, "is missing", fmt::format("give {}", name));
  return Reader(Unknown::ignore).value(*list, out, model::free_rule, place);
}

/// Every JSON file of a folder, by file name.
template <class T>
Result<std::vector<T>> load_folder(const std::filesystem::path& folder,
                                   Result<T> (*parse)(std::string_view, const std::string&)) {
  std::error_code failed;
  std::vector<std::filesystem::path> paths;
  for (std::filesystem::directory_iterator at(folder, failed), end; !failed && at != end;
       at.increment(failed)) {
    if (at->path().extension() == ".json") paths.push_back(at->path());
  }
  if (failed) {
    return Error{ErrorCode::not_found,
                 path_text(folder),
                 {},
                 failed.message(),
                 "install Fourbeat's data, or name its folder in FOURBEAT_DATA"};
  }
  std::sort(paths.begin(), paths.end());
  std::vector<T> read;
  for (const std::filesystem::path& path : paths) {
    const Result<std::string> text = read_text_file(path, project_limit_bytes);
    if (!text) return text.error();
    Result<T> one = parse(*text, path_text(path));
    if (!one) return one.error();
    read.push_back(std::move(*one));
  }
  return read;
}

/// Sorted by id. Errors: bad_input (an id twice).
Result<std::vector<model::DecoderProfile>> by_id(std::vector<model::DecoderProfile> profiles,
                                                 const std::filesystem::path& folder) {
  std::stable_sort(profiles.begin(), profiles.end(),
                   [](const auto& a, const auto& b) { return a.id < b.id; });
  const auto twice = std::adjacent_find(profiles.begin(), profiles.end(),
                                        [](const auto& a, const auto& b) { return a.id == b.id; });
  if (twice != profiles.end()) {
    return Error{ErrorCode::bad_input,
                 path_text(folder),
                 {},
                 fmt::format("two profiles have the id “{}”", twice->id),
                 "rename one of them"};
  }
  return profiles;
}

}  // namespace

Result<model::DecoderProfile> parse_decoder_profile(std::string_view text,
                                                    const std::string& file) {
  const Result<Json> json = parse_data(text, file, "fourbeat-decoder");
  if (!json) return json.error();
  model::DecoderProfile profile;
  Fault found = Reader(Unknown::ignore).object(*json, profile, {}, header_members);
  if (!found) found = check_profile(profile);
  if (found) return in_file(*found, file);
  return profile;
}

Result<std::vector<model::DecoderProfile>> load_shipped_decoder_profiles() {
  Result<std::vector<model::DecoderProfile>> profiles =
      load_folder<model::DecoderProfile>(data_folder() / "decoders", parse_decoder_profile);
  if (!profiles) return profiles.error();
  return by_id(std::move(*profiles), data_folder() / "decoders");
}

std::filesystem::path own_decoder_folder() {
  return user_folder("FOURBEAT_CONFIG", "XDG_CONFIG_HOME", ".config") / "decoders";
}

Result<std::vector<model::DecoderProfile>> load_decoder_profiles() {
  Result<std::vector<model::DecoderProfile>> profiles = load_shipped_decoder_profiles();
  if (!profiles) return profiles.error();
  const std::filesystem::path folder = own_decoder_folder();
  std::error_code none;
  if (!std::filesystem::exists(folder, none)) return profiles;
  Result<std::vector<model::DecoderProfile>> own =
      load_folder<model::DecoderProfile>(folder, parse_decoder_profile);
  if (!own) return own.error();
  profiles->insert(profiles->end(), own->begin(), own->end());
  return by_id(std::move(*profiles), folder);
}

std::string decoder_profile_text(const model::DecoderProfile& profile) {
  Json json = Json::object();
  json["format"] = "fourbeat-decoder";
  json["version"] = data_version;
  Writer().add_members(profile, json);
  return json.dump(2) + "\n";
}

std::string decoder_profile_id(std::string_view name) {
  std::string id;
  for (const char letter : name) {
    const bool plain = (letter >= 'a' && letter <= 'z') || (letter >= '0' && letter <= '9');
    const bool capital = letter >= 'A' && letter <= 'Z';
    if (plain || capital) {
      id += capital ? static_cast<char>(letter - 'A' + 'a') : letter;
    } else if (!id.empty() && id.back() != '-') {
      id += '-';
    }
  }
  while (!id.empty() && id.back() == '-')
    id.pop_back();
  return id;
}

Status save_own_decoder_profile(const model::DecoderProfile& profile, bool over) {
  const std::filesystem::path folder = own_decoder_folder();
  if (profile.id.empty() || decoder_profile_id(profile.id) != profile.id) {
    return Error{ErrorCode::bad_argument,
                 {},
                 fmt::format("decoder “{}”", profile.name),
                 "its name has no letters or digits to name its file by",
                 "give it another name"};
  }
  const Result<std::vector<model::DecoderProfile>> shipped = load_shipped_decoder_profiles();
  if (!shipped) return shipped.error();
  const auto same = [&](const model::DecoderProfile& other) { return other.id == profile.id; };
  const std::filesystem::path file = folder / (profile.id + ".json");
  std::error_code failed;
  if (std::any_of(shipped->begin(), shipped->end(), same) ||
      (!over && std::filesystem::exists(file, failed))) {
    return Error{ErrorCode::bad_argument,
                 {},
                 fmt::format("decoder “{}”", profile.name),
                 fmt::format("another profile has the id “{}”", profile.id),
                 "give it another name"};
  }
  const std::string text = decoder_profile_text(profile);
  const Result<model::DecoderProfile> read = parse_decoder_profile(text, {});
  if (!read) return read.error();
  std::filesystem::create_directories(folder, failed);
  if (failed) return Error{ErrorCode::io_failed, path_text(folder), {}, failed.message(), {}};
  return write_file_atomically(file, text);
}

Result<model::DecoderProfile> load_decoder_profile(const std::string& id) {
  Result<std::vector<model::DecoderProfile>> profiles = load_decoder_profiles();
  if (!profiles) return profiles.error();
  std::string ids;
  for (model::DecoderProfile& profile : *profiles) {
    if (profile.id == id) return std::move(profile);
    ids += (ids.empty() ? "" : ", ") + profile.id;
  }
  return Error{ErrorCode::not_found,
               {},
               fmt::format("decoder “{}”", id),
               fmt::format("there are {}", ids.empty() ? "none" : ids),
               "choose one of these"};
}

Result<model::Speaker> parse_speaker(std::string_view text, const std::string& file) {
  const Result<Json> json = parse_data(text, file, "fourbeat-speaker");
  if (!json) return json.error();
  model::Speaker speaker;
  Fault found = Reader(Unknown::ignore).object(*json, speaker, {}, header_members);
  if (!found) found = model::check_speaker(speaker, {});
  if (found) return in_file(*found, file);
  return speaker;
}

Result<std::vector<model::Speaker>> load_speakers() {
  return load_folder<model::Speaker>(data_folder() / "speakers", parse_speaker);
}

Result<std::vector<CvDefinition>> load_cv_definitions() {
  const std::filesystem::path path = data_folder() / "cvs.json";
  const Result<std::string> text = read_text_file(path, project_limit_bytes);
  if (!text) return text.error();
  return parse_cv_definitions(*text, path_text(path));
}

Result<std::vector<CvDefinition>> parse_cv_definitions(std::string_view text,
                                                       const std::string& file) {
  const Result<Json> json = parse_data(text, file, "fourbeat-cvs");
  if (!json) return json.error();
  std::vector<CvDefinition> cvs;
  Fault found = read_list(*json, "cvs", cvs);
  if (!found) found = check_definitions(cvs, {nullptr, "cvs"});
  if (found) return in_file(*found, file);
  return cvs;
}

Result<std::vector<model::CleanStep>> parse_clean_chain(std::string_view text,
                                                        const std::string& file) {
  const Result<Json> json = parse_data(text, file, "fourbeat-chain");
  if (!json) return json.error();
  std::vector<model::CleanStep> steps;
  Fault found = read_list(*json, "steps", steps);
  if (!found) found = model::check_clean_chain(steps, {nullptr, "steps"});
  if (found) return in_file(*found, file);
  return steps;
}

}  // namespace fourbeat::store
