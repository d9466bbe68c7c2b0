// SPDX-License-Identifier: GPL-3.0-or-later
#include "TrackView.h"

#include "TakeMedia.h"

namespace fourbeat::ui {

struct TrackView::State {
  std::shared_ptr<TakeMedia> take;
  QString emptyText;
  std::optional<TrackTrim> trim;
  std::optional<TrackLoop> loop;
  Look look = Look::waveform;
  std::optional<FrameRange> selection;
  FrameIndex playhead;
};

TrackView::TrackView(QWidget* parent) : QWidget(parent), state_(std::make_unique<State>()) {}
TrackView::~TrackView() = default;
void TrackView::setTake(std::shared_ptr<TakeMedia> take) {
  state_->take = std::move(take);
}
const std::shared_ptr<TakeMedia>& TrackView::take() const {
  return state_->take;
}
void TrackView::setEmptyText(const QString& text) {
  state_->emptyText = text;
}
void TrackView::setChannelNames(const QStringList&) {}
void TrackView::setSpans(std::vector<TrackSpan>) {}
void TrackView::setTrim(std::optional<TrackTrim> trim) {
  state_->trim = trim;
}
void TrackView::setLoop(std::optional<TrackLoop> loop) {
  state_->loop = loop;
}
std::optional<TrackTrim> TrackView::trim() const {
  return state_->trim;
}
std::optional<TrackLoop> TrackView::loop() const {
  return state_->loop;
}
void TrackView::setLook(Look look) {
  state_->look = look;
}
TrackView::Look TrackView::look() const {
  return state_->look;
}
std::optional<FrameRange> TrackView::selection() const {
  return state_->selection;
}
void TrackView::setSelection(std::optional<FrameRange> selection) {
  state_->selection = selection;
  Q_EMIT selectionChanged();
}
FrameIndex TrackView::playhead() const {
  return state_->playhead;
}
void TrackView::setPlayhead(FrameIndex frame) {
  state_->playhead = frame;
}
FrameRange TrackView::shownRange() const {
  return {};
}
void TrackView::showRange(FrameRange) {}
void TrackView::showAll() {}
void TrackView::zoom(double) {}
std::vector<float> TrackView::gains() const {
  return std::vector<float>(
      state_->take ? static_cast<std::size_t>(state_->take->info().channels) : 0, 1.0F);
}

}  // namespace fourbeat::ui
