// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>

namespace fourbeat::ui {

class TrackView;

/// The look and zoom of a track, as buttons.
class TrackBar : public QWidget {
  Q_OBJECT
 public:
  explicit TrackBar(TrackView& track, QWidget* parent = nullptr);
};

}  // namespace fourbeat::ui
