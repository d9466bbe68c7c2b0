// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/session.h"

int main(int argc, char* argv[]) {
  return fourbeat::tests::run_session(argc, argv);
}
