// SPDX-License-Identifier: GPL-3.0-or-later
#include "PassPanel.h"

#include "Fields.h"
#include "Theme.h"
#include "Wording.h"
#include "Workspace.h"

#include <QFormLayout>
#include <QHBoxLayout>
#include <QLabel>
#include <QPlainTextEdit>
#include <QSignalBlocker>
#include <cmath>

namespace fourbeat::ui {

PassPanel::PassPanel(Workspace& workspace, QWidget* parent)
    : QWidget(parent),
      workspace_(workspace),
      name_(makeLine(this, tr("Name of the pass"))),
      offset_(makeNumber(this, tr("Place of the take on the clock of the pass"),
                         {-mostSeconds, mostSeconds, 4, 0.001, tr(" s")})),
      members_(makeNote(this, tr("Takes of the pass"))),
      owner_(makeLine(this, tr("Who gave permission"))),
      purpose_(makeLine(this, tr("What the recording may be used for"))),
      until_(makeLine(this, tr("Until when, as a date"))),
      log_(new QPlainTextEdit(this)) {
  auto* row = new QHBoxLayout(this);
  row->setContentsMargins(Theme::gap, Theme::gap, Theme::gap, Theme::gap);
  row->setSpacing(Theme::section);
  auto* left = new QFormLayout;
  left->addRow(tr("Pass"), name_);
  left->addRow(tr("Take &starts at"), offset_);
  left->addRow(tr("Takes"), members_);
  row->addLayout(left, 1);
  auto* middle = new QFormLayout;
  middle->addRow(tr("Permission from"), owner_);
  middle->addRow(tr("For"), purpose_);
  middle->addRow(tr("&Until"), until_);
  until_->setPlaceholderText(tr("yyyy-mm-dd, or empty for no end"));
  row->addLayout(middle, 1);
  auto* right = new QVBoxLayout;
  auto* logName = new QLabel(tr("&Log: slate, regulator, cut-off, gradient, load"), this);
  logName->setBuddy(log_);
  right->addWidget(logName);
  log_->setAccessibleName(tr("Log of the pass"));
  log_->setTabChangesFocus(true);
  log_->installEventFilter(this);
  right->addWidget(log_, 1);
  row->addLayout(right, 1);

  onLine(name_, [this](const QString& typed) {
    change(tr("Rename pass"), [&](model::Pass& pass) { pass.name = utf8(typed); });
  });
  onNumber(
      offset_,
      [this](double seconds) {
        const model::Take* take = model::find(workspace_.project(), take_);
        if (take == nullptr) return;
        const FrameCount frames(std::llround(seconds * take->sample_rate_hz));
        change(
            tr("Move take on the clock of its pass"),
            [&](model::Pass& pass) {
              for (model::PassTake& member : pass.takes) {
                if (member.take == take_) member.offset_frames = frames;
              }
            },
            QStringLiteral("pass offset/%1").arg(take_.value()));
      },
      [this] { workspace_.document().endMerge(); });
  onLine(owner_, [this](const QString& typed) {
    changeRights([&](model::Rights& rights) { rights.owner = utf8(typed); });
  });
  onLine(purpose_, [this](const QString& typed) {
    changeRights([&](model::Rights& rights) { rights.purpose = utf8(typed); });
  });
  onLine(until_, [this](const QString& typed) {
    changeRights([&](model::Rights& rights) { rights.until = utf8(typed.trimmed()); });
  });
  connect(&workspace.document(), &Document::changed, this, &PassPanel::refresh);
  refresh();
}

void PassPanel::setTake(Id<model::Take> take) {
  keepLog();
  take_ = take;
  refresh();
}

bool PassPanel::eventFilter(QObject* watched, QEvent* event) {
  if (watched == log_ && event->type() == QEvent::FocusOut) keepLog();
  return QWidget::eventFilter(watched, event);
}

const model::Pass* PassPanel::pass() const {
  return model::pass_of(workspace_.project(), take_);
}

void PassPanel::keepLog() {
  const model::Pass* shown = pass();
  if (shown == nullptr || !log_->document()->isModified()) return;
  log_->document()->setModified(false);
  const std::string typed = utf8(log_->toPlainText());
  if (typed == shown->log) return;
  change(tr("Write log of pass"), [&](model::Pass& changed) { changed.log = typed; });
}

void PassPanel::change(const QString& what, const std::function<void(model::Pass&)>& how,
                       const QString& mergeKey) {
  const model::Pass* shown = pass();
  if (shown == nullptr) return;
  model::Pass changed = *shown;
  how(changed);
  if (changed == *shown) return;
  // A refused value is replaced by what the project holds.
  if (!workspace_.perform(what, {model::Replace<model::Pass>{changed}}, mergeKey)) refresh();
}

void PassPanel::changeRights(const std::function<void(model::Rights&)>& how) {
  const model::Pass* shown = pass();
  if (shown == nullptr) return;
  model::Rights rights = shown->rights.value_or(model::Rights{});
  how(rights);
  std::optional<model::Rights> given;
  if (rights != model::Rights{}) given = rights;
  if (given == shown->rights) return;
  if (!workspace_.perform(tr("Change rights of pass"), {model::SetRights{shown->id, given}})) {
    refresh();
  }
}

void PassPanel::refresh() {
  const model::Pass* shown = pass();
  for (QWidget* field :
       std::initializer_list<QWidget*>{name_, offset_, owner_, purpose_, until_, log_}) {
    field->setEnabled(shown != nullptr);
  }
  if (shown == nullptr) {
    for (QLineEdit* line : {name_, owner_, purpose_, until_})
      showValue(line, QString());
    members_->clear();
    return;
  }
  const model::Take* take = model::find(workspace_.project(), take_);
  QStringList names;
  for (const model::PassTake& member : shown->takes) {
    if (const model::Take* other = model::find(workspace_.project(), member.take)) {
      names << pathText(textPath(text(other->path)).filename());
    }
    if (member.take == take_ && take != nullptr) {
      showValue(offset_, static_cast<double>(member.offset_frames.value()) /
                             std::max(1, take->sample_rate_hz));
    }
  }
  members_->setText(names.join(tr(", ")));
  showValue(name_, text(shown->name));
  const model::Rights rights = shown->rights.value_or(model::Rights{});
  showValue(owner_, text(rights.owner));
  showValue(purpose_, text(rights.purpose));
  showValue(until_, text(rights.until));
  if (!log_->document()->isModified() && log_->toPlainText() != text(shown->log)) {
    const QSignalBlocker quiet(log_);
    log_->setPlainText(text(shown->log));
    log_->document()->setModified(false);
  }
}

}  // namespace fourbeat::ui
