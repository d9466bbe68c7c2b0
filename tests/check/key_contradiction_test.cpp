// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

namespace {

/// The good project with a second use of F2.
Case with_second_use(model::KeyMode mode, model::KeyDirection first, model::KeyDirection second,
                     std::int64_t sound) {
  Case made = good_case();
  made.project.keys[0].direction = first;
  made.project.keys[1].number = 2;
  made.project.keys[1].mode = mode;
  made.project.keys[1].direction = second;
  made.project.keys[1].sound = Id<model::Sound>(sound);
  return made;
}

}  // namespace

TEST_CASE("key_contradiction: keys of their own, and one key by direction, are no snag",
          "[check]") {
  CHECK(good_case().snags("key_contradiction").empty());
  CHECK(with_second_use(model::KeyMode::latching, model::KeyDirection::forward,
                        model::KeyDirection::reverse, 31)
            .snags("key_contradiction")
            .empty());
}

TEST_CASE("key_contradiction: another mode in an overlapping direction is an error", "[check]") {
  const auto snags = with_second_use(model::KeyMode::latching, model::KeyDirection::any,
                                     model::KeyDirection::reverse, 30)
                         .snags("key_contradiction");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::error);
  CHECK(snags[0].pointer == "/keys/1");
  CHECK(snags[0].label == "key F2 “Bell”");
  CHECK(snags[0].message.find("momentary") != std::string::npos);
  CHECK(snags[0].message.find("/keys/0") != std::string::npos);
}

TEST_CASE("key_contradiction: another sound in the same direction is an error", "[check]") {
  const auto snags = with_second_use(model::KeyMode::momentary, model::KeyDirection::forward,
                                     model::KeyDirection::forward, 31)
                         .snags("key_contradiction");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].message.find("different sounds") != std::string::npos);
}

namespace {

/// F2 twice, latching, any direction: the whistle and the bell.
Case two_sounds() {
  Case made = with_second_use(model::KeyMode::latching, model::KeyDirection::any,
                              model::KeyDirection::any, 31);
  made.project.keys[0].mode = model::KeyMode::latching;
  return made;
}

/// F2 twice with a task each and no sound.
Case two_tasks(const model::KeyTask& first, const model::KeyTask& second) {
  Case made = two_sounds();
  made.project.keys[0].sound = {};
  made.project.keys[1].sound = {};
  made.project.keys[0].task = first;
  made.project.keys[1].task = second;
  return made;
}

std::size_t contradictions(const Case& made) {
  return made.snags("key_contradiction").size();
}

}  // namespace

TEST_CASE("key_contradiction: uses that are never in force together are no snag", "[check]") {
  using model::State;
  Case made = two_sounds();
  REQUIRE(contradictions(made) == 1);
  model::When& first = made.project.keys[0].when;
  model::When& second = made.project.keys[1].when;

  first.states = {State::standing};
  CHECK(contradictions(made) == 1);  // the other is in force in any
  second.states = {State::working, State::coasting};
  CHECK(contradictions(made) == 0);
  second.states.push_back(State::standing);
  CHECK(contradictions(made) == 1);
  second.states = {State::working};
  second.own_states = {Id<model::OwnState>(70)};
  CHECK(contradictions(made) == 1);  // a state of the set's own may come while standing

  second.own_states.clear();
  second.states = first.states;
  first.option = second.option = Id<model::Option>(71);
  CHECK(contradictions(made) == 1);
  second.option_value = 1;
  CHECK(contradictions(made) == 0);
  second.option = Id<model::Option>(72);
  CHECK(contradictions(made) == 1);
}

TEST_CASE("key_contradiction: a mode may change with an option, and with nothing else", "[check]") {
  Case made = two_sounds();
  made.project.keys[0].mode = model::KeyMode::momentary;
  made.project.keys[0].when.states = {model::State::standing};
  made.project.keys[1].when.states = {model::State::working};
  CHECK(contradictions(made) == 1);
  made.project.keys[0].when.option = made.project.keys[1].when.option = Id<model::Option>(71);
  made.project.keys[1].when.option_value = 2;
  CHECK(contradictions(made) == 0);
}

TEST_CASE("key_contradiction: one sound started by two uses is an error, none is not", "[check]") {
  Case made = two_sounds();
  made.project.keys[1].sound = made.project.keys[0].sound;
  const auto snags = made.snags("key_contradiction");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].message.find("one sound twice") != std::string::npos);
  made.project.keys[1].sound = {};
  CHECK(contradictions(made) == 0);
}

TEST_CASE("key_contradiction: variants that serve other speeds do not meet", "[check]") {
  Case made = two_sounds();
  const Id<model::Sound> bell(31);
  made.project.keys[0].by_speed = {{30.0, {}, {}}};  // the whistle up to 30 km/h
  made.project.keys[1].sound = {};
  made.project.keys[1].by_speed = {{30.0, bell, {}}};
  CHECK(contradictions(made) == 0);
  made.project.keys[1].by_speed[0].from_kmh = 25.0;
  CHECK(contradictions(made) == 1);
}

TEST_CASE(
    "key_contradiction: one task with different figures, two brakes and two wakers are "
    "errors",
    "[check]") {
  using namespace model;
  const Id<Option> option(71);
  CHECK(contradictions(two_tasks(BrakeKey{}, BrakeKey{})) == 1);
  CHECK(contradictions(two_tasks(WakeKey{}, WakeKey{})) == 1);
  CHECK(contradictions(two_tasks(SoftenKey{6.0, {}}, SoftenKey{12.0, {}})) == 1);
  CHECK(contradictions(two_tasks(EffortKey{Effort::hard, {}}, EffortKey{Effort::easy, {}})) == 1);
  CHECK(contradictions(two_tasks(OptionKey{option, 1, {}}, OptionKey{option, 2, {}})) == 1);

  CHECK(contradictions(two_tasks(SoftenKey{6.0, {}}, SoftenKey{6.0, {{"later", "1"}}})) == 0);
  CHECK(contradictions(two_tasks(OptionKey{option, 1, {}}, OptionKey{Id<Option>(72), 2, {}})) == 0);
  CHECK(contradictions(two_tasks(ChoreKey{Chore::fire, {}}, ChoreKey{Chore::feed, {}})) == 0);
  CHECK(contradictions(two_tasks(BrakeKey{}, SoftenKey{})) == 0);
}

TEST_CASE("key_contradiction: tasks are kept apart by direction, not by what a sound waits for",
          "[check]") {
  Case made = two_tasks(model::BrakeKey{}, model::BrakeKey{});
  made.project.keys[0].when.states = {model::State::standing};
  made.project.keys[1].when.states = {model::State::working};
  CHECK(contradictions(made) == 1);
  made.project.keys[0].direction = model::KeyDirection::forward;
  made.project.keys[1].direction = model::KeyDirection::reverse;
  CHECK(contradictions(made) == 0);
}
