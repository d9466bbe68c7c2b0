// SPDX-License-Identifier: GPL-3.0-or-later
#include "data_members.h"
#include "member_io.h"
#include "support/catch.h"
#include "support/lively_project.h"

#include "fourbeat/base/files.h"
#include "fourbeat/store/data_files.h"
#include "fourbeat/store/project_file.h"

#include <fmt/format.h>
#include <valijson/adapters/nlohmann_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validator.hpp>

#include <filesystem>
#include <set>

using namespace fourbeat;
using namespace fourbeat::store;

namespace {

using Plain = nlohmann::json;  // valijson's adapter reads this one

std::filesystem::path shared(const std::string& name) {
  return std::filesystem::path(FOURBEAT_SHARED) / name;
}

Plain plain_file(const std::filesystem::path& path) {
  const Result<std::string> text = read_text_file(path, project_limit_bytes);
  REQUIRE(text);
  return Plain::parse(*text);
}

class Schema {
 public:
  explicit Schema(const std::string& name) : document_(plain_file(shared("schema/" + name))) {
    valijson::SchemaParser parser(valijson::SchemaParser::kDraft7);
    parser.populateSchema(valijson::adapters::NlohmannJsonAdapter(document_), schema_);
  }
  [[nodiscard]] bool holds(const Plain& json) const {
    valijson::Validator validator;
    return validator.validate(schema_, valijson::adapters::NlohmannJsonAdapter(json), nullptr);
  }
  [[nodiscard]] const Plain& document() const { return document_; }

 private:
  Plain document_;
  valijson::Schema schema_;
};

const Schema& project_schema() {
  static const Schema schema("project.schema.json");
  return schema;
}

Plain sample() {
  return Plain::parse(project_text(tests::sample_project()));
}

bool loads(const Plain& json) {
  return parse_project(json.dump(), "p").has_value();
}

/// The schema's names and required members of a definition are those of the program.
template <class T>
void compare_members(const Plain& definition) {
  std::set<std::string> names;
  std::set<std::string> required;
  std::apply(
      [&](const auto&... member) {
        (names.emplace(member.name), ...);
        (static_cast<void>(member.rule.required && required.emplace(member.name).second), ...);
      },
      model::Members<T>::list);
  // What the program reads apart from the members: a document's header, a variant's tag.
  const auto apart = [&](const std::string& name) {
    return names.count(name) == 0 &&
           (name == "format" || name == "version" || name == "step" || name == "task");
  };
  std::set<std::string> schema_names;
  for (const auto& [name, rule] : definition.at("properties").items()) {
    if (!apart(name)) schema_names.insert(name);
  }
  std::set<std::string> schema_required;
  const Plain must = definition.value("required", Plain::array());
  for (const Plain& name : must) {
    if (!apart(name)) schema_required.insert(name.get<std::string>());
  }
  CHECK(schema_names == names);
  CHECK(schema_required == required);
}

}  // namespace

TEST_CASE("schema: what the program writes holds", "[store]") {
  CHECK(project_schema().holds(sample()));
  CHECK(project_schema().holds(Plain::parse(project_text(model::Project{}))));
  CHECK(project_schema().holds(Plain::parse(project_text(tests::lively_project()))));
}

