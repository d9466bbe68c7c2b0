// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/catch.h"
#include "support/lively_project.h"

#include "fourbeat/base/random.h"
#include "fourbeat/model/edit_value.h"
#include "fourbeat/model/entities.h"
#include "fourbeat/model/validate.h"

#include <set>

using namespace fourbeat;
using namespace fourbeat::model;
using fourbeat::tests::lively_project;
using fourbeat::tests::sample_project;

namespace {

/// Makes edits at random: some hold, some do not.
class Maker {
 public:
  explicit Maker(std::uint64_t seed) : random_(seed) {}

  Edit make(const Project& project, int depth = 0) {
    const std::int64_t kind = random_.below(depth < 2 ? 23 : 22);
    switch (kind) {
      case 0:
        return entity_edit<Take>(project, [&](Take& t) { t.path += "x"; });
      case 1:
        return entity_edit<Pass>(project, [&](Pass& p) {
          if (!p.takes.empty() && coin()) p.takes.pop_back();
          if (coin()) p.takes.push_back({id_of<Take>(project), frames(), {}});
        });
      case 2:
        return entity_edit<Mark>(project, [&](Mark& m) {
          m.take = id_of<Take>(project);
          m.range = range();
          if (coin()) m.kind = static_cast<MarkKind>(random_.below(17));
          if (coin()) m.to_frame = FrameIndex(random_.below(100));
          if (coin()) m.beats = static_cast<int>(random_.below(9));
          if (coin()) m.effort = Effort::easy;
        });
      case 3:
        return entity_edit<Segment>(project, [&](Segment& s) {
          s.range = range();
          if (!s.source.mix.empty()) s.source.mix[0].take = id_of<Take>(project);
        });
      case 4:
        return entity_edit<Sound>(project, [&](Sound& s) {
          s.segment = id_of<Segment>(project);
          s.hold = id_of<Segment>(project);
          s.priority = static_cast<int>(random_.below(110));
        });
      case 5:
        return entity_edit<ChuffRow>(project, [&](ChuffRow& r) { r.from_kmh = number(); });
      case 6:
        return entity_edit<Key>(project, [&](Key& k) {
          k.number = static_cast<int>(random_.below(72));
          k.sound = id_of<Sound>(project);
        });
      case 7:
        return entity_edit<Cv>(project,
                               [&](Cv& c) { c.value = static_cast<int>(random_.below(300)); });
      case 8:
        return entity_edit<Verdict>(project, [&](Verdict& v) {
          v.segment = {};
          v.row = {};
          if (coin()) v.segment = id_of<Segment>(project);
          if (coin()) v.row = id_of<ChuffRow>(project);
        });
      case 9:
        return coin() ? Edit(SetTitle{word()}) : Edit(SetDate{coin() ? "2025-06-01" : "June"});
      case 10:
        if (coin()) {
          Speaker speaker;
          speaker.name = word();
          speaker.peak_db = number();
          return SetSpeaker{coin() ? std::optional(speaker) : std::nullopt};
        }
        return coin() ? Edit(SetAuthor{word()}) : Edit(SetUserNotes{word()});
      case 11: {
        Engine engine = project.engine;
        engine.top_speed_kmh = number();
        if (coin()) engine.beat_angles_deg.clear();
        return coin() ? Edit(SetEngine{engine}) : Edit(SetDecoder{word()});
      }
      case 12:
        return coin() ? Edit(SetRunCards{{word(), word()}})
                      : Edit(SetRights{id_of<Pass>(project), Rights{word(), word(), "", {}}});
      case 13:
        return coin() ? Edit(TrimSegment{id_of<Segment>(project), range()})
                      : Edit(SetSegmentGain{id_of<Segment>(project), number()});
      case 14: {
        std::optional<Loop> loop;
        if (coin()) loop = Loop{range(), frames(), CrossfadeAt::end, 0.5, {1.5}, {{"l", "1"}}};
        return SetLoop{id_of<Segment>(project), loop};
      }
      case 15:
        return coin() ? Edit(SetSoundGain{id_of<Sound>(project), number()})
                      : Edit(SetCv{static_cast<int>(random_.below(6)), 7});
      case 16: {
        ChuffTable table = project.chuffs;
        table.lead_ms = number();
        if (!table.rows.empty() && coin()) table.rows.push_back(table.rows.front());
        if (!table.rows.empty() && coin()) table.rows.back().id = {};
        return SetChuffTable{table};
      }
      case 17:
        return entity_edit<OwnState>(project, [&](OwnState& s) { s.from_kmh = number(); });
      case 18:
        return entity_edit<Trigger>(project, [&](Trigger& t) {
          t.own_state = id_of<OwnState>(project);
          t.sound = id_of<Sound>(project);
          if (coin()) t.event = static_cast<TriggerEvent>(random_.below(20));
          if (coin()) t.every.reset();
          if (coin()) t.instead_of = {};
          if (coin()) t.when = {};
        });
      case 19:
        return entity_edit<Layer>(project, [&](Layer& l) {
          l.sounds = {id_of<Sound>(project)};
          l.to_kmh = number();
          l.when.option = id_of<Option>(project);
          if (coin()) l.kind = static_cast<LayerKind>(random_.below(4));
        });
      case 20:
        return entity_edit<Option>(
            project, [&](Option& o) { o.cv = static_cast<int>(random_.below(1100)); });
      case 21: {
        Driving driving = project.driving;
        driving.full_brake_s = number();
        std::optional<Duties> duties;
        if (coin()) duties.emplace().low_water = random_.uniform(0.0, 1.5);
        return coin() ? Edit(SetDriving{driving}) : Edit(SetDuties{duties});
      }
      default: {
        EditGroup group;
        for (std::int64_t i = random_.below(5); i > 0; --i) {
          group.edits.push_back(make(project, depth + 1));
        }
        return group;
      }
    }
  }

