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
      hearSweep_(
          makeButton(this, QStringLiteral("trial"), tr("Hear sweep"),
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
  row->addWidget(hearSweep_);
  row->addWidget(note_, 1);
  column->addLayout(row);
  view_->setAccessibleName(tr("The row, or the sweep, as it sounds"));
  view_->setEmptyText(tr("Choose a row above to see and hear it."));
  column->addWidget(view_, 1);
  connect(hear_, &QPushButton::clicked, this, &ChuffHearing::hearRow);
  connect(hearSweep_, &QPushButton::clicked, this, &ChuffHearing::hearSweep);
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
    if (key_ == rowKey() && row_.is_set() && !isCurrent(rowFrom_)) makeRow(false);
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
    if (key_ != sweepKey) showMade(nullptr, {});
  }
  speed_->setEnabled(row != nullptr);
  hear_->setEnabled(row != nullptr);
  hearSweep_->setEnabled(!workspace_.project().chuffs.rows.empty());
}

bool ChuffHearing::isCurrent(const std::shared_ptr<const model::Project>& from) const {
  const model::Project& now = workspace_.project();
  return from && from->chuffs == now.chuffs && from->engine == now.engine &&
         from->driving == now.driving && from->takes == now.takes && from->passes == now.passes;
}

void ChuffHearing::showMade(const Made& made, const QString& key) {
  shown_ = made;
  key_ = key;
  view_->setClip(made ? made->clip : nullptr);
  std::vector<ClipMark> marks;
  if (made) {
    marks = made->changes;
    const int n = std::max(1, workspace_.project().engine.beats_per_rev);
    for (std::size_t i = 0; i < made->beats.size(); ++i) {
      const int position = static_cast<int>(i % static_cast<std::size_t>(n));
      marks.push_back({made->beats[i], QString::number(position + 1)});
    }
  }
  view_->setMarks(std::move(marks));
  showSpeedAt(view_->playhead());
}

void ChuffHearing::showSpeedAt(FrameIndex frame) {
  if (!shown_) {
    note_->clear();
    return;
  }
  if (key_ != sweepKey) {
    note_->setText(tr("%1 beats at %2").arg(shown_->beats.size()).arg(speedText(shown_->speedKmh)));
    return;
  }
  const auto after =
      std::upper_bound(shown_->speeds.begin(), shown_->speeds.end(), frame,
                       [](FrameIndex place, const auto& entry) { return place < entry.first; });
  const double kmh = after == shown_->speeds.begin() ? 0.0 : std::prev(after)->second;
  note_->setText(tr("Sweep: %1").arg(speedText(kmh)));
}

void ChuffHearing::play() {
  if (!shown_) return;
  const bool sweep = key_ == sweepKey;
  if (shown_->turnedDb < 0.0) {
    const QString softer = decibelText(-shown_->turnedDb);
    workspace_.tell(sweep
                        ? tr("The sweep would go over full scale; it plays %1 softer.").arg(softer)
                        : tr("The row would go over full scale; it plays %1 softer.").arg(softer),
                    false);
  }
  const model::ChuffRow* row = model::find(workspace_.project(), row_);
  PlayRequest request;
  request.source = ClipSource{shown_->clip, false};
  request.place(view_->playhead(), view_->selection());
  request.repeat = workspace_.transport().repeats();
  if (sweep) {
    request.title = tr("Sweep");
  } else if (row != nullptr) {
    request.title = tr("%1 at %2").arg(word(row->effort), speedText(shown_->speedKmh));
  }
  request.key = key_;
  workspace_.transport().play(request);
}

void ChuffHearing::makeRow(bool playIt) {
  if (model::find(workspace_.project(), row_) == nullptr) return;
  rowFrom_ = workspace_.document().snapshot();
  workspace_.jobs().run<work::RowPreview>(
      tr("Rendering a chuff row"), this,
      [snapshot = rowFrom_, folder = workspace_.document().folder(), id = row_,
       kmh = speed_->value()](JobControl& job) {
        return work::preview_row(*snapshot, folder, id, kmh, rowFor_s, job);
      },
      [this, from = rowFrom_, id = row_, kmh = speed_->value(),
       playIt](Result<work::RowPreview> preview) {
        if (id != row_) return;
        if (!preview) {
          if (playIt) workspace_.tell(preview.error());
          if (preview.error().code != ErrorCode::cancelled) {
            showMade(nullptr, {});
            note_->setText(errorLine(preview.error()));
          }
          return;
        }
        Shown made;
        made.from = from;
        made.clip = std::make_shared<const audio::Clip>(std::move(preview->clip));
        made.speedKmh = kmh;
        made.beats = std::move(preview->beats);
        made.turnedDb = preview->turned_db;
        showMade(std::make_shared<const Shown>(std::move(made)), rowKey());
        if (playIt) play();
      },
      QStringLiteral("chuff row"), playIt ? JobKind::heard : JobKind::quiet);
}

void ChuffHearing::hearRow() {
  const bool shown = shown_ && key_ == rowKey() && shown_->speedKmh == speed_->value();
  if (shown && isCurrent(shown_->from)) {
    play();
  } else {
    makeRow(true);
  }
}

void ChuffHearing::hearSweep() {
  if (workspace_.project().chuffs.rows.empty()) return;
  if (sweep_ && isCurrent(sweep_->from)) {
    playSweep();
    return;
  }
  workspace_.jobs().run<Made>(
      tr("Driving a sweep"), this,
      [snapshot = workspace_.document().snapshot(),
       folder = workspace_.document().folder()](JobControl& job) -> Result<Made> {
        Result<work::Sweep> sweep = work::sweep_table(*snapshot, folder, {}, job);
        if (!sweep) return sweep.error();
        auto made = std::make_shared<Shown>();
        made->from = snapshot;
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
        return Made(made);
      },
      [this](Result<Made> made) {
        if (!made) {
          workspace_.tell(made.error());
          return;
        }
        sweep_ = std::move(*made);
        playSweep();
      },
      QStringLiteral("sweep"), JobKind::heard);
}

void ChuffHearing::hear() {
  if (key_ == sweepKey || !row_.is_set()) {
    hearSweep();
  } else {
    hearRow();
  }
}

void ChuffHearing::playSweep() {
  workspace_.jobs().cancelLane(QStringLiteral("chuff row"));
  if (shown_ != sweep_) showMade(sweep_, sweepKey);
  play();
}

}  // namespace fourbeat::ui
