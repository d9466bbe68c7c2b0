// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"
#include "fourbeat/deliver/notes.h"

#include <filesystem>
#include <string>

/// Sheets as PDF, through Qt Gui without a window. Fonts are the machine's own, so the bytes are
/// the same for the same sheet on the same machine only.

namespace fourbeat::print {

/// A sheet as an A4 PDF: tables with their heading on every page and their rows whole, pages
/// numbered "2 of 6"; no clock, user or path in it. Where the program has no QGuiApplication, one
/// is started on the "offscreen" platform for the call: then call from the main thread. Where it
/// has one, any thread will do.
/// Errors: io_failed (Qt gave no PDF).
[[nodiscard]] Result<std::string> pdf_bytes(const deliver::Sheet& sheet);

/// pdf_bytes() to a file, atomically. Errors: as there, and no_space, io_failed, not_found,
/// not_a_file.
[[nodiscard]] Status print_pdf(const deliver::Sheet& sheet, const std::filesystem::path& path);

}  // namespace fourbeat::print
