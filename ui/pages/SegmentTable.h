// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/segment.h"

#include <QTableView>
#include <filesystem>
#include <functional>

class QMimeData;

namespace fourbeat::ui {

class Workspace;

/// The list of segments. A row is dragged out as a WAV: rendered when it is first dragged, into the
/// cache, where it stays for the program that it was dropped on. A render that takes long is waited
/// for with the button held; the drag goes on from there.
class SegmentTable : public QTableView {
  Q_OBJECT
 public:
  explicit SegmentTable(Workspace& workspace, QWidget* parent = nullptr);

  /// Where a segment's WAV is, or will be: one file a recipe.
  [[nodiscard]] std::filesystem::path fileOf(const model::Segment& segment) const;
  /// Carries the data until it is dropped. Replaced by tests.
  [[nodiscard]] std::function<void(QMimeData* data)>& carry() { return carry_; }

 protected:
  void startDrag(Qt::DropActions actions) override;
  void mouseMoveEvent(QMouseEvent* event) override;
  void mouseReleaseEvent(QMouseEvent* event) override;

 private:
  void carryFile(const std::filesystem::path& file);
  void render(const model::Segment& segment, const std::filesystem::path& file);

  Workspace& workspace_;
  std::function<void(QMimeData* data)> carry_;
  std::filesystem::path rendering_;  ///< the file on its way; empty: none
  bool held_ = false;                ///< its drag has begun, and the button is held
};

}  // namespace fourbeat::ui
