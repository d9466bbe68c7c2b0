// SPDX-License-Identifier: GPL-3.0-or-later
#include "SegmentTable.h"

#include "Fields.h"
#include "Wording.h"
#include "Workspace.h"
#include "models/EntityModel.h"

#include "fourbeat/base/text.h"
#include "fourbeat/model/piece.h"
#include "fourbeat/work/segments.h"

#include <QDrag>
#include <QMimeData>
#include <QMouseEvent>
#include <QPointer>
#include <QUrl>
#include <utility>

namespace fourbeat::ui {

SegmentTable::SegmentTable(Workspace& workspace, QWidget* parent)
    : QTableView(parent), workspace_(workspace) {
  setDragEnabled(true);
  setDragDropMode(QAbstractItemView::DragOnly);
  carry_ = [this](QMimeData* data) {
    auto* drag = new QDrag(this);  // goes with the drop
    drag->setMimeData(data);
    // Dropped on the window that it comes from it would be a take.
    const QPointer<QWidget> own = window();
    const bool accepts = own->acceptDrops();
    own->setAcceptDrops(false);
    drag->exec(Qt::CopyAction);
    if (own) own->setAcceptDrops(accepts);
  };
}

std::filesystem::path SegmentTable::fileOf(const model::Segment& segment) const {
  const std::string recipe = model::recipe_hash(workspace_.project(), model::piece_of(segment));
  return cacheFolder() / "segments" / recipe / (safe_name(segment.name) + ".wav");
}

void SegmentTable::startDrag(Qt::DropActions) {
  const auto* rows = qobject_cast<const EntityModel*>(model());
  const model::Segment* dragged =
      model::find(workspace_.project(), Id<model::Segment>(rows->idAt(selectedRow(this))));
  if (dragged == nullptr) return;
  const std::filesystem::path file = fileOf(*dragged);
  std::error_code ignored;
  if (std::filesystem::exists(file, ignored)) {
    carryFile(file);
  } else {
    held_ = true;
    if (rendering_ != file) render(*dragged, file);
  }
}

void SegmentTable::mouseMoveEvent(QMouseEvent* event) {
  // While its sound is made, the drag goes on: other rows are not selected on the way.
  if (!held_) QTableView::mouseMoveEvent(event);
}

void SegmentTable::mouseReleaseEvent(QMouseEvent* event) {
  held_ = false;
  QTableView::mouseReleaseEvent(event);
}

void SegmentTable::carryFile(const std::filesystem::path& file) {
  auto* data = new QMimeData;
  data->setUrls({QUrl::fromLocalFile(pathText(file))});
  carry_(data);
}

void SegmentTable::render(const model::Segment& segment, const std::filesystem::path& file) {
  rendering_ = file;
  viewport()->setCursor(Qt::BusyCursor);
  workspace_.jobs().run<std::monostate>(
      tr("Rendering %1").arg(text(segment.name)), this,
      [snapshot = workspace_.document().snapshot(), folder = workspace_.document().folder(),
       segment, file](JobControl& job) -> Status {
        std::error_code failed;
        std::filesystem::create_directories(file.parent_path(), failed);
        if (failed) {
          return Error{
              ErrorCode::io_failed, path_text(file.parent_path()), {}, failed.message(), {}};
        }
        return work::write_segment(*snapshot, folder, segment, file, job);
      },
      [this, name = text(segment.name), file](const Status& done) {
        rendering_.clear();
        viewport()->unsetCursor();
        if (!done) {
          workspace_.tell(done.error());
        } else if (std::exchange(held_, false)) {
          carryFile(file);
        } else {
          workspace_.tell(tr("%1 is rendered: drag it out now.").arg(name), false);
        }
      },
      QStringLiteral("drag"), JobKind::heard);
}

}  // namespace fourbeat::ui
