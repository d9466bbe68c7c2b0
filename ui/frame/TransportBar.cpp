// SPDX-License-Identifier: GPL-3.0-or-later
#include "TransportBar.h"

#include "LevelMeter.h"
#include "Settings.h"
#include "Theme.h"
#include "Wording.h"
#include "sound/Transport.h"

#include <QActionGroup>
#include <QHBoxLayout>
#include <QLabel>
#include <QMenu>
#include <QSlider>
#include <QToolButton>

namespace fourbeat::ui {

namespace {

constexpr int quietestDb = -40;
constexpr int volumeWidth = 90;
constexpr int titleWidth = 190;
constexpr int narrowestTitle = 40;

double rateOf(const PlayRequest& request) {
  if (const auto* clip = std::get_if<ClipSource>(&request.source)) {
    return clip->clip ? clip->clip->sample_rate_hz : 0.0;
  }
  if (const auto* live = std::get_if<LiveSource>(&request.source)) return live->sample_rate_hz;
  return std::get<TakeSource>(request.source).info.sample_rate_hz;
}

QToolButton* makeButton(QWidget* parent, const QString& icon, const QString& name,
                        const QString& tip) {
  auto* button = new QToolButton(parent);
  button->setIcon(Theme::instance().icon(icon));
  button->setAccessibleName(name);
  button->setToolTip(tip);
  return button;
}

}  // namespace

TransportBar::TransportBar(Transport& transport, QWidget* parent)
    : QWidget(parent), transport_(transport) {
  setAccessibleName(tr("Transport"));
  auto* row = new QHBoxLayout(this);
  row->setContentsMargins(0, 0, 0, 0);
  row->setSpacing(Theme::tight);
  play_ = makeButton(this, QStringLiteral("play"), tr("Play or stop"), tr("Play or stop (Space)"));
  row->addWidget(play_);
  repeat_ = makeButton(this, QStringLiteral("repeat"), tr("Repeat"),
                       tr("Play the stretch again and again (Ctrl+R)"));
  repeat_->setCheckable(true);
  repeat_->setShortcut(QKeySequence(Qt::CTRL | Qt::Key_R));
  row->addWidget(repeat_);
  half_ = makeButton(this, QStringLiteral("half"), tr("Half speed"),
                     tr("Half speed, an octave lower, to listen closely (Ctrl+H)"));
  half_->setCheckable(true);
  half_->setShortcut(QKeySequence(Qt::CTRL | Qt::Key_H));
  row->addWidget(half_);
  row->addSpacing(Theme::gap);
  position_ = new QLabel(this);
  position_->setFont(Theme::instance().figureFont());
  position_->setAccessibleName(tr("Position"));
  position_->setMinimumWidth(
      position_->fontMetrics().horizontalAdvance(QStringLiteral("0:00:00.000")));
  row->addWidget(position_);
  title_ = new QLabel(this);
  title_->setProperty("role", QStringLiteral("muted"));
  title_->setAccessibleName(tr("What plays"));
  title_->setMinimumWidth(narrowestTitle);
  title_->setMaximumWidth(titleWidth);
  row->addWidget(title_);
  meter_ = new LevelMeter(this);
  row->addWidget(meter_);
  volume_ = new QSlider(Qt::Horizontal, this);
  volume_->setRange(quietestDb, 0);
  volume_->setPageStep(6);
  volume_->setFixedWidth(volumeWidth);
  volume_->setAccessibleName(tr("Monitor volume"));
  row->addWidget(volume_);
  device_ = makeButton(this, QStringLiteral("device"), tr("Sound device"), tr("Sound device"));
  device_->setPopupMode(QToolButton::InstantPopup);
  devices_ = new QMenu(device_);
  device_->setMenu(devices_);
  row->addWidget(device_);

  connect(play_, &QToolButton::clicked, &transport_, &Transport::toggle);
  connect(repeat_, &QToolButton::toggled, &transport_, &Transport::setRepeat);
  connect(half_, &QToolButton::toggled, &transport_, &Transport::setHalfSpeed);
  connect(volume_, &QSlider::valueChanged, this, [this](int db) {
    transport_.setVolumeDb(db <= quietestDb ? -60.0 : db);
    volume_->setToolTip(tr("Monitor volume %1 dB; it changes nothing that is delivered").arg(db));
    settings::keepVolumeDb(db);
  });
  connect(devices_, &QMenu::aboutToShow, this, &TransportBar::fillDevices);
  connect(&transport_, &Transport::stateChanged, this, &TransportBar::refresh);
  connect(&transport_, &Transport::positionChanged, this, &TransportBar::showPosition);
  connect(&transport_, &Transport::levelChanged, meter_, &LevelMeter::setPeak);
  volume_->setToolTip(tr("Monitor volume 0 dB; it changes nothing that is delivered"));
  volume_->setValue(settings::volumeDb());
  transport_.setDevice(settings::soundDevice());
  refresh();
}

void TransportBar::refresh() {
  const bool playing = transport_.isPlaying();
  play_->setIcon(Theme::instance().icon(playing ? QStringLiteral("stop") : QStringLiteral("play")));
  play_->setAccessibleName(playing ? tr("Stop") : tr("Play"));
  repeat_->setChecked(transport_.repeats());
  half_->setChecked(transport_.halfSpeed());
  const QString name = playing ? transport_.request().title : QString();
  title_->setText(title_->fontMetrics().elidedText(name, Qt::ElideMiddle, titleWidth));
  title_->setToolTip(name);
  showPosition();
}

void TransportBar::showPosition() {
  const double rate = transport_.request().key.isEmpty() ? 0.0 : rateOf(transport_.request());
  const double seconds =
      rate > 0.0 ? static_cast<double>(transport_.position().value()) / rate : 0.0;
  position_->setText(timeText(seconds, 3));
}

void TransportBar::fillDevices() {
  devices_->clear();
  auto* group = new QActionGroup(devices_);
  const auto offer = [&](const QByteArray& id, const QString& name) {
    QAction* action = devices_->addAction(name);
    action->setCheckable(true);
    action->setChecked(transport_.device() == id);
    group->addAction(action);
    connect(action, &QAction::triggered, this, [this, id] {
      transport_.setDevice(id);
      settings::keepSoundDevice(id);
    });
  };
  offer({}, tr("The system's default"));
  devices_->addSeparator();
  const QList<Transport::Device> all = transport_.devices();
  for (const Transport::Device& each : all)
    offer(each.id, each.name);
  if (all.isEmpty()) devices_->addAction(tr("No sound device found"))->setEnabled(false);
}

}  // namespace fourbeat::ui
