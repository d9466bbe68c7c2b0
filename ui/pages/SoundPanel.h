// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/sound.h"

#include <QWidget>

class QPushButton;
class QTableView;

namespace fourbeat::ui {

class SoundListModel;
class Workspace;

/// The sounds of the set: made from the chosen segment, put together from parts, weighed, heard.
class SoundPanel : public QWidget {
  Q_OBJECT
 public:
  explicit SoundPanel(Workspace& workspace, QWidget* parent = nullptr);

  /// The segment that a new sound is made from.
  void setSegment(Id<model::Segment> segment);
  void choose(Id<model::Sound> sound);
  void makeSound(model::SoundKind kind);
  void removeSound();
  /// Plays the chosen sound, a held one until it is let go; lets go of it when it is held.
  void hearSound();
  [[nodiscard]] QTableView* table() const { return table_; }

 private:
  void refresh();
  [[nodiscard]] bool isHolding() const;

  Workspace& workspace_;
  SoundListModel* model_;
  QTableView* table_;
  QPushButton* oneShot_;
  QPushButton* held_;
  QPushButton* hear_;
  QPushButton* remove_;
  Id<model::Segment> segment_;
  bool letGo_ = false;  ///< the sound that plays was let go
};

}  // namespace fourbeat::ui
