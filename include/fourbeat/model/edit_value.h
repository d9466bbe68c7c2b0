// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/edit.h"

#include <variant>

namespace fourbeat::model {

/// What an Edit is.
struct EditValue {
  EditKinds::In<std::variant> kind;
  bool operator==(const EditValue&) const = default;
};

}  // namespace fourbeat::model
