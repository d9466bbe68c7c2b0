// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/edit.h"

#include <QUndoCommand>

namespace fourbeat::ui {

class Document;

/// One step of the undo stack: what was performed, as the edit that undoes it. Holds edits only,
/// never the project. Made by Document::perform() after the edit was applied.
class EditCommand : public QUndoCommand {
 public:
  /// inverse: undoes what was just performed. merge_key: steps of one non-empty key that follow
  /// each other become one.
  EditCommand(Document& document, const QString& text, model::Edit inverse, QString mergeKey);

  void undo() override;
  void redo() override;
  [[nodiscard]] int id() const override;
  [[nodiscard]] bool mergeWith(const QUndoCommand* other) override;
  /// No later step joins this one.
  void close() { closed_ = true; }

 private:
  Document& document_;
  model::Edit inverse_;  ///< of the state this command is in: undoes when done, redoes when undone
  QString mergeKey_;
  bool performed_ = true;  ///< the first redo(), by QUndoStack::push(), finds it done already
  bool merged_ = false;    ///< inverse_ is a group of merged steps
  bool closed_ = false;
};

}  // namespace fourbeat::ui