TEST_CASE("schema: its members are the program's", "[store]") {
  const Plain& project = project_schema().document();
  const Plain& definitions = project.at("definitions");
  compare_members<model::Project>(project);
  compare_members<model::Engine>(definitions.at("engine"));
  compare_members<model::EffortCalibration>(definitions.at("effort_calibration"));
  compare_members<model::Take>(definitions.at("take"));
  compare_members<model::Rights>(definitions.at("rights"));
  compare_members<model::Pass>(definitions.at("pass"));
  compare_members<model::PassTake>(definitions.at("pass").at("properties").at("takes").at("items"));
  compare_members<model::Mark>(definitions.at("mark"));
  compare_members<model::MixInput>(definitions.at("mix_input"));
  compare_members<model::HighPass>(definitions.at("high_pass"));
  compare_members<model::HumNotch>(definitions.at("hum_notch"));
  compare_members<model::Source>(definitions.at("source"));
  compare_members<model::Loop>(definitions.at("loop"));
  compare_members<model::Segment>(definitions.at("segment"));
  compare_members<model::Sound>(definitions.at("sound"));
  compare_members<model::Chuff>(definitions.at("chuff"));
  compare_members<model::Revolution>(definitions.at("revolution"));
  compare_members<model::Derived>(definitions.at("derived"));
  compare_members<model::FusedLoop>(definitions.at("fused_loop"));
  compare_members<model::ChuffRow>(definitions.at("chuff_row"));
  compare_members<model::ChuffTable>(definitions.at("chuff_table"));
  compare_members<model::Key>(definitions.at("key"));
  compare_members<model::When>(definitions.at("when"));
  compare_members<model::SpeedVariant>(definitions.at("speed_variant"));
  compare_members<model::BrakeKey>(definitions.at("brake_key"));
  compare_members<model::DirectControlKey>(definitions.at("direct_control_key"));
  compare_members<model::WakeKey>(definitions.at("wake_key"));
  compare_members<model::SlipKey>(definitions.at("slip_key"));
  compare_members<model::SilenceKey>(definitions.at("silence_key"));
  compare_members<model::SoftenKey>(definitions.at("soften_key"));
  compare_members<model::ChoreKey>(definitions.at("chore_key"));
  compare_members<model::EffortKey>(definitions.at("effort_key"));
  compare_members<model::OptionKey>(definitions.at("option_key"));
  compare_members<model::OwnState>(definitions.at("own_state"));
  compare_members<model::TimeSpan>(definitions.at("time_span"));
  compare_members<model::Trigger>(definitions.at("trigger"));
  compare_members<model::SpeedLevel>(definitions.at("speed_level"));
  compare_members<model::Layer>(definitions.at("layer"));
  compare_members<model::Option>(definitions.at("option"));
  compare_members<model::OptionChoice>(definitions.at("option_choice"));
  compare_members<model::Cv>(definitions.at("cv"));
  compare_members<model::CvEffect>(definitions.at("cv_effect"));
  compare_members<model::Driving>(definitions.at("driving"));
  compare_members<model::SpeedPoint>(definitions.at("speed_point"));
  compare_members<model::Synchronisation>(definitions.at("synchronisation"));
  compare_members<model::Slip>(definitions.at("slip"));
  compare_members<model::Duties>(definitions.at("duties"));
  compare_members<model::Verdict>(definitions.at("verdict"));
  compare_members<model::Speaker>(definitions.at("speaker"));
  compare_members<model::Speaker>(plain_file(shared("schema/speaker.schema.json")));
  compare_members<FrameRange>(definitions.at("range"));
  const Plain decoder = plain_file(shared("schema/decoder.schema.json"));
  compare_members<model::DecoderProfile>(decoder);
  compare_members<model::LoopRules>(decoder.at("properties").at("loop"));
}

