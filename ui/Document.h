// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/edit.h"
#include "fourbeat/work/session.h"

#include <QObject>
#include <QString>
#include <QUndoStack>
#include <filesystem>
#include <memory>
#include <vector>

namespace fourbeat::ui {

class JournalWriter;

/// The open project. The only one who performs edits: every change is an undoable step, and is in
/// the journal soon after. Lives in the window's thread.
class Document : public QObject {
  Q_OBJECT
 public:
  explicit Document(work::Session session);
  ~Document() override;

  /// A new project file, saved at once. Errors: as work::Session::create.
  [[nodiscard]] static Result<std::unique_ptr<Document>> create(const std::filesystem::path& path,
                                                                const model::Project& project);
  /// Opens a project to change; the lock is held while the object lives. `recovered`: work that
  /// was not saved, put in the place of what the file holds (which stays as it is until saved).
  /// Errors: as work::Session::open_to_change.
  [[nodiscard]] static Result<std::unique_ptr<Document>> open(const std::filesystem::path& path,
                                                              const model::Project* recovered);

  [[nodiscard]] const model::Project& project() const { return session_.project(); }
  /// The project as it is now, for other threads; the same object until the next change.
  [[nodiscard]] std::shared_ptr<const model::Project> snapshot() const;
  [[nodiscard]] const std::filesystem::path& path() const { return session_.path(); }
  [[nodiscard]] std::filesystem::path folder() const { return session_.folder(); }
  /// Grows with every change, undo and redo.
  [[nodiscard]] quint64 revision() const { return revision_; }
  [[nodiscard]] bool isModified() const { return !undoStack_.isClean() || recovered_; }

  /// Performs edits as one undoable step named `text` ("Trim segment"). On error nothing changed.
  /// mergeKey: steps of one non-empty key that follow one another are one step to undo (a drag);
  /// endMerge() closes it. Not to be called while undoing (an assertion).
  [[nodiscard]] Status perform(const QString& text, const std::vector<model::Edit>& edits,
                               const QString& mergeKey = {});
  void endMerge();

  [[nodiscard]] QUndoStack& undoStack() { return undoStack_; }

  /// Saves atomically; the journal is then empty. On error all stays as it is.
  [[nodiscard]] Status save();
  /// Saves as another file and goes on with that one. Takes are found from the new folder.
  /// Errors: as work::Session::save_as.
  [[nodiscard]] Status saveAs(const std::filesystem::path& path);
  /// Gives up what was not saved: the journal is removed. Called before closing without saving.
  void discardJournal();
  /// Waits until the journal holds the newest change.
  void flushJournal();

 Q_SIGNALS:
  /// The project has another value than before.
  void changed();
  void modifiedChanged(bool modified);
  /// The journal could not be written; `line` says why and what to do.
  void journalTrouble(const QString& line);

 private:
  friend class EditCommand;
  /// Performs an edit that is known to fit (the inverse of the last), returns its inverse.
  [[nodiscard]] model::Edit applyInverse(const model::Edit& edit);
  void noteChange();

  work::Session session_;
  QUndoStack undoStack_;
  mutable std::shared_ptr<const model::Project> snapshot_;
  std::unique_ptr<JournalWriter> journal_;
  quint64 revision_ = 0;
  bool undoing_ = false;
  bool recovered_ = false;
};

}  // namespace fourbeat::ui
