// SPDX-License-Identifier: GPL-3.0-or-later
#include "context.h"

#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"
#include "fourbeat/deliver/bundle.h"
#include "fourbeat/deliver/notes.h"
#ifdef FOURBEAT_HAS_PRINT
#include "fourbeat/print/print.h"
#endif
#include "fourbeat/store/takes.h"
#include "fourbeat/work/pack.h"
#include "fourbeat/work/session.h"

#include <fmt/format.h>

#include <memory>

namespace fourbeat::cli {

namespace {

int pack(const std::string& path, const std::string& out, bool zip) {
  ConsoleJob job;
  const Result<work::Session> session = work::Session::open(text_path(path));
  if (!session) return fail(session.error());
  const Result<work::Packed> packed =
      work::pack_project(session->project(), session->folder(), text_path(out), zip, job);
  if (!packed) return fail(packed.error());
  if (packed->refused) {
    Error error = *packed->refused;
    if (error.file.empty()) error.file = path;
    return fail(error);
  }
  say(fmt::format("{}: {} files, {} of {} bytes of the decoder", out, packed->files.size(),
                  packed->bytes_used, packed->bytes_available));
  if (!packed->unsigned_seams.empty()) {
    warn(fmt::format("{} seams are not signed off; the manifest lists them",
                     packed->unsigned_seams.size()));
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
constexpr const char* sheet_option = "HTML or PDF file to write";
#else
constexpr const char* sheet_formats = "this build writes sheets as HTML";
constexpr const char* sheet_formats_mend = "give a name that ends in .html";
constexpr const char* sheet_option = "HTML file to write";
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

int sheet(work::SheetKind kind, const std::string& path, const std::string& out, const char* name) {
  ConsoleJob job;
  const Result<work::Session> session = work::Session::open(text_path(path));
  if (!session) return fail(session.error());
  const Result<deliver::Sheet> made =
      work::make_sheet(kind, session->project(), session->folder(), job);
  if (!made) {
    Error error = made.error();
    if (error.file.empty()) error.file = path;
    return fail(error);
  }
  const Status wrote = write_sheet(*session, *made, out);
  if (!wrote) return fail(wrote.error());
  say(fmt::format("{}: {}", out, name));
  return exit_done;
}

}  // namespace

void add_deliver_commands(const Command& app) {
  auto path = std::make_shared<std::string>();
  auto out = std::make_shared<std::string>();
  auto zip = std::make_shared<bool>(false);
  app.add(
      "pack", "Write the deliverable bundle",
      [=](const Command& c) {
        c.option("PROJECT", *path, "Project file").required();
        c.option("--out", *out, "Folder to write, or the zip").required();
        c.flag("--zip", *zip, "Write one zip instead of a folder");
      },
      [=] { return pack(*path, *out, *zip); });
  app.add(
      "prove", "Read a bundle back and prove it",
      [=](const Command& c) { c.option("BUNDLE", *path, "Folder or zip of a bundle").required(); },
      [=] { return prove(*path); });
  app.add(
      "notes", "Write the user notes",
      [=](const Command& c) {
        c.option("PROJECT", *path, "Project file").required();
        c.option("--out", *out, sheet_option).required();
      },
      [=] { return sheet(work::SheetKind::notes, *path, *out, "the user notes"); });
  auto kind = std::make_shared<std::string>();
  app.add(
      "sheet", "Write a working sheet",
      [=](const Command& c) {
        c.option("PROJECT", *path, "Project file").required();
        c.option("KIND", *kind, "day or loading").required().one_of({"day", "loading"});
        c.option("--out", *out, sheet_option).required();
      },
      [=] {
        return *kind == "day" ? sheet(work::SheetKind::day, *path, *out, "the day sheet")
                              : sheet(work::SheetKind::loading, *path, *out, "the loading sheet");
      });
}

}  // namespace fourbeat::cli
