// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"
#include "fourbeat/model/decoder_profile.h"

#include <QDialog>
#include <functional>
#include <vector>

class QCheckBox;
class QFormLayout;
class QLabel;
class QLineEdit;
class QSpinBox;

namespace fourbeat::ui {

/// The figures of a decoder's own data sheet, kept as a profile of the user's own. It belongs to no
/// project, so it is not undone: it is written when it is right, and the form says what is not.
class ProfileForm : public QDialog {
  Q_OBJECT
 public:
  /// from: what the fields hold at first. own: it is one of the user's own, and is written over;
  /// else a new one is made under the name that is given.
  ProfileForm(const model::DecoderProfile& from, bool own, QWidget* parent);

  /// What was written; only once the form was accepted.
  [[nodiscard]] const model::DecoderProfile& profile() const { return profile_; }

  void accept() override;

 private:
  struct Field {
    QString member;  ///< as the profile's file has it
    QWidget* widget = nullptr;
    /// Puts what the field holds into the profile; false, and told, when it is no figure.
    std::function<bool(model::DecoderProfile&)> read;
  };

  template <class Number>
  void addNumber(QFormLayout* form, const QString& words, const QString& name, const QString& unit,
                 const char* memberName, Number model::DecoderProfile::*at);
  void addNumbers(QFormLayout* form, const QString& words, const QString& name,
                  const char* memberName, std::vector<int> model::DecoderProfile::*at);
  /// Says what is wrong in the form's own words, and goes to the field.
  void tell(const Error& error);

  model::DecoderProfile profile_;
  bool own_;
  QLineEdit* name_;
  QCheckBox* invented_;
  QCheckBox* overlap_;
  QCheckBox* gain_;
  QLabel* trouble_;
  std::vector<Field> fields_;
};

}  // namespace fourbeat::ui
