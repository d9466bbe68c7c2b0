// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/pack.h"

#include "fourbeat/deliver/bundle.h"
#include "fourbeat/deliver/sheets.h"
#include "fourbeat/store/takes.h"
#include "fourbeat/work/produce.h"

namespace fourbeat::work {

Result<Packed> pack_project(const model::Project& project,
                            const std::filesystem::path& project_folder,
                            const std::filesystem::path& target, bool as_zip, JobControl& job) {
  if (const Status safe = store::refuse_takes_as_output(project, project_folder, target); !safe) {
    return safe.error();
  }
  Result<Checked> checked = check_project(project, project_folder, job);
  if (!checked) return checked.error();
  Packed packed;
  packed.snags = checked->snags;
  const Result<deliver::BundleInput> input = bundle_input(project, *checked);
  if (!input) {
    packed.refused = input.error();
    return packed;
  }
  packed.bytes_used = input->fit.bytes_used;
  packed.bytes_available = input->fit.bytes_available;
  packed.unsigned_seams = input->unsigned_seams;
  const Result<std::vector<deliver::BundleFile>> files = deliver::make_bundle(*input);
  if (!files) {
    if (files.error().code != ErrorCode::refused) return files.error();
    packed.refused = files.error();
    return packed;
  }
  if (job.cancelled()) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
  const Status wrote =
      as_zip ? deliver::write_zip(*files, target) : deliver::write_bundle(*files, target, job);
  if (!wrote) return wrote.error();
  for (const deliver::BundleFile& file : *files)
    packed.files.push_back(file.path);
  return packed;
}

Result<deliver::Sheet> make_sheet(SheetKind kind, const model::Project& project,
                                  const std::filesystem::path& project_folder, JobControl& job) {
  switch (kind) {
    case SheetKind::day:
      return deliver::day_sheet(project);
    case SheetKind::notes: {
      if (project.decoder.empty()) return deliver::notes_sheet(project, nullptr);
      const Result<model::DecoderProfile> profile = profile_of(project, "");
      if (!profile) return profile.error();
      return deliver::notes_sheet(project, &*profile);
    }
    case SheetKind::loading: {
      const Result<Checked> checked = check_project(project, project_folder, job);
      if (!checked) return checked.error();
      const Result<deliver::BundleInput> input = bundle_input(project, *checked);
      if (!input) return input.error();
      return deliver::loading_sheet(*input);
    }
  }
  return Error{ErrorCode::internal, {}, {}, "no such sheet", {}};
}

}  // namespace fourbeat::work
