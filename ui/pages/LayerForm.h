// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "EntityForm.h"

#include "fourbeat/model/layer.h"

namespace fourbeat::ui {

/// All that a layer has: what it runs with, its sounds, how loud it is and when.
class LayerForm : public EntityForm<model::Layer> {
  Q_OBJECT
 public:
  explicit LayerForm(Workspace& workspace, QWidget* parent = nullptr);

 private:
  void addKind();
  void addSounds();
  void addPlaces();
  void addBand();
  void addLoudness();
  void addLevels();
  /// A list of plain figures that rise.
  void addFigures(const QString& label, const PartColumn& column,
                  std::vector<double> model::Layer::*list, double step, model::LayerKind kind);
};

}  // namespace fourbeat::ui
