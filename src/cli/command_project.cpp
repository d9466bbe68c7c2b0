// SPDX-License-Identifier: GPL-3.0-or-later
#include "context.h"
#include "fourbeat_demo/demo.h"

#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"
#include "fourbeat/store/project_file.h"
#include "fourbeat/store/takes.h"
#include "fourbeat/store/trust.h"
#include "fourbeat/work/session.h"

#include <fmt/format.h>

#include <memory>

namespace fourbeat::cli {

namespace {

int write_demo(const std::string& folder) {
  ConsoleJob job;
  const Result<std::filesystem::path> file = demo::make_demo(text_path(folder), job);
  if (!file) return fail(file.error());
  const Result<work::Session> session = work::Session::open(*file);
  if (!session) return fail(session.error());
  const model::Project& project = session->project();
  say(fmt::format("{}: {} takes, {} sounds, {} keys", path_text(*file), project.takes.size(),
                  project.sounds.size(), project.keys.size()));
  return exit_done;
}

int make_new(const std::string& path, const std::string& title) {
  model::Project project;
  const Result<model::Edit> titled = model::apply(project, model::SetTitle{title});
  if (!titled) return fail(titled.error());
  const Result<work::Session> session = work::Session::create(text_path(path), project);
  if (!session) return fail(session.error());
  say(fmt::format("{}: a new project", path));
  return exit_done;
}

int apply_edits(const std::string& path, const std::string& edits_path) {
  const Result<std::string> text =
      read_text_file(text_path(edits_path), store::project_limit_bytes);
  if (!text) return fail(text.error());
  const Result<std::vector<model::Edit>> edits = store::parse_edits(*text, edits_path);
  if (!edits) return fail(edits.error());
  Result<work::Session> session = work::Session::open_to_change(text_path(path));
  if (!session) return fail(session.error());
  if (const Result<model::Edit> done = session->perform(*edits); !done) {
    Error error = done.error();
    if (error.file.empty()) error.file = edits_path;
    return fail(error);
  }
  if (const Status saved = session->save(); !saved) return fail(saved.error());
  say(fmt::format("{}: {} edit{} done", path, edits->size(), edits->size() == 1 ? "" : "s"));
  return exit_done;
}

int show(const std::string& path, const std::string& pointer) {
  const Result<work::Session> session = work::Session::open(text_path(path));
  if (!session) return fail(session.error());
  const Result<std::string> text = store::show(session->project(), pointer);
  if (!text) {
    Error error = text.error();
    error.file = path;
    return fail(error);
  }
  fmt::print("{}{}", *text, text->ends_with('\n') ? "" : "\n");
  return exit_done;
}

int relink(const std::string& path, const std::string& folder) {
  ConsoleJob job;
  Result<work::Session> session = work::Session::open_to_change(text_path(path));
  if (!session) return fail(session.error());
  const Result<std::vector<model::Edit>> edits =
      store::relink(session->project(), session->folder(), text_path(folder), job);
  if (!edits) return fail(edits.error());
  if (!edits->empty()) {
    if (const Result<model::Edit> done = session->perform(*edits); !done) {
      return fail(done.error());
    }
    if (const Status saved = session->save(); !saved) return fail(saved.error());
  }
  say(fmt::format("{}: {} take{} relinked", path, edits->size(), edits->size() == 1 ? "" : "s"));
  return exit_done;
}

int trust(const std::string& folder) {
  const std::filesystem::path path = text_path(folder);
  std::error_code failed;
  if (!std::filesystem::is_directory(path, failed)) {
    return fail(Error{ErrorCode::not_found, folder, {}, "there is no such folder", {}});
  }
  if (const Status trusted = store::trust_folder(path); !trusted) return fail(trusted.error());
  say(fmt::format("{}: projects may read takes in it and below", folder));
  return exit_done;
}

}  // namespace

void add_project_commands(const Command& app) {
  auto path = std::make_shared<std::string>();
  auto other = std::make_shared<std::string>();
  auto json = std::make_shared<bool>(false);
  app.add(
      "demo", "Write the demo project, its takes synthesised on the spot",
      [=](const Command& c) { c.option("DIR", *path, "Folder to write into").required(); },
      [=] { return write_demo(*path); });
  app.add(
      "new", "Make an empty project",
      [=](const Command& c) {
        c.option("PROJECT", *path, "Project file to make (NAME.fourbeat)").required();
        c.option("--title", *other, "Title of the set").required();
      },
      [=] { return make_new(*path, *other); });
  app.add(
      "edit", "Apply edits to a project, all or nothing",
      [=](const Command& c) {
        c.option("PROJECT", *path, "Project file").required();
        c.option("--apply", *other, "JSON file with a list of edits").required();
      },
      [=] { return apply_edits(*path, *other); });
  app.add(
      "show", "Print a project, or a place in it, as JSON",
      [=](const Command& c) {
        c.option("PROJECT", *path, "Project file").required();
        c.option("POINTER", *other, "JSON Pointer, such as /segments/0");
        c.flag("--json", *json, "JSON (it always is)");
      },
      [=] { return show(*path, *other); });
  app.add(
      "relink", "Find missing or moved takes in a folder",
      [=](const Command& c) {
        c.option("PROJECT", *path, "Project file").required();
        c.option("FOLDER", *other, "Folder to look through").required();
      },
      [=] { return relink(*path, *other); });
  app.add(
      "trust", "Let projects read takes in a folder outside their own",
      [=](const Command& c) {
        c.option("FOLDER", *path, "Folder, with all that is below it").required();
      },
      [=] { return trust(*path); });
}

}  // namespace fourbeat::cli
