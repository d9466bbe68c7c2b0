// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

namespace {

/// Drifting is left to one layer, which is heard.
Case with_layer() {
  Case made = good_case();
  made.project.driving.drifting_without_chuffs = true;
  model::Layer layer;
  layer.id = Id<model::Layer>(70);
  layer.sounds = {Id<model::Sound>(30)};
  made.project.layers.push_back(layer);
  return made;
}

std::size_t layer_snags(const Case& made) {
  return made.snags("layers_for_drifting").size();
}

}  // namespace

TEST_CASE("layers_for_drifting: a layer that is heard in drifting is no snag", "[check]") {
  CHECK(layer_snags(good_case()) == 0);
  CHECK(layer_snags(with_layer()) == 0);
}

TEST_CASE("layers_for_drifting: no layer that is heard is a warning", "[check]") {
  Case made = with_layer();
  model::Layer& layer = made.project.layers[0];
  layer.drifting_db = -60.0;
  const auto snags = made.snags("layers_for_drifting");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::warning);
  CHECK(snags[0].pointer == "/driving/drifting_without_chuffs");
  layer.drifting_db = -59.0;
  CHECK(layer_snags(made) == 0);
  layer.gain_db = -60.0;
  CHECK(layer_snags(made) == 1);
  layer.gain_db = 0.0;
  layer.sounds.clear();
  CHECK(layer_snags(made) == 1);
  made.project.layers.clear();
  CHECK(layer_snags(made) == 1);
}

TEST_CASE("layers_for_drifting: a layer for rest, or above the top speed, does not count",
          "[check]") {
  Case made = with_layer();
  model::Layer& layer = made.project.layers[0];
  layer.when.states = {model::State::standing, model::State::asleep};
  CHECK(layer_snags(made) == 1);
  layer.when.states.push_back(model::State::coasting);
  CHECK(layer_snags(made) == 0);
  layer.when.states = {model::State::standing};
  layer.when.own_states = {Id<model::OwnState>(71)};
  CHECK(layer_snags(made) == 0);
  layer.when = {};
  layer.from_kmh = 60.0;  // the engine's top speed
  CHECK(layer_snags(made) == 1);
}

TEST_CASE("layers_for_drifting: rows of drifting at every speed need no layer", "[check]") {
  Case made = with_layer();
  made.project.layers.clear();
  made.project.chuffs.rows.push_back(good_row(43, 20.0, 60.0, model::Effort::drifting));
  CHECK(layer_snags(made) == 1);
  made.project.chuffs.rows.push_back(good_row(44, 0.0, 20.0, model::Effort::drifting));
  CHECK(layer_snags(made) == 0);
  made.project.chuffs.rows.back().condition = model::Condition::cocks_open;
  CHECK(layer_snags(made) == 1);
}
