// SPDX-License-Identifier: GPL-3.0-or-later
#include "LoopPanel.h"

#include "Fields.h"
#include "Theme.h"
#include "Wording.h"
#include "Workspace.h"
#include "models/LoopCandidateModel.h"
#include "views/TrackView.h"

#include "fourbeat/model/piece.h"
#include "fourbeat/work/analyse.h"
#include "fourbeat/work/loop_kinds.h"
#include "fourbeat/work/segments.h"

#include <QComboBox>
#include <QFormLayout>
#include <QGroupBox>
#include <QHBoxLayout>
#include <QLabel>
#include <QPushButton>
#include <QTableView>
#include <cmath>

namespace fourbeat::ui {

namespace {

constexpr double sideOfSeam_s = 2.0;

/// What the loops of a segment depend on.
model::Segment materialOf(model::Segment segment) {
  segment.loop.reset();
  segment.name.clear();
  return segment;
}

}  // namespace

LoopPanel::LoopPanel(Workspace& workspace, TrackView& track, QWidget* parent)
    : QWidget(parent),
      workspace_(workspace),
      track_(track),
      model_(new LoopCandidateModel(this)),
      shortest_(makeNumber(this, tr("Shortest loop"), {0.03, 600, 2, 0.1, tr(" s")})),
      longest_(makeNumber(this, tr("Longest loop"), {0.03, 600, 2, 0.5, tr(" s")})),
      find_(makeButton(this, QStringLiteral("search"), tr("Find loops"),
                       tr("Look for loops whose seam nobody hears (Ctrl+L)"))),
      table_(new QTableView(this)),
      note_(makeNote(this, tr("Loops in short"))),
      hear_(makeButton(this, QStringLiteral("repeat"), tr("Hear loop"),
                       tr("Play the loop again and again (Ctrl+Return)"))),
      seam_(makeButton(this, QStringLiteral("seam"), tr("Hear seam"),
                       tr("Play through the seam, two seconds on either side (Shift+Return)"))),
      set_(makeButton(this, QStringLiteral("loop"), tr("Set loop"),
                      tr("Let the chosen loop be the segment's (Return in the list)"))),
      select_(makeButton(this, QStringLiteral("mark"), tr("Loop selection"),
                         tr("Let the selected stretch be the loop"))),
      remove_(makeButton(this, QStringLiteral("remove"), tr("Remove loop"),
                         tr("Let the segment be a one-shot"))),
      start_(makeNumber(this, tr("Start of the loop in the segment"),
                        {-mostSeconds, mostSeconds, 4, 0.001, tr(" s")})),
      length_(
          makeNumber(this, tr("Length of the loop"), {0.0001, mostSeconds, 4, 0.001, tr(" s")})),
      crossfade_(makeNumber(this, tr("Crossfade"), {0, 10'000, 1, 5, tr(" ms")})),
      at_(new QComboBox(this)),
      seamState_(makeNote(this, tr("What was decided on the seam"))),
      sign_(makeButton(this, QStringLiteral("good"), tr("Sign"),
                       tr("I have heard the seam, and it is good (Ctrl+Shift+Return)"))),
      reject_(makeButton(this, QStringLiteral("error"), tr("Reject"),
                         tr("I have heard the seam, and it is not good enough"))),
      review_(makeButton(this, QStringLiteral("seam"), tr("Review …"),
                         tr("Every seam of the set in turn, beginning here (Ctrl+Shift+R)"))) {
  const dsp::LoopParams usual;
  longest_->setValue(usual.max_s);
  auto* row = new QHBoxLayout(this);
  row->setContentsMargins(Theme::gap, Theme::gap, Theme::gap, Theme::gap);
  row->setSpacing(Theme::wide);
  auto* left = new QVBoxLayout;
  left->setSpacing(Theme::tight);
  auto* line = new QHBoxLayout;
  line->setSpacing(Theme::gap);
  auto* from = new QLabel(tr("&Between"), this);
  from->setBuddy(shortest_);
  auto* to = new QLabel(tr("&and"), this);
  to->setBuddy(longest_);
  line->addWidget(from);
  line->addWidget(shortest_);
  line->addWidget(to);
  line->addWidget(longest_);
  line->addWidget(find_);
  line->addWidget(note_, 1);
  left->addLayout(line);
  table_->setModel(model_);
  setUpTable(table_, tr("Loops found, best first"), LoopCandidateModel::seamColumn);
  left->addWidget(table_, 1);
  auto* buttons = new QHBoxLayout;
  buttons->setSpacing(Theme::tight);
  for (QPushButton* button : {hear_, seam_, set_, select_, remove_})
    buttons->addWidget(button);
  buttons->addStretch(1);
  left->addLayout(buttons);
  row->addLayout(left, 1);
  auto* own = new QGroupBox(tr("Loop of the segment"), this);
  auto* form = new QFormLayout(own);
  form->setVerticalSpacing(Theme::tight);
  form->addRow(tr("Starts at"), start_);
  form->addRow(tr("Length"), length_);
  form->addRow(tr("Crossfade"), crossfade_);
  at_->addItem(tr("Before its end"), static_cast<int>(model::CrossfadeAt::end));
  at_->addItem(tr("After its start"), static_cast<int>(model::CrossfadeAt::start));
  at_->setAccessibleName(tr("Where the crossfade lies"));
  form->addRow(tr("Faded"), at_);
  auto* verdict = new QHBoxLayout;
  verdict->setSpacing(Theme::tight);
  verdict->addWidget(sign_);
  verdict->addWidget(reject_);
  verdict->addWidget(review_);
  form->addRow(tr("Seam"), seamState_);
  form->addRow(QString(), verdict);
  row->addWidget(own);

  connect(find_, &QPushButton::clicked, this, &LoopPanel::findLoops);
  connect(hear_, &QPushButton::clicked, this, &LoopPanel::hearLoop);
  connect(seam_, &QPushButton::clicked, this, &LoopPanel::hearSeam);
  connect(set_, &QPushButton::clicked, this, &LoopPanel::setChosenLoop);
  connect(select_, &QPushButton::clicked, this, &LoopPanel::loopSelection);
  connect(remove_, &QPushButton::clicked, this, &LoopPanel::removeLoop);
  connect(sign_, &QPushButton::clicked, this, [this] { judge(model::VerdictKind::signed_off); });
  connect(reject_, &QPushButton::clicked, this, [this] { judge(model::VerdictKind::rejected); });
  connect(review_, &QPushButton::clicked, this, [this] { workspace_.review(segment_.value()); });
  connect(table_, &QTableView::activated, this, &LoopPanel::setChosenLoop);
  connect(table_->selectionModel(), &QItemSelectionModel::selectionChanged, this,
          &LoopPanel::refresh);
  const auto ended = [this] { workspace_.document().endMerge(); };
  onNumber(
      start_,
      [this](double value) {
        change("start", [this, value](model::Loop& loop, double rate) {
          const FrameCount length = loop.range.length();
          loop.range.start = segment()->range.start + FrameCount(std::llround(value * rate));
          loop.range.end = loop.range.start + length;
        });
      },
      ended);
  onNumber(
      length_,
      [this](double value) {
        change("length", [value](model::Loop& loop, double rate) {
          loop.range.end = loop.range.start + FrameCount(std::llround(value * rate));
        });
      },
      ended);
  onNumber(
      crossfade_,
      [this](double value) {
        change("crossfade", [value](model::Loop& loop, double rate) {
          loop.crossfade_frames = FrameCount(std::llround(value / 1000.0 * rate));
        });
      },
      ended);
  connect(at_, &QComboBox::activated, this, [this] {
    change("at", [this](model::Loop& loop, double) {
      loop.crossfade_at = static_cast<model::CrossfadeAt>(at_->currentData().toInt());
    });
    workspace_.document().endMerge();
  });
  connect(&track_, &TrackView::selectionChanged, this, &LoopPanel::refresh);
  connect(&workspace.document(), &Document::changed, this, &LoopPanel::refresh);
  refresh();
}

void LoopPanel::setSegment(Id<model::Segment> segment) {
  if (segment_ == segment) return;
  segment_ = segment;
  note_->clear();
  refresh();
}

void LoopPanel::refreshShortest() {
  const model::Category kind = work::kind_of(workspace_.project(), segment_);
  if (kind_ == kind) return;
  kind_ = kind;
  shortest_->setValue(work::shortest_loop_s(kind));
}

const model::Segment* LoopPanel::segment() const {
  return model::find(workspace_.project(), segment_);
}

double LoopPanel::rateHz() const {
  const model::Segment* shown = segment();
  if (shown == nullptr || shown->source.mix.empty()) return 1.0;
  const model::Take* take = model::find(workspace_.project(), shown->source.mix.front().take);
  return take != nullptr ? std::max(1, take->sample_rate_hz) : 1.0;
}

std::optional<model::Loop> LoopPanel::chosenLoop() const {
  const model::Segment* shown = segment();
  if (shown == nullptr) return std::nullopt;
  if (const dsp::LoopCandidate* candidate = model_->candidate(selectedRow(table_))) {
    return work::loop_in_segment(candidate->loop, *shown);
  }
  return shown->loop;
}

void LoopPanel::findLoops() {
  const model::Segment* shown = segment();
  if (shown == nullptr) return;
  dsp::LoopParams params;
  params.min_s = std::min(shortest_->value(), longest_->value());
  params.max_s = std::max(shortest_->value(), longest_->value());
  note_->setText(tr("Looking …"));
  workspace_.jobs().run<dsp::LoopSearch>(
      tr("Finding loops in %1").arg(text(shown->name)), this,
      [snapshot = workspace_.document().snapshot(), folder = workspace_.document().folder(),
       id = segment_, params](JobControl& job) {
        return work::find_segment_loops(*snapshot, folder, id, params, job);
      },
      [this, id = segment_, material = materialOf(*shown)](Result<dsp::LoopSearch> search) {
        if (!search) {
          if (id == segment_) note_->clear();
          workspace_.tell(search.error());
          return;
        }
        found_.insert_or_assign(id, Found{material, std::move(*search)});
        listed_.reset();
        refresh();
      },
      QStringLiteral("loops"));
}

void LoopPanel::hear(const std::function<void(std::shared_ptr<const audio::Clip>)>& play) {
  const model::Segment* shown = segment();
  const std::optional<model::Loop> loop = chosenLoop();
  if (shown == nullptr || !loop) return;
  model::Segment heard = *shown;
  heard.loop = loop;
  using Answer = std::shared_ptr<const audio::Clip>;
  workspace_.jobs().run<Answer>(
      tr("Rendering %1").arg(text(shown->name)), this,
      [snapshot = workspace_.document().snapshot(), folder = workspace_.document().folder(),
       heard](JobControl& job) -> Result<Answer> {
        Result<audio::Clip> clip = work::render_segment(*snapshot, folder, heard, job);
        if (!clip) return clip.error();
        return std::make_shared<const audio::Clip>(std::move(*clip));
      },
      [this, play](Result<Answer> clip) {
        if (clip) {
          play(std::move(*clip));
        } else {
          workspace_.tell(clip.error());
        }
      },
      QStringLiteral("hear"), JobKind::heard);
}

void LoopPanel::hearLoop() {
  hear([this, id = segment_](const std::shared_ptr<const audio::Clip>& clip) {
    const model::Segment* shown = model::find(workspace_.project(), id);
    PlayRequest request;
    request.range = clip->loop.value_or(FrameRange{});
    request.from = request.range.start;
    request.source = ClipSource{clip, false};
    request.repeat = true;
    request.title = tr("Loop of %1").arg(shown != nullptr ? text(shown->name) : QString());
    request.key = QStringLiteral("segment/%1").arg(id.value());
    workspace_.transport().play(request);
  });
}

void LoopPanel::hearSeam() {
  hear([this, id = segment_, heard = chosenLoop()](const std::shared_ptr<const audio::Clip>& clip) {
    Result<audio::Clip> around = work::through_seam(*clip, sideOfSeam_s);
    if (!around) {
      workspace_.tell(around.error());
      return;
    }
    const model::Segment* shown = model::find(workspace_.project(), id);
    PlayRequest request;
    heardLoop_ = heard ? heard->range : FrameRange{};
    heardWrap_ = FrameIndex(static_cast<std::int64_t>(around->samples.size() / 2));
    request.source = ClipSource{std::make_shared<const audio::Clip>(std::move(*around)), false};
    if (shown != nullptr && shown->loop && heard == shown->loop) {
      heardRecipe_ = model::recipe_hash(workspace_.project(), model::piece_of(*shown));
      refreshSeam();
    }
    request.title = tr("Seam of %1").arg(shown != nullptr ? text(shown->name) : QString());
    request.key = QStringLiteral("seam/%1").arg(id.value());
    workspace_.transport().play(request);
  });
}

void LoopPanel::setChosenLoop() {
  const std::optional<model::Loop> loop = chosenLoop();
  const model::Segment* shown = segment();
  if (shown == nullptr || !loop || shown->loop == loop) return;
  workspace_.perform(tr("Set loop"), {model::SetLoop{segment_, loop}});
}

void LoopPanel::loopSelection() {
  const model::Segment* shown = segment();
  const std::optional<FrameRange> selection = track_.selection();
  if (shown == nullptr || !selection || selection->empty()) return;
  model::Loop loop;
  loop.range = work::on_pass(workspace_.project(), shown->source.mix.front().take, *selection);
  workspace_.perform(tr("Set loop"), {model::SetLoop{segment_, loop}});
}

void LoopPanel::removeLoop() {
  const model::Segment* shown = segment();
  if (shown == nullptr || !shown->loop) return;
  workspace_.perform(tr("Remove loop"), {model::SetLoop{segment_, std::nullopt}});
}

std::optional<FrameIndex> LoopPanel::placeAboutSeam(FrameIndex frame) const {
  const std::int64_t length = heardLoop_.length().value();
  if (length <= 0) return std::nullopt;
  const std::int64_t past = (frame - heardWrap_).value() % length;
  return heardLoop_.start + FrameCount(past < 0 ? past + length : past);
}

void LoopPanel::signSeam() {
  if (sign_->isEnabled()) judge(model::VerdictKind::signed_off);
}

void LoopPanel::judge(model::VerdictKind kind) {
  const Result<model::Edit> edit =
      work::judge_seam(workspace_.project(), {segment_, {}, 0, 0}, kind);
  if (!edit) {
    workspace_.tell(edit.error());
    return;
  }
  workspace_.perform(kind == model::VerdictKind::signed_off ? tr("Sign seam") : tr("Reject seam"),
                     {*edit});
}

void LoopPanel::change(const char* key, const std::function<void(model::Loop&, double)>& how) {
  const model::Segment* shown = segment();
  if (shown == nullptr || !shown->loop) return;
  model::Loop loop = *shown->loop;
  how(loop, rateHz());
  if (loop == *shown->loop) return;
  if (!workspace_.perform(
          tr("Move loop"), {model::SetLoop{segment_, loop}},
          QStringLiteral("loop/%1/%2").arg(segment_.value()).arg(QLatin1String(key)))) {
    refresh();
  }
}

void LoopPanel::showFound() {
  const model::Segment* shown = segment();
  const auto found = found_.find(segment_);
  if (found != found_.end() && (shown == nullptr || found->second.in != materialOf(*shown))) {
    found_.erase(found);
    listed_.reset();
    model_->setCandidates({}, 1.0);
    note_->setText(shown != nullptr ? tr("The segment has changed: look again.") : QString());
    return;
  }
  if (listed_ == segment_) return;
  listed_ = segment_;
  if (found == found_.end()) {
    model_->setCandidates({}, 1.0);
    return;
  }
  note_->setText(text(found->second.search.reason));
  model_->setCandidates(found->second.search.candidates, rateHz());
  if (model_->rowCount() > 0) selectRow(table_, 0);
}

void LoopPanel::markLoopInUse() {
  const model::Segment* shown = segment();
  int used = -1;
  for (int row = 0; shown != nullptr && shown->loop && row < model_->rowCount(); ++row) {
    if (work::loop_in_segment(model_->candidate(row)->loop, *shown) == *shown->loop) used = row;
  }
  model_->setInUse(used);
}

void LoopPanel::refreshSeam() {
  const model::Segment* shown = segment();
  const bool looped = shown != nullptr && shown->loop;
  const bool heard =
      looped && heardRecipe_ == model::recipe_hash(workspace_.project(), model::piece_of(*shown));
  const model::Verdict* verdict =
      looped ? model::verdict_in_force(workspace_.project(), *shown) : nullptr;
  sign_->setEnabled(heard);
  reject_->setEnabled(heard);
  if (!looped) {
    seamState_->clear();
  } else if (verdict != nullptr) {
    seamState_->setText(verdict->kind == model::VerdictKind::signed_off ? tr("Signed")
                                                                        : tr("Rejected"));
  } else {
    seamState_->setText(heard ? tr("Heard, not signed") : tr("Hear the seam, then sign it"));
  }
}

void LoopPanel::refresh() {
  const model::Segment* shown = segment();
  refreshShortest();
  showFound();
  markLoopInUse();
  refreshSeam();
  const bool has = shown != nullptr && !shown->source.mix.empty();
  const bool looped = has && shown->loop.has_value();
  const bool chosen = has && model_->candidate(selectedRow(table_)) != nullptr;
  const std::optional<FrameRange> selection = track_.selection();
  find_->setEnabled(has);
  hear_->setEnabled(looped || chosen);
  seam_->setEnabled(looped || chosen);
  set_->setEnabled(chosen);
  select_->setEnabled(has && selection && !selection->empty());
  remove_->setEnabled(looped);
  for (QWidget* field : std::initializer_list<QWidget*>{start_, length_, crossfade_, at_})
    field->setEnabled(looped);
  if (!looped) return;
  const double rate = rateHz();
  const model::Loop& loop = *shown->loop;
  showValue(start_, static_cast<double>((loop.range.start - shown->range.start).value()) / rate);
  showValue(length_, static_cast<double>(loop.range.length().value()) / rate);
  showValue(crossfade_, 1000.0 * static_cast<double>(loop.crossfade_frames.value()) / rate);
  at_->setCurrentIndex(at_->findData(static_cast<int>(loop.crossfade_at)));
}

}  // namespace fourbeat::ui
