// SPDX-License-Identifier: GPL-3.0-or-later
#include "context.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"
#include "fourbeat/store/data_files.h"
#include "fourbeat/store/takes.h"
#include "fourbeat/work/produce.h"
#include "fourbeat/work/segments.h"
#include "fourbeat/work/session.h"
#include "fourbeat/work/trial.h"

#include <fmt/format.h>

#include <memory>

namespace fourbeat::cli {

namespace {

std::string name_of(check::Severity severity) {
  switch (severity) {
    case check::Severity::error:
      return "error";
    case check::Severity::warning:
      return "warning";
    case check::Severity::hint:
      return "hint";
  }
  return "";
}

/// What the shipped run cards ask of the set.
Json cards_json(const model::Project& project, const work::MeasuredCards& measured) {
  Json cards = Json::array();
  for (const work::CardFigures& card : measured.cards) {
    Json json;
    json["card"] = project.run_cards[card.place];
    json["true_peak_dbtp"] = card.peak ? number(card.peak->true_peak_dbtp, 2) : Json(nullptr);
    json["true_peak_s"] = card.peak ? number(card.peak->time_s, 3) : Json(nullptr);
    json["voices_peak"] = card.voices_peak;
    json["voices_wanted_peak"] = card.voices_wanted_peak;
    cards.push_back(std::move(json));
  }
  return cards;
}

void say_cards(const model::Project& project, const work::MeasuredCards& measured) {
  for (const work::CardFigures& card : measured.cards) {
    const std::string peak = card.peak ? fmt::format("true peak {:+.1f} dBTP at {:.1f} s",
                                                     card.peak->true_peak_dbtp, card.peak->time_s)
                                       : "silent";
    say(fmt::format("{}: {}, {} voices wanted at most", project.run_cards[card.place], peak,
                    card.voices_wanted_peak));
  }
}

int check_command(const std::string& path, bool as_json) {
  ConsoleJob job;
  const Result<work::Session> session = work::Session::open(text_path(path));
  if (!session) return fail(session.error());
  const Result<work::Checked> checked =
      work::check_project(session->project(), session->folder(), job);
  if (!checked) return fail(checked.error());
  Json json;
  json["snags"] = Json::array();
  bool errors = false;
  for (const check::Snag& snag : checked->snags) {
    errors = errors || snag.severity == check::Severity::error;
    if (as_json) {
      json["snags"].push_back({{"rule", snag.rule},
                               {"severity", name_of(snag.severity)},
                               {"where", {{"pointer", snag.pointer}, {"label", snag.label}}},
                               {"message", snag.message},
                               {"mend", snag.mend}});
    } else {
      say(fmt::format("{}: {}: {} ({})", name_of(snag.severity), snag.label, snag.message,
                      snag.mend));
    }
  }
  if (as_json) {
    json["cards"] = cards_json(session->project(), checked->cards);
    print(json);
  } else {
    say_cards(session->project(), checked->cards);
    say(fmt::format("{}: {} snag{}", path, checked->snags.size(),
                    checked->snags.size() == 1 ? "" : "s"));
  }
  return errors ? exit_snags : exit_done;
}

int fit_command(const std::string& path, const std::string& decoder, bool as_json) {
  ConsoleJob job;
  const Result<work::Session> session = work::Session::open(text_path(path));
  if (!session) return fail(session.error());
  const Result<work::FittedSet> fitted =
      work::fit_project(session->project(), session->folder(), decoder, job);
  if (!fitted) return fail_in(path, fitted.error());
  const Result<work::MeasuredCards> cards = work::measure_cards(session->project(), *fitted, job);
  if (!cards) return fail_in(path, cards.error());
  const std::optional<int> voices = work::voices_wanted(*cards);
  const fit::FitReport& report = fitted->fit;
  if (as_json) {
    Json json;
    json["decoder"] = fitted->profile.id;
    json["fits"] = report.fits;
    json["bytes_used"] = report.bytes_used;
    json["bytes_available"] = report.bytes_available;
    json["voices_peak"] = voices ? Json(*voices) : Json(nullptr);
    json["total_loss"] = report.total_loss;
    json["cards"] = cards_json(session->project(), *cards);
    json["sounds"] = Json::array();
    for (const fit::FitSound& sound : report.sounds) {
      json["sounds"].push_back({{"name", sound.name},
                                {"sample_rate", sound.encoding.sample_rate_hz},
                                {"bits", sound.encoding.bits},
                                {"bytes", sound.bytes},
                                {"loss", sound.loss},
                                {"loss_db", number(sound.loss_db, 2)},
                                {"importance", number(sound.importance, 3)},
                                {"share", number(sound.share, 6)}});
    }
    print(json);
  } else {
    const fit::Encoding& encoding = report.sounds.front().encoding;
    say(fmt::format("{}: {} of {} bytes at {} Hz, {} bit, {} sounds{}", fitted->profile.name,
                    report.bytes_used, report.bytes_available, encoding.sample_rate_hz,
                    encoding.bits, report.sounds.size(), report.fits ? "" : ": it does not fit"));
    if (voices) {
      say(fmt::format("voices: {} wanted at most, {} there", *voices, fitted->profile.voices));
    }
    say_cards(session->project(), *cards);
  }
  return report.fits ? exit_done : exit_snags;
}

struct DriveCommand {
  std::string project;
  std::string card;
  std::string wav;
  std::string stems;
  std::string log;
};

Status write_mono(const std::filesystem::path& path, const std::vector<float>& samples,
                  int sample_rate_hz) {
  const audio::Pcm pcm{static_cast<double>(sample_rate_hz), {samples}};
  return audio::write_wav(path, pcm, audio::WavDepth::s24);
}

int write_drive(const work::Session& session, const DriveCommand& o,
                const drive::DriveOutput& output, JobControl& job) {
  for (const auto& [name, samples] : output.stems) {
    if (const Status safe = store::refuse_takes_as_output(session.project(), session.folder(),
                                                          text_path(o.stems) / (name + ".wav"));
        !safe) {
      return fail(safe.error());
    }
  }
  const auto path_of = [](const std::string& text) {
    return text.empty() ? std::filesystem::path() : text_path(text);
  };
  if (const Status wrote = work::write_drive(session.project(), session.folder(), output,
                                             path_of(o.wav), path_of(o.log), job);
      !wrote) {
    return fail(wrote.error());
  }
  if (!o.stems.empty()) {
    std::error_code failed;
    std::filesystem::create_directories(text_path(o.stems), failed);
    if (failed) return fail(Error{ErrorCode::io_failed, o.stems, {}, failed.message(), {}});
    for (const auto& [name, samples] : output.stems) {
      if (const Status wrote =
              write_mono(text_path(o.stems) / (name + ".wav"), samples, output.sample_rate_hz);
          !wrote) {
        return fail(wrote.error());
      }
    }
  }
  const auto beats = std::count_if(output.events.begin(), output.events.end(),
                                   [](const auto& e) { return e.kind == drive::EventKind::beat; });
  const std::string peak = output.true_peak_dbtp
                               ? fmt::format("true peak {:+.1f} dBTP at {:.1f} s",
                                             *output.true_peak_dbtp, output.true_peak_s)
                               : "silent";
  const std::string a_turn =
      output.beats_per_turn ? fmt::format(" ({:.2f} a turn)", *output.beats_per_turn) : "";
  say(fmt::format("{:.1f} s, {} beats{}, at most {} voices ({} wanted), {}",
                  static_cast<double>(output.mix.size()) / output.sample_rate_hz, beats, a_turn,
                  output.voices_peak, output.voices_wanted_peak, peak));
  if (output.true_peak_dbtp.value_or(0.0) > 0.0) {
    warn("the mix goes over full scale: it is cut off");
  }
  return exit_done;
}

int drive_card(const DriveCommand& o) {
  ConsoleJob job;
  const Result<work::Session> session = work::Session::open(text_path(o.project));
  if (!session) return fail(session.error());
  const Result<model::RunCard> card = store::load_run_card(text_path(o.card));
  if (!card) return fail(card.error());
  const Result<work::TrialRun> run =
      work::trial_run(session->project(), session->folder(), *card, !o.stems.empty(), job);
  if (!run) return fail_in(o.project, run.error());
  return write_drive(*session, o, run->output, job);
}

int write_segment(const std::string& path, std::int64_t id, const std::string& out) {
  ConsoleJob job;
  const Result<work::Session> session = work::Session::open(text_path(path));
  if (!session) return fail(session.error());
  const model::Segment* segment = model::find(session->project(), Id<model::Segment>(id));
  if (segment == nullptr) {
    return fail(Error{ErrorCode::not_found, path, "ID", fmt::format("no segment {}", id), {}});
  }
  const Status written =
      work::write_segment(session->project(), session->folder(), *segment, text_path(out), job);
  if (!written) return fail(written.error());
  say(fmt::format("{}: segment {}", out, id));
  return exit_done;
}

}  // namespace

void add_produce_commands(const Command& app) {
  auto path = std::make_shared<std::string>();
  auto decoder = std::make_shared<std::string>();
  auto json = std::make_shared<bool>(false);
  auto drive_options = std::make_shared<DriveCommand>();
  app.add(
      "check", "Find every snag of a project",
      [=](const Command& c) {
        c.option("PROJECT", *path, "Project file").required();
        c.flag("--json", *json, "Print JSON");
      },
      [=] { return check_command(*path, *json); });
  app.add(
      "fit", "Fit the set into its decoder, to the byte",
      [=](const Command& c) {
        c.option("PROJECT", *path, "Project file").required();
        c.option("--decoder", *decoder, "Decoder profile, instead of the project's");
        c.flag("--json", *json, "Print JSON");
      },
      [=] { return fit_command(*path, *decoder, *json); });
  app.add(
      "drive", "Drive the set by a run card",
      [=](const Command& c) {
        c.option("PROJECT", drive_options->project, "Project file").required();
        c.option("--card", drive_options->card, "Run card").required();
        c.option("--wav", drive_options->wav, "WAV to write");
        c.option("--stems", drive_options->stems,
                 "Folder for a WAV each of chuffs, layers, keys and beds");
        c.option("--log", drive_options->log, "JSON log to write");
      },
      [=] { return drive_card(*drive_options); });
  auto segment = std::make_shared<std::int64_t>(0);
  auto out = std::make_shared<std::string>();
  app.add(
      "segment", "Write one segment as it sounds, its loop blended",
      [=](const Command& c) {
        c.option("PROJECT", *path, "Project file").required();
        c.option("ID", *segment, "Id of the segment").required();
        c.option("--out", *out, "WAV to write").required();
      },
      [=] { return write_segment(*path, *segment, *out); });
}

}  // namespace fourbeat::cli
