// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

namespace {

using model::CvTarget;

/// The good project with effects on CV130, CV131 …
Case with_effects(const std::vector<model::CvEffect>& effects) {
  Case made = good_case();
  made.project.cvs.clear();
  for (const model::CvEffect& effect : effects) {
    model::Cv cv;
    cv.number = 130 + static_cast<int>(made.project.cvs.size());
    cv.id = Id<model::Cv>(cv.number);
    cv.effect = effect;
    made.project.cvs.push_back(cv);
  }
  return made;
}

model::CvEffect effect(CvTarget target, double at_0, double at_255) {
  model::CvEffect made;
  made.target = target;
  made.at_0 = at_0;
  made.at_255 = at_255;
  return made;
}

std::vector<check::Snag> snags_of(const model::CvEffect& one) {
  Case made = with_effects({one});
  made.project.duties = model::Duties{};
  return made.snags("cv_effect");
}

}  // namespace

TEST_CASE("cv_effect: figures at the ends of what a target may be are no snag", "[check]") {
  const std::tuple<CvTarget, double, double> ends[] = {
      {CvTarget::set_gain, -60, 20},    {CvTarget::chuff_gain, -60, 20},
      {CvTarget::sound_gain, -60, 20},  {CvTarget::layer_gain, -60, 20},
      {CvTarget::state_speed, 0, 300},  {CvTarget::state_time, 0, 7200},
      {CvTarget::trigger_time, 0, 600}, {CvTarget::sync_error, -50, 50},
      {CvTarget::row_delay, 0, 2},      {CvTarget::full_brake, 0.1, 600},
      {CvTarget::coasting, 1, 100},     {CvTarget::cocks_open, 0, 50},
      {CvTarget::duties, 0, 1},         {CvTarget::duty_pace, 0.1, 20}};
  for (const auto& [target, low, high] : ends) {
    CAPTURE(static_cast<int>(target));
    CHECK(snags_of(effect(target, low, high)).empty());
    CHECK(snags_of(effect(target, high, low)).empty());
    CHECK(snags_of(effect(target, low - 0.05, high + 0.05)).size() == 2);
  }
}

TEST_CASE("cv_effect: a figure outside is a warning at its place", "[check]") {
  auto snags = snags_of(effect(CvTarget::cocks_open, 0.0, 60.0));
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::warning);
  CHECK(snags[0].pointer == "/cvs/0/effect/at_255");
  CHECK(snags[0].label == "CV130");
  CHECK(snags[0].message == "at_255 is 60, but cocks_open may be 0 to 50, and is held to it");
  // A file leaves out what is as in a new effect: then the place is the effect.
  snags = snags_of(effect(CvTarget::cocks_open, model::CvEffect{}.at_0, 4.0));
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].pointer == "/cvs/0/effect");
}

TEST_CASE("cv_effect: a trigger that comes again and again has a shortest time", "[check]") {
  model::CvEffect one = effect(CvTarget::trigger_time, 0.25, 5000.0);
  one.trigger = Id<model::Trigger>(70);
  Case made = with_effects({one});
  model::Trigger trigger;
  trigger.id = one.trigger;
  made.project.triggers.push_back(trigger);
  auto snags = made.snags("cv_effect");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].pointer == "/cvs/0/effect/at_255");
  made.project.triggers[0].event = model::TriggerEvent::every;
  snags = made.snags("cv_effect");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].pointer == "/cvs/0/effect/at_0");
}

TEST_CASE("cv_effect: two CVs that change the same are a warning, of two sounds they are not",
          "[check]") {
  const model::CvEffect gain = effect(CvTarget::set_gain, -20.0, 0.0);
  const auto snags = with_effects({gain, gain}).snags("cv_effect");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].pointer == "/cvs/1/effect/target");
  CHECK(snags[0].message.find("CV130 at /cvs/0") != std::string::npos);
  CHECK(with_effects({gain, effect(CvTarget::chuff_gain, -20.0, 0.0)}).snags("cv_effect").empty());

  model::CvEffect whistle = effect(CvTarget::sound_gain, -20.0, 0.0);
  whistle.sound = Id<model::Sound>(30);
  model::CvEffect bell = whistle;
  bell.sound = Id<model::Sound>(31);
  CHECK(with_effects({whistle, bell}).snags("cv_effect").empty());
  CHECK(with_effects({whistle, whistle}).snags("cv_effect").size() == 1);
}

TEST_CASE("cv_effect: an effect that has nothing to change is a warning", "[check]") {
  for (const CvTarget target : {CvTarget::duties, CvTarget::duty_pace}) {
    Case made = with_effects({effect(target, 1.0, 1.0)});
    const auto snags = made.snags("cv_effect");
    REQUIRE(snags.size() == 1);
    CHECK(snags[0].pointer == "/cvs/0/effect/target");
    made.project.duties = model::Duties{};
    CHECK(made.snags("cv_effect").empty());
  }
  model::CvEffect speed = effect(CvTarget::state_speed, 10.0, 50.0);
  speed.state = Id<model::OwnState>(70);
  Case made = with_effects({speed});
  model::OwnState state;
  state.id = speed.state;
  made.project.states.push_back(state);
  CHECK(made.snags("cv_effect").size() == 1);
  made.project.states[0].below_kmh = 30.0;
  CHECK(made.snags("cv_effect").empty());
}
