// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/work/produce.h"

#include <QObject>
#include <QTimer>
#include <memory>

namespace fourbeat::ui {

class Document;
class JobRunner;

/// The snags and the budget of the open project, kept up with it: checked in the background soon
/// after each change.
class LiveCheck : public QObject {
  Q_OBJECT
 public:
  LiveCheck(Document& document, JobRunner& jobs);

  /// The newest answer, or null before the first. It may be of an earlier revision; isCurrent().
  [[nodiscard]] std::shared_ptr<const work::Checked> checked() const { return checked_; }
  [[nodiscard]] bool isCurrent() const { return revision_ == wanted_ && checked_ != nullptr; }
  /// Why there is no answer for the project as it is; empty where there is one.
  [[nodiscard]] const QString& trouble() const { return trouble_; }
  /// Checks now (a take's file changed, say).
  void refresh();

 Q_SIGNALS:
  /// checked(), isCurrent() or trouble() changed.
  void updated();

 private:
  void start();

  Document& document_;
  JobRunner& jobs_;
  QTimer delay_;
  std::shared_ptr<const work::Checked> checked_;
  quint64 wanted_ = 0;
  quint64 revision_ = 0;
  QString trouble_;
};

}  // namespace fourbeat::ui
