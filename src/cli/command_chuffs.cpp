// SPDX-License-Identifier: GPL-3.0-or-later
#include "context.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/text.h"
#include "fourbeat/model/members.h"
#include "fourbeat/store/takes.h"
#include "fourbeat/work/chuff_builder.h"
#include "fourbeat/work/row_preview.h"
#include "fourbeat/work/session.h"
#include "fourbeat/work/sweep.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <optional>

namespace fourbeat::cli {

namespace {

struct ChuffsCommand {
  std::string project;
  std::vector<std::int64_t> takes;
  std::vector<std::string> uses;
  std::string condition = "normal";
  bool no_derived = false;
  bool keep_effort = false;
  work::ChuffPlan plan;
  bool as_json = false;
};

/// A candidate for a place of a row; all count from 1.
struct Use {
  std::size_t row = 0;
  std::size_t revolution = 0;
  std::size_t candidate = 0;
};

/// Reads ROW:REVOLUTION=CANDIDATE.
Result<Use> use_of(const std::string& text) {
  const std::size_t colon = text.find(':');
  const std::size_t equals = text.find('=', colon == std::string::npos ? 0 : colon);
  const auto number = [&](std::size_t from, std::size_t to) -> std::size_t {
    const std::optional<double> value = parse_number(text.substr(from, to - from));
    return value && *value >= 1.0 && *value <= 1e6 && *value == std::floor(*value)
               ? static_cast<std::size_t>(*value)
               : 0;
  };
  Use use;
  if (colon != std::string::npos && equals != std::string::npos) {
    use = {number(0, colon), number(colon + 1, equals), number(equals + 1, text.size())};
  }
  if (use.row == 0 || use.revolution == 0 || use.candidate == 0) {
    return Error{
        ErrorCode::bad_argument, {}, "--use", text, "give ROW:REVOLUTION=CANDIDATE, each from 1"};
  }
  return use;
}

/// Puts the candidates asked for into the table just built.
Status use_candidates(const std::vector<std::string>& texts, const work::ChuffBuild& build,
                      work::Session& session) {
  for (const std::string& text : texts) {
    const Result<Use> use = use_of(text);
    if (!use) return use.error();
    const work::RowCandidates* of_row = nullptr;
    for (const work::RowCandidates& each : build.candidates) {
      if (each.row + 1 == use->row) of_row = &each;
    }
    if (of_row == nullptr || use->candidate > of_row->candidates.size()) {
      return Error{ErrorCode::not_found, {}, "--use", text + ": no such row or candidate", {}};
    }
    const Id<model::ChuffRow> row = session.project().chuffs.rows[of_row->row].id;
    const Result<model::Edit> edit = work::use_candidate(
        session.project(), row, use->revolution - 1, of_row->candidates[use->candidate - 1]);
    if (!edit) return edit.error();
    if (const Result<model::Edit> done = session.perform({*edit}); !done) return done.error();
  }
  return ok();
}

Json candidate_json(const work::RevolutionCandidate& candidate) {
  const work::RevolutionQuality& quality = candidate.quality;
  Json marks = Json::array();
  for (const model::MarkKind kind : quality.marks)
    marks.push_back(model::word_of(kind));
  return {{"take", candidate.take.value()},
          {"first_beat_frame", candidate.first_beat.value()},
          {"speed_kmh", number(candidate.speed_kmh, 2)},
          {"quality",
           {{"total", number(quality.total, 3)},
            {"reason", quality.reason},
            {"signal_db", number(quality.signal_db, 1)},
            {"end_db", number(quality.end_db, 1)},
            {"accent_db", number(quality.accent_db, 2)},
            {"evenness_deg", number(quality.evenness_deg, 2)},
            {"off_middle", number(quality.off_middle, 3)},
            {"oddity_db", number(quality.oddity_db, 1)},
            {"flat_tops", quality.flat_tops},
            {"beat_confidence", number(quality.beat_confidence, 3)},
            {"marks", marks}}}};
}

Json row_json(const model::ChuffRow& row, std::size_t index, const work::ChuffBuild& build) {
  Json json{{"id", row.id.value()},
            {"effort", model::word_of(row.effort)},
            {"from_kmh", number(row.from_kmh, 2)},
            {"to_kmh", number(row.to_kmh, 2)},
            {"revolutions", row.revolutions.size()},
            {"condition", model::word_of(row.condition)},
            {"derived", nullptr},
            {"fused", nullptr}};
  if (row.derived) {
    json["derived"] = {{"recorded_kmh", number(row.derived->recorded_kmh, 2)},
                       {"tilt_db_per_octave", number(row.derived->tilt_db_per_octave, 2)}};
  }
  if (row.fused) {
    json["fused"] = {{"recorded_kmh", number(row.fused->recorded_kmh, 2)},
                     {"start_frame", row.fused->loop.range.start.value()},
                     {"end_frame", row.fused->loop.range.end.value()}};
  }
  Json candidates = Json::array();
  for (const work::RowCandidates& each : build.candidates) {
    if (each.row != index) continue;
    for (const work::RevolutionCandidate& candidate : each.candidates)
      candidates.push_back(candidate_json(candidate));
  }
  json["candidates"] = std::move(candidates);
  return json;
}

Json effort_json(const model::EffortCalibration& effort) {
  const auto figure = [](const std::optional<double>& value, int decimals) -> Json {
    return value ? Json(number(*value, decimals)) : Json(nullptr);
  };
  return {{"drifting_below_db", figure(effort.drifting_below_db, 1)},
          {"hard_from_db", figure(effort.hard_from_db, 1)},
          {"drifting_below_share", figure(effort.drifting_below_share, 2)},
          {"hard_from_share", figure(effort.hard_from_share, 2)},
          {"drifting_below_m_s2", number(effort.drifting_below_m_s2, 3)},
          {"hard_from_m_s2", number(effort.hard_from_m_s2, 3)}};
}

std::string row_line(const model::ChuffRow& row) {
  std::string line = fmt::format("  {:<8} {:>5.1f} to {:>5.1f} km/h, ", model::word_of(row.effort),
                                 row.from_kmh, row.to_kmh);
  line += row.fused ? std::string("a loop")
                    : fmt::format("{} revolution{}", row.revolutions.size(),
                                  row.revolutions.size() == 1 ? "" : "s");
  if (row.derived) line += fmt::format(", derived from {:.1f} km/h", row.derived->recorded_kmh);
  if (row.condition != model::Condition::normal) {
    line += fmt::format(", {}", model::word_of(row.condition));
  }
  return line;
}

/// The condition of a word. Errors: bad_argument.
Result<model::Condition> condition_of(const std::string& word) {
  constexpr auto words = model::EnumNames<model::Condition>::list;
  const auto found = std::find(words.begin(), words.end(), word);
  if (found == words.end()) {
    return Error{ErrorCode::bad_argument,
                 {},
                 "--condition",
                 word,
                 "give normal, cocks_open, heavy_start or slip"};
  }
  return static_cast<model::Condition>(found - words.begin());
}

int chuffs(const ChuffsCommand& o) {
  ConsoleJob job;
  const Result<model::Condition> condition = condition_of(o.condition);
  if (!condition) return fail(condition.error());
  work::ChuffPlan plan = o.plan;
  plan.condition = *condition;
  plan.derive = !o.no_derived;
  plan.revolutions_most = std::max(plan.revolutions_most, plan.revolutions_least);
  Result<work::Session> session = work::Session::open_to_change(text_path(o.project));
  if (!session) return fail(session.error());
  std::vector<Id<model::Take>> ids;
  ids.reserve(o.takes.size());
  for (const std::int64_t take : o.takes)
    ids.emplace_back(take);
  const Result<work::ChuffBuild> build =
      work::refresh_chuffs(session->project(), session->folder(), ids, job, plan);
  if (!build) return fail_in(o.project, build.error());
  if (const Result<model::Edit> done = session->perform(build->edits); !done) {
    return fail(done.error());
  }
  if (o.keep_effort) {
    model::Engine engine = session->project().engine;
    engine.effort = build->effort;
    if (const Result<model::Edit> kept = session->perform({model::SetEngine{engine}}); !kept) {
      return fail(kept.error());
    }
  }
  if (const Status used = use_candidates(o.uses, *build, *session); !used) {
    return fail(used.error());
  }
  if (const Status saved = session->save(); !saved) return fail(saved.error());
  const model::ChuffTable& table = session->project().chuffs;
  if (o.as_json) {
    Json json;
    json["beats"] = build->beats;
    json["revolutions"] = build->revolutions;
    json["measured_angles_deg"] = build->measured_angles_deg;
    json["effort"] = effort_json(build->effort);
    json["rows"] = Json::array();
    for (std::size_t i = 0; i < table.rows.size(); ++i)
      json["rows"].push_back(row_json(table.rows[i], i, *build));
    print(json);
    return exit_done;
  }
  say(fmt::format("{} beats, {} whole revolutions, {} rows", build->beats, build->revolutions,
                  table.rows.size()));
  for (const model::ChuffRow& row : table.rows)
    say(row_line(row));
  if (o.keep_effort) say("  the figures that efforts were judged by are kept in the engine");
  return exit_done;
}

struct SweepCommand {
  std::string project;
  std::string wav;
  work::SweepParams params;
  std::optional<std::int64_t> row;  ///< this one alone
  std::optional<double> speed_kmh;  ///< at which it is played
  double seconds = 8.0;
  bool as_json = false;
};

Status write_clip(const std::string& file, const audio::Clip& clip) {
  const audio::Pcm pcm{clip.sample_rate_hz, {clip.samples}};
  return audio::write_wav(text_path(file), pcm, audio::WavDepth::s24);
}

void warn_if_turned(double turned_db) {
  if (turned_db < 0.0) {
    warn(fmt::format("it would go over full scale; the file is {:.1f} dB softer", -turned_db));
  }
}

/// One row at one speed.
int play_row(const SweepCommand& o, const work::Session& session, JobControl& job) {
  const Id<model::ChuffRow> id(*o.row);
  const model::ChuffRow* row = model::find(session.project(), id);
  const double speed_kmh =
      o.speed_kmh.value_or(row == nullptr ? 1.0 : work::middle_speed_kmh(*row));
  const Result<work::RowPreview> made =
      work::preview_row(session.project(), session.folder(), id, speed_kmh, o.seconds, job);
  if (!made) return fail_in(o.project, made.error());
  if (const Status wrote = write_clip(o.wav, made->clip); !wrote) return fail(wrote.error());
  if (o.as_json) {
    Json json;
    json["sample_rate_hz"] = number(made->clip.sample_rate_hz, 0);
    json["speed_kmh"] = number(speed_kmh, 3);
    json["turned_db"] = number(made->turned_db, 2);
    json["beats"] = Json::array();
    for (const FrameIndex frame : made->beats)
      json["beats"].push_back({{"frame", frame.value()}});
    print(json);
  } else {
    say(fmt::format("{:.1f} s at {:.1f} km/h, {} beats",
                    static_cast<double>(made->clip.samples.size()) / made->clip.sample_rate_hz,
                    speed_kmh, made->beats.size()));
  }
  warn_if_turned(made->turned_db);
  return exit_done;
}

int sweep(const SweepCommand& o) {
  ConsoleJob job;
  const Result<work::Session> session = work::Session::open(text_path(o.project));
  if (!session) return fail(session.error());
  if (const Status safe =
          store::refuse_takes_as_output(session->project(), session->folder(), text_path(o.wav));
      !safe) {
    return fail(safe.error());
  }
  if (o.row) return play_row(o, *session, job);
  if (o.speed_kmh) {
    return fail(
        Error{ErrorCode::bad_argument, {}, "--speed", "a speed of no row", "say which with --row"});
  }
  const Result<work::Sweep> made =
      work::sweep_table(session->project(), session->folder(), o.params, job);
  if (!made) return fail_in(o.project, made.error());
  if (const Status wrote = write_clip(o.wav, made->clip); !wrote) return fail(wrote.error());
  if (o.as_json) {
    Json json;
    json["sample_rate_hz"] = number(made->clip.sample_rate_hz, 0);
    json["seconds"] =
        number(static_cast<double>(made->clip.samples.size()) / made->clip.sample_rate_hz, 3);
    json["peak"] = number(made->peak, 4);
    json["turned_db"] = number(made->turned_db, 2);
    json["beats"] = Json::array();
    for (const work::SweepBeat& beat : made->beats) {
      json["beats"].push_back({{"frame", beat.frame.value()},
                               {"speed_kmh", number(beat.speed_kmh, 3)},
                               {"position", beat.position},
                               {"row", beat.row.value()}});
    }
    json["changes"] = made->changes;
    print(json);
  } else {
    say(fmt::format("{:.1f} s, {} beats, {} changes of row, peak {:.2f} of full scale",
                    static_cast<double>(made->clip.samples.size()) / made->clip.sample_rate_hz,
                    made->beats.size(), made->changes.size(), made->peak));
  }
  warn_if_turned(made->turned_db);
  return exit_done;
}

}  // namespace

void add_chuff_commands(const Command& app) {
  auto table = std::make_shared<ChuffsCommand>();
  app.add(
      "chuffs", "Build or refresh the chuff table from takes",
      [=](const Command& c) {
        c.option("PROJECT", table->project, "Project file").required();
        c.option("--take", table->takes, "Id of a take to build from, beside those in the table");
        c.option("--band-ratio", table->plan.band_ratio,
                 "Upper over lower speed of a row, 1.05 to 2");
        c.option("--rows", table->plan.rows,
                 "Rows from the slowest speed recorded to top speed, instead of a ratio");
        c.option("--revolutions", table->plan.revolutions_least,
                 "Revolutions a row has where the takes hold as many");
        c.option("--most-revolutions", table->plan.revolutions_most,
                 "Up to so many where the decoder's memory holds them");
        c.flag("--no-derived", table->no_derived,
               "Leave speeds that no recording serves without a row");
        c.flag("--keep-effort", table->keep_effort,
               "Store in the engine the figures that efforts were judged by");
        c.option("--condition", table->condition,
                 "What the takes were recorded in: normal, cocks_open, heavy_start, slip");
        c.option("--use", table->uses,
                 "ROW:REVOLUTION=CANDIDATE: play another candidate, all counted from 1");
        c.flag("--json", table->as_json, "Print JSON, with the candidates of each row");
      },
      [=] { return chuffs(*table); });
  auto whole = std::make_shared<SweepCommand>();
  app.add(
      "sweep", "Play the chuff table from rest to top speed and back",
      [=](const Command& c) {
        c.option("PROJECT", whole->project, "Project file").required();
        c.option("--wav", whole->wav, "WAV to write").required();
        c.option("--up", whole->params.seconds_up, "Seconds from rest to top speed");
        c.option("--down", whole->params.seconds_down, "Seconds from top speed to rest");
        c.option("--load", whole->params.load, "Load, 0 to 1: from 0.5 on a heavy start");
        c.option("--row", whole->row, "Id of a row: play it alone, at one speed");
        c.option("--speed", whole->speed_kmh, "Speed in km/h of that row, else its middle");
        c.option("--seconds", whole->seconds, "How long that row is played");
        c.flag("--json", whole->as_json, "Print JSON");
      },
      [=] { return sweep(*whole); });
}

}  // namespace fourbeat::cli
