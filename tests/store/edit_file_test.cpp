// SPDX-License-Identifier: GPL-3.0-or-later
#include "edit_members.h"
#include "member_io.h"
#include "support/catch.h"
#include "support/lively_project.h"

#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

using namespace fourbeat;
using namespace fourbeat::store;
using fourbeat::tests::sample_project;

namespace {

Error refusal(const std::string& text) {
  const Result<std::vector<model::Edit>> edits = parse_edits(text, "edits.json");
  REQUIRE_FALSE(edits);
  CHECK(edits.error().file == "edits.json");
  return edits.error();
}

std::vector<model::Edit> read(const std::string& text) {
  const Result<std::vector<model::Edit>> edits = parse_edits(text, "edits.json");
  INFO((edits ? std::string() : to_line(edits.error())));
  REQUIRE(edits);
  return *edits;
}

/// One edit of each kind, in the order of their names.
std::vector<model::Edit> every_kind() {
  using namespace model;
  const Project p = tests::lively_project();
  std::vector<Edit> edits;
  const auto three = [&](const auto& entity) {
    using T = std::decay_t<decltype(entity)>;
    edits.emplace_back(Add<T>{entity, 3});
    edits.emplace_back(Remove<T>{entity.id});
    edits.emplace_back(Replace<T>{entity});
  };
  three(p.takes[0]);
  three(p.passes[0]);
  three(p.marks[0]);
  three(p.segments[0]);
  three(p.sounds[0]);
  three(p.chuffs.rows[0]);
  three(p.keys[0]);
  three(p.states[0]);
  three(p.triggers[0]);
  three(p.layers[0]);
  three(p.options[0]);
  three(p.cvs[0]);
  three(p.verdicts[0]);
  edits.emplace_back(SetTitle{"t"});
  edits.emplace_back(SetAuthor{"a"});
  edits.emplace_back(SetDate{"2025-01-31"});
  edits.emplace_back(SetDecoder{"d"});
  edits.emplace_back(SetSpeaker{p.speaker});
  edits.emplace_back(SetUserNotes{"# m"});
  edits.emplace_back(SetEngine{p.engine});
  edits.emplace_back(SetDriving{p.driving});
  edits.emplace_back(SetDuties{p.duties});
  edits.emplace_back(SetRunCards{{"a.json", "b.json"}});
  edits.emplace_back(SetRights{Id<Pass>(4), p.passes[0].rights});
  edits.emplace_back(TrimSegment{Id<Segment>(6), frame_range(-1, 7)});
  edits.emplace_back(SetSegmentGain{Id<Segment>(6), -2.5});
  edits.emplace_back(SetLoop{Id<Segment>(6), p.segments[0].loop});
  edits.emplace_back(SetSoundGain{Id<Sound>(8), 3.5});
  edits.emplace_back(SetChuffTable{p.chuffs});
  edits.emplace_back(SetCv{3, 7});
  edits.emplace_back(EditGroup{{SetTitle{"in"}, EditGroup{{SetCv{4, 1}}}}});
  return edits;
}

}  // namespace

TEST_CASE("edits: every kind is read back as it is written, and named in snake case", "[store]") {
  const std::vector<model::Edit> edits = every_kind();
  REQUIRE(edits.size() == std::variant_size_v<decltype(model::EditValue::kind)>);
  for (std::size_t i = 0; i < edits.size(); ++i) {
    REQUIRE(edits[i].value().kind.index() == i);
  }
  CHECK(read(pretty_text(Writer().value(edits))) == edits);
}

