// SPDX-License-Identifier: GPL-3.0-or-later
#include "manifest.h"
#include "support/catch.h"
#include "tiny_bundle.h"

#include <nlohmann/json.hpp>
#include <valijson/adapters/nlohmann_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validator.hpp>

#include <memory>
#include <set>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

using Plain = nlohmann::json;  // valijson's adapter reads this one

const Plain& document() {
  static const Plain read = Plain::parse(
      read_whole(std::filesystem::path(FOURBEAT_SHARED) / "schema/bundle.schema.json"));
  return read;
}

bool holds(const Plain& json) {
  static const std::unique_ptr<const valijson::Schema> schema = [] {
    auto made = std::make_unique<valijson::Schema>();
    valijson::SchemaParser parser(valijson::SchemaParser::kDraft7);
    parser.populateSchema(valijson::adapters::NlohmannJsonAdapter(document()), *made);
    return made;
  }();
  valijson::Validator validator;
  return validator.validate(*schema, valijson::adapters::NlohmannJsonAdapter(json), nullptr);
}

Plain packed(const deliver::BundleInput& input) {
  return Plain::parse(content_of(deliver::make_bundle(input).value(), "manifest.json"));
}

bool reads(const Plain& json) {
  return deliver::parse_manifest(json.dump()).has_value();
}

/// Every member of `json` is described by `rule`, and every member that it requires is written.
void compare(const Plain& json, const Plain& rule, const std::string& place) {
  if (rule.contains("$ref")) {
    return compare(
        json, document().at(Plain::json_pointer(rule["$ref"].get<std::string>().substr(1))), place);
  }
  if (rule.contains("oneOf")) {
    if (!json.is_null()) compare(json, rule["oneOf"].back(), place);
    return;
  }
  if (json.is_array()) {
    for (const Plain& item : json)
      compare(item, rule.at("items"), place + "/-");
  }
  if (!json.is_object()) return;
  std::set<std::string> written;
  for (const auto& [name, value] : json.items()) {
    INFO(place << "/" << name);
    written.insert(name);
    REQUIRE(rule.at("properties").contains(name));
    compare(value, rule["properties"][name], std::string(place).append("/").append(name));
  }
  std::set<std::string> required;
  for (const Plain& name : rule.at("required"))
    required.insert(name.get<std::string>());
  INFO(place);
  if (place == "/decoder") written.erase("note");  // said of invented classes only
  CHECK(written == required);
}

}  // namespace

TEST_CASE("bundle schema: what pack writes holds, and the schema describes all of it",
          "[deliver]") {
  const Plain written = packed(tiny_input());
  CHECK(holds(written));
  compare(written, document(), "");
  CHECK(written["sounds"].size() == 8);
  CHECK_FALSE(written["snags"].empty());

  model::DecoderProfile bare = tiny_profile();
  bare.invented = !bare.invented;
  bare.has_playback_gain = false;
  deliver::BundleInput input = input_of(tiny_project(), bare);
  input.project.engine.beat_angles_deg = {0.0, 85.5, 180.0, 277.25};
  const Plain other = packed(input);
  CHECK(holds(other));
  compare(other, document(), "");
}

TEST_CASE("bundle schema: schema and prove refuse the same", "[deliver]") {
  const Plain good = packed(tiny_input());
  const std::vector<std::pair<const char*, Plain>> breaches{{"/format", "other"},
                                                            {"/version", 2},
                                                            {"/version", "1"},
                                                            {"/title", 3},
                                                            {"/engine/beats_per_rev", 17},
                                                            {"/engine/driver_diameter_mm", 200},
                                                            {"/engine/beat_angles_deg", 4},
                                                            {"/decoder/sector_bytes", 0},
                                                            {"/decoder/highest_key", 69},
                                                            {"/decoder/bits", Plain::array({25})},
                                                            {"/decoder/loop/min_frames", 0},
                                                            {"/budget/bytes_used", -1},
                                                            {"/sounds", nullptr},
                                                            {"/sounds/0/name", "../x"},
                                                            {"/sounds/0/file", "/sounds/x.wav"},
                                                            {"/sounds/0/bits", 0},
                                                            {"/sounds/0/file_bits", 12},
                                                            {"/sounds/0/frames", 1.5},
                                                            {"/sounds/0/playback_gain_db", "0"},
                                                            {"/sounds/1/loop", 3},
                                                            {"/sounds/0/used_by/keys/0", "F69"},
                                                            {"/sounds/0/used_by/keys/0", "F-1"},
                                                            {"/unsigned_seams/0", 1},
                                                            {"/snags/0/severity", "error"},
                                                            {"/snags/0/where", "here"}};
  for (const auto& [pointer, value] : breaches) {
    Plain json = good;
    json[Plain::json_pointer(pointer)] = value;
    INFO(pointer << " = " << value.dump());
    CHECK_FALSE(holds(json));
    CHECK_FALSE(reads(json));
  }
  const Plain places = good.flatten();
  for (const auto& [pointer, held] : places.items()) {
    const Plain::json_pointer place(pointer);
    if (pointer == "/decoder/note") continue;
    Plain json = good;
    if (json[place.parent_pointer()].is_array()) continue;
    json[place.parent_pointer()].erase(place.back());
    INFO(pointer << " removed");
    CHECK_FALSE(holds(json));
    CHECK_FALSE(reads(json));
  }
}
