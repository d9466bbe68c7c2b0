// SPDX-License-Identifier: GPL-3.0-or-later
#include "context.h"
#include "stretch_options.h"

#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"
#include "fourbeat/model/members.h"
#include "fourbeat/store/data_files.h"
#include "fourbeat/store/project_file.h"
#include "fourbeat/work/analyse.h"
#include "fourbeat/work/loop_kinds.h"
#include "fourbeat/work/segments.h"
#include "fourbeat/work/session.h"

#include <fmt/format.h>

#include <algorithm>
#include <memory>
#include <optional>

namespace fourbeat::cli {

namespace {

std::string state_name(dsp::SeamState state) {
  switch (state) {
    case dsp::SeamState::clean:
      return "clean";
    case dsp::SeamState::doubtful:
      return "doubtful";
    case dsp::SeamState::unclean:
      return "unclean";
  }
  return "";
}

Json candidate_json(const dsp::LoopCandidate& candidate) {
  Json json;
  json["start_frame"] = candidate.loop.range.start.value();
  json["end_frame"] = candidate.loop.range.end.value();
  json["crossfade_frames"] = candidate.loop.crossfade_frames.value();
  json["crossfade_at"] = candidate.loop.at_start ? "start" : "end";
  json["drift_db"] = number(candidate.loop.drift_db, 2);
  json["tone_drift_db"] = number(dsp::tone_drift_db(candidate.loop.octave_drift_db), 2);
  json["octave_drift_db"] = Json::array();
  for (const double db : candidate.loop.octave_drift_db)
    json["octave_drift_db"].push_back(number(db, 2));
  json["period_s"] = number(candidate.period_s, 6);
  Json seam;
  seam["state"] = state_name(candidate.seam.state);
  seam["rank"] = number(candidate.seam.rank, 2);
  for (const dsp::SeamMeasure& measure : candidate.seam.measures) {
    seam[measure.name] = {{"value", number(measure.value, 4)},
                          {"quotient", number(measure.quotient, 3)}};
  }
  seam["tell_db"] = number(candidate.seam.tell_db, 2);
  seam["level_drift_db"] = number(candidate.seam.level_drift_db, 2);
  seam["tone_drift_db"] = number(candidate.seam.tone_drift_db, 2);
  seam["octave_drift_db"] = number(candidate.seam.octave_drift_db, 2);
  if (candidate.seam.octave_hz > 0.0) seam["octave_hz"] = number(candidate.seam.octave_hz, 0);
  seam["whole_periods"] = candidate.seam.whole_periods;
  seam["omitted"] = candidate.seam.omitted;
  json["seam"] = std::move(seam);
  json["score"] = number(candidate.score, 4);
  return json;
}

std::string words_of_drift(const dsp::LoopCandidate& candidate) {
  std::string words;
  if (const double db = candidate.loop.drift_db; db != 0.0)
    words += fmt::format(", drift of {:+.2f} dB taken out", db);
  const std::vector<double>& octaves_db = candidate.loop.octave_drift_db;
  if (!dsp::tone_tells(octaves_db)) {
    words += fmt::format(", drift of octaves apart by {:.2f} dB taken out",
                         dsp::octave_drift_spread_db(octaves_db));
  } else if (const double db = dsp::tone_drift_db(octaves_db); db != 0.0) {
    words += fmt::format(", drift of tone of {:+.2f} dB taken out", db);
  }
  if (const double db = candidate.seam.level_drift_db; db != 0.0)
    words += fmt::format(", drift of level of {:+.2f} dB left", db);
  if (const double db = candidate.seam.tone_drift_db; db != 0.0)
    words += fmt::format(", drift of tone of {:+.2f} dB left", db);
  if (const double db = candidate.seam.octave_drift_db; db != 0.0)
    words += fmt::format(", drift of the octave about {:.0f} Hz of {:+.2f} dB left",
                         candidate.seam.octave_hz, db);
  return words;
}

struct LoopOptions {
  dsp::LoopParams params;
  std::optional<double> min_s;  ///< none: by the kind of sound
  std::string kind;             ///< a category's word; "": a segment's own, of a file unknown
  std::string write;
  std::vector<std::int64_t> segments;
  bool all = false;
};

/// The category that `kind` names; none where it is empty.
Result<std::optional<model::Category>> kind_named(const std::string& kind) {
  if (kind.empty()) return std::optional<model::Category>();
  std::string words;
  for (std::size_t i = 0; i < model::EnumNames<model::Category>::list.size(); ++i) {
    const auto each = static_cast<model::Category>(i);
    if (model::word_of(each) == kind) return std::optional(each);
    words += fmt::format("{}{}", i == 0 ? "" : ", ", model::word_of(each));
  }
  return Error{ErrorCode::bad_argument, {}, "--kind", kind, "give one of " + words};
}

/// Finds loops in segments of a project and sets them: the shell's way to what the editor does.
int loops_of_project(const StretchOptions& o, const LoopOptions& loops,
                     const std::optional<model::Category>& kind) {
  ConsoleJob job;
  Result<work::Session> session = work::Session::open_to_change(text_path(o.file));
  if (!session) return fail(session.error());
  std::vector<Id<model::Segment>> wanted;
  for (const std::int64_t id : loops.segments)
    wanted.emplace_back(id);
  if (loops.all) {
    for (const Id<model::Segment> id : work::holds_without_loop(session->project())) {
      if (std::find(wanted.begin(), wanted.end(), id) == wanted.end()) wanted.push_back(id);
    }
  }
  std::vector<model::Edit> edits;
  Json json = Json::array();
  for (const Id<model::Segment> id : wanted) {
    const model::Segment* segment = model::find(session->project(), id);
    if (segment == nullptr) {
      return fail(Error{
          ErrorCode::not_found, o.file, "--segment", fmt::format("no segment {}", id.value()), {}});
    }
    dsp::LoopParams params = loops.params;
    const model::Category own = work::kind_of(session->project(), id);
    params.min_s = loops.min_s.value_or(work::shortest_loop_s(kind.value_or(own)));
    const Result<dsp::LoopSearch> search =
        work::find_segment_loops(session->project(), session->folder(), id, params, job);
    if (!search) return fail(search.error());
    const model::Take* take = model::find(session->project(), segment->source.mix.front().take);
    const double rate_hz = take != nullptr ? take->sample_rate_hz : 1.0;
    Json each{{"segment", id.value()}, {"name", segment->name}};
    if (search->candidates.empty()) {
      warn(fmt::format("segment “{}”: no loop: {}", segment->name, search->reason));
      each["loop"] = nullptr;
      each["reason"] = search->reason;
    } else {
      const dsp::LoopCandidate& best = search->candidates.front();
      edits.emplace_back(model::SetLoop{id, work::loop_in_segment(best.loop, *segment)});
      each["loop"] = candidate_json(best);
      if (!search->reason.empty()) {
        each["reason"] = search->reason;
        warn(fmt::format("segment “{}”: {}", segment->name, search->reason));
      }
      if (!o.json) {
        say(fmt::format("segment “{}”: loop of {:.3f} s, seam {} (rank {:.1f})", segment->name,
                        static_cast<double>(best.loop.range.length().value()) / rate_hz,
                        state_name(best.seam.state), best.seam.rank));
      }
    }
    json.push_back(std::move(each));
  }
  if (!edits.empty()) {
    if (const Result<model::Edit> done = session->perform(edits); !done) return fail(done.error());
    if (const Status saved = session->save(); !saved) return fail(saved.error());
  }
  if (o.json) print({{"segments", json}});
  return exit_done;
}

int loops(const StretchOptions& o, const LoopOptions& loops) {
  const Result<std::optional<model::Category>> kind = kind_named(loops.kind);
  if (!kind) return fail(kind.error());
  if (!loops.segments.empty() || loops.all) return loops_of_project(o, loops, *kind);
  const Result<work::Stretch> stretch = stretch_of(o);
  if (!stretch) return fail(stretch.error());
  ConsoleJob job;
  dsp::LoopParams params = loops.params;
  params.min_s =
      loops.min_s.value_or(work::shortest_loop_s(kind->value_or(model::Category::other)));
  const Result<work::FileLoops> found =
      work::loops_of_file(text_path(o.file), *stretch, params, job);
  if (!found) return fail(found.error());
  const std::vector<dsp::LoopCandidate>& candidates = found->search.candidates;
  if (!loops.write.empty()) {
    if (candidates.empty()) {
      warn(fmt::format("{}: nothing is written: {}", loops.write, found->search.reason));
    } else if (const Status wrote = work::write_loop(text_path(o.file), candidates.front().loop,
                                                     text_path(loops.write));
               !wrote) {
      return fail(wrote.error());
    }
  }
  if (o.json) {
    Json json;
    json["file"] = o.file;
    json["sample_rate_hz"] = found->info.sample_rate_hz;
    json["loops"] = Json::array();
    for (const dsp::LoopCandidate& candidate : candidates) {
      json["loops"].push_back(candidate_json(candidate));
    }
    if (!found->search.reason.empty()) json["reason"] = found->search.reason;
    print(json);
    return exit_done;
  }
  if (candidates.empty()) say(fmt::format("{}: no loop: {}", o.file, found->search.reason));
  const double rate = found->info.sample_rate_hz;
  for (const dsp::LoopCandidate& candidate : candidates) {
    std::string omitted;
    for (const std::string& name : candidate.seam.omitted)
      omitted += " " + name;
    const std::string drift = words_of_drift(candidate);
    say(fmt::format("{:.3f} to {:.3f} s ({:.3f} s), crossfade {:.0f} ms{}, seam {} (rank {:.1f}){}",
                    static_cast<double>(candidate.loop.range.start.value()) / rate,
                    static_cast<double>(candidate.loop.range.end.value()) / rate,
                    static_cast<double>(candidate.loop.range.length().value()) / rate,
                    static_cast<double>(candidate.loop.crossfade_frames.value()) / rate * 1000.0,
                    drift, state_name(candidate.seam.state), candidate.seam.rank,
                    omitted.empty() ? "" : ", omitted:" + omitted));
  }
  if (!candidates.empty() && !found->search.reason.empty()) say(found->search.reason);
  return exit_done;
}

struct CleanOptions {
  std::string file;
  std::string chain;
  std::string out;
  bool json = false;
};

int clean(const CleanOptions& o) {
  const Result<std::string> text = read_text_file(text_path(o.chain), store::project_limit_bytes);
  if (!text) return fail(text.error());
  const Result<std::vector<model::CleanStep>> steps = store::parse_clean_chain(*text, o.chain);
  if (!steps) return fail(steps.error());
  ConsoleJob job;
  const Result<std::vector<work::CleanedChannel>> report =
      work::clean_file(text_path(o.file), *steps, text_path(o.out), job);
  if (!report) return fail(report.error());
  Json json;
  json["out"] = o.out;
  json["channels"] = Json::array();
  int n = 0;
  for (const work::CleanedChannel& c : *report) {
    json["channels"].push_back({{"before_dbfs", number(c.before_dbfs, 2)},
                                {"after_dbfs", number(c.after_dbfs, 2)},
                                {"removed_dbfs", number(c.removed_dbfs, 2)}});
    if (!o.json) {
      say(fmt::format("channel {}: {} before, {} after, removed {}", ++n,
                      figure(c.before_dbfs, "dBFS"), figure(c.after_dbfs, "dBFS"),
                      figure(c.removed_dbfs, "dBFS")));
    }
  }
  if (o.json) print(json);
  return exit_done;
}

}  // namespace

void add_analyse_commands(const Command& app) {
  auto loop_stretch = std::make_shared<StretchOptions>();
  auto loop_options = std::make_shared<LoopOptions>();
  app.add(
      "loops", "Loops of a recording whose seam nobody hears, or of a project's segments",
      [=](const Command& c) {
        add_stretch(c, loop_stretch);
        c.option("--min", loop_options->min_s,
                 "Shortest loop in seconds; without it as the kind of sound needs");
        c.option("--kind", loop_options->kind,
                 "What it is a loop of: exhaust, whistle, bell, safety_valve, pump, injector, "
                 "motion, ambience, voice or other; without it a segment's own");
        c.option("--max", loop_options->params.max_s, "Longest loop in seconds");
        c.option("--count", loop_options->params.count, "Candidates wanted");
        c.option("--write", loop_options->write, "Write the best loop, once, as a WAV");
        c.option("--segment", loop_options->segments,
                 "FILE is a project: find and set the loop of this segment");
        c.flag("--all", loop_options->all,
               "FILE is a project: find and set every loop that a held sound lacks");
      },
      [=] { return loops(*loop_stretch, *loop_options); });
  auto clean_options = std::make_shared<CleanOptions>();
  app.add(
      "clean", "Clean a recording into another file, and say what was taken away",
      [=](const Command& c) {
        c.option("FILE", clean_options->file, "Recording").required();
        c.option("--chain", clean_options->chain, "JSON file with the clean steps").required();
        c.option("--out", clean_options->out, "WAV to write").required();
        c.flag("--json", clean_options->json, "Print JSON");
      },
      [=] { return clean(*clean_options); });
}

}  // namespace fourbeat::cli