 private:
  bool coin() { return random_.below(2) == 0; }
  double number() { return random_.uniform(-70, 70); }
  FrameCount frames() { return FrameCount(random_.below(1000) - 100); }
  FrameRange range() {
    const std::int64_t start = random_.below(1000) - 500;
    return frame_range(start, start + random_.below(1000) - 100);
  }
  std::string word() { return std::string(static_cast<std::size_t>(random_.below(4)), 'w'); }
  template <class T>
  Id<T> id_of(const Project& project) {
    const std::vector<T>& list = list_of<T>(project);
    if (list.empty() || random_.below(8) == 0) return Id<T>(random_.below(20));
    return list[static_cast<std::size_t>(random_.below(static_cast<std::int64_t>(list.size())))].id;
  }
  template <class T, class Vary>
  Edit entity_edit(const Project& project, const Vary& vary) {
    const std::vector<T>& list = list_of<T>(project);
    if (random_.below(4) == 0) return Remove<T>{id_of<T>(project)};
    T value{};
    if (const std::optional<std::size_t> at = index_of(project, id_of<T>(project))) {
      value = list[*at];
    }
    vary(value);
    if (coin()) return Replace<T>{value};
    if (random_.below(8) != 0) value.id = {};
    std::optional<std::size_t> at;
    if (coin()) at = static_cast<std::size_t>(random_.below(4));
    return Add<T>{value, at};
  }

  Random random_;
};

bool same_beside_counter(Project a, const Project& b) {
  a.next_id = b.next_id;
  return a == b;
}

}  // namespace

TEST_CASE("edits: undo brings back what was, redo what came, and a project always holds",
          "[model]") {
  std::set<std::size_t> kinds_done;
  int refused = 0;
  for (std::uint64_t seed = 1; seed <= 240; ++seed) {
    Maker maker(seed);
    Project project = seed % 2 == 0 ? sample_project() : lively_project();
    std::vector<Project> states{project};
    std::vector<Edit> undos;
    for (int step = 0; step < 60; ++step) {
      const Edit edit = maker.make(project);
      const Project before = project;
      Result<Edit> undo = model::apply(project, edit);
      if (!undo) {
        ++refused;
        REQUIRE(project == before);
        continue;
      }
      REQUIRE(project.next_id >= before.next_id);
      const Status holds = validate(project);
      INFO("edit kind " << edit.value().kind.index() << (holds ? "" : to_line(holds.error())));
      REQUIRE(holds);
      kinds_done.insert(edit.value().kind.index());
      undos.push_back(std::move(*undo));
      states.push_back(project);
    }
    std::vector<Edit> redos;
    for (std::size_t i = undos.size(); i > 0; --i) {
      Result<Edit> redo = model::apply(project, undos[i - 1]);
      REQUIRE(redo);
      REQUIRE(same_beside_counter(project, states[i - 1]));
      redos.push_back(std::move(*redo));
    }
    for (std::size_t i = 1; i < states.size(); ++i) {
      REQUIRE(model::apply(project, redos[redos.size() - i]));
      REQUIRE(same_beside_counter(project, states[i]));
    }
  }
  // Every kind of edit held at least once, and many were refused: both halves were tried.
  CHECK(kinds_done.size() == std::variant_size_v<decltype(EditValue::kind)>);
  CHECK(refused > 100);
}
