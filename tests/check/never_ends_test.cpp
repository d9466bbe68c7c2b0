// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

namespace {

const Id<model::Sound> whistle(30);  // held
const Id<model::Sound> bell(31);     // a one-shot

model::Trigger trigger_of(std::int64_t id, model::TriggerAction action, Id<model::Sound> sound) {
  model::Trigger trigger;
  trigger.id = Id<model::Trigger>(id);
  trigger.name = "Blower";
  trigger.action = action;
  trigger.sound = sound;
  return trigger;
}

/// A trigger that starts the held whistle, and nothing more.
Case endless() {
  Case made = good_case();
  made.project.triggers.push_back(trigger_of(70, model::TriggerAction::start, whistle));
  return made;
}

}  // namespace

TEST_CASE("never_ends: a held sound that nothing lets go is a warning", "[check]") {
  const auto snags = endless().snags("never_ends");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::warning);
  CHECK(snags[0].pointer == "/triggers/0/sound");
  CHECK(snags[0].message.find("sound “Whistle”") != std::string::npos);
}

TEST_CASE("never_ends: a sound started by a swap is looked at too", "[check]") {
  Case made = endless();
  made.project.triggers[0].action = model::TriggerAction::swap;
  made.project.triggers[0].instead_of = bell;
  CHECK(made.snags("never_ends").size() == 1);
}

TEST_CASE("never_ends: a time it lasts, a stop or a swap ends it", "[check]") {
  Case lasting = endless();
  lasting.project.triggers[0].lasts = model::TimeSpan{5.0, 6.0, {}};
  CHECK(lasting.snags("never_ends").empty());

  Case stopped = endless();
  stopped.project.triggers.push_back(trigger_of(71, model::TriggerAction::stop, whistle));
  CHECK(stopped.snags("never_ends").empty());
  stopped.project.triggers[1].sound = bell;
  CHECK(stopped.snags("never_ends").size() == 1);

  Case swapped = endless();
  swapped.project.triggers.push_back(trigger_of(71, model::TriggerAction::swap, bell));
  swapped.project.triggers[1].instead_of = whistle;
  CHECK(swapped.snags("never_ends").empty());
}

TEST_CASE("never_ends: another sound of its group ends it, where something starts that",
          "[check]") {
  Case made = endless();
  made.project.sounds[0].group = "steam";
  CHECK(made.snags("never_ends").size() == 1);
  made.project.sounds[1].group = "steam";
  CHECK(made.snags("never_ends").empty());  // F3 plays the bell
  made.project.keys.clear();
  CHECK(made.snags("never_ends").size() == 1);
  made.project.triggers.push_back(trigger_of(71, model::TriggerAction::start, bell));
  CHECK(made.snags("never_ends").empty());
}

TEST_CASE("never_ends: what ends by itself is no snag", "[check]") {
  Case shot = endless();
  shot.project.triggers[0].sound = bell;
  CHECK(shot.snags("never_ends").empty());
  Case once = endless();
  once.project.segments[1].loop.reset();  // a hold without a loop plays once
  CHECK(once.snags("never_ends").empty());
}
