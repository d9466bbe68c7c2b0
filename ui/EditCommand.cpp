// SPDX-License-Identifier: GPL-3.0-or-later
#include "EditCommand.h"

#include "Document.h"

#include "fourbeat/model/edit_value.h"

namespace fourbeat::ui {

namespace {
constexpr int editCommandId = 1;
}

EditCommand::EditCommand(Document& document, const QString& text, model::Edit inverse,
                         QString mergeKey)
    : QUndoCommand(text),
      document_(document),
      inverse_(std::move(inverse)),
      mergeKey_(std::move(mergeKey)) {}

void EditCommand::undo() {
  inverse_ = document_.applyInverse(inverse_);
}

void EditCommand::redo() {
  if (performed_) {
    performed_ = false;
    return;
  }
  inverse_ = document_.applyInverse(inverse_);
}

int EditCommand::id() const {
  return mergeKey_.isEmpty() ? -1 : editCommandId;
}

bool EditCommand::mergeWith(const QUndoCommand* other) {
  const auto* next = dynamic_cast<const EditCommand*>(other);
  if (next == nullptr || closed_ || next->mergeKey_ != mergeKey_) return false;
  // Undone newest first; a group undoes in the order of its list.
  model::EditGroup joined;
  joined.edits.push_back(next->inverse_);
  const auto* group = std::get_if<model::EditGroup>(&inverse_.value().kind);
  if (group != nullptr && merged_) {
    joined.edits.insert(joined.edits.end(), group->edits.begin(), group->edits.end());
  } else {
    joined.edits.push_back(inverse_);
  }
  inverse_ = model::Edit(std::move(joined));
  merged_ = true;
  return true;
}

}  // namespace fourbeat::ui
