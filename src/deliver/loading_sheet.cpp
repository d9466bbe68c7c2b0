// SPDX-License-Identifier: GPL-3.0-or-later
#include "digits.h"
#include "manifest.h"
#include "names.h"
#include "sheet_blocks.h"
#include "tables.h"

#include "fourbeat/deliver/sheets.h"

#include <fmt/format.h>

namespace fourbeat::deliver {

namespace {

std::string loop_words(const ManifestSound& sound) {
  if (!sound.loop) return "none";
  return fmt::format("{} to {}", sound.loop->start.value(), sound.loop->end.value() - 1);
}

/// A path inside the bundle without its folder.
std::string file_name(const std::string& path) {
  return path.substr(path.rfind('/') + 1);
}

std::string uses_words(const ManifestSound& sound) {
  std::string words;
  const auto add = [&](const std::string& word) { words += (words.empty() ? "" : ", ") + word; };
  for (const int key : sound.keys)
    add(fmt::format("F{}", key));
  for (const ChuffUse& use : sound.chuffs) {
    add(use.revolution == 0
            ? fmt::format("chuff row {}, its loop", use.row)
            : fmt::format("chuff row {}, turn {}, beat {}", use.row, use.revolution, use.position));
  }
  if (words.empty()) words = "no key";
  return words;
}

}  // namespace

Result<Sheet> loading_sheet(const BundleInput& input) {
  std::vector<BundleFile> wavs;
  for (const model::Piece& piece : input.pieces)
    wavs.push_back({sound_file(piece.name), {}});
  const Result<Manifest> manifest = manifest_of(input, wavs);
  if (!manifest) return manifest.error();

  Sheet sheet;
  sheet.title = "Loading sheet: " + (manifest->title.empty() ? "untitled set" : manifest->title);
  sheet.subtitle = fmt::format("For whoever feeds a decoder maker's own loader by hand{}{}",
                               manifest->date.empty() ? "" : ", ", manifest->date);
  sheet.blocks.push_back(paragraph(fmt::format(
      "{} for the class “{}”: {} of {} bytes. Follow the decoder maker's instructions; this sheet "
      "only says what each file is.",
      count_of(manifest->sounds.size(), "file", "files"), manifest->decoder.name,
      manifest->bytes_used, manifest->bytes_available)));
  sheet.blocks.push_back(heading("Files, in order"));
  sheet.blocks.push_back(paragraph(
      "All files are in the folder sounds, and mono. Loop points count frames from 0; both are "
      "played (the end is the last "
      "frame of the loop), and each file's own smpl chunk says the same. The gain is to be set in "
      "the decoder; 0 dB leaves the file as it is."));
  std::vector<Cells> rows;
  int number = 0;
  for (const ManifestSound& sound : manifest->sounds) {
    const double seconds = static_cast<double>(sound.frames) / sound.sample_rate_hz;
    rows.push_back({fmt::format("{}", ++number), sound.name + ".wav",
                    fmt::format("{} Hz", sound.sample_rate_hz), fmt::format("{} bit", sound.bits),
                    fmt::format("{} ({} s)", sound.frames, fixed(seconds, 3)), loop_words(sound),
                    fixed(sound.playback_gain_db, 1), uses_words(sound), "☐"});
  }
  sheet.blocks.push_back(
      table({"No.", "File", "Rate", "Depth", "Frames", "Loop", "Gain, dB", "Played by", "Loaded"},
            std::move(rows)));
  sheet.blocks.push_back(heading("Function keys"));
  std::vector<CsvRow> keys = keys_table(input.project, input.pieces);
  keys.erase(keys.begin());
  std::vector<Cells> key_rows;
  key_rows.reserve(keys.size());
  for (const CsvRow& row : keys) {
    key_rows.push_back({row[0], words_of_cell(row[1]), row[2], row[3], file_name(row[6]),
                        file_name(row[7]), file_name(row[8]), file_name(row[9])});
  }
  sheet.blocks.push_back(
      table({"Key", "Label", "Mode", "Direction", "Begin", "Hold", "Release", "Once"},
            std::move(key_rows)));
  std::vector<CsvRow> cvs = cvs_table(input.project);
  if (cvs.size() > 1) {
    sheet.blocks.push_back(heading("CVs"));
    std::vector<Cells> cv_rows;
    for (std::size_t i = 1; i < cvs.size(); ++i) {
      cv_rows.push_back({cvs[i][0], cvs[i][1], words_of_cell(cvs[i][2]), words_of_cell(cvs[i][3])});
    }
    sheet.blocks.push_back(table({"CV", "Value", "Name", "Note"}, std::move(cv_rows)));
  }
  return sheet;
}

}  // namespace fourbeat::deliver
