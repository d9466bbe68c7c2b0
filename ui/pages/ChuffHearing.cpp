// SPDX-License-Identifier: GPL-3.0-or-later
#include "ChuffHearing.h"

#include "Fields.h"
#include "Theme.h"
#include "Wording.h"
#include "Workspace.h"

#include "fourbeat/work/row_preview.h"
#include "fourbeat/work/sweep.h"

#include <QHBoxLayout>
#include <QLabel>
#include <QPushButton>
#include <QSignalBlocker>
#include <QVBoxLayout>
#include <algorithm>

namespace fourbeat::ui {

namespace {

constexpr double rowFor_s = 6.0;
const QString sweepKey = QStringLiteral("sweep");

}  // namespace

ChuffHearing::ChuffHearing(Workspace& workspace, QWidget* parent)
    : QWidget(parent),
      workspace_(workspace),
      view_(new ClipView(this)),
      speed_(makeNumber(this, tr("Speed to hear the row at"), {0.5, 300, 1, 1, tr(" km/h")})),
      hear_(makeButton(this, QStringLiteral("play"), tr("Hear row"),
                       tr("Play the chosen row at this speed (Return in the table)"))),
      sweep_(makeButton(this, QStringLiteral("trial"), tr("Hear sweep"),
                        tr("Run through the whole table from rest to top speed and back, and hear "
                           "where rows change (Ctrl+Return)"))),
      note_(makeNote(this, tr("What is shown"))) {
  auto* column = new QVBoxLayout(this);
  column->setContentsMargins(0, 0, 0, 0);
  column->setSpacing(Theme::tight);
  auto* row = new QHBoxLayout;
  row->setSpacing(Theme::gap);
  auto* label = new QLabel(tr("Row at &speed"), this);
  label->setBuddy(speed_);
  row->addWidget(label);
  row->addWidget(speed_);
  row->addWidget(hear_);
  row->addWidget(sweep_);
  row->addWidget(note_, 1);
  column->addLayout(row);
  view_->setAccessibleName(tr("The row, or the sweep, as it sounds"));
  view_->setEmptyText(tr("Choose a row above to see and hear it."));
  column->addWidget(view_, 1);
  connect(hear_, &QPushButton::clicked, this, &ChuffHearing::hearRow);
  connect(sweep_, &QPushButton::clicked, this, &ChuffHearing::hearSweep);
  connect(speed_, &QDoubleSpinBox::valueChanged, this, [this] { makeRow(false); });
  connect(view_, &ClipView::playheadPlaced, this, [this](FrameIndex frame) {
    showSpeedAt(frame);
    Transport& transport = workspace_.transport();
    if (transport.isPlaying() && transport.request().key == key_) transport.seek(frame);
  });
  connect(&workspace.transport(), &Transport::positionChanged, this, [this](FrameIndex frame) {
    if (key_.isEmpty() || workspace_.transport().request().key != key_) return;
    view_->setPlayhead(frame);
    showSpeedAt(frame);
  });
  connect(&workspace.document(), &Document::changed, this, [this] {
    refresh();
    const model::Project& project = workspace_.project();
    const bool stale = project.chuffs != madeFrom_.first || project.engine != madeFrom_.second;
    if (stale && key_ == rowKey() && row_.is_set()) makeRow(false);
  });
  refresh();
}

QString ChuffHearing::rowKey() const {
  return QStringLiteral("chuffs/%1").arg(row_.value());
}

double ChuffHearing::speedKmh() const {
  return speed_->value();
}

void ChuffHearing::setRow(Id<model::ChuffRow> row) {
  if (row == row_) return;
  row_ = row;
  if (const model::ChuffRow* shown = model::find(workspace_.project(), row)) {
    const QSignalBlocker quiet(speed_);
    speed_->setValue(work::middle_speed_kmh(*shown));
  }
  refresh();
  makeRow(false);
}

void ChuffHearing::refresh() {
  const model::ChuffRow* row = model::find(workspace_.project(), row_);
  if (row == nullptr && row_.is_set()) {
    row_ = {};
    if (key_ != sweepKey) showMade({}, {});
  }
  speed_->setEnabled(row != nullptr);
  hear_->setEnabled(row != nullptr);
  sweep_->setEnabled(!workspace_.project().chuffs.rows.empty());
}

void ChuffHearing::showMade(const Shown& shown, const QString& key) {
  shown_ = shown;
  key_ = key;
  view_->setClip(shown.clip);
  std::vector<ClipMark> marks = shown.changes;
  const int n = std::max(1, workspace_.project().engine.beats_per_rev);
  for (std::size_t i = 0; i < shown.beats.size(); ++i) {
    const int position = static_cast<int>(i % static_cast<std::size_t>(n));
    marks.push_back({shown.beats[i], QString::number(position + 1)});
  }
  view_->setMarks(std::move(marks));
  showSpeedAt(FrameIndex(0));
}

void ChuffHearing::showSpeedAt(FrameIndex frame) {
  if (!shown_.clip) {
    note_->clear();
    return;
  }
  if (key_ != sweepKey) {
    note_->setText(tr("%1 beats at %2").arg(shown_.beats.size()).arg(speedText(speed_->value())));
    return;
  }
  const auto after =
      std::upper_bound(shown_.speeds.begin(), shown_.speeds.end(), frame,
                       [](FrameIndex place, const auto& entry) { return place < entry.first; });
  const double kmh = after == shown_.speeds.begin() ? 0.0 : std::prev(after)->second;
  note_->setText(tr("Sweep: %1").arg(speedText(kmh)));
}

void ChuffHearing::play(const QString& title, FrameIndex from) {
  if (!shown_.clip) return;
  PlayRequest request;
  request.source = ClipSource{shown_.clip, false};
  request.from = from;
  request.repeat = workspace_.transport().repeats();
  request.title = title;
  request.key = key_;
  workspace_.transport().play(request);
}

void ChuffHearing::makeRow(bool playIt) {
  const model::ChuffRow* row = model::find(workspace_.project(), row_);
  if (row == nullptr) return;
  madeFrom_ = {workspace_.project().chuffs, workspace_.project().engine};
  workspace_.jobs().run<work::RowPreview>(
      tr("Rendering a chuff row"), this,
      [snapshot = workspace_.document().snapshot(), folder = workspace_.document().folder(),
       id = row_, kmh = speed_->value()](JobControl& job) {
        return work::preview_row(*snapshot, folder, id, kmh, rowFor_s, job);
      },
      [this, id = row_, playIt](Result<work::RowPreview> preview) {
        if (id != row_) return;
        if (!preview) {
          if (playIt) workspace_.tell(preview.error());
          if (preview.error().code != ErrorCode::cancelled) {
            showMade({}, {});
            note_->setText(errorLine(preview.error()));
          }
          return;
        }
        showMade({std::make_shared<const audio::Clip>(std::move(preview->clip)),
                  std::move(preview->beats),
                  {},
                  {},
                  preview->turned_db},
                 rowKey());
        if (!playIt) return;
        if (preview->turned_db < 0.0) {
          workspace_.tell(tr("The row would go over full scale; it plays %1 softer.")
                              .arg(decibelText(-preview->turned_db)),
                          false);
        }
        const model::ChuffRow* shown = model::find(workspace_.project(), row_);
        play(shown != nullptr ? tr("%1 at %2").arg(word(shown->effort), speedText(speed_->value()))
                              : QString(),
             FrameIndex(0));
      },
      QStringLiteral("chuff row"), !playIt);
}

void ChuffHearing::hearRow() {
  makeRow(true);
}

void ChuffHearing::hearSweep() {
  if (workspace_.project().chuffs.rows.empty()) return;
  using Answer = std::shared_ptr<const Shown>;
  workspace_.jobs().run<Answer>(
      tr("Driving a sweep"), this,
      [snapshot = workspace_.document().snapshot(),
       folder = workspace_.document().folder()](JobControl& job) -> Result<Answer> {
        Result<work::Sweep> sweep = work::sweep_table(*snapshot, folder, {}, job);
        if (!sweep) return sweep.error();
        auto made = std::make_shared<Shown>();
        for (const work::SweepBeat& beat : sweep->beats)
          made->speeds.emplace_back(beat.frame, beat.speed_kmh);
        for (const std::size_t change : sweep->changes) {
          const work::SweepBeat& beat = sweep->beats.at(change);
          const model::ChuffRow* row = model::find(*snapshot, beat.row);
          if (row == nullptr) continue;
          made->changes.push_back({beat.frame, tr("%1 %2 to %3")
                                                   .arg(word(row->effort))
                                                   .arg(row->from_kmh, 0, 'f', 0)
                                                   .arg(row->to_kmh, 0, 'f', 0)});
        }
        made->turnedDb = sweep->turned_db;
        made->clip = std::make_shared<const audio::Clip>(std::move(sweep->clip));
        return Answer(made);
      },
      [this](Result<Answer> made) {
        if (!made) {
          workspace_.tell(made.error());
          return;
        }
        workspace_.jobs().cancelLane(QStringLiteral("chuff row"));
        showMade(**made, sweepKey);
        if ((*made)->turnedDb < 0.0) {
          workspace_.tell(tr("The sweep would go over full scale; it plays %1 softer.")
                              .arg(decibelText(-(*made)->turnedDb)),
                          false);
        }
        play(tr("Sweep"), FrameIndex(0));
      },
      QStringLiteral("sweep"));
}

}  // namespace fourbeat::ui
