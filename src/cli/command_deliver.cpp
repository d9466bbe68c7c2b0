// SPDX-License-Identifier: GPL-3.0-or-later
#include "context.h"

#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"
#include "fourbeat/deliver/bundle.h"
#include "fourbeat/deliver/notes.h"
#include "fourbeat/deliver/sheets.h"
#ifdef FOURBEAT_HAS_PRINT
#include "fourbeat/print/print.h"
#endif
#include "fourbeat/store/takes.h"
#include "fourbeat/work/produce.h"
#include "fourbeat/work/session.h"

#include <fmt/format.h>

#include <memory>

namespace fourbeat::cli {

namespace {

int pack(const std::string& path, const std::string& out, bool zip) {
  ConsoleJob job;
  const Result<work::Session> session = work::Session::open(text_path(path));
  if (!session) return fail(session.error());
  const std::filesystem::path target = text_path(out);
  if (const Status safe =
          store::refuse_takes_as_output(session->project(), session->folder(), target);
      !safe) {
    return fail(safe.error());
  }
  const Result<work::Checked> checked =
      work::check_project(session->project(), session->folder(), job);
  if (!checked) return fail(checked.error());
  const Result<deliver::BundleInput> input = work::bundle_input(session->project(), *checked);
  if (!input) {
    Error error = input.error();
    if (error.file.empty()) error.file = path;
    return fail(error);
  }
  const Result<std::vector<deliver::BundleFile>> files = deliver::make_bundle(*input);
  if (!files) {
    Error error = files.error();
    if (error.file.empty()) error.file = path;
    return fail(error);
  }
  const Status wrote =
      zip ? deliver::write_zip(*files, target) : deliver::write_bundle(*files, target, job);
  if (!wrote) return fail(wrote.error());
  say(fmt::format("{}: {} files, {} of {} bytes of the decoder", out, files->size(),
                  input->fit.bytes_used, input->fit.bytes_available));
  if (!input->unsigned_seams.empty()) {
    warn(fmt::format("{} seams are not signed off; the manifest lists them",
                     input->unsigned_seams.size()));
  }
  return exit_done;
}

int prove(const std::string& bundle) {
  ConsoleJob job;
  const Result<deliver::Proof> proof = deliver::prove(text_path(bundle), job);
  if (!proof) return fail(proof.error());
  for (const std::string& fault : proof->faults)
    say(fault);
  say(fmt::format("{}: {} files, {}", bundle, proof->files,
                  proof->sound ? "sound" : fmt::format("{} faults", proof->faults.size())));
  return proof->sound ? exit_done : exit_snags;
}

#ifdef FOURBEAT_HAS_PRINT
constexpr const char* sheet_formats = "sheets are written as HTML or PDF";
constexpr const char* sheet_formats_mend = "give a name that ends in .html or .pdf";
#else
constexpr const char* sheet_formats = "this build writes sheets as HTML";
constexpr const char* sheet_formats_mend = "give a name that ends in .html";
#endif

Status write_sheet(const work::Session& session, const deliver::Sheet& sheet,
                   const std::string& out) {
  const std::filesystem::path path = text_path(out);
#ifdef FOURBEAT_HAS_PRINT
  const bool as_pdf = path.extension() == ".pdf";
#else
  const bool as_pdf = false;
#endif
  if (path.extension() != ".html" && !as_pdf) {
    return Error{ErrorCode::not_available, out, "--out", sheet_formats, sheet_formats_mend};
  }
  if (Status safe = store::refuse_takes_as_output(session.project(), session.folder(), path);
      !safe) {
    return safe;
  }
#ifdef FOURBEAT_HAS_PRINT
  if (as_pdf) return print::print_pdf(sheet, path);
#endif
  return write_file_atomically(path, deliver::html_of(sheet));
}

int notes(const std::string& path, const std::string& out) {
  const Result<work::Session> session = work::Session::open(text_path(path));
  if (!session) return fail(session.error());
  std::optional<model::DecoderProfile> profile;
  if (!session->project().decoder.empty()) {
    Result<model::DecoderProfile> found = work::profile_of(session->project(), "");
    if (!found) return fail(found.error());
    profile = std::move(*found);
  }
  const Status wrote = write_sheet(
      *session, deliver::notes_sheet(session->project(), profile ? &*profile : nullptr), out);
  if (!wrote) return fail(wrote.error());
  say(fmt::format("{}: the user notes", out));
  return exit_done;
}

int day_sheet(const std::string& path, const std::string& out) {
  const Result<work::Session> session = work::Session::open(text_path(path));
  if (!session) return fail(session.error());
  const Status wrote = write_sheet(*session, deliver::day_sheet(session->project()), out);
  if (!wrote) return fail(wrote.error());
  say(fmt::format("{}: the day sheet", out));
  return exit_done;
}

int loading_sheet(const std::string& path, const std::string& out) {
  ConsoleJob job;
  const Result<work::Session> session = work::Session::open(text_path(path));
  if (!session) return fail(session.error());
  const Result<work::Checked> checked =
      work::check_project(session->project(), session->folder(), job);
  if (!checked) return fail(checked.error());
  const Result<deliver::BundleInput> input = work::bundle_input(session->project(), *checked);
  if (!input) return fail(input.error());
  const Result<deliver::Sheet> sheet = deliver::loading_sheet(*input);
  if (!sheet) return fail(sheet.error());
  const Status wrote = write_sheet(*session, *sheet, out);
  if (!wrote) return fail(wrote.error());
  say(fmt::format("{}: the loading sheet", out));
  return exit_done;
}

}  // namespace

void add_deliver_commands(CLI::App& app) {
  auto path = std::make_shared<std::string>();
  auto out = std::make_shared<std::string>();
  auto zip = std::make_shared<bool>(false);
  add_command(
      app, "pack", "Write the deliverable bundle",
      [=](CLI::App& c) {
        c.add_option("PROJECT", *path, "Project file")->required();
        c.add_option("--out", *out, "Folder to write, or the zip")->required();
        c.add_flag("--zip", *zip, "Write one zip instead of a folder");
      },
      [=] { return pack(*path, *out, *zip); });
  add_command(
      app, "prove", "Read a bundle back and prove it",
      [=](CLI::App& c) { c.add_option("BUNDLE", *path, "Folder or zip of a bundle")->required(); },
      [=] { return prove(*path); });
  add_command(
      app, "notes", "Write the user notes",
      [=](CLI::App& c) {
        c.add_option("PROJECT", *path, "Project file")->required();
        c.add_option("--out", *out, "HTML file to write")->required();
      },
      [=] { return notes(*path, *out); });
  auto kind = std::make_shared<std::string>();
  add_command(
      app, "sheet", "Write a working sheet",
      [=](CLI::App& c) {
        c.add_option("PROJECT", *path, "Project file")->required();
        c.add_option("KIND", *kind, "day or loading")
            ->required()
            ->check(CLI::IsMember({"day", "loading"}));
        c.add_option("--out", *out, "HTML file to write")->required();
      },
      [=] { return *kind == "day" ? day_sheet(*path, *out) : loading_sheet(*path, *out); });
}

}  // namespace fourbeat::cli
