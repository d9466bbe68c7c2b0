// SPDX-License-Identifier: GPL-3.0-or-later
#include "Transport.h"

namespace fourbeat::ui {

struct Transport::State {
  PlayRequest request;
  FrameIndex position;
  bool playing = false;
  bool repeat = false;
  bool half = false;
  double volumeDb = 0.0;
  QByteArray device;
};

Transport::Transport(QObject* parent) : QObject(parent), state_(std::make_unique<State>()) {}
Transport::~Transport() = default;
void Transport::play(const PlayRequest& request) {
  state_->request = request;
  Q_EMIT stateChanged();
}
void Transport::stop() {}
void Transport::letGo() {}
void Transport::seek(FrameIndex frame) {
  state_->position = frame;
}
void Transport::setGains(const std::vector<float>&) {}
void Transport::setRepeat(bool repeat) {
  state_->repeat = repeat;
}
bool Transport::repeats() const {
  return state_->repeat;
}
void Transport::setHalfSpeed(bool half) {
  state_->half = half;
}
bool Transport::halfSpeed() const {
  return state_->half;
}
void Transport::setVolumeDb(double db) {
  state_->volumeDb = db;
}
double Transport::volumeDb() const {
  return state_->volumeDb;
}
bool Transport::isPlaying() const {
  return state_->playing;
}
FrameIndex Transport::position() const {
  return state_->position;
}
const PlayRequest& Transport::request() const {
  return state_->request;
}
QList<Transport::Device> Transport::devices() const {
  return {};
}
void Transport::setDevice(const QByteArray& id) {
  state_->device = id;
}
QByteArray Transport::device() const {
  return state_->device;
}
float Transport::peak() const {
  return 0.0F;
}
void Transport::toggle() {
  if (isPlaying()) {
    stop();
  } else {
    Q_EMIT playAsked();
  }
}

}  // namespace fourbeat::ui