TEST_CASE("schema: a document that breaks a rule of it is refused by schema and program alike",
          "[store]") {
  struct Breach {
    const char* pointer;
    Plain value;
  };
  const std::vector<Breach> breaches{
      {"/format", "other"},
      {"/version", 2},
      {"/version", 0},
      {"/next_id", 0},
      {"/date", "29.2.2024"},
      {"/run_cards/0", ""},
      {"/engine/beats_per_rev", 17},
      {"/engine/beats_per_rev", 4.5},
      {"/engine/beat_angles_deg/3", 360},
      {"/engine/top_speed_kmh", 0.5},
      {"/takes/0/id", 0},
      {"/takes/0/path", ""},
      {"/takes/0/sha256", "ABC"},
      {"/takes/0/sample_rate_hz", 768'001},
      {"/takes/0/frames", 0},
      {"/passes/0/rights/until", "soon"},
      {"/passes/0/takes/0/take", "1"},
      {"/marks/0/kind", "bang"},
      {"/marks/0/to_frame", 5},
      {"/marks/0/effort", "easy"},
      {"/marks/0/beats", 4},
      {"/marks/1/to_frame", nullptr},
      {"/marks/1/kind", "beat_added"},
      {"/marks/2/beats", 0},
      {"/marks/3/effort", "medium"},
      {"/marks/3/effort", nullptr},
      {"/takes/0/chuff_source", 1},
      {"/engine/effort/hard_from_share", 1.5},
      {"/engine/effort/hard_from_m_s2", nullptr},
      {"/marks/0/range", Plain{{"start_frame", 1}}},
      {"/marks/0/range", Plain{{"start_frame", 1}, {"end_frame", 2}, {"middle", 1}}},
      {"/segments/0/source/mix", Plain::array()},
      {"/segments/0/source/mix/0/channel", 0},
      {"/segments/0/source/mix/0/inverted", 1},
      {"/segments/0/source/clean/0/order", 3},
      {"/segments/0/source/clean/0/step", "echo"},
      {"/segments/0/source/clean/1/q", 201},
      {"/segments/0/gain_db", 40.01},
      {"/segments/0/loop/crossfade_frames", -1},
      {"/segments/0/loop/crossfade_at", "middle"},
      {"/segments/0/loop/drift_db", -12.01},
      {"/segments/0/loop/octave_drift_db", Plain::array({1, 2, 3, 4, 5, 6, 7})},
      {"/segments/0/loop/octave_drift_db", Plain::array({-12.01})},
      {"/sounds/0/category", "horn"},
      {"/sounds/0/priority", 101},
      {"/sounds/0/importance", 0.05},
      {"/chuffs/lead_ms", 51},
      {"/chuffs/rows/0/effort", "medium"},
      {"/chuffs/rows/0/condition", "wet"},
      {"/chuffs/rows/0/derived/tilt_db_per_octave", 6.1},
      {"/chuffs/rows/0/fused/loop/crossfade_frames", -1},
      {"/chuffs/rows/0/fused/gain_db", 41},
      {"/chuffs/rows/0/revolutions/0/chuffs/0/fade_in_frames", -1},
      {"/keys/0/number", 69},
      {"/keys/0/mode", 0},
      {"/cvs/0/value", 2'000'000},
      {"/verdicts/0/kind", "maybe"},
      {"/verdicts/0/row", 10},
      {"/speaker/name", ""},
      {"/speaker/high_pass_hz", 9.9},
      {"/speaker/peak_db", 24.5},
      {"/speaker/peak_q", 0.05},
      {"/speaker/low_pass_hz", 40'001}};
  for (const Breach& breach : breaches) {
    Plain json = sample();
    json[Plain::json_pointer(breach.pointer)] = breach.value;
    INFO(breach.pointer << " = " << breach.value.dump());
    CHECK_FALSE(project_schema().holds(json));
    CHECK_FALSE(loads(json));
  }
  for (const char* required :
       {"/format", "/version", "/next_id", "/takes/0/id", "/takes/0/sha256", "/marks/0/range",
        "/segments/0/source", "/segments/0/source/pass", "/keys/0/id", "/cvs/0/number",
        "/verdicts/0/segment", "/chuffs/rows/0/to_kmh", "/segments/0/loop/range",
        "/chuffs/rows/0/fused/loop", "/speaker/name", "/speaker/low_pass_q"}) {
    Plain json = sample();
    const Plain::json_pointer pointer(required);
    json[pointer.parent_pointer()].erase(pointer.back());
    INFO(required << " removed");
    CHECK_FALSE(project_schema().holds(json));
    CHECK_FALSE(loads(json));
  }
}

namespace {

/// Puts a strange value into every step-th place of a project, each in its turn.
void judge_strange(int step) {
  const Plain original = sample();
  const std::vector<Plain> strange{nullptr, true, "word", 1e17, -1e17, Plain::array(), {{"a", 1}}};
  int place = 0;
  int judged = 0;
  int refused = 0;
  const Plain places = original.flatten();
  for (const auto& [pointer, held] : places.items()) {
    if (place++ % step != 0) continue;
    for (const Plain& value : strange) {
      if (value.type() == held.type() && !value.is_number()) continue;
      Plain json = original;
      json[Plain::json_pointer(pointer)] = value;
      const bool holds = project_schema().holds(json);
      INFO(pointer << " = " << value.dump());
      CHECK(holds == loads(json));
      ++judged;
      refused += holds ? 0 : 1;
    }
  }
  CHECK(judged > 1000 / step);
  CHECK(refused > 500 / step);
}

}  // namespace

TEST_CASE("schema: what stands in a place, schema and program judge its kind alike", "[store]") {
  judge_strange(8);
}

TEST_CASE("schema: whatever stands in any place, schema and program judge its kind alike",
          "[store][deep]") {
  judge_strange(1);
}

TEST_CASE("schema: decoder profiles as shipped hold, and broken ones do not", "[store]") {
  const Schema schema("decoder.schema.json");
  const Plain breaches = {{"voices", 0},
                          {"bits", Plain::array({9})},
                          {"sample_rates_hz", Plain::array()},
                          {"loop", {{"min_frames", 0}, {"multiple_of_frames", 1}}},
                          {"id", ""}};
  int profiles = 0;
  for (const auto& entry : std::filesystem::directory_iterator(shared("decoders"))) {
    const Plain profile = plain_file(entry.path());
    ++profiles;
    CHECK(schema.holds(profile));
    for (const auto& [member, value] : breaches.items()) {
      Plain broken = profile;
      broken[member] = value;
      INFO(member);
      CHECK_FALSE(schema.holds(broken));
      CHECK_FALSE(parse_decoder_profile(broken.dump(), "d"));
    }
  }
  CHECK(profiles == 4);
}

TEST_CASE("schema: speaker models as shipped hold, say they are invented, and broken ones do not",
          "[store]") {
  const Schema schema("speaker.schema.json");
  const Plain breaches = {{"name", ""},      {"high_pass_hz", 0},     {"high_pass_q", 11},
                          {"peak_hz", 49.9}, {"low_pass_hz", "high"}, {"version", 2}};
  int speakers = 0;
  for (const auto& entry : std::filesystem::directory_iterator(shared("speakers"))) {
    const Plain speaker = plain_file(entry.path());
    ++speakers;
    CHECK(schema.holds(speaker));
    const Result<model::Speaker> read = parse_speaker(speaker.dump(), "s");
    REQUIRE(read);
    CHECK(read->invented);
    CHECK(read->extra.empty());
    for (const auto& [member, value] : breaches.items()) {
      Plain broken = speaker;
      broken[member] = value;
      INFO(member);
      CHECK_FALSE(schema.holds(broken));
      CHECK_FALSE(parse_speaker(broken.dump(), "s"));
    }
  }
  const Result<std::vector<model::Speaker>> all = load_speakers();
  REQUIRE(all);
  CHECK(static_cast<int>(all->size()) == speakers);
  CHECK(speakers >= 3);
}

TEST_CASE("schema: a verdict on a fused row is written and read", "[store]") {
  model::Project project = tests::sample_project();
  project.verdicts[0].segment = {};
  project.verdicts[0].row = project.chuffs.rows[0].id;
  const std::string text = project_text(project);
  CHECK(project_schema().holds(Plain::parse(text)));
  const Result<model::Project> read = parse_project(text, "p");
  REQUIRE(read);
  CHECK(*read == project);
}

TEST_CASE("schema: run cards are judged alike", "[store]") {
  const Schema schema("runcard.schema.json");
  const auto judge = [&](const std::string& move) {
    const std::string text = fmt::format(
        R"({{"format": "fourbeat-runcard", "version": 1, "seconds": 60, "moves": [{}]}})", move);
    const bool holds = schema.holds(Plain::parse(text));
    INFO(move);
    CHECK(holds == parse_run_card(text, "c").has_value());
    return holds;
  };
  for (const char* good :
       {"", R"({"time_s": 0, "throttle_step": 126})", R"({"time_s": 1, "key": 0, "on": false})",
        R"({"time_s": 1, "direction": "reverse"})", R"({"time_s": 1, "cv": 1, "value": 0})",
        R"({"time_s": 1, "load": 1})",
        R"({"time_s": 1, "gradient_percent": -2.5, "why": "hill"})"}) {
    CHECK(judge(good));
  }
  for (const char* bad :
       {R"({"time_s": 0})", R"({"throttle_step": 1})", R"({"time_s": 0, "throttle_step": 127})",
        R"({"time_s": 0, "key": 1})", R"({"time_s": 0, "load": 0, "cv": 1, "value": 1})",
        R"({"time_s": 0, "direction": "up"})", R"({"time_s": 14401, "load": 0})", "3"}) {
    CHECK_FALSE(judge(bad));
  }
}
