// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "EntityForm.h"

#include "fourbeat/model/key_map.h"

namespace fourbeat::ui {

/// A CV of the set's own that changes a figure: which one, and from where to where.
class CvEffectForm : public EntityForm<model::Cv> {
  Q_OBJECT
 public:
  explicit CvEffectForm(Workspace& workspace, QWidget* parent = nullptr);

 private:
  void addCv();
  void addTarget();
  void addEnds();
  void addShipped();
};

}  // namespace fourbeat::ui
