// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Document.h"
#include "JobRunner.h"
#include "LiveCheck.h"
#include "sound/Transport.h"
#include "views/TakeMedia.h"

#include <QFileSystemWatcher>
#include <QObject>

namespace fourbeat::ui {

/// What the pages of one open project share.
class Workspace : public QObject {
  Q_OBJECT
 public:
  /// transport outlives the object.
  Workspace(std::unique_ptr<Document> document, Transport& transport, QObject* parent = nullptr);
  ~Workspace() override;

  [[nodiscard]] Document& document() { return *document_; }
  [[nodiscard]] const model::Project& project() const { return document_->project(); }
  [[nodiscard]] JobRunner& jobs() { return jobs_; }
  [[nodiscard]] Transport& transport() { return transport_; }
  [[nodiscard]] LiveCheck& live() { return live_; }
  [[nodiscard]] MediaLibrary& media() { return media_; }

  /// Document::perform(); on error tells the line and returns false.
  bool perform(const QString& text, const std::vector<model::Edit>& edits,
               const QString& mergeKey = {});
  /// Shows one line until it is dismissed or replaced: an error, or what was done.
  void tell(const QString& line, bool trouble = true);
  void tell(const Error& error);
  /// Goes to the page that shows the value of a JSON Pointer.
  void reveal(const QString& pointer) { Q_EMIT revealRequested(pointer); }
  /// Opens the review of the seams at a segment's; 0: at the first that nobody has decided on.
  void review(qint64 segment) { Q_EMIT reviewRequested(segment); }

 Q_SIGNALS:
  void told(const QString& line, bool trouble);
  void revealRequested(const QString& pointer);
  void reviewRequested(qint64 segment);

 private:
  void watchTakes();

  std::unique_ptr<Document> document_;
  Transport& transport_;
  JobRunner jobs_;
  MediaLibrary media_;
  LiveCheck live_;
  QFileSystemWatcher watcher_;  ///< the folders of the takes: a file that goes is told at once
};

}  // namespace fourbeat::ui
