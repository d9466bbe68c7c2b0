// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace fourbeat::tests {

/// Runs the cases that a command line asks for, and returns the exit status. FOURBEAT_TEST_LOCALE
/// repeats them under another locale: numbers in files must not care.
int run_session(int argc, char* argv[]);

}  // namespace fourbeat::tests
