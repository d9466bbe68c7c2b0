// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/id.h"
#include "fourbeat/model/segment.h"

#include <QModelIndex>
#include <QObject>
#include <QPoint>
#include <QTemporaryDir>
#include <functional>

class QAbstractItemView;

namespace fourbeat::ui {

class Workspace;

/// Lets segments be dragged out of a list as WAV files: into a folder, or another program. The file
/// is rendered in a job once a drag begins; the drag goes on when it is ready, if the button is
/// still down.
class DragOut : public QObject {
  Q_OBJECT
 public:
  /// idOf: the segment of an index of the view's model, unset where there is none.
  DragOut(QAbstractItemView* view, Workspace& workspace,
          std::function<Id<model::Segment>(const QModelIndex&)> idOf);

  /// Renders a segment to a WAV of its name in a temporary folder that lives as long as the
  /// object; `done` is given its path in the window's thread.
  void render(Id<model::Segment> segment, const std::function<void(const QString&)>& done);

 protected:
  bool eventFilter(QObject* watched, QEvent* event) override;

 private:
  QAbstractItemView* view_;
  Workspace& workspace_;
  std::function<Id<model::Segment>(const QModelIndex&)> idOf_;
  QTemporaryDir folder_;
  QPoint pressed_;
  bool armed_ = false;
};

}  // namespace fourbeat::ui
