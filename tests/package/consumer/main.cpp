// SPDX-License-Identifier: GPL-3.0-or-later
#include "all_headers.h"

#include <iostream>

using namespace fourbeat;

/// Makes a project in memory by an edit, writes and reads it as text, checks it, and names the
/// decoder classes found. 0 when all of that works.
int main() {
  model::Project project;
  const Result<model::Edit> undo = model::apply(project, model::SetTitle{"Consumer"});
  if (!undo) return 1;
  const Result<model::Project> read = store::parse_project(store::project_text(project), "memory");
  if (!read || !(*read == project) || read->title != "Consumer") return 2;
  JobControl job;
  const Result<work::Checked> checked = work::check_project(*read, ".", job);
  if (!checked) {
    std::cerr << to_line(checked.error()) << "\n";
    return 3;
  }
  for (const check::Snag& snag : checked->snags)
    std::cout << "snag " << snag.rule << "\n";
  const Result<std::vector<model::DecoderProfile>> profiles = store::load_decoder_profiles();
  if (!profiles) return 4;
  for (const model::DecoderProfile& profile : *profiles)
    std::cout << "decoder " << profile.id << "\n";
  const Result<audio::LoudnessMeter> meter = audio::LoudnessMeter::make(1, 48000.0);
  return meter ? 0 : 5;
}
