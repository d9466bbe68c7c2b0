// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"
#include "fourbeat/deliver/notes.h"

#include <filesystem>
#include <string>

/// Sheets as PDF, through Qt Gui without a window. Fonts are the machine's own, so the bytes are
/// the same for the same sheet on the same machine only.

namespace fourbeat::print {

/// A sheet as an A4 PDF with page numbers; no clock, user or path in it. Starts a QGuiApplication
/// on the "offscreen" platform when the program has none. Call from the main thread.
/// Errors: io_failed (Qt gave no PDF).
[[nodiscard]] Result<std::string> pdf_bytes(const deliver::Sheet& sheet);

/// pdf_bytes() to a file, atomically. Errors: as there, and no_space, io_failed, not_found,
/// not_a_file.
[[nodiscard]] Status print_pdf(const deliver::Sheet& sheet, const std::filesystem::path& path);

}  // namespace fourbeat::print
