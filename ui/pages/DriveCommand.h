// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/drive/engine.h"

namespace fourbeat::ui {

/// A command as the driver gives it: its frame is not set.
[[nodiscard]] inline drive::Command commandOf(drive::CommandKind kind, int value = 0,
                                              double amount = 0.0, int number = 0) {
  drive::Command command;
  command.kind = kind;
  command.number = number;
  command.value = value;
  command.amount = amount;
  return command;
}

}  // namespace fourbeat::ui
