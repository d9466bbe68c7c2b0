// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/store/data_files.h"
#include "fourbeat/store/project_file.h"

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

using namespace fourbeat;

/// libFuzzer's door (llvm.org/docs/LibFuzzer.html): every reader of strangers' JSON. A project
/// that is read must be written and read back the same.
// NOLINTNEXTLINE(readability-identifier-naming): libFuzzer calls it by this name
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const Result<model::Project> project = store::parse_project(text, "fuzz");
  if (project) {
    const Result<model::Project> again =
        store::parse_project(store::project_text(*project), "fuzz");
    if (!again || !(*again == *project)) std::abort();
  }
  (void)store::parse_edits(text, "fuzz");
  (void)store::parse_run_card(text, "fuzz");
  (void)store::parse_decoder_profile(text, "fuzz");
  (void)store::parse_clean_chain(text, "fuzz");
  return 0;
}
