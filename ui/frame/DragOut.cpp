// SPDX-License-Identifier: GPL-3.0-or-later
#include "DragOut.h"

#include "Wording.h"
#include "Workspace.h"

#include "fourbeat/base/text.h"
#include "fourbeat/work/render.h"

#include <QAbstractItemView>
#include <QApplication>
#include <QDrag>
#include <QMimeData>
#include <QMouseEvent>
#include <QUrl>

namespace fourbeat::ui {

DragOut::DragOut(QAbstractItemView* view, Workspace& workspace,
                 std::function<Id<model::Segment>(const QModelIndex&)> idOf)
    : QObject(view), view_(view), workspace_(workspace), idOf_(std::move(idOf)) {
  view->viewport()->installEventFilter(this);
}

void DragOut::render(Id<model::Segment> id, const std::function<void(const QString&)>& done) {
  const model::Segment* segment = model::find(workspace_.project(), id);
  if (segment == nullptr || !folder_.isValid()) return;
  const std::filesystem::path file =
      textPath(folder_.filePath(text(safe_name(segment->name)) + QStringLiteral(".wav")));
  workspace_.jobs().run<std::filesystem::path>(
      tr("Writing %1").arg(text(segment->name)), this,
      [project = workspace_.document().snapshot(), folder = workspace_.document().folder(), id,
       file](JobControl&) -> Result<std::filesystem::path> {
        if (const Status written = work::write_segment(*project, folder, id, file); !written) {
          return written.error();
        }
        return file;
      },
      [this, done](const Result<std::filesystem::path>& written) {
        if (written) {
          done(pathText(*written));
        } else {
          workspace_.tell(written.error());
        }
      },
      QStringLiteral("drag out"));
}

bool DragOut::eventFilter(QObject* watched, QEvent* event) {
  if (event->type() == QEvent::MouseButtonPress) {
    const auto* mouse = static_cast<QMouseEvent*>(event);
    pressed_ = mouse->position().toPoint();
    armed_ = mouse->button() == Qt::LeftButton && idOf_(view_->indexAt(pressed_)).is_set();
  } else if (event->type() == QEvent::MouseButtonRelease) {
    armed_ = false;
  } else if (event->type() == QEvent::MouseMove && armed_) {
    const auto* mouse = static_cast<QMouseEvent*>(event);
    if ((mouse->position().toPoint() - pressed_).manhattanLength() >=
        QApplication::startDragDistance()) {
      armed_ = false;
      render(idOf_(view_->indexAt(pressed_)), [this](const QString& file) {
        if (!(QApplication::mouseButtons() & Qt::LeftButton)) return;
        auto* drag = new QDrag(view_);
        auto* data = new QMimeData;
        data->setUrls({QUrl::fromLocalFile(file)});
        drag->setMimeData(data);
        drag->exec(Qt::CopyAction);
      });
    }
    return true;  // the list would begin to select
  }
  return QObject::eventFilter(watched, event);
}

}  // namespace fourbeat::ui
