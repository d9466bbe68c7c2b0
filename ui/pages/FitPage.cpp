// SPDX-License-Identifier: GPL-3.0-or-later
#include "FitPage.h"

#include "PageParts.h"
#include "ProfileForm.h"
#include "Wording.h"
#include "Workspace.h"
#include "models/FitSoundModel.h"
#include "views/CellDelegate.h"

#include "fourbeat/store/data_files.h"

#include <QComboBox>
#include <QGridLayout>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QLocale>
#include <QProgressBar>
#include <QStackedWidget>
#include <QTableView>
#include <QVBoxLayout>
#include <algorithm>
#include <array>

namespace fourbeat::ui {

namespace {

constexpr int wholePermille = 1000;
constexpr int signSize = 16;
constexpr std::size_t largestNamed = 3;

template <class Numbers>
QString listed(const Numbers& numbers) {
  QStringList words;
  for (const int number : numbers)
    words << QLocale().toString(number);
  return words.join(QStringLiteral(", "));
}

}  // namespace

FitPage::FitPage(Workspace& workspace, QWidget* parent)
    : Page(workspace, parent), model_(new FitSoundModel(workspace, this)) {
  auto* column = new QVBoxLayout(this);
  column->setContentsMargins(Theme::margin, Theme::margin, Theme::margin, Theme::margin);
  column->setSpacing(Theme::margin);
  auto* top = new QHBoxLayout;
  top->setSpacing(Theme::section);
  top->addWidget(makeChoice(), 1);
  top->addWidget(makeGauges(), 1);
  column->addLayout(top);
  verdict_ = makeLabel(this);
  verdict_->setAccessibleName(tr("How the set stands"));
  verdict_->setTextInteractionFlags(Qt::TextSelectableByMouse);
  column->addWidget(verdict_);
  column->addWidget(makeTable(), 1);
  fillDecoders();
  connect(&workspace.document(), &Document::changed, this, &FitPage::refresh);
  connect(&workspace.live(), &LiveCheck::updated, this, &FitPage::refresh);
  connect(&Theme::instance(), &Theme::changed, this, &FitPage::refresh);
  refresh();
}

QWidget* FitPage::makeChoice() {
  auto* panel = new QWidget(this);
  auto* column = new QVBoxLayout(panel);
  column->setContentsMargins(0, 0, 0, 0);
  column->setSpacing(Theme::gap);
  auto* label = new QLabel(tr("&Decoder profile"), panel);
  decoder_ = new QComboBox(panel);
  decoder_->setAccessibleName(tr("Decoder profile"));
  label->setBuddy(decoder_);
  connect(decoder_, &QComboBox::activated, this, [this](int index) {
    const std::string id = utf8(decoder_->itemData(index).toString());
    if (id == workspace().project().decoder) return;
    (void)workspace().perform(id.empty() ? tr("Choose no decoder")
                                         : tr("Choose decoder %1").arg(decoder_->itemText(index)),
                              {model::SetDecoder{id}});
  });
  facts_ = makeLabel(panel, {}, "muted");
  facts_->setAccessibleName(tr("Facts of the decoder"));
  facts_->setTextInteractionFlags(Qt::TextSelectableByMouse);
  facts_->setAlignment(Qt::AlignTop);
  own_ = makeButton(this, QStringLiteral("new"), tr("&Own profile …"),
                    tr("Enter the figures of a real decoder's data sheet, beginning with these"),
                    [this] { writeOwn(); });
  change_ = makeButton(this, {}, tr("Chan&ge …"), tr("Change the figures of your own profile"),
                       [this] { changeOwn(); });
  auto* choice = new QHBoxLayout;
  choice->setSpacing(Theme::gap);
  choice->addWidget(decoder_, 1);
  choice->addWidget(own_);
  choice->addWidget(change_);
  column->addWidget(label);
  column->addLayout(choice);
  column->addWidget(facts_, 1);
  return panel;
}

QWidget* FitPage::makeGauges() {
  auto* panel = new QWidget(this);
  auto* grid = new QGridLayout(panel);
  grid->setContentsMargins(0, 0, 0, 0);
  grid->setHorizontalSpacing(Theme::gap);
  grid->setVerticalSpacing(Theme::gap);
  int row = 0;
  const auto add = [&](Gauge& gauge, const QString& name) {
    gauge.sign = new QLabel(panel);
    gauge.sign->setFixedWidth(signSize);
    gauge.bar = new QProgressBar(panel);
    gauge.bar->setRange(0, wholePermille);
    gauge.bar->setTextVisible(false);
    gauge.bar->setAccessibleName(name);
    gauge.figures = new QLabel(panel);
    gauge.figures->setTextFormat(Qt::PlainText);
    gauge.figures->setWordWrap(true);  // it must not push the window wider
    auto* label = new QLabel(name, panel);
    grid->addWidget(label, row, 0);
    grid->addWidget(gauge.sign, row, 1);
    grid->addWidget(gauge.bar, row, 2);
    grid->addWidget(gauge.figures, row, 3);
    ++row;
  };
  add(memory_, tr("Memory"));
  add(voices_, tr("Voices"));
  add(sounds_, tr("Pieces of sound"));
  grid->setColumnStretch(2, 1);
  grid->setColumnStretch(3, 2);
  grid->setRowStretch(row, 1);
  return panel;
}

QWidget* FitPage::makeTable() {
  stack_ = new QStackedWidget(this);
  auto* panel = new QWidget(stack_);
  auto* column = new QVBoxLayout(panel);
  column->setContentsMargins(0, 0, 0, 0);
  column->setSpacing(Theme::gap);
  table_ = new QTableView(panel);
  table_->setModel(model_);
  table_->setItemDelegate(new CellDelegate(table_));
  setUpTable(table_, tr("Sounds by bytes"));
  const int letter = table_->fontMetrics().averageCharWidth();
  const std::array widths{34, 15, 10, 14, 12, 12, 13, 12};
  for (int i = 0; i < FitSoundModel::columns; ++i)
    table_->setColumnWidth(i, widths.at(static_cast<std::size_t>(i)) * letter);
  table_->horizontalHeader()->setStretchLastSection(false);
  table_->horizontalHeader()->setSectionResizeMode(FitSoundModel::nameColumn, QHeaderView::Stretch);
  auto* bar = new QHBoxLayout;
  hear_ = makeButton(this, QStringLiteral("play"), tr("Hear it as &stored"),
                     tr("Play the selected sound at the rate and depth the decoder stores"),
                     [this] { playRequested(); });
  bar->addWidget(hear_);
  bar->addWidget(makeLabel(panel,
                           tr("Raise the importance of what must sound best: the fit then lets "
                              "other sounds lose more."),
                           "muted"),
                 1);
  column->addWidget(table_, 1);
  column->addLayout(bar);
  empty_ = makeLabel(stack_, {}, "muted");
  empty_->setAlignment(Qt::AlignCenter);
  stack_->addWidget(panel);
  stack_->addWidget(empty_);
  return stack_;
}

void FitPage::fillDecoders() {
  Result<std::vector<model::DecoderProfile>> read = store::load_decoder_profiles();
  if (!read) {
    workspace().tell(read.error());
    // A broken one of the user's own does not take the rest away.
    read = store::load_shipped_decoder_profiles();
  }
  profiles_ = read ? std::move(*read) : std::vector<model::DecoderProfile>{};
  shipped_.clear();
  if (const auto shipped = store::load_shipped_decoder_profiles()) {
    for (const model::DecoderProfile& each : *shipped)
      shipped_.insert(each.id);
  }
  decoder_->clear();
  decoder_->addItem(tr("None chosen"), QString());
  for (const model::DecoderProfile& each : profiles_)
    decoder_->addItem(text(each.name), text(each.id));
}

void FitPage::writeOwn() {
  const model::DecoderProfile* chosen = profile();
  if (chosen == nullptr && profiles_.empty()) return;
  ProfileForm form(chosen != nullptr ? *chosen : profiles_.front(), false, this);
  if (form.exec() == QDialog::Accepted) choose(form.profile());
}

void FitPage::changeOwn() {
  const model::DecoderProfile* chosen = profile();
  if (chosen == nullptr) return;
  ProfileForm form(*chosen, true, this);
  if (form.exec() == QDialog::Accepted) choose(form.profile());
}

void FitPage::choose(const model::DecoderProfile& made) {
  fillDecoders();
  if (workspace().project().decoder != made.id) {
    (void)workspace().perform(tr("Choose decoder %1").arg(text(made.name)),
                              {model::SetDecoder{made.id}});
  }
  workspace().live().refresh();
  refresh();
}

const model::DecoderProfile* FitPage::profile() const {
  const auto found = std::find_if(profiles_.begin(), profiles_.end(), [&](const auto& each) {
    return each.id == workspace().project().decoder;
  });
  return found == profiles_.end() ? nullptr : &*found;
}

void FitPage::refresh() {
  const QString id = text(workspace().project().decoder);
  int place = decoder_->findData(id);
  if (place < 0) {
    decoder_->addItem(tr("%1 (there is no such profile here)").arg(id), id);
    place = decoder_->count() - 1;
  }
  decoder_->setCurrentIndex(place);
  const model::DecoderProfile* chosen = profile();
  own_->setEnabled(!profiles_.empty());
  change_->setVisible(chosen != nullptr && !shipped_.contains(chosen->id));
  refreshFacts();
  refreshVerdict();
}

void FitPage::refreshFacts() {
  const model::DecoderProfile* p = profile();
  if (p == nullptr) {
    facts_->setText(workspace().project().decoder.empty()
                        ? tr("Choose the class of decoder that the set is made for.")
                        : tr("Its figures are not among the decoder profiles."));
    return;
  }
  QStringList lines;
  if (p->invented) {
    lines << tr(
        "An invented class: its figures are no real decoder's. Enter those of the real "
        "data sheet in a profile of your own (“Own profile …”) before you deliver.");
  }
  lines << tr("Rates %1 Hz; depths %2 bit; plays at %3 Hz.")
               .arg(listed(p->sample_rates_hz), listed(p->bits),
                    QLocale().toString(p->output_rate_hz));
  lines << tr("%1 voices; keys up to F%2; at most %3 pieces of sound.")
               .arg(p->voices)
               .arg(p->highest_key)
               .arg(p->max_sounds);
  lines << tr("Memory %1, of which %2 are taken from the start; a sound fills whole sectors of %3 "
              "bytes.")
               .arg(bytesText(p->memory_bytes), bytesText(p->fixed_bytes),
                    QLocale().toString(static_cast<qlonglong>(p->sector_bytes)));
  lines << tr("A loop is at least %1 frames long, and a whole multiple of %2.")
               .arg(p->loop.min_frames)
               .arg(p->loop.multiple_of_frames);
  lines << (p->chuffs_may_overlap ? tr("Chuffs may overlap.")
                                  : tr("A chuff must end before the next beat."));
  lines << (p->has_playback_gain ? tr("Levels are set as it plays.")
                                 : tr("Levels are baked into the samples."));
  facts_->setText(lines.join(QLatin1Char('\n')));
}

void FitPage::show(const Gauge& gauge, double used, double available, const QString& figures) {
  const bool over = used > available;
  const double part = available > 0 ? used / available : 1.0;
  gauge.bar->setVisible(true);
  gauge.bar->setValue(
      static_cast<int>(std::clamp(part * wholePermille, 0.0, double{wholePermille})));
  gauge.figures->setText(over ? tr("%1: over the limit").arg(figures) : figures);
  showOver(gauge.bar, over);
  gauge.bar->setAccessibleDescription(gauge.figures->text());
  const Theme& theme = Theme::instance();
  const QIcon icon = over ? theme.icon(QStringLiteral("warning"), Theme::Ink::warning)
                          : theme.icon(QStringLiteral("good"), Theme::Ink::good);
  gauge.sign->setPixmap(icon.pixmap(QSize(signSize, signSize), devicePixelRatioF()));
}

void FitPage::hideGauges(const QString& why) {
  for (const Gauge& gauge : {memory_, voices_, sounds_}) {
    gauge.bar->setVisible(false);
    gauge.figures->setText(QStringLiteral("—"));
    gauge.sign->clear();
  }
  verdict_->setText(why);
  setRole(verdict_, "muted");
  setNeed(why);
  empty_->setText(why);
  stack_->setCurrentIndex(1);
}

QString FitPage::verdict() const {
  return verdict_->text();
}

void FitPage::refreshVerdict() {
  const LiveCheck& live = workspace().live();
  const auto checked = live.checked();
  if (workspace().project().decoder.empty())
    return hideGauges(tr("Choose a decoder profile: what fits, and how well, depends on it."));
  if (!live.trouble().isEmpty()) return hideGauges(live.trouble());
  if (!checked) return hideGauges(tr("Checking …"));
  if (!checked->fitted) {
    return hideGauges(model::list_pieces(workspace().project()).empty()
                          ? tr("There is nothing to fit yet: make sounds of segments, or build a "
                               "chuff table.")
                          : tr("The set cannot be fitted while a piece of it cannot be rendered: "
                               "see the snags."));
  }
  stack_->setCurrentIndex(0);
  const work::FittedSet& fitted = *checked->fitted;
  const fit::FitReport& fit = fitted.fit;
  const QLocale locale;
  const auto bytes = [&](std::int64_t count) {
    return locale.toString(static_cast<qlonglong>(count));
  };
  show(memory_, static_cast<double>(fit.bytes_used), static_cast<double>(fit.bytes_available),
       tr("%1 of %2 bytes (%3 of %4 MiB)")
           .arg(bytes(fit.bytes_used), bytes(fit.bytes_available), mebibytes(fit.bytes_used),
                mebibytes(fit.bytes_available)));
  const std::optional<int> wanted = work::voices_wanted(checked->cards);
  const int voices = wanted.value_or(0);
  show(voices_, voices, fitted.profile.voices,
       wanted ? tr("%1 of %2 at once").arg(voices).arg(fitted.profile.voices)
              : tr("not known without a run card"));
  if (!wanted) {
    voices_.sign->setPixmap(Theme::instance()
                                .icon(QStringLiteral("unknown"), Theme::Ink::mutedText)
                                .pixmap(QSize(signSize, signSize), devicePixelRatioF()));
  }
  const auto pieces = static_cast<int>(fit.sounds.size());
  show(sounds_, pieces, fit.max_sounds, tr("%1 of %2").arg(pieces).arg(fit.max_sounds));

  QStringList sentences;
  const std::int64_t over = fit.bytes_used - fit.bytes_available;
  if (over > 0) {
    sentences << tr("It does not fit: even at the smallest encoding it is %1 bytes (%2) too big.")
                     .arg(bytes(over), bytesText(over));
    QStringList largest;
    for (std::size_t i = 0; i < std::min(largestNamed, model_->rows().size()); ++i) {
      const work::FitGroup& group = model_->rows()[i].group;
      largest << tr("%1 (%2)").arg(FitSoundModel::nameOf(group), bytesText(group.bytes));
    }
    sentences << tr("The largest: %1.").arg(largest.join(QStringLiteral(", ")));
  }
  if (pieces > fit.max_sounds)
    sentences << tr("It has %1 pieces of sound too many.").arg(pieces - fit.max_sounds);
  const bool fits = fit.fits;
  if (fits) {
    sentences << tr("It fits, with %1 to spare.").arg(bytesText(-over));
  }
  if (voices > fitted.profile.voices) {
    sentences
        << tr("At the busiest moment it asks for %1 voices more than there are: the sounds of "
              "least priority give way.")
               .arg(voices - fitted.profile.voices);
  }
  if (const work::CardFigures* loudest = work::loudest_card(checked->cards)) {
    const double room_db = -loudest->peak->true_peak_dbtp;
    sentences << (room_db < 0.0 ? tr("A run card drives the mix %1 over full scale.")
                                : tr("The run cards leave %1 of head room."))
                     .arg(decibelText(std::abs(room_db)));
  }
  QString line = sentences.join(QLatin1Char(' '));
  if (over > 0) {
    setNeed(tr("Shorten or remove what is largest, or choose a decoder with more memory."));
  } else if (pieces > fit.max_sounds) {
    setNeed(tr("Remove sounds, or turns of the chuff table, or choose a decoder that holds more."));
  } else if (voices > fitted.profile.voices) {
    setNeed(tr("Give what must be heard a higher priority, or let fewer sounds run together."));
  } else {
    setNeed(tr("Hear what matters most as it is stored, then write the notes."));
  }
  if (!live.isCurrent()) line += QLatin1Char(' ') + tr("Checking again …");
  verdict_->setText(line);
  setRole(verdict_, fits ? "good" : "error");
  hear_->setEnabled(model_->rowCount() > 0);
}

void FitPage::playRequested() {
  const auto checked = workspace().live().checked();
  const FitRow* row = model_->rowAt(table_->currentIndex());
  if (row == nullptr && model_->rowCount() > 0) row = &model_->rows().front();
  if (!checked || !checked->fitted || row == nullptr) return;
  workspace().jobs().run<audio::Clip>(
      tr("Getting the stored sound ready"), this,
      [checked, group = row->group](JobControl& job) {
        return work::stored_clip(*checked->fitted, group, job);
      },
      [this, name = FitSoundModel::nameOf(row->group), id = row->id](Result<audio::Clip> clip) {
        if (!clip) return workspace().tell(clip.error());
        PlayRequest request;
        request.source = ClipSource{std::make_shared<const audio::Clip>(std::move(*clip)), false};
        request.title = tr("%1, as stored").arg(name);
        request.key = QStringLiteral("fit/%1").arg(id);
        workspace().transport().play(request);
      },
      QStringLiteral("fit play"), JobKind::heardQuiet);
}

bool FitPage::shows(const QString& pointer) const {
  return pointer == QLatin1String("/decoder");
}

void FitPage::reveal(const QString& /*pointer*/) {
  decoder_->setFocus();
}

}  // namespace fourbeat::ui
