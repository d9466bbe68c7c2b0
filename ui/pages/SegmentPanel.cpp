// SPDX-License-Identifier: GPL-3.0-or-later
#include "SegmentPanel.h"

#include "Fields.h"
#include "Theme.h"
#include "Wording.h"
#include "Workspace.h"
#include "models/CleanStepModel.h"
#include "models/MixModel.h"
#include "views/TrackView.h"

#include "fourbeat/base/text.h"
#include "fourbeat/work/segments.h"

#include <QFileDialog>
#include <QFormLayout>
#include <QHBoxLayout>
#include <QLabel>
#include <QPushButton>
#include <QShortcut>
#include <QTableView>
#include <cmath>

namespace fourbeat::ui {

namespace {

constexpr double mostFadeMs = 60'000;

FrameCount framesOf(double seconds, double rateHz) {
  return FrameCount(std::llround(seconds * rateHz));
}

}  // namespace

SegmentPanel::SegmentPanel(Workspace& workspace, TrackView& track, QWidget* parent)
    : QWidget(parent),
      workspace_(workspace),
      track_(track),
      mix_(new MixModel(workspace, this)),
      clean_(new CleanStepModel(workspace, this)),
      name_(makeLine(this, tr("Name of the segment"))),
      start_(makeNumber(this, tr("Start of the segment in its take"),
                        {-mostSeconds, mostSeconds, 4, 0.001, tr(" s")})),
      end_(makeNumber(this, tr("End of the segment in its take"),
                      {-mostSeconds, mostSeconds, 4, 0.001, tr(" s")})),
      gain_(makeNumber(this, tr("Gain of the segment"), {-60, 40, 1, 0.5, tr(" dB")})),
      fadeIn_(makeNumber(this, tr("Fade in"), {0, mostFadeMs, 1, 1, tr(" ms")})),
      fadeOut_(makeNumber(this, tr("Fade out"), {0, mostFadeMs, 1, 1, tr(" ms")})),
      trim_(makeButton(this, QStringLiteral("segments"), tr("Trim to selection"),
                       tr("Let the segment be the selected stretch (Ctrl+T)"))),
      compare_(makeButton(this, QStringLiteral("play"), tr("Hear uncleaned"),
                          tr("Play the segment without its clean steps, as loud as with them"))),
      save_(makeButton(this, QStringLiteral("export"), tr("Save WAV …"),
                       tr("Write the segment as it is heard into a WAV file"))),
      compared_(makeNote(this, tr("What the clean steps take away"))),
      mixTable_(new QTableView(this)),
      cleanTable_(new QTableView(this)),
      addHighPass_(makeButton(this, QStringLiteral("add"), tr("High-pass"),
                              tr("Take rumble out with a high-pass"))),
      addHumNotch_(makeButton(this, QStringLiteral("add"), tr("Hum notch"),
                              tr("Take mains hum out with notches"))),
      removeStep_(makeButton(this, QStringLiteral("remove"), tr("Remove step"),
                             tr("Remove the selected clean step (Delete)"))) {
  auto* row = new QHBoxLayout(this);
  row->setContentsMargins(Theme::gap, Theme::gap, Theme::gap, Theme::gap);
  row->setSpacing(Theme::gap);
  auto* form = new QFormLayout;
  form->setVerticalSpacing(Theme::tight);
  form->addRow(tr("Name"), name_);
  const auto pair = [&](const QString& words, QWidget* first, QWidget* second) {
    auto* both = new QHBoxLayout;
    both->setSpacing(Theme::tight);
    both->addWidget(first, 1);
    both->addWidget(second, 1);
    form->addRow(words, both);
  };
  pair(tr("From, to"), start_, end_);
  pair(tr("Fade in, out"), fadeIn_, fadeOut_);
  pair(tr("Gain"), gain_, trim_);
  pair(QString(), compare_, save_);
  form->addRow(compared_);
  row->addLayout(form, 2);

  mixTable_->setModel(mix_);
  setUpTable(mixTable_, tr("Mix: microphones of the pass"), MixModel::microphoneColumn);
  mixTable_->setToolTip(
      tr("Return puts a microphone in the mix or takes it out; F2 changes gain, delay, polarity"));
  mixTable_->setItemDelegateForColumn(MixModel::gainColumn,
                                      new NumberDelegate({-60, 40, 1, 0.5, tr(" dB")}, this));
  mixTable_->setItemDelegateForColumn(MixModel::delayColumn,
                                      new NumberDelegate({-1000, 1000, 3, 0.1, tr(" ms")}, this));
  mixTable_->setItemDelegateForColumn(
      MixModel::polarityColumn,
      new ChoiceDelegate(
          [] {
            return ChoiceDelegate::Choices{{tr("As it is"), false}, {tr("Turned"), true}};
          },
          false, this));
  row->addWidget(mixTable_, 4);
  // Space plays, in the whole window.
  auto* include = new QShortcut(Qt::Key_Return, mixTable_, nullptr, nullptr, Qt::WidgetShortcut);
  connect(include, &QShortcut::activated, this, [this] {
    const QModelIndex index = mix_->index(selectedRow(mixTable_), MixModel::microphoneColumn);
    const bool in = index.data(Qt::CheckStateRole).toInt() == Qt::Checked;
    mix_->setData(index, in ? Qt::Unchecked : Qt::Checked, Qt::CheckStateRole);
  });

  auto* side = new QVBoxLayout;
  side->setSpacing(Theme::tight);
  cleanTable_->setModel(clean_);
  setUpTable(cleanTable_, tr("Clean steps, in order"), -1);
  cleanTable_->setToolTip(tr("F2 changes a figure"));
  cleanTable_->setItemDelegateForColumn(CleanStepModel::frequencyColumn,
                                        new NumberDelegate({10, 2000, 1, 1, tr(" Hz")}, this));
  cleanTable_->setItemDelegateForColumn(CleanStepModel::strengthColumn,
                                        new NumberDelegate({1, 20, 0, 1, {}}, this));
  cleanTable_->setItemDelegateForColumn(CleanStepModel::qualityColumn,
                                        new NumberDelegate({5, 200, 0, 5, {}}, this));
  side->addWidget(cleanTable_, 1);
  removeStep_->setText(QString());  // the icon is enough beside its list; it keeps its name
  auto* steps = new QHBoxLayout;
  steps->setSpacing(Theme::tight);
  for (QPushButton* button : {addHighPass_, addHumNotch_, removeStep_})
    steps->addWidget(button);
  side->addLayout(steps);
  row->addLayout(side, 4);

  onLine(name_, [this](const QString& typed) {
    change(tr("Rename segment"), "name",
           [&](model::Segment& s, double) { s.name = utf8(typed.trimmed()); });
    workspace_.document().endMerge();
  });
  const auto ended = [this] { workspace_.document().endMerge(); };
  // Frames of the take that is shown, which the edges are told in.
  const auto edge = [this](model::Segment& s, double seconds, double rate) {
    const Id<model::Take> take = s.source.mix.front().take;
    return FrameIndex(0) + framesOf(seconds, rate) + work::pass_offset(workspace_.project(), take);
  };
  onNumber(
      start_,
      [this, edge](double value) {
        change(tr("Trim segment"), "start",
               [&](model::Segment& s, double rate) { s.range.start = edge(s, value, rate); });
      },
      ended);
  onNumber(
      end_,
      [this, edge](double value) {
        change(tr("Trim segment"), "end",
               [&](model::Segment& s, double rate) { s.range.end = edge(s, value, rate); });
      },
      ended);
  onNumber(
      gain_,
      [this](double value) {
        change(tr("Change gain of segment"), "gain",
               [&](model::Segment& s, double) { s.gain_db = value; });
      },
      ended);
  onNumber(
      fadeIn_,
      [this](double value) {
        change(tr("Change fade"), "fade in", [&](model::Segment& s, double rate) {
          s.fade_in_frames = framesOf(value / 1000.0, rate);
        });
      },
      ended);
  onNumber(
      fadeOut_,
      [this](double value) {
        change(tr("Change fade"), "fade out", [&](model::Segment& s, double rate) {
          s.fade_out_frames = framesOf(value / 1000.0, rate);
        });
      },
      ended);
  connect(trim_, &QPushButton::clicked, this, &SegmentPanel::trimToSelection);
  saveFile_ = [this](const QString& suggestion) {
    return QFileDialog::getSaveFileName(this, tr("Save segment"), suggestion,
                                        tr("WAV files (*.wav)"));
  };
  connect(compare_, &QPushButton::clicked, this, &SegmentPanel::hearUncleaned);
  connect(save_, &QPushButton::clicked, this, &SegmentPanel::saveWav);
  connect(addHighPass_, &QPushButton::clicked, this, [this] { clean_->add(model::HighPass{}); });
  connect(addHumNotch_, &QPushButton::clicked, this, [this] { clean_->add(model::HumNotch{}); });
  const auto removeStep = [this] { clean_->remove(selectedRow(cleanTable_)); };
  connect(removeStep_, &QPushButton::clicked, this, removeStep);
  auto* erase =
      new QShortcut(QKeySequence::Delete, cleanTable_, nullptr, nullptr, Qt::WidgetShortcut);
  connect(erase, &QShortcut::activated, this, removeStep);
  connect(cleanTable_->selectionModel(), &QItemSelectionModel::selectionChanged, this,
          &SegmentPanel::refresh);
  connect(&track_, &TrackView::selectionChanged, this, &SegmentPanel::refresh);
  connect(&workspace.document(), &Document::changed, this, &SegmentPanel::refresh);
  refresh();
}

void SegmentPanel::hearUncleaned() {
  const model::Segment* shown = segment();
  if (shown == nullptr) return;
  using Answer = std::shared_ptr<const work::CleanComparison>;
  workspace_.jobs().run<Answer>(
      tr("Rendering %1").arg(text(shown->name)), this,
      [snapshot = workspace_.document().snapshot(), folder = workspace_.document().folder(),
       heard = *shown](JobControl& job) -> Result<Answer> {
        Result<work::CleanComparison> made = work::compare_cleaning(*snapshot, folder, heard, job);
        if (!made) return made.error();
        return std::make_shared<const work::CleanComparison>(std::move(*made));
      },
      [this, id = segment_, title = text(shown->name)](Result<Answer> made) {
        if (!made) {
          workspace_.tell(made.error());
          return;
        }
        const work::CleanComparison& found = **made;
        if (id == segment_) {
          compared_->setText(found.removed_db ? tr("Cleaning takes away %1 below the sound itself.")
                                                    .arg(decibelText(-*found.removed_db))
                                              : tr("Cleaning takes nothing away."));
        }
        PlayRequest request;
        request.source = ClipSource{std::make_shared<const audio::Clip>(found.uncleaned), false};
        request.repeat = workspace_.transport().repeats();
        request.title = tr("%1, uncleaned").arg(title);
        request.key = QStringLiteral("uncleaned/%1").arg(id.value());
        workspace_.transport().play(request);
      },
      QStringLiteral("hear"), JobKind::heard);
}

void SegmentPanel::saveWav() {
  const model::Segment* shown = segment();
  if (shown == nullptr) return;
  const std::filesystem::path suggestion =
      workspace_.document().folder() / (safe_name(shown->name) + ".wav");
  QString file = saveFile_(pathText(suggestion));
  if (file.isEmpty()) return;
  if (!file.endsWith(QStringLiteral(".wav"), Qt::CaseInsensitive)) file += QStringLiteral(".wav");
  workspace_.jobs().run<std::monostate>(
      tr("Saving %1").arg(text(shown->name)), this,
      [snapshot = workspace_.document().snapshot(), folder = workspace_.document().folder(),
       heard = *shown, out = textPath(file)](JobControl& job) {
        return work::write_segment(*snapshot, folder, heard, out, job);
      },
      [this, file](const Status& done) {
        if (done) {
          workspace_.tell(tr("Saved %1").arg(file), false);
        } else {
          workspace_.tell(done.error());
        }
      });
}

void SegmentPanel::setSegment(Id<model::Segment> segment) {
  if (segment != segment_) compared_->clear();
  segment_ = segment;
  mix_->setSegment(segment);
  clean_->setSegment(segment);
  refresh();
}

const model::Segment* SegmentPanel::segment() const {
  return model::find(workspace_.project(), segment_);
}

double SegmentPanel::rateHz() const {
  const model::Segment* shown = segment();
  if (shown == nullptr || shown->source.mix.empty()) return 1.0;
  const model::Take* take = model::find(workspace_.project(), shown->source.mix.front().take);
  return take != nullptr ? std::max(1, take->sample_rate_hz) : 1.0;
}

void SegmentPanel::change(const QString& what, const char* key,
                          const std::function<void(model::Segment&, double)>& how) {
  const model::Segment* shown = segment();
  if (shown == nullptr) return;
  model::Segment changed = *shown;
  how(changed, rateHz());
  if (changed == *shown) return;
  // A refused value is replaced by what the project holds.
  if (!workspace_.perform(
          what, {model::Replace<model::Segment>{changed}},
          QStringLiteral("segment/%1/%2").arg(segment_.value()).arg(QLatin1String(key)))) {
    refresh();
  }
}

void SegmentPanel::trimToSelection() {
  const model::Segment* shown = segment();
  const std::optional<FrameRange> selection = track_.selection();
  if (shown == nullptr || !selection || selection->empty()) return;
  const Id<model::Take> take = shown->source.mix.front().take;
  workspace_.perform(
      tr("Trim segment"),
      {model::TrimSegment{segment_, work::on_pass(workspace_.project(), take, *selection)}});
}

void SegmentPanel::refresh() {
  const model::Segment* shown = segment();
  const bool has = shown != nullptr && !shown->source.mix.empty();
  for (QWidget* field :
       std::initializer_list<QWidget*>{name_, start_, end_, gain_, fadeIn_, fadeOut_, mixTable_,
                                       cleanTable_, addHighPass_, addHumNotch_}) {
    field->setEnabled(has);
  }
  const std::optional<FrameRange> selection = track_.selection();
  trim_->setEnabled(has && selection && !selection->empty());
  removeStep_->setEnabled(has && selectedRow(cleanTable_) >= 0);
  compare_->setEnabled(has && !shown->source.clean.empty());
  save_->setEnabled(has);
  if (!has) {
    showValue(name_, QString());
    return;
  }
  const double rate = rateHz();
  const FrameRange range =
      work::on_take(workspace_.project(), shown->source.mix.front().take, shown->range);
  showValue(name_, text(shown->name));
  showValue(start_, static_cast<double>(range.start.value()) / rate);
  showValue(end_, static_cast<double>(range.end.value()) / rate);
  showValue(gain_, shown->gain_db);
  showValue(fadeIn_, 1000.0 * static_cast<double>(shown->fade_in_frames.value()) / rate);
  showValue(fadeOut_, 1000.0 * static_cast<double>(shown->fade_out_frames.value()) / rate);
}

}  // namespace fourbeat::ui
