// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

namespace {

const Id<model::Sound> whistle(30);  // held
const Id<model::Sound> bell(31);     // a one-shot

Case with_trigger(model::TriggerAction action, Id<model::Sound> sound) {
  Case made = good_case();
  model::Trigger trigger;
  trigger.id = Id<model::Trigger>(70);
  trigger.name = "Departure";
  trigger.action = action;
  trigger.sound = sound;
  if (action == model::TriggerAction::swap) trigger.instead_of = whistle;
  made.project.triggers.push_back(trigger);
  return made;
}

Case with_layer(model::LayerKind kind, std::vector<Id<model::Sound>> sounds) {
  Case made = good_case();
  model::Layer layer;
  layer.id = Id<model::Layer>(71);
  layer.name = "Rod clank";
  layer.kind = kind;
  layer.sounds = std::move(sounds);
  made.project.layers.push_back(layer);
  return made;
}

}  // namespace

TEST_CASE("trigger_without_sound: triggers and layers with sounds of their kind are no snag",
          "[check]") {
  using model::TriggerAction;
  for (const TriggerAction action :
       {TriggerAction::start, TriggerAction::stop, TriggerAction::swap})
    CHECK(with_trigger(action, bell).snags("trigger_without_sound").empty());
  CHECK(with_layer(model::LayerKind::bed, {whistle}).snags("trigger_without_sound").empty());
  CHECK(with_layer(model::LayerKind::wheel, {bell, bell}).snags("trigger_without_sound").empty());
  CHECK(with_layer(model::LayerKind::distance, {bell}).snags("trigger_without_sound").empty());
}

TEST_CASE("trigger_without_sound: a trigger that names none is a warning, whatever it does",
          "[check]") {
  using model::TriggerAction;
  for (const TriggerAction action :
       {TriggerAction::start, TriggerAction::stop, TriggerAction::swap}) {
    const auto snags = with_trigger(action, {}).snags("trigger_without_sound");
    REQUIRE(snags.size() == 1);
    CHECK(snags[0].severity == Severity::warning);
    CHECK(snags[0].pointer == "/triggers/0");
    CHECK(snags[0].label == "trigger “Departure”");
    CHECK((snags[0].message.find("stop") != std::string::npos) == (action == TriggerAction::stop));
  }
}

TEST_CASE("trigger_without_sound: a layer without a sound is a warning", "[check]") {
  const auto snags = with_layer(model::LayerKind::wheel, {}).snags("trigger_without_sound");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::warning);
  CHECK(snags[0].pointer == "/layers/0");
}

TEST_CASE("trigger_without_sound: a bed of a one-shot, a wheel of a held sound are errors",
          "[check]") {
  const auto bed = with_layer(model::LayerKind::bed, {bell}).snags("trigger_without_sound");
  REQUIRE(bed.size() == 1);
  CHECK(bed[0].severity == Severity::error);
  CHECK(bed[0].pointer == "/layers/0/sounds/0");
  CHECK(bed[0].message.find("sound “Bell” is a one-shot") != std::string::npos);
  for (const model::LayerKind kind : {model::LayerKind::wheel, model::LayerKind::distance}) {
    const auto snags = with_layer(kind, {bell, whistle}).snags("trigger_without_sound");
    REQUIRE(snags.size() == 1);
    CHECK(snags[0].pointer == "/layers/0/sounds/1");
    CHECK(snags[0].message.find("sound “Whistle” is held") != std::string::npos);
  }
}

TEST_CASE("trigger_without_sound: what a bed never plays is a hint", "[check]") {
  const auto snags =
      with_layer(model::LayerKind::bed, {whistle, bell}).snags("trigger_without_sound");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::hint);
  CHECK(snags[0].pointer == "/layers/0/sounds/1");
}
