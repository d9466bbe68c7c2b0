// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/deliver/notes.h"

#include <QByteArray>

namespace fourbeat::print {

/// A sheet set on A4 pages as PDF, before its stamps are fixed. Tables repeat their heading on each
/// page and keep rows whole; a heading stays with what follows it; names wrap behind '_', '-', '.'
/// and '/' before they are broken anywhere; each page is numbered "2 of 6". Needs a
/// QGuiApplication; any thread, where the platform draws fonts in threads.
[[nodiscard]] QByteArray typeset(const deliver::Sheet& sheet);

}  // namespace fourbeat::print
