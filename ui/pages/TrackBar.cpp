// SPDX-License-Identifier: GPL-3.0-or-later
#include "TrackBar.h"

#include "Theme.h"
#include "views/TrackView.h"

#include <QComboBox>
#include <QHBoxLayout>
#include <QToolButton>

namespace fourbeat::ui {

namespace {

constexpr double zoomStep = 2.0;

}  // namespace

TrackBar::TrackBar(TrackView& track, QWidget* parent) : QWidget(parent) {
  auto* row = new QHBoxLayout(this);
  row->setContentsMargins(0, 0, 0, 0);
  row->setSpacing(Theme::tight);
  auto* look = new QComboBox(this);
  look->setAccessibleName(tr("What the track shows"));
  look->addItem(tr("Waveform"), static_cast<int>(TrackView::Look::waveform));
  look->addItem(tr("Spectrogram"), static_cast<int>(TrackView::Look::spectrogram));
  look->addItem(tr("Both"), static_cast<int>(TrackView::Look::both));
  look->setCurrentIndex(look->findData(static_cast<int>(track.look())));
  connect(look, &QComboBox::activated, &track, [look, &track] {
    track.setLook(static_cast<TrackView::Look>(look->currentData().toInt()));
  });
  row->addWidget(look);
  const auto button = [&](const char* icon, const QString& name, const QString& tip, auto pressed) {
    auto* tool = new QToolButton(this);
    tool->setIcon(Theme::instance().icon(QLatin1String(icon)));
    tool->setAccessibleName(name);
    tool->setToolTip(tip);
    connect(tool, &QToolButton::clicked, &track, pressed);
    row->addWidget(tool);
  };
  button("zoom-in", tr("Zoom in"), tr("Zoom in (Up, in the track)"),
         [&track] { track.zoom(zoomStep); });
  button("zoom-out", tr("Zoom out"), tr("Zoom out (Down, in the track)"),
         [&track] { track.zoom(1.0 / zoomStep); });
  button("zoom-all", tr("Show all"), tr("Show the whole take"), [&track] { track.showAll(); });
}

}  // namespace fourbeat::ui
