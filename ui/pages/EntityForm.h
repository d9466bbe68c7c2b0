// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "ValueForm.h"

namespace fourbeat::ui {

/// A form of one entity of the project: each field performs one Replace.
template <class T>
class EntityForm : public ValueForm<T> {
 public:
  using ValueForm<T>::ValueForm;

  /// The entity it shows; none: it is hidden.
  void setEntity(Id<T> id) {
    id_ = id;
    this->refresh();
  }
  [[nodiscard]] const T* entity() const override { return model::find(this->project(), id_); }

 protected:
  [[nodiscard]] std::vector<model::Edit> edits(const T& /*before*/, const T& after) const override {
    return {model::Replace<T>{after}};
  }
  [[nodiscard]] QString place() const override { return QString::number(id_.value()); }

 private:
  Id<T> id_;
};

}  // namespace fourbeat::ui
