// SPDX-License-Identifier: GPL-3.0-or-later
#include "SpeakerForm.h"

#include "Theme.h"
#include "Wording.h"
#include "Workspace.h"
#include "pages/Fields.h"
#include "pages/PageParts.h"

#include "fourbeat/model/members.h"

#include <QCheckBox>
#include <QDoubleSpinBox>
#include <QFormLayout>
#include <QHBoxLayout>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <QShortcut>
#include <QSignalBlocker>
#include <QVBoxLayout>
#include <algorithm>
#include <tuple>
#include <type_traits>

namespace fourbeat::ui {

namespace {

constexpr double apart_hz = 1.0;  ///< between the high-pass and the low-pass
constexpr int nameLetters = 44;

/// What the model allows a figure to be.
model::MemberRule ruleOf(double model::Speaker::*at) {
  model::MemberRule rule;
  std::apply(
      [&](const auto&... each) {
        const auto look = [&](const auto& one) {
          if constexpr (std::is_same_v<std::decay_t<decltype(one.at)>, double model::Speaker::*>) {
            if (one.at == at) rule = one.rule;
          }
        };
        (look(each), ...);
      },
      model::Members<model::Speaker>::list);
  return rule;
}

}  // namespace

SpeakerForm::SpeakerForm(Workspace& workspace, std::vector<model::Speaker> shipped,
                         std::function<void()> hear, QWidget* parent)
    : QDialog(parent),
      workspace_(workspace),
      shipped_(std::move(shipped)),
      name_(makeLine(this, tr("Name of the speaker"))),
      invented_(new QCheckBox(tr("&The figures are of no real speaker"), this)),
      note_(makeNote(this, tr("About the figures"))) {
  setWindowTitle(tr("The set's speaker"));
  setAttribute(Qt::WA_DeleteOnClose);
  using S = model::Speaker;
  const QString hz = tr(" Hz");
  const QString db = tr(" dB");
  auto* column = new QVBoxLayout(this);
  column->setContentsMargins(Theme::margin, Theme::margin, Theme::margin, Theme::margin);
  column->setSpacing(Theme::wide);
  name_->setMinimumWidth(nameLetters * name_->fontMetrics().averageCharWidth());
  auto* form = new QFormLayout;
  form->setHorizontalSpacing(Theme::wide);
  form->setVerticalSpacing(Theme::gap);
  addRow(form, tr("&Name"), {name_});
  addRow(form, tr("&High-pass"),
         {makeFigure(0, &S::high_pass_hz, tr("High-pass frequency"), hz, 0),
          makeFigure(1, &S::high_pass_q, tr("High-pass Q"), {}, 2)});
  addRow(form, tr("&Peak"),
         {makeFigure(2, &S::peak_hz, tr("Peak frequency"), hz, 0),
          makeFigure(3, &S::peak_q, tr("Peak Q"), {}, 2),
          makeFigure(4, &S::peak_db, tr("Peak gain"), db, 1)});
  addRow(form, tr("&Low-pass"),
         {makeFigure(5, &S::low_pass_hz, tr("Low-pass frequency"), hz, 0),
          makeFigure(6, &S::low_pass_q, tr("Low-pass Q"), {}, 2)});
  column->addLayout(form);
  column->addWidget(invented_);
  column->addWidget(note_);
  column->addStretch(1);
  auto* buttons = new QHBoxLayout;
  auto* play = makeButton(this, QStringLiteral("seam"), tr("H&ear (Ctrl+Return)"),
                          tr("Play the seam under review through this speaker"));
  play->setAccessibleName(tr("Hear through this speaker"));
  auto* close = makeButton(this, {}, tr("&Close"), tr("Close the form (Escape)"));
  buttons->addWidget(play);
  buttons->addStretch(1);
  buttons->addWidget(close);
  column->addLayout(buttons);
  connect(play, &QPushButton::clicked, this, [hear = std::move(hear)] { hear(); });
  connect(close, &QPushButton::clicked, this, &QDialog::close);
  const auto key = [this](const QKeySequence& keys, auto slot) {
    auto* shortcut = new QShortcut(keys, this);
    connect(shortcut, &QShortcut::activated, this, slot);
  };
  key(Qt::CTRL | Qt::Key_Return, [play] { play->click(); });
  key(QKeySequence::Undo, [this] { workspace_.document().undoStack().undo(); });
  key(QKeySequence::Redo, [this] { workspace_.document().undoStack().redo(); });
  onLine(name_, [this](const QString& name) {
    if (const QString wanted = name.trimmed(); !wanted.isEmpty())
      change(QStringLiteral("name"), [&](S& speaker) { speaker.name = utf8(wanted); });
    workspace_.document().endMerge();
    refresh();
  });
  connect(invented_, &QCheckBox::clicked, this, [this](bool on) {
    change(QStringLiteral("invented"), [on](S& speaker) { speaker.invented = on; });
    workspace_.document().endMerge();
  });
  connect(&workspace.document(), &Document::changed, this, &SpeakerForm::refresh);
  refresh();
}

QDoubleSpinBox* SpeakerForm::makeFigure(std::size_t place, double model::Speaker::*at,
                                        const QString& name, const QString& unit, int decimals) {
  const model::MemberRule rule = ruleOf(at);
  QDoubleSpinBox* field = makeNumber(this, name, {rule.low, rule.high, decimals, 0.1, unit});
  field->setToolTip(
      tr("%1, %2 to %3%4")
          .arg(name, locale().toString(rule.low), locale().toString(rule.high), unit));
  if (at != &model::Speaker::peak_db) field->setStepType(QAbstractSpinBox::AdaptiveDecimalStepType);
  figures_[place] = {at, field};
  onNumber(
      field,
      [this, at, place](double value) {
        change(QString::number(place),
               [at, value](model::Speaker& speaker) { speaker.*at = value; });
      },
      [this] { workspace_.document().endMerge(); });
  return field;
}

void SpeakerForm::addRow(QFormLayout* form, const QString& words,
                         const std::vector<QWidget*>& fields) {
  auto* line = new QHBoxLayout;
  line->setSpacing(Theme::gap);
  for (std::size_t i = 0; i < fields.size(); ++i) {
    if (i == 1) {
      auto* quality = new QLabel(tr("Q"), this);
      line->addWidget(quality);
    }
    line->addWidget(fields[i], 1);
  }
  auto* label = new QLabel(words, this);
  label->setBuddy(fields.front());
  form->addRow(label, line);
}

void SpeakerForm::change(const QString& what, const std::function<void(model::Speaker&)>& how) {
  const std::optional<model::Speaker>& own = workspace_.project().speaker;
  if (!own) return;
  model::Speaker speaker = *own;
  how(speaker);
  if (speaker == *own) return;
  const bool shipped = std::find(shipped_.begin(), shipped_.end(), *own) != shipped_.end();
  if (shipped && speaker.name == own->name) speaker.name += utf8(tr(" (changed)"));
  if (!workspace_.perform(tr("Change speaker"), {model::SetSpeaker{speaker}},
                          QStringLiteral("speaker/%1").arg(what)))
    refresh();
}

void SpeakerForm::refresh() {
  const std::optional<model::Speaker>& own = workspace_.project().speaker;
  const model::Speaker shown = own.value_or(model::Speaker{});
  showValue(name_, own ? text(shown.name) : QString());
  name_->setEnabled(own.has_value());
  for (const Figure& figure : figures_) {
    const QSignalBlocker quiet(figure.field);
    const model::MemberRule rule = ruleOf(figure.at);
    // The low-pass stays above the high-pass.
    if (figure.at == &model::Speaker::high_pass_hz)
      figure.field->setMaximum(std::min(rule.high, shown.low_pass_hz - apart_hz));
    if (figure.at == &model::Speaker::low_pass_hz)
      figure.field->setMinimum(std::max(rule.low, shown.high_pass_hz + apart_hz));
    showValue(figure.field, shown.*figure.at);
    figure.field->setEnabled(own.has_value());
  }
  const QSignalBlocker quiet(invented_);
  invented_->setChecked(own && shown.invented);
  invented_->setEnabled(own.has_value());
  note_->setText(!own ? tr("No speaker is chosen.")
                 : shown.invented
                     ? tr("Put in what was measured of a real speaker in its enclosure, "
                          "and untick the box.")
                     : tr("The fit and the review go by these figures."));
}

}  // namespace fourbeat::ui
