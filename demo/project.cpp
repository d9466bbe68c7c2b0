// SPDX-License-Identifier: GPL-3.0-or-later
#include "exact_math.h"
#include "fourbeat_demo/demo.h"
#include "living.h"
#include "set_plan.h"

#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"
#include "fourbeat/model/edit.h"
#include "fourbeat/store/takes.h"

#include <algorithm>
#include <map>
#include <optional>
#include <system_error>
#include <utility>

namespace fourbeat::demo {

namespace {

namespace fs = std::filesystem;
using namespace model;

constexpr std::int64_t longest_hold_frames = 4 * 48000 + 24000;

/// An event as the builder needs it: its parts, and the pass, take and channel they are on.
struct Cut {
  Id<Pass> pass;
  Id<Take> take;
  int channel = 1;
  float peak = 0.0F;
  std::map<std::string, FrameRange> parts;
};

/// Performs edits one after another until one fails.
class Builder {
 public:
  void edit(const Edit& edit) {
    if (failed_) return;
    if (Result<Edit> done = apply(project, edit); !done) failed_ = done.error();
  }
  template <class T>
  Id<T> add(T value) {
    edit(Add<T>{std::move(value), std::nullopt});
    return last_drawn<T>(project);
  }
  void fail(Error error) {
    if (!failed_) failed_ = std::move(error);
  }
  [[nodiscard]] const std::optional<Error>& failed() const { return failed_; }

  Project project;
  std::map<std::string, Cut> cuts;
  std::map<std::string, Id<Sound>> sounds;

