// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

#include "fourbeat/store/project_file.h"

#include <set>

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

TEST_CASE("check: a good project has no snag", "[check]") {
  const Case good = good_case();
  const auto snags = check::run_rules(good.project, good.facts);
  for (const check::Snag& snag : snags)
    UNSCOPED_INFO(snag.rule << ": " << snag.label << ": " << snag.message);
  CHECK(snags.empty());
}

TEST_CASE("check: rules have names of their own and one line each", "[check]") {
  std::set<std::string_view> names;
  for (const check::Rule& rule : check::rules()) {
    CHECK(names.insert(rule.name).second);
    CHECK_FALSE(rule.summary.empty());
    CHECK(rule.summary.find('\n') == std::string_view::npos);
    CHECK(rule.run != nullptr);
  }
  CHECK(names.size() >= 30);
}

namespace {

/// What makes a set live, with something wrong for every rule of it.
void spoil_life(model::Project& project) {
  using namespace model;
  project.next_id = 200;
  project.driving.coasts_until_braked = true;
  project.driving.drifting_without_chuffs = true;
  project.duties = Duties{};
  project.duties->on = true;
  Option option;
  option.id = Id<Option>(100);
  option.cv = 300;
  project.options.push_back(option);
  Trigger silent;
  silent.id = Id<Trigger>(101);
  silent.when.option = option.id;
  project.triggers.push_back(silent);
  Trigger endless;
  endless.id = Id<Trigger>(102);
  endless.sound = Id<Sound>(30);
  project.triggers.push_back(endless);
  Layer bed;
  bed.id = Id<Layer>(103);
  bed.sounds = {Id<Sound>(31), Id<Sound>(30)};
  bed.drifting_db = -60.0;
  project.layers.push_back(bed);
  for (const int number : {8, 9}) {
    Key key;
    key.id = Id<Key>(104 + number);
    key.number = number;
    key.task = WakeKey{};
    key.by_speed = {{90.0, Id<Sound>(31), {}}};
    project.keys.push_back(key);
  }
  for (const int number : {140, 141}) {
    Cv cv;
    cv.id = Id<Cv>(number);
    cv.number = number;
    cv.effect = CvEffect{};
    cv.effect->target = CvTarget::row_delay;
    project.cvs.push_back(cv);
  }
}

/// Something wrong for every rule at once.
Case bad_case() {
  Case bad = good_case();
  spoil_life(bad.project);
  bad.facts.takes.front().state = store::TakeState::missing;
  bad.facts.seams.begin()->second.state = dsp::SeamState::unclean;
  bad.facts.bytes_used = 2'000'000;
  bad.facts.voices_peak = 9;
  bad.project.run_cards = {"cards/a.json"};
  bad.facts.card_peaks.emplace(0, check::CardPeak{2.0, 1.0, {}});
  bad.project.passes.front().rights.reset();
  bad.project.verdicts.clear();
  bad.project.segments[0].loop =
      model::Loop{frame_range(0, 10), {}, model::CrossfadeAt::end, 0.0, {}, {}};
  bad.project.segments[1].loop->crossfade_frames = FrameCount(30'000);
  bad.project.sounds[1].segment = {};
  bad.project.keys[1].number = 2;
  bad.project.keys.push_back(bad.project.keys[0]);
  bad.project.keys.back().number = 20;
  bad.project.cvs[0].value = 300;
  bad.project.chuffs.rows[1].from_kmh = 40.0;
  for (model::Revolution& revolution : bad.project.chuffs.rows[1].revolutions)
    revolution.chuffs[2].range.end = revolution.chuffs[2].range.end + FrameCount(9600);
  return bad;
}

}  // namespace

TEST_CASE("check: snags come rule by rule, no graver than the rule says, and place themselves",
          "[check]") {
  const Case bad = bad_case();
  const auto snags = check::run_rules(bad.project, bad.facts);
  CHECK(snags == check::run_rules(bad.project, bad.facts));
  const auto rules = check::rules();
  std::size_t last = 0;
  std::set<std::string> seen;
  for (const check::Snag& snag : snags) {
    const auto at = std::find_if(rules.begin(), rules.end(),
                                 [&](const check::Rule& rule) { return rule.name == snag.rule; });
    REQUIRE(at != rules.end());
    const auto place = static_cast<std::size_t>(at - rules.begin());
    CHECK(place >= last);
    last = place;
    CHECK(static_cast<int>(snag.severity) >= static_cast<int>(at->severity));
    CHECK_FALSE(snag.label.empty());
    CHECK_FALSE(snag.message.empty());
    CHECK_FALSE(snag.mend.empty());
    UNSCOPED_INFO(snag.rule << " at " << snag.pointer);
    CHECK(store::show(bad.project, snag.pointer));
    seen.insert(snag.rule);
  }
  CHECK(seen.size() >= 23);
}

TEST_CASE("check: an empty project is told what it lacks, at places its file has", "[check]") {
  const auto snags = check::run_rules({}, {});
  REQUIRE(snags.size() == 2);
  CHECK(snags[0].rule == "empty_set");
  CHECK(snags[1].rule == "no_decoder");
  for (const check::Snag& snag : snags)
    CHECK(store::show({}, snag.pointer));
}

TEST_CASE("check: what is not known is not complained of", "[check]") {
  Case bare = good_case();
  bare.facts = {};
  bare.project.keys[0].number = 60;
  CHECK(check::run_rules(bare.project, bare.facts).empty());
}
