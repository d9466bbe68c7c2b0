// SPDX-License-Identifier: GPL-3.0-or-later
#include "Workspace.h"

#include "Wording.h"

namespace fourbeat::ui {

Workspace::Workspace(std::unique_ptr<Document> document, Transport& transport, QObject* parent)
    : QObject(parent),
      document_(std::move(document)),
      transport_(transport),
      media_(*document_, jobs_),
      live_(*document_, jobs_) {
  connect(document_.get(), &Document::journalTrouble, this,
          [this](const QString& line) { tell(line); });
}

Workspace::~Workspace() = default;

bool Workspace::perform(const QString& text, std::vector<model::Edit> edits,
                        const QString& mergeKey) {
  const Status done = document_->perform(text, std::move(edits), mergeKey);
  if (!done) tell(done.error());
  return done.has_value();
}

void Workspace::tell(const QString& line, bool trouble) {
  Q_EMIT told(line, trouble);
}

void Workspace::tell(const Error& error) {
  if (error.code != ErrorCode::cancelled) tell(errorLine(error));
}

}  // namespace fourbeat::ui