 private:
  std::optional<Error> failed_;
};

Rights rights_of_the_railway() {
  Rights rights;
  rights.owner = "Quillenhaw Light Railway (invented)";
  rights.purpose = "A sound set for models of No. 6; the recordings are not to be passed on alone";
  rights.until = "2035-12-31";
  return rights;
}

MarkKind mark_kind(const std::string& event) {
  const auto begins = [&event](std::string_view with) { return event.rfind(with, 0) == 0; };
  if (event == "guards_whistle") return MarkKind::other;
  if (begins("whistle")) return MarkKind::whistle;
  if (begins("safety_valve")) return MarkKind::safety_valve;
  if (begins("air_pump") || begins("feed_pump")) return MarkKind::pump;
  if (begins("injector")) return MarkKind::injector;
  if (event == "simmer") return MarkKind::standing;
  if (event == "wind") return MarkKind::unusable;
  return MarkKind::other;
}

std::string words_of(const std::string& event) {
  std::string words = event;
  std::replace(words.begin(), words.end(), '_', ' ');
  return words;
}

void add_marks(Builder& builder, Id<Take> take, const TakeTruth& truth) {
  // One mark a sound, whatever its parts.
  std::vector<std::pair<std::string, FrameRange>> stretches;
  for (const TruthEvent& event : truth.events) {
    if (!stretches.empty() && stretches.back().first == event.name) {
      stretches.back().second.end = event.range.end;
    } else {
      stretches.emplace_back(event.name, event.range);
    }
  }
  for (const auto& [name, range] : stretches) {
    Mark mark;
    mark.take = take;
    mark.kind = mark_kind(name);
    mark.range = range;
    mark.label = mark.kind == MarkKind::unusable ? "wind on the microphone" : words_of(name);
    builder.add(std::move(mark));
  }
}

void add_take(Builder& builder, const TakeTruth& truth, const fs::path& folder, JobControl& job) {
  Result<Take> take = store::describe_take(folder / text_path(truth.file), folder, job);
  if (!take) return builder.fail(take.error());
  take->microphones = truth.microphones;
  const Id<Take> take_id = builder.add(std::move(*take));
  Pass pass;
  pass.name = truth.title;
  pass.takes.push_back({take_id, FrameCount(0), {}});
  pass.log = truth.log;
  pass.rights = rights_of_the_railway();
  const Id<Pass> pass_id = builder.add(std::move(pass));
  add_marks(builder, take_id, truth);
  for (const TruthEvent& event : truth.events) {
    Cut& cut = builder.cuts[event.name];
    cut.pass = pass_id;
    cut.take = take_id;
    cut.channel = event.channel;
    cut.peak = std::max(cut.peak, event.peak);
    cut.parts[event.part] = event.range;
  }
}

/// The largest gain in half decibels that keeps the peak under -3 dBFS.
double gain_to_full_db(float peak) {
  double gain_db = 0.0;
  const auto over = [peak](double db) {
    return static_cast<double>(peak) * exact_gain_of_db(db) > 0.7079;
  };
  while (gain_db < 30.0 && !over(gain_db + 0.5))
    gain_db += 0.5;
  while (gain_db > -30.0 && over(gain_db))
    gain_db -= 0.5;
  return gain_db;
}

Source source_of(const PlannedSound& planned, const Cut& cut) {
  Source source;
  source.pass = cut.pass;
  MixInput nearest;
  nearest.take = cut.take;
  nearest.channel = cut.channel;
  source.mix.push_back(nearest);
  if (planned.event == "rods") {
    // A little of the firebox side rounds off the nearness of the motion microphone.
    MixInput second = nearest;
    second.channel = 2;
    second.gain_db = -9.0;
    source.mix.push_back(second);
  }
  source.clean.emplace_back(HighPass{planned.high_pass_hz, 4});
  if (planned.on_cab_cable) source.clean.emplace_back(HumNotch{50.0, 5, 30.0});
  return source;
}

Id<Segment> add_segment(Builder& builder, const PlannedSound& planned, const Cut& cut,
                        const std::string& part) {
  const auto found = cut.parts.find(part);
  if (found == cut.parts.end()) return {};
  Segment segment;
  segment.name = std::string(planned.name) + (part == "whole" ? "" : ", " + part);
  segment.source = source_of(planned, cut);
  segment.range = found->second;
  segment.gain_db = gain_to_full_db(cut.peak);
  if (part == "hold" && segment.range.length() > FrameCount(longest_hold_frames)) {
    segment.range.end = segment.range.start + FrameCount(longest_hold_frames);
  }
  if (part == "whole" || part == "begin") segment.fade_in_frames = FrameCount(48);
  if (part == "whole" || part == "release") segment.fade_out_frames = FrameCount(2400);
  return builder.add(std::move(segment));
}

void add_sound(Builder& builder, const PlannedSound& planned) {
  const auto found = builder.cuts.find(std::string(planned.event));
  if (found == builder.cuts.end()) {
    return builder.fail(Error{ErrorCode::not_found, "", std::string(planned.event),
                              "the takes hold no such sound", ""});
  }
  const Cut& cut = found->second;
  Sound sound;
  sound.name = planned.name;
  sound.kind = planned.kind;
  sound.category = planned.category;
  sound.gain_db = planned.gain_db;
  sound.priority = planned.priority;
  sound.importance = planned.importance;
  if (planned.kind == SoundKind::one_shot) {
    sound.segment = add_segment(builder, planned, cut, "whole");
  } else {
    sound.begin = add_segment(builder, planned, cut, "begin");
    sound.hold = add_segment(builder, planned, cut, "hold");
    sound.release = add_segment(builder, planned, cut, "release");
  }
  builder.sounds[std::string(planned.event)] = builder.add(std::move(sound));
}

void add_key(Builder& builder, const PlannedKey& planned) {
  Key key;
  key.number = planned.number;
  key.label = planned.label;
  key.mode = planned.mode;
  key.direction = planned.direction;
  key.sound = builder.sounds[std::string(planned.event)];
  builder.add(std::move(key));
}

void add_cv(Builder& builder, const PlannedCv& planned) {
  Cv cv;
  cv.number = planned.number;
  cv.value = planned.value;
  cv.name = planned.name;
  cv.note = planned.note;
  builder.add(std::move(cv));
}

Status write_cards(const fs::path& folder) {
  std::error_code error;
  fs::create_directories(folder / "cards", error);
  if (error) {
    return Error{ErrorCode::io_failed, path_text(folder / "cards"), "",
                 "cannot make the folder: " + error.message(), ""};
  }
  for (const PlannedCard& card : planned_cards()) {
    if (Status done = write_file_atomically(folder / text_path(card.path), card.text); !done) {
      return done;
    }
  }
  return ok();
}

}  // namespace

Result<Project> demo_project(const fs::path& folder, const DemoTruth& truth, JobControl& job) {
  Builder builder;
  builder.edit(SetTitle{"No. 6 “Ambrel”"});
  builder.edit(SetAuthor{"The Fourbeat demo"});
  builder.edit(SetDate{"2026-05-16"});
  builder.edit(SetDecoder{"class-b"});
  builder.edit(SetEngine{demo_engine()});
  for (const TakeTruth& take : truth.takes) {
    if (builder.failed()) break;
    add_take(builder, take, folder, job);
  }
  for (const PlannedSound& sound : planned_sounds()) {
    if (!builder.failed()) add_sound(builder, sound);
  }
  for (const PlannedKey& key : planned_keys()) {
    if (!builder.failed()) add_key(builder, key);
  }
  for (const PlannedCv& cv : planned_cvs())
    add_cv(builder, cv);
  Living(
      builder.project, [&](std::string_view event) { return builder.sounds[std::string(event)]; },
      [&](const Edit& edit) { builder.edit(edit); })
      .add();
  builder.edit(SetUserNotes{std::string(planned_notes())});
  SetRunCards cards;
  for (const PlannedCard& card : planned_cards())
    cards.paths.emplace_back(card.path);
  builder.edit(cards);
  if (builder.failed()) return *builder.failed();
  if (Status written = write_cards(folder); !written) return written.error();
  return builder.project;
}

}  // namespace fourbeat::demo
