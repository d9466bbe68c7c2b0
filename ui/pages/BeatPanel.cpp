// SPDX-License-Identifier: GPL-3.0-or-later
#include "BeatPanel.h"

#include "Fields.h"
#include "Theme.h"
#include "Wording.h"
#include "Workspace.h"

#include "fourbeat/store/takes.h"
#include "fourbeat/work/analyse.h"
#include "fourbeat/work/chuff_builder.h"

#include <QComboBox>
#include <QFormLayout>
#include <QGroupBox>
#include <QHBoxLayout>
#include <QLabel>
#include <QLocale>
#include <QPushButton>
#include <QSignalBlocker>

namespace fourbeat::ui {

namespace {

constexpr double nearest_s = 2.0;  ///< a beat further away tells nothing of the speed

QString anglesText(const std::vector<double>& angles) {
  QStringList parts;
  for (const double angle : angles)
    parts << QLocale().toString(angle, 'g', 6);
  return parts.join(QStringLiteral("; "));
}

}  // namespace

BeatPanel::BeatPanel(Workspace& workspace, QWidget* parent)
    : QWidget(parent),
      workspace_(workspace),
      name_(makeLine(this, tr("Name of the engine"))),
      diameter_(makeNumber(this, tr("Driver diameter"), {300, 3000, 0, 10, tr(" mm")})),
      beats_(makeNumber(this, tr("Beats a revolution"), {1, 16, 0, 1, {}})),
      top_(makeNumber(this, tr("Top speed"), {1, 300, 0, 5, tr(" km/h")})),
      scale_(makeNumber(this, tr("Scale of the model, real length over its own"),
                        {0, 1000, 1, 1, {}})),
      angles_(makeLine(this, tr("Beat angles in degrees"))),
      channel_(new QComboBox(this)),
      find_(makeButton(this, QStringLiteral("chuffs"), tr("Find beats"),
                       tr("Follow the exhaust beats through the take (Ctrl+B)"))),
      summary_(makeNote(this, tr("Beats in short"))),
      speed_(new QLabel(this)) {
  auto* row = new QHBoxLayout(this);
  row->setContentsMargins(Theme::gap, Theme::gap, Theme::gap, Theme::gap);
  row->setSpacing(Theme::section);
  auto* engine = new QGroupBox(tr("Engine"), this);
  auto* engineRow = new QHBoxLayout(engine);
  engineRow->setSpacing(Theme::section);
  auto* form = new QFormLayout;
  form->addRow(tr("&Name"), name_);
  form->addRow(tr("Driver &diameter"), diameter_);
  form->addRow(tr("&Top speed"), top_);
  engineRow->addLayout(form, 3);
  auto* beatForm = new QFormLayout;
  beatForm->addRow(tr("&Beats a revolution"), beats_);
  beatForm->addRow(tr("Beat &angles, °"), angles_);
  beatForm->addRow(tr("&Scale of model"), scale_);
  scale_->setPrefix(QStringLiteral("1:"));
  scale_->setSpecialValueText(tr("None"));
  scale_->setToolTip(tr("Then speeds at scale are told too; 87 for H0, 76.2 for 00, 160 for N"));
  engineRow->addLayout(beatForm, 2);
  angles_->setPlaceholderText(tr("Even"));
  angles_->setToolTip(tr("Where in the revolution each beat falls: rising degrees, parted by ;"));
  row->addWidget(engine, 4);
  auto* take = new QGroupBox(tr("Beats of the take"), this);
  auto* column = new QVBoxLayout(take);
  auto* line = new QHBoxLayout;
  auto* hear = new QLabel(tr("Hea&r them in"), take);
  hear->setBuddy(channel_);
  channel_->setAccessibleName(tr("Channel to hear beats in"));
  line->addWidget(hear);
  line->addWidget(channel_, 1);
  line->addWidget(find_);
  column->addLayout(line);
  speed_->setFont(Theme::instance().figureFont());
  speed_->setAccessibleName(tr("Speed at the playhead"));
  column->addWidget(speed_);
  column->addWidget(summary_);
  column->addStretch(1);
  row->addWidget(take, 3);

  onLine(name_, [this](const QString& typed) {
    changeEngine("name", [&](model::Engine& e) { e.name = utf8(typed); });
    workspace_.document().endMerge();
  });
  const auto ended = [this] { workspace_.document().endMerge(); };
  onNumber(
      diameter_,
      [this](double value) {
        changeEngine("diameter", [value](model::Engine& e) { e.driver_diameter_mm = value; });
      },
      ended);
  onNumber(
      beats_,
      [this](double value) {
        changeEngine("beats", [value](model::Engine& e) {
          e.beats_per_rev = static_cast<int>(value);
          // Angles of another number of beats say nothing about these.
          if (e.beat_angles_deg.size() != static_cast<std::size_t>(e.beats_per_rev)) {
            e.beat_angles_deg.clear();
          }
        });
      },
      ended);
  onNumber(
      top_,
      [this](double value) {
        changeEngine("top", [value](model::Engine& e) { e.top_speed_kmh = value; });
      },
      ended);
  onNumber(
      scale_,
      [this](double value) {
        changeEngine("scale", [value](model::Engine& e) {
          e.scale_ratio = value >= 1.0 ? std::optional(value) : std::nullopt;
        });
      },
      ended);
  onLine(angles_, [this](const QString& typed) {
    std::vector<double> angles;
    for (const QString& part : typed.split(QLatin1Char(';'), Qt::SkipEmptyParts)) {
      bool number = false;
      angles.push_back(QLocale().toDouble(part.trimmed(), &number));
      if (number) continue;
      workspace_.tell(tr("Beat angles: “%1” is no number of degrees; part them by ;").arg(part));
      refresh();
      return;
    }
    changeEngine("angles", [&](model::Engine& e) { e.beat_angles_deg = angles; });
    workspace_.document().endMerge();
    refresh();
  });
  connect(channel_, &QComboBox::activated, this, &BeatPanel::refresh);
  connect(find_, &QPushButton::clicked, this, &BeatPanel::findBeats);
  connect(&workspace.document(), &Document::changed, this, &BeatPanel::refresh);
  refresh();
}

void BeatPanel::setTake(Id<model::Take> id) {
  take_ = id;
  const QSignalBlocker quiet(channel_);
  channel_->clear();
  const model::Take* take = model::find(workspace_.project(), id);
  if (take != nullptr) {
    for (int channel = 1; channel <= take->channels; ++channel) {
      const auto place = static_cast<std::size_t>(channel - 1);
      const QString position =
          place < take->microphones.size() ? text(take->microphones[place]) : QString();
      channel_->addItem(position.isEmpty() ? tr("channel %1").arg(channel)
                                           : tr("channel %1, %2").arg(channel).arg(position),
                        channel);
    }
    channel_->addItem(tr("all channels, mixed"), 0);
    channel_->setCurrentIndex(channel_->findData(work::chuff_channel(*take)));
  }
  refresh();
}

QString BeatPanel::key() const {
  const model::Take* take = model::find(workspace_.project(), take_);
  if (take == nullptr) return {};
  const model::Engine& engine = workspace_.project().engine;
  return QStringLiteral("%1/%2/%3/%4/%5")
      .arg(text(take->sha256))
      .arg(channel_->currentData().toInt())
      .arg(engine.driver_diameter_mm)
      .arg(engine.beats_per_rev)
      .arg(engine.top_speed_kmh);
}

dsp::BeatHints BeatPanel::hints() const {
  const model::Engine& engine = workspace_.project().engine;
  return {engine.driver_diameter_mm, engine.beats_per_rev, engine.top_speed_kmh};
}

void BeatPanel::findBeats() {
  const model::Take* take = model::find(workspace_.project(), take_);
  if (take == nullptr) return;
  const auto file = store::take_path(workspace_.document().folder(), *take);
  if (!file) {
    workspace_.tell(file.error());
    return;
  }
  work::Stretch stretch;
  if (const int channel = channel_->currentData().toInt(); channel > 0) stretch.channel = channel;
  workspace_.jobs().run<Track>(
      tr("Finding beats in %1").arg(text(take->path)), this,
      [path = *file, stretch, hints = hints()](JobControl& job) -> Result<Track> {
        Result<dsp::BeatTrack> found = work::beats_of_file(path, stretch, hints, job);
        if (!found) return found.error();
        return std::make_shared<const dsp::BeatTrack>(std::move(*found));
      },
      [this, key = key()](Result<Track> found) {
        if (!found) {
          workspace_.tell(found.error());
          return;
        }
        known_.insert(key, *found);
        refresh();
      },
      QStringLiteral("beats"));
}

QString BeatPanel::summaryOf(const dsp::BeatTrack& track) const {
  if (track.beats.empty()) return tr("No beats were heard in this channel.");
  std::optional<double> slowest;
  std::optional<double> fastest;
  for (const dsp::Beat& beat : track.beats) {
    if (!beat.speed_kmh) continue;
    slowest = std::min(slowest.value_or(*beat.speed_kmh), *beat.speed_kmh);
    fastest = std::max(fastest.value_or(*beat.speed_kmh), *beat.speed_kmh);
  }
  QString line =
      track.stretches.size() == 1
          ? tr("%1 beats in one stretch").arg(track.beats.size())
          : tr("%1 beats in %2 stretches").arg(track.beats.size()).arg(track.stretches.size());
  if (slowest) line += tr(", %1 to %2").arg(speedText(*slowest), speedText(*fastest));
  return line + tr(".");
}

void BeatPanel::showSpeedAt(FrameIndex frame) {
  place_ = frame;
  const model::Take* take = model::find(workspace_.project(), take_);
  const dsp::Beat* nearest = nullptr;
  if (track_ && take != nullptr) {
    const auto distance = [frame](const dsp::Beat& beat) {
      return std::abs((beat.frame - frame).value());
    };
    const auto after = std::lower_bound(
        track_->beats.begin(), track_->beats.end(), frame,
        [](const dsp::Beat& beat, FrameIndex place) { return beat.frame < place; });
    for (auto at = after == track_->beats.begin() ? after : after - 1;
         at != track_->beats.end() && at <= after; ++at) {
      if (nearest == nullptr || distance(*at) < distance(*nearest)) nearest = &*at;
    }
    if (nearest != nullptr &&
        static_cast<double>(distance(*nearest)) > nearest_s * take->sample_rate_hz) {
      nearest = nullptr;
    }
  }
  const std::optional<double> scale = workspace_.project().engine.scale_ratio;
  if (nearest == nullptr || !nearest->speed_kmh) {
    speed_->setText(tr("At the playhead: no beats"));
  } else if (scale) {
    speed_->setText(
        tr("At the playhead: %1, %2")
            .arg(bothSpeedsText(*nearest->speed_kmh), scaleSpeedText(*nearest->speed_kmh, *scale)));
  } else {
    speed_->setText(tr("At the playhead: %1").arg(bothSpeedsText(*nearest->speed_kmh)));
  }
  speed_->setVisible(track_ != nullptr);
}

void BeatPanel::changeEngine(const char* what, const std::function<void(model::Engine&)>& how) {
  model::Engine engine = workspace_.project().engine;
  how(engine);
  if (engine == workspace_.project().engine) return;
  const bool done = workspace_.perform(tr("Change engine"), {model::SetEngine{engine}},
                                       QStringLiteral("engine/%1").arg(QLatin1String(what)));
  if (!done) refresh();
}

void BeatPanel::refresh() {
  const model::Engine& engine = workspace_.project().engine;
  showValue(name_, text(engine.name));
  showValue(diameter_, engine.driver_diameter_mm);
  showValue(beats_, engine.beats_per_rev);
  showValue(top_, engine.top_speed_kmh);
  showValue(scale_, engine.scale_ratio.value_or(0.0));
  showValue(angles_, anglesText(engine.beat_angles_deg));
  const bool has = model::find(workspace_.project(), take_) != nullptr;
  find_->setEnabled(has);
  channel_->setEnabled(has);
  const Track before = std::exchange(track_, known_.value(key()));
  summary_->setText(track_ ? summaryOf(*track_)
                    : has  ? tr("Not looked for yet. Fill in what is known of the engine first.")
                           : QString());
  showSpeedAt(place_);
  if (before != track_) Q_EMIT trackChanged();
}

}  // namespace fourbeat::ui