TEST_CASE("edits: a designer's file in words", "[store]") {
  using namespace model;
  const std::vector<Edit> edits = read(R"([
    {"edit": "set_title", "title": "Night goods"},
    {"edit": "trim_segment", "segment": 6, "range": {"start_frame": 10, "end_frame": 20}},
    {"edit": "set_loop", "segment": 6, "loop": null},
    {"edit": "set_loop", "segment": 7,
     "loop": {"range": {"start_frame": 1, "end_frame": 9}, "crossfade_frames": 2}},
    {"edit": "set_cv", "number": 3, "value": 12},
    {"edit": "add_key", "value": {"number": 4, "label": "Bell", "sound": 8, "lamp": true}},
    {"edit": "remove_key", "id": 11},
    {"edit": "group", "edits": [{"edit": "set_sound_gain", "sound": 8, "gain_db": -4}]}
  ])");
  REQUIRE(edits.size() == 8);
  CHECK(edits[0] == Edit(SetTitle{"Night goods"}));
  CHECK(edits[1] == Edit(TrimSegment{Id<Segment>(6), frame_range(10, 20)}));
  CHECK(edits[2] == Edit(SetLoop{Id<Segment>(6), std::nullopt}));
  CHECK(edits[3] ==
        Edit(SetLoop{Id<Segment>(7), Loop{frame_range(1, 9), FrameCount(2), {}, 0.0, {}, {}}}));
  CHECK(edits[4] == Edit(SetCv{3, 12}));
  Key key;
  key.number = 4;
  key.label = "Bell";
  key.sound = Id<Sound>(8);
  key.extra["lamp"] = "true";
  CHECK(edits[5] == Edit(Add<Key>{key, std::nullopt}));
  CHECK(edits[6] == Edit(Remove<Key>{Id<Key>(11)}));
  CHECK(edits[7] == Edit(EditGroup{{SetSoundGain{Id<Sound>(8), -4}}}));
  Project project = sample_project();
  CHECK(model::apply(project, EditGroup{edits}));
}

TEST_CASE("edits: none is an answer", "[store]") {
  CHECK(read("[]").empty());
}

TEST_CASE("edits: a slip is refused by place, never passed over", "[store]") {
  CHECK(refusal(R"({"edit": "set_title", "title": "x"})").place.empty());
  CHECK(refusal(R"([{"edit": "set_titel", "title": "x"}])").place == "/0/edit");
  CHECK(refusal(R"([{"title": "x"}])").place == "/0/edit");
  CHECK(refusal(R"([{"edit": 3}])").place == "/0/edit");
  CHECK(refusal(R"([7])").place == "/0");
  CHECK(refusal(R"([{"edit": "set_title"}])").place == "/0/title");
  CHECK(refusal(R"([{"edit": "set_title", "title": "x", "tilte": 1}])").place == "/0/tilte");
  CHECK(refusal(R"([{"edit": "set_title", "title": 3}])").place == "/0/title");
  CHECK(refusal(R"([{"edit": "set_date", "date": "today"}])").place == "/0/date");
  CHECK(refusal(R"([{"edit": "set_cv", "number": 3, "value": 1e9}])").place == "/0/value");
  CHECK(refusal(R"([{"edit": "set_cv", "number": 3.5, "value": 1}])").place == "/0/number");
  CHECK(refusal(R"([{"edit": "add_key", "at": -1, "value": {}}])").place == "/0/at");
  CHECK(refusal(R"([{"edit": "add_mark", "value": {"take": 1, "range": {"start_frame": 1}}}])")
            .place == "/0/value/range/end_frame");
  CHECK(refusal(R"([{"edit": "add_mark", "value": {"take": 1, "range":
            {"start_frame": 1, "end_frame": 2, "length": 1}}}])")
            .place == "/0/value/range/length");
  CHECK(refusal(R"([{"edit": "group", "edits": [{"edit": "set_cv", "number": 1}]}])").place ==
        "/0/edits/0/value");
  CHECK(refusal(R"([{"edit": "remove_key", "id": 0}])").place == "/0/id");
  CHECK(refusal("[").code == ErrorCode::bad_input);
}

TEST_CASE("edits: groups nested beyond the limit are one clear error", "[store]") {
  std::string text = "[";
  for (int i = 0; i < 50'000; ++i) {
    text += R"({"edit": "group", "edits": [)";
  }
  CHECK(refusal(text).code == ErrorCode::too_deep);
}
