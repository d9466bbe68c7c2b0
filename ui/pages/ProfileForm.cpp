// SPDX-License-Identifier: GPL-3.0-or-later
#include "ProfileForm.h"

#include "Fields.h"
#include "PageParts.h"
#include "Wording.h"
#include "frame/Layout.h"

#include "fourbeat/store/data_files.h"

#include <QCheckBox>
#include <QDialogButtonBox>
#include <QFormLayout>
#include <QLabel>
#include <QLineEdit>
#include <QSpinBox>
#include <QVBoxLayout>
#include <algorithm>
#include <limits>

namespace fourbeat::ui {

namespace {

constexpr int nameLetters = 40;

QString listText(const std::vector<int>& numbers) {
  QStringList words;
  for (const int number : numbers)
    words << QString::number(number);
  return words.join(QStringLiteral(", "));
}

}  // namespace

ProfileForm::ProfileForm(const model::DecoderProfile& from, bool own, QWidget* parent)
    : QDialog(parent),
      profile_(from),
      own_(own),
      name_(makeLine(this, tr("Name of the profile"))),
      invented_(new QCheckBox(tr("The &figures are of no real decoder"), this)),
      overlap_(new QCheckBox(tr("&Chuffs may overlap"), this)),
      gain_(new QCheckBox(tr("&It sets levels as it plays"), this)),
      trouble_(makeLabel(this, {}, "error")) {
  setWindowTitle(own ? tr("Change a profile of your own") : tr("A profile of your own"));
  auto* column = new QVBoxLayout(this);
  column->setContentsMargins(Theme::margin, Theme::margin, Theme::margin, Theme::margin);
  column->setSpacing(Theme::wide);
  column->addWidget(makeLabel(this,
                              tr("Put in the figures of the decoder's own data sheet. The profile "
                                 "is kept for all your projects."),
                              "muted"));
  auto* form = new QFormLayout;
  form->setHorizontalSpacing(Theme::wide);
  form->setVerticalSpacing(Theme::tight);
  name_->setMinimumWidth(nameLetters * name_->fontMetrics().averageCharWidth());
  name_->setText(own ? text(from.name) : QString());
  name_->setPlaceholderText(tr("Which decoder, with its memory"));
  form->addRow(tr("&Name"), name_);
  using P = model::DecoderProfile;
  const QString bytes = tr(" bytes");
  addNumber(form, tr("&Memory for sounds"), tr("Memory for sounds"), bytes, "memory_bytes",
            &P::memory_bytes);
  addNumber(form, tr("&Taken from the start"), tr("Memory taken from the start"), bytes,
            "fixed_bytes", &P::fixed_bytes);
  addNumber(form, tr("A sound fills &whole"), tr("A sound fills whole sectors of"), bytes,
            "sector_bytes", &P::sector_bytes);
  addNumber(form, tr("&Beside each sound"), tr("Bytes beside each sound's samples"), bytes,
            "overhead_bytes", &P::overhead_bytes);
  addNumber(form, tr("Most &pieces of sound"), tr("Most pieces of sound"), {}, "max_sounds",
            &P::max_sounds);
  addNumbers(form, tr("&Rates, rising"), tr("Sample rates that it stores, rising"),
             "sample_rates_hz", &P::sample_rates_hz);
  addNumbers(form, tr("&Depths, rising"), tr("Depths that it stores, rising"), "bits", &P::bits);
  addNumber(form, tr("Pla&ys at"), tr("Rate that it plays at"), tr(" Hz"), "output_rate_hz",
            &P::output_rate_hz);
  addNumber(form, tr("&Sounds at once"), tr("Sounds at once"), {}, "voices", &P::voices);
  addNumber(form, tr("&Keys up to F"), tr("Highest function key"), {}, "highest_key",
            &P::highest_key);
  const auto loopNumber = [&](const QString& words, const QString& name,
                              std::int64_t model::LoopRules::*at) {
    auto* field = new QSpinBox(this);
    field->setAccessibleName(name);
    field->setRange(0, std::numeric_limits<int>::max());
    field->setValue(static_cast<int>(from.loop.*at));
    field->setSuffix(tr(" frames"));
    form->addRow(words, field);
    fields_.push_back({QStringLiteral("loop"), field, [field, at](P& profile) {
                         profile.loop.*at = field->value();
                         return true;
                       }});
  };
  loopNumber(tr("Shortest &loop"), tr("Shortest loop"), &model::LoopRules::min_frames);
  loopNumber(tr("L&oops are a multiple of"), tr("Loops are a whole multiple of"),
             &model::LoopRules::multiple_of_frames);
  column->addLayout(form);
  overlap_->setChecked(from.chuffs_may_overlap);
  gain_->setChecked(from.has_playback_gain);
  invented_->setChecked(own && from.invented);
  for (QCheckBox* box : {overlap_, gain_, invented_})
    column->addWidget(box);
  trouble_->setObjectName(QStringLiteral("trouble"));
  trouble_->setAccessibleName(tr("What is not right"));
  // Room for the words from the start: nothing gives way to them.
  trouble_->setMinimumHeight(2 * trouble_->fontMetrics().lineSpacing());
  column->addWidget(trouble_);
  auto* buttons = new QDialogButtonBox(QDialogButtonBox::Save | QDialogButtonBox::Cancel, this);
  connect(buttons, &QDialogButtonBox::accepted, this, &ProfileForm::accept);
  connect(buttons, &QDialogButtonBox::rejected, this, &QDialog::reject);
  column->addWidget(buttons);
  layout::orderTabs(nullptr, *this);
}

template <class Number>
void ProfileForm::addNumber(QFormLayout* form, const QString& words, const QString& name,
                            const QString& unit, const char* memberName,
                            Number model::DecoderProfile::*at) {
  auto* field = new QSpinBox(this);
  field->setAccessibleName(name);
  field->setRange(0, std::numeric_limits<int>::max());
  field->setGroupSeparatorShown(true);
  field->setSuffix(unit);
  field->setValue(static_cast<int>(profile_.*at));
  form->addRow(words, field);
  fields_.push_back({QLatin1String(memberName), field, [field, at](model::DecoderProfile& profile) {
                       profile.*at = field->value();
                       return true;
                     }});
}

void ProfileForm::addNumbers(QFormLayout* form, const QString& words, const QString& name,
                             const char* memberName, std::vector<int> model::DecoderProfile::*at) {
  QLineEdit* field = makeLine(this, name);
  field->setText(listText(profile_.*at));
  form->addRow(words, field);
  const auto read = [this, field, name, at](model::DecoderProfile& profile) {
    std::vector<int> numbers;
    for (const QString& word : field->text().split(QLatin1Char(','), Qt::SkipEmptyParts)) {
      bool whole = false;
      numbers.push_back(word.trimmed().toInt(&whole));
      if (whole) continue;
      trouble_->setText(
          tr("%1: “%2” is no whole number. Put commas between them.").arg(name, word.trimmed()));
      field->setFocus();
      return false;
    }
    profile.*at = std::move(numbers);
    return true;
  };
  fields_.push_back({QLatin1String(memberName), field, read});
}

void ProfileForm::tell(const Error& error) {
  const QString member = text(error.place).section(QLatin1Char('/'), 1, 1);
  const auto found = std::find_if(fields_.begin(), fields_.end(),
                                  [&](const Field& field) { return field.member == member; });
  if (found == fields_.end()) {
    trouble_->setText(errorLine(error));
    name_->setFocus();
    return;
  }
  trouble_->setText(
      tr("%1 %2: %3.").arg(found->widget->accessibleName(), text(error.detail), text(error.mend)));
  found->widget->setFocus();
}

void ProfileForm::accept() {
  model::DecoderProfile made = profile_;
  made.name = utf8(name_->text().trimmed());
  if (!own_) made.id = store::decoder_profile_id(made.name);
  made.invented = invented_->isChecked();
  made.chuffs_may_overlap = overlap_->isChecked();
  made.has_playback_gain = gain_->isChecked();
  for (const Field& field : fields_) {
    if (!field.read(made)) return;
  }
  if (const Status saved = store::save_own_decoder_profile(made, own_); !saved) {
    tell(saved.error());
    return;
  }
  profile_ = std::move(made);
  QDialog::accept();
}

}  // namespace fourbeat::ui
