// SPDX-License-Identifier: GPL-3.0-or-later
#include "Workspace.h"

#include "Wording.h"

#include "fourbeat/store/takes.h"

namespace fourbeat::ui {

Workspace::Workspace(std::unique_ptr<Document> document, Transport& transport, QObject* parent)
    : QObject(parent),
      document_(std::move(document)),
      transport_(transport),
      media_(*document_, jobs_),
      live_(*document_, jobs_) {
  connect(document_.get(), &Document::journalTrouble, this,
          [this](const QString& line) { tell(line); });
  connect(document_.get(), &Document::changed, this, &Workspace::watchTakes);
  connect(&watcher_, &QFileSystemWatcher::directoryChanged, this, [this] {
    // A folder that came back (a stick, say) is watched anew.
    watchTakes();
    media_.refresh();
    live_.refresh();
  });
  watchTakes();
}

Workspace::~Workspace() = default;

void Workspace::watchTakes() {
  QStringList wanted;
  for (const model::Take& take : project().takes) {
    const auto file = store::take_path(document_->folder(), take, true);
    if (!file) continue;
    // Of a folder that is gone, the nearest above it that is there: it tells the return.
    std::filesystem::path near = file->parent_path();
    std::error_code ignored;
    while (!std::filesystem::is_directory(near, ignored) && near.has_relative_path())
      near = near.parent_path();
    const QString folder = pathText(near);
    if (!wanted.contains(folder)) wanted << folder;
  }
  // The project's own folder changes with every save; only the takes' are watched, unless it holds
  // takes itself.
  for (const QString& folder : wanted) {
    if (!watcher_.directories().contains(folder)) watcher_.addPath(folder);
  }
}

bool Workspace::perform(const QString& text, const std::vector<model::Edit>& edits,
                        const QString& mergeKey) {
  const Status done = document_->perform(text, edits, mergeKey);
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
