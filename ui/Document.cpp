// SPDX-License-Identifier: GPL-3.0-or-later
#include "Document.h"

#include "EditCommand.h"
#include "JournalWriter.h"

#include "fourbeat/model/validate.h"

#include <QScopedValueRollback>

namespace fourbeat::ui {

namespace {
/// Steps kept to be undone: each holds one edit, seldom over a few kilobytes.
constexpr int undoLimit = 1000;

std::unique_ptr<JournalWriter> makeJournal(Document& document) {
  return std::make_unique<JournalWriter>(document.path(), [&document](const Error& error) {
    const QString line = QString::fromStdString(to_line(error));
    QMetaObject::invokeMethod(
        &document, [&document, line] { Q_EMIT document.journalTrouble(line); },
        Qt::QueuedConnection);
  });
}
}  // namespace

Document::Document(work::Session session) : session_(std::move(session)) {
  undoStack_.setUndoLimit(undoLimit);
  journal_ = makeJournal(*this);
  connect(&undoStack_, &QUndoStack::cleanChanged, this,
          [this] { Q_EMIT modifiedChanged(isModified()); });
}

Document::~Document() {
  // The stack tells of its end; nobody should hear it from a half-destroyed document.
  disconnect(&undoStack_, nullptr, this, nullptr);
  if (!isModified()) journal_->clear();
}

Result<std::unique_ptr<Document>> Document::create(const std::filesystem::path& path,
                                                   const model::Project& project) {
  Result<work::Session> session = work::Session::create(path, project);
  if (!session) return session.error();
  return std::make_unique<Document>(std::move(*session));
}

Result<std::unique_ptr<Document>> Document::open(const std::filesystem::path& path,
                                                 const model::Project* recovered) {
  Result<work::Session> session = work::Session::open_to_change(path);
  if (!session) return session.error();
  if (recovered != nullptr) {
    if (const Status taken = session->put(*recovered); !taken) return taken.error();
  }
  auto document = std::make_unique<Document>(std::move(*session));
  document->recovered_ = recovered != nullptr;
  return document;
}

std::shared_ptr<const model::Project> Document::snapshot() const {
  if (!snapshot_) snapshot_ = std::make_shared<const model::Project>(session_.project());
  return snapshot_;
}

Status Document::perform(const QString& text, const std::vector<model::Edit>& edits,
                         const QString& mergeKey) {
  Q_ASSERT_X(!undoing_, "Document::perform", "an edit was made in answer to an undo");
  Result<model::Edit> inverse = session_.perform(edits);
  if (!inverse) return inverse.error();
  snapshot_.reset();
  ++revision_;
  journal_->note(snapshot(), mergeKey.isEmpty());
  {
    // What listens to the stack sees the project as it is after the edit.
    const QScopedValueRollback guard(undoing_, true);
    undoStack_.push(new EditCommand(*this, text, std::move(*inverse), mergeKey));
  }
  Q_EMIT changed();
  return ok();
}

void Document::endMerge() {
  const int last = undoStack_.index() - 1;
  if (last < 0) return;
  // QUndoStack shows its commands as const; the one that may still grow is ours.
  auto* command = dynamic_cast<EditCommand*>(
      const_cast<QUndoCommand*>(undoStack_.command(last)));  // NOLINT: see above
  if (command != nullptr) command->close();
}

model::Edit Document::applyInverse(const model::Edit& edit) {
  const QScopedValueRollback guard(undoing_, true);
  Result<model::Edit> inverse = session_.perform({edit});
  if (!inverse) qFatal("an inverse edit was refused: %s", to_line(inverse.error()).c_str());
  noteChange();
  return std::move(*inverse);
}

void Document::noteChange() {
  snapshot_.reset();
  ++revision_;
  journal_->note(snapshot(), true);
  Q_EMIT changed();
}

Status Document::save() {
  if (Status saved = session_.save(); !saved) return saved;
  recovered_ = false;
  undoStack_.setClean();
  Q_EMIT modifiedChanged(isModified());
  journal_->clear();
  return ok();
}

Status Document::saveAs(const std::filesystem::path& path) {
  if (Status saved = session_.save_as(path); !saved) return saved;
  journal_->clear();
  journal_ = makeJournal(*this);
  recovered_ = false;
  snapshot_.reset();
  ++revision_;
  // Steps made before hold take paths of the old folder.
  undoStack_.clear();
  Q_EMIT modifiedChanged(isModified());
  Q_EMIT changed();
  return ok();
}

void Document::discardJournal() {
  journal_->clear();
  recovered_ = false;
  undoStack_.setClean();
}

void Document::flushJournal() {
  journal_->flush();
}

}  // namespace fourbeat::ui
