// SPDX-License-Identifier: GPL-3.0-or-later
#include "ClipView.h"

#include "AxisHand.h"
#include "AxisPaint.h"
#include "Theme.h"
#include "WavePaint.h"

#include <QFontMetrics>
#include <QHash>
#include <QKeyEvent>
#include <QMetaObject>
#include <QMouseEvent>
#include <QPainter>
#include <QThreadPool>
#include <QWheelEvent>
#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

namespace fourbeat::ui {

namespace {

constexpr qint64 blockFrames = 64;
constexpr qint64 tileWidth = 256;  ///< device pixels
constexpr qint64 mostTiles = 96;
constexpr double closestPixels = 40.0;  ///< of one frame, at the closest

/// Least, largest and mean square of every 64 frames.
struct Blocks {
  struct Block {
    float min = 0.0F;
    float max = 0.0F;
    float meanSquare = 0.0F;
  };
  std::vector<Block> blocks;
};

class PeakSum {
 public:
  void add(float low, float high, double meanSquare) {
    peak_.min = std::min(peak_.min, low);
    peak_.max = std::max(peak_.max, high);
    sum_ += meanSquare;
    ++count_;
  }
  [[nodiscard]] audio::Peak peak() const {
    if (count_ == 0) return {};
    audio::Peak made = peak_;
    made.rms = static_cast<float>(std::sqrt(sum_ / static_cast<double>(count_)));
    return made;
  }

 private:
  audio::Peak peak_{std::numeric_limits<float>::infinity(), -std::numeric_limits<float>::infinity(),
                    0.0F};
  double sum_ = 0.0;
  qint64 count_ = 0;
};

std::shared_ptr<const Blocks> blocksOf(const audio::Clip& clip) {
  auto made = std::make_shared<Blocks>();
  const auto total = static_cast<qint64>(clip.samples.size());
  made->blocks.reserve(static_cast<std::size_t>(total / blockFrames + 1));
  for (qint64 at = 0; at < total; at += blockFrames) {
    PeakSum sum;
    for (qint64 i = at; i < std::min(total, at + blockFrames); ++i) {
      const float sample = clip.samples[static_cast<std::size_t>(i)];
      sum.add(sample, sample, static_cast<double>(sample) * static_cast<double>(sample));
    }
    const audio::Peak peak = sum.peak();
    made->blocks.push_back({peak.min, peak.max, peak.rms * peak.rms});
  }
  return made;
}

}  // namespace

struct ClipView::State {
  explicit State(ClipView& owner) : view(owner) { pool.setMaxThreadCount(1); }

  ClipView& view;
  std::shared_ptr<const audio::Clip> clip;
  std::shared_ptr<const Blocks> blocks;
  quint64 generation = 0;
  QString emptyText;
  std::vector<ClipMark> marks;  ///< by frame
  FrameIndex playhead;

  double framesPerPixel = 1.0;  ///< of a logical pixel
  double originFrame = 0.0;
  bool showsAll = true;
  QRect ruler, band, lane;
  double heightZoom = 1.0;
  /// The wave at this zoom and height, by how many tiles from frame 0.
  QHash<qint64, QImage> tiles;
  double tilesRatio = 0.0;
  std::optional<FrameRange> selection;
  SelectionAnchor<FrameRange> anchor;
  SelectionDrag<FrameRange> drag{anchor};
  QThreadPool pool;

  [[nodiscard]] qint64 frames() const {
    return clip ? static_cast<qint64>(clip->samples.size()) : 0;
  }
  [[nodiscard]] double rate() const {
    return clip && clip->sample_rate_hz > 0.0 ? clip->sample_rate_hz : 48000.0;
  }
  [[nodiscard]] TimeAxis axis(double ratio) const {
    TimeAxis made;
    made.rateHz = rate();
    made.framesPerPixel = framesPerPixel / ratio;
    made.originPixel = std::llround(originFrame / made.framesPerPixel);
    return made;
  }
  [[nodiscard]] TimeAxis axis() const { return axis(view.devicePixelRatioF()); }
  [[nodiscard]] double xOf(FrameIndex frame) const {
    return lane.left() + static_cast<double>(axis().xOf(frame)) / view.devicePixelRatioF();
  }
  [[nodiscard]] FrameIndex frameAt(double x) const {
    const FrameIndex frame = axis().frameAt((x - lane.left()) * view.devicePixelRatioF());
    return FrameIndex(std::clamp<qint64>(frame.value(), 0, frames()));
  }
  [[nodiscard]] double allFramesPerPixel() const {
    return std::max(1.0, static_cast<double>(frames())) / std::max(1, lane.width());
  }

  void layOut() {
    const QRect inside = view.rect().adjusted(2, 2, -2, -2);
    const int line = QFontMetrics(Theme::instance().smallFont()).height();
    ruler = QRect(inside.left(), inside.top(), inside.width(), line + 8);
    band = QRect(inside.left(), ruler.bottom() + 1, inside.width(), marks.empty() ? 0 : line + 4);
    lane = QRect(inside.left(), band.top() + band.height(), inside.width(),
                 std::max(1, inside.bottom() + 1 - band.top() - band.height()));
    if (showsAll) {
      framesPerPixel = allFramesPerPixel();
      originFrame = 0.0;
    }
    moveTo(originFrame);
    refresh();
  }

  void refresh() {
    tiles.clear();
    view.update();
  }

  void moveTo(double frame) {
    const double a_device = framesPerPixel / view.devicePixelRatioF();
    const double most = std::max(0.0, std::ceil(static_cast<double>(frames()) / a_device - 1e-6) -
                                          lane.width() * view.devicePixelRatioF());
    const double origin = std::round(std::clamp(frame / a_device, 0.0, most)) * a_device;
    if (origin == originFrame) return;
    originFrame = origin;
    view.update();
  }

  void zoomTo(double framesPerLogicalPixel, double x) {
    const double all = allFramesPerPixel();
    const double kept = originFrame + (x - lane.left()) * framesPerPixel;
    framesPerPixel = std::clamp(framesPerLogicalPixel, std::min(all, 1.0 / closestPixels), all);
    showsAll = framesPerPixel == all;
    originFrame = -1.0;
    moveTo(kept - (x - lane.left()) * framesPerPixel);
    refresh();
    describe();
  }

  void reveal(FrameIndex frame) {
    const double x = xOf(frame);
    if (x >= lane.left() && x <= lane.right() + 1) return;
    const double back = x < lane.left() ? 0.9 : 0.1;
    moveTo(static_cast<double>(frame.value()) - back * lane.width() * framesPerPixel);
  }

  void zoomHeight(double factor) {
    heightZoom = std::clamp(heightZoom * factor, 1.0, 256.0);
    refresh();
  }

  void select(std::optional<FrameRange> range) {
    if (range) {
      range->start = FrameIndex(std::clamp<qint64>(range->start.value(), 0, frames()));
      range->end = FrameIndex(std::clamp<qint64>(range->end.value(), 0, frames()));
      if (range->empty()) range.reset();
    }
    if (range == selection) return;
    selection = range;
    view.update();
    describe();
  }

  void place(FrameIndex frame, bool selecting) {
    const FrameIndex to(std::clamp<qint64>(frame.value(), 0, frames()));
    if (selecting) {
      anchor.holdForKey(playhead, selection);
      select(anchor.to(to));
    } else {
      anchor.letGo();
    }
    view.setPlayhead(to);
    describe();
    Q_EMIT view.playheadPlaced(playhead);
  }

  /// Ascending, from the start to the end of the clip.
  [[nodiscard]] std::vector<FrameIndex> stops(bool ofSelection) const {
    std::vector<FrameIndex> all{FrameIndex(0), FrameIndex(frames())};
    for (const ClipMark& mark : marks)
      all.push_back(mark.frame);
    for (const auto& range : {clip->loop, ofSelection ? selection : std::nullopt}) {
      if (range) all.insert(all.end(), {range->start, range->end});
    }
    std::sort(all.begin(), all.end());
    return all;
  }
  [[nodiscard]] FrameIndex nextStop(bool forward) const {
    const std::vector<FrameIndex> all = stops(true);
    if (forward) {
      const auto next = std::upper_bound(all.begin(), all.end(), playhead);
      return next == all.end() ? all.back() : *next;
    }
    const auto next = std::lower_bound(all.begin(), all.end(), playhead);
    return next == all.begin() ? all.front() : *std::prev(next);
  }
  /// What lies between the two stops about a place.
  void selectAbout(FrameIndex frame) {
    const std::vector<FrameIndex> all = stops(false);
    const auto next = std::upper_bound(all.begin(), all.end(), frame);
    if (next == all.begin() || next == all.end()) return;
    view.setSelection(FrameRange{*std::prev(next), *next});
  }

  void describe() {
    QString told = emptyText;
    if (clip) {
      told = tr("length %1; playhead %2")
                 .arg(lengthText(FrameCount(frames()), rate(), TimeUnit::time),
                      placeText(playhead, rate(), TimeUnit::time));
      if (clip->loop) {
        told += tr("; loop %1 to %2")
                    .arg(placeText(clip->loop->start, rate(), TimeUnit::time),
                         placeText(clip->loop->end, rate(), TimeUnit::time));
      }
      if (selection) {
        told += tr("; selection %1 to %2")
                    .arg(placeText(selection->start, rate(), TimeUnit::time),
                         placeText(selection->end, rate(), TimeUnit::time));
      }
    }
    if (told != view.accessibleDescription()) view.setAccessibleDescription(told);
  }

  [[nodiscard]] QImage drawTile(qint64 index, const TimeAxis& now, int height, double ratio) const;
  [[nodiscard]] const QImage& tile(qint64 index, const TimeAxis& now, int height, double ratio);
  void paint(QPainter& painter);
  void paintBand(QPainter& painter) const;
};

QImage ClipView::State::drawTile(qint64 index, const TimeAxis& now, int height,
                                 double ratio) const {
  QImage image(static_cast<int>(tileWidth), height, QImage::Format_RGB32);
  const WaveScale scale{height, heightZoom};
  const std::vector<float>& samples = clip->samples;
  const qint64 left = index * tileWidth;  // from the pixel of frame 0
  const auto placeAt = [&](qint64 x) { return static_cast<double>(left + x) * now.framesPerPixel; };
  if (now.framesPerPixel < 1.0) {
    const auto first = std::max<qint64>(0, static_cast<qint64>(std::floor(placeAt(0))) - 2);
    const auto end =
        std::min<qint64>(frames(), static_cast<qint64>(std::ceil(placeAt(tileWidth))) + 3);
    const double step = 1.0 / now.framesPerPixel;
    const double x = static_cast<double>(first) * step - static_cast<double>(left) + 0.5;
    drawSamples(image,
                std::span(samples.data() + first,
                          static_cast<std::size_t>(std::max<qint64>(0, end - first))),
                x, step, scale, ratio);
    return image;
  }
  std::vector<audio::Peak> peaks(static_cast<std::size_t>(tileWidth) + 1);
  for (qint64 i = 0; i <= tileWidth; ++i) {
    // Column 0 stands one pixel before the tile: columns are joined to the one before.
    const auto from = std::max<qint64>(0, static_cast<qint64>(std::ceil(placeAt(i - 1) - 1e-6)));
    const auto to = std::min<qint64>(frames(), static_cast<qint64>(std::ceil(placeAt(i) - 1e-6)));
    if (from >= to) continue;
    PeakSum sum;
    if (now.framesPerPixel < 2.0 * blockFrames) {
      for (qint64 at = from; at < to; ++at) {
        const float sample = samples[static_cast<std::size_t>(at)];
        sum.add(sample, sample, static_cast<double>(sample) * static_cast<double>(sample));
      }
    } else if (blocks) {
      for (qint64 at = from / blockFrames; at < (to + blockFrames - 1) / blockFrames; ++at) {
        const Blocks::Block& block = blocks->blocks[static_cast<std::size_t>(at)];
        sum.add(block.min, block.max, static_cast<double>(block.meanSquare));
      }
    }
    peaks[static_cast<std::size_t>(i)] = sum.peak();
  }
  drawPeaks(image, peaks, scale);
  return image;
}

const QImage& ClipView::State::tile(qint64 index, const TimeAxis& now, int height, double ratio) {
  const auto kept = tiles.constFind(index);
  if (kept != tiles.constEnd()) return *kept;
  if (tiles.size() >= mostTiles) tiles.clear();
  return *tiles.insert(index, drawTile(index, now, height, ratio));
}

void ClipView::State::paintBand(QPainter& painter) const {
  const Theme& theme = Theme::instance();
  painter.fillRect(band, theme.color(Theme::Ink::window));
  painter.setFont(theme.smallFont());
  const QFontMetrics metrics(theme.smallFont());
  double covered = band.left();
  for (std::size_t i = 0; i < marks.size(); ++i) {
    const double x = xOf(marks[i].frame);
    if (x < band.left() - 200 || x > band.right()) continue;
    painter.fillRect(QRectF(x, band.top() + 2, 1, band.height() - 2),
                     theme.color(Theme::Ink::mark));
    const double next = i + 1 < marks.size() ? xOf(marks[i + 1].frame) : band.right() + 1;
    const double from = std::max(x, covered) + 3;
    const double room = next - from - 3;
    if (room < 12) continue;
    const QString label =
        metrics.elidedText(marks[i].label, Qt::ElideRight, static_cast<int>(room));
    painter.setPen(theme.color(Theme::Ink::text));
    painter.drawText(QRectF(from, band.top(), room + 3, band.height()),
                     Qt::AlignLeft | Qt::AlignVCenter, label);
  }
}

void ClipView::State::paint(QPainter& painter) {
  const Theme& theme = Theme::instance();
  const double ratio = painter.device()->devicePixelRatioF();
  painter.fillRect(view.rect(), theme.color(Theme::Ink::surface));
  if (!clip || frames() == 0) {
    painter.setPen(theme.color(Theme::Ink::mutedText));
    painter.drawText(view.rect().adjusted(16, 8, -16, -8), Qt::AlignCenter | Qt::TextWordWrap,
                     emptyText);
  } else {
    const TimeAxis now = axis(ratio);
    drawTimeRuler(painter, ruler, now, ratio, TimeUnit::time);
    if (!band.isEmpty()) {
      painter.save();
      painter.setClipRect(band, Qt::IntersectClip);
      paintBand(painter);
      painter.restore();
    }
    if (tilesRatio != ratio) tiles.clear();
    tilesRatio = ratio;
    painter.save();
    painter.setClipRect(lane, Qt::IntersectClip);
    painter.translate(lane.topLeft());
    painter.scale(1.0 / ratio, 1.0 / ratio);
    const int width = std::max(1, static_cast<int>(std::lround(lane.width() * ratio)));
    const int height = std::max(1, static_cast<int>(std::lround(lane.height() * ratio)));
    for (qint64 i = now.originPixel / tileWidth; i * tileWidth < now.originPixel + width; ++i) {
      painter.drawImage(QPoint(static_cast<int>(i * tileWidth - now.originPixel), 0),
                        tile(i, now, height, ratio));
    }
    const int hair = std::max(1, static_cast<int>(ratio));
    const auto clamp_x = [&](FrameIndex frame) {
      return static_cast<int>(std::clamp<qint64>(now.xOf(frame), -16, width + 16));
    };
    if (const int end = clamp_x(FrameIndex(frames())); end < width) {
      painter.fillRect(QRect(end, 0, width - end, height), theme.color(Theme::Ink::window));
    }
    for (const ClipMark& mark : marks) {
      const int x = clamp_x(mark.frame);
      QColor color = theme.color(Theme::Ink::mark);
      color.setAlphaF(0.6F);
      painter.fillRect(QRect(x, 0, hair, height), color);
    }
    if (clip->loop) {
      const int from = clamp_x(clip->loop->start);
      const int to = clamp_x(clip->loop->end);
      const QColor line = theme.color(Theme::Ink::loop);
      const int thick = static_cast<int>(std::lround(2.0 * ratio));
      QColor veil = line;
      veil.setAlphaF(0.1F);
      painter.fillRect(QRect(from, 0, to - from, height - 2 * thick), veil);
      drawUpright(painter, QRect(from, 0, thick, height), line);
      drawUpright(painter, QRect(to - thick, 0, thick, height), line);
      painter.fillRect(QRect(from, height - 2 * thick, to - from, 2 * thick), line);
    }
    if (selection) {
      const int from = clamp_x(selection->start);
      drawSelected(painter, QRect(from, 0, std::max(1, clamp_x(selection->end) - from), height),
                   hair);
    }
    const qint64 head = now.xOf(playhead);
    if (head >= 0 && head <= width) {
      drawUpright(painter,
                  QRect(static_cast<int>(std::min<qint64>(head, width - hair)), 0, hair, height),
                  theme.color(Theme::Ink::playhead));
    }
    painter.restore();
    const double x = xOf(playhead) + 0.5;
    if (x > ruler.left() - 8 && x < ruler.right() + 8) {
      painter.save();
      painter.setClipRect(ruler, Qt::IntersectClip);
      painter.setRenderHint(QPainter::Antialiasing);
      painter.setPen(Qt::NoPen);
      painter.setBrush(theme.color(Theme::Ink::playhead));
      const double bottom = ruler.bottom() + 1;
      painter.drawPolygon(QPolygonF({{x - 5.5, bottom - 8}, {x + 5.5, bottom - 8}, {x, bottom}}));
      painter.restore();
    }
  }
  const bool focus = view.hasFocus();
  const QColor rim = theme.color(focus ? Theme::Ink::focus : Theme::Ink::line);
  const int thick = focus ? 2 : 1;
  const QRect all = view.rect();
  painter.fillRect(QRect(0, 0, all.width(), thick), rim);
  painter.fillRect(QRect(0, all.bottom() + 1 - thick, all.width(), thick), rim);
  painter.fillRect(QRect(0, 0, thick, all.height()), rim);
  painter.fillRect(QRect(all.right() + 1 - thick, 0, thick, all.height()), rim);
}

ClipView::ClipView(QWidget* parent) : QWidget(parent), state_(std::make_unique<State>(*this)) {
  setAttribute(Qt::WA_OpaquePaintEvent);
  setFocusPolicy(Qt::StrongFocus);
  setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Preferred);
  setAccessibleName(tr("Sound"));
  setCursor(Qt::IBeamCursor);
  state_->emptyText = tr("No sound is shown.");
  connect(&Theme::instance(), &Theme::changed, this, [this] { state_->layOut(); });
  state_->describe();
}

ClipView::~ClipView() {
  state_->pool.waitForDone();
}

void ClipView::setClip(std::shared_ptr<const audio::Clip> clip) {
  State& s = *state_;
  if (clip == s.clip) return;
  s.clip = std::move(clip);
  s.blocks.reset();
  s.marks.clear();
  s.playhead = FrameIndex(0);
  s.selection.reset();
  s.anchor.letGo();
  s.heightZoom = 1.0;
  s.showsAll = true;
  const quint64 generation = ++s.generation;
  // A short clip is summed up at once, so that it does not flicker; a long one in the background.
  constexpr qint64 atOnce = 4'000'000;
  if (s.clip && s.frames() <= atOnce) {
    s.blocks = blocksOf(*s.clip);
  } else if (s.clip) {
    s.pool.start([this, sound = s.clip, generation] {
      auto made = blocksOf(*sound);
      // The view waits for this thread before it goes, and its queued calls go with it.
      QMetaObject::invokeMethod(
          this,
          [this, made, generation] {
            if (generation != state_->generation) return;
            state_->blocks = made;
            state_->refresh();
          },
          Qt::QueuedConnection);
    });
  }
  s.layOut();
  s.describe();
}

const std::shared_ptr<const audio::Clip>& ClipView::clip() const {
  return state_->clip;
}

void ClipView::setEmptyText(const QString& text) {
  state_->emptyText = text;
  state_->describe();
  update();
}

void ClipView::setMarks(std::vector<ClipMark> marks) {
  if (marks == state_->marks) return;
  std::stable_sort(marks.begin(), marks.end(),
                   [](const ClipMark& a, const ClipMark& b) { return a.frame < b.frame; });
  state_->marks = std::move(marks);
  state_->layOut();
}

const std::vector<ClipMark>& ClipView::marks() const {
  return state_->marks;
}

void ClipView::setPlayhead(FrameIndex frame) {
  State& s = *state_;
  const FrameIndex to(std::clamp<qint64>(frame.value(), 0, s.frames()));
  if (to == s.playhead) return;
  const double before = s.xOf(s.playhead);
  const auto strip = [&](double x) {
    update(QRect(static_cast<int>(std::floor(x)) - 7, 0, 15, height()));
  };
  strip(before);
  s.playhead = to;
  strip(s.xOf(to));
  if (before >= s.lane.left() - 1 && before <= s.lane.right() + 1) s.reveal(to);
}

FrameIndex ClipView::playhead() const {
  return state_->playhead;
}

std::optional<FrameRange> ClipView::selection() const {
  return state_->selection;
}

void ClipView::setSelection(std::optional<FrameRange> selection) {
  state_->anchor.letGo();
  state_->select(selection);
}

void ClipView::showAll() {
  state_->showsAll = true;
  state_->layOut();
}

void ClipView::zoom(double factor) {
  State& s = *state_;
  const double x = s.xOf(s.playhead);
  const bool seen = x >= s.lane.left() && x <= s.lane.right() + 1;
  s.zoomTo(s.framesPerPixel / factor, seen ? x : s.lane.left() + 0.5 * s.lane.width());
}

FrameRange ClipView::shownRange() const {
  const State& s = *state_;
  const auto start = static_cast<qint64>(std::floor(s.originFrame + 1e-6));
  const auto end =
      static_cast<qint64>(std::ceil(s.originFrame + s.lane.width() * s.framesPerPixel - 1e-6));
  return frame_range(std::clamp<qint64>(start, 0, s.frames()),
                     std::clamp<qint64>(end, 0, s.frames()));
}

QRect ClipView::laneRect() const {
  return state_->lane;
}

qint64 ClipView::deviceXOf(FrameIndex frame) const {
  return state_->axis().xOf(frame);
}

bool ClipView::isSettled() const {
  return !state_->clip || state_->blocks != nullptr;
}

QSize ClipView::sizeHint() const {
  return {600, 130};
}

QSize ClipView::minimumSizeHint() const {
  return {160, 80};
}

void ClipView::paintEvent(QPaintEvent* event) {
  QPainter painter(this);
  painter.setClipRegion(event->region());
  state_->paint(painter);
}

void ClipView::resizeEvent(QResizeEvent*) {
  state_->layOut();
}

void ClipView::wheelEvent(QWheelEvent* event) {
  State& s = *state_;
  const AxisWheel turned = axisWheel(*event);
  if (s.frames() == 0 || (turned.ask == AxisWheel::Ask::scroll && s.showsAll)) {
    event->ignore();  // nothing to scroll: the page around may
    return;
  }
  switch (turned.ask) {
    case AxisWheel::Ask::zoom:
      s.zoomTo(s.framesPerPixel * std::pow(zoomNotch, -turned.notches), event->position().x());
      break;
    case AxisWheel::Ask::height:
      s.zoomHeight(std::pow(zoomNotch, turned.notches));
      break;
    case AxisWheel::Ask::scroll:
      s.moveTo(s.originFrame - turned.notches * wheelPixels * s.framesPerPixel);
      break;
  }
  event->accept();
}

void ClipView::mousePressEvent(QMouseEvent* event) {
  State& s = *state_;
  if (event->button() != Qt::LeftButton || s.frames() == 0) {
    QWidget::mousePressEvent(event);
    return;
  }
  const double x = event->position().x();
  if (event->modifiers().testFlag(Qt::ShiftModifier)) {
    s.drag.pressToSelect(s.frameAt(x), s.playhead, s.selection);
    mouseMoveEvent(event);
    return;
  }
  const FrameRange edges = s.selection.value_or(FrameRange{});
  s.drag.press(x, s.frameAt(x), s.selection, {s.xOf(edges.start), s.xOf(edges.end)});
}

void ClipView::mouseMoveEvent(QMouseEvent* event) {
  State& s = *state_;
  if (!s.drag.isOn()) return;
  const double x = event->position().x();
  const double inside = std::clamp<double>(x, s.lane.left(), s.lane.right() + 1);
  if (const auto range = s.drag.moveTo(x, s.frameAt(inside))) {
    s.select(range);
    if (!s.showsAll) s.moveTo(s.originFrame + (x - inside) * s.framesPerPixel);
  }
}

void ClipView::mouseReleaseEvent(QMouseEvent* event) {
  State& s = *state_;
  if (event->button() != Qt::LeftButton || !s.drag.isOn()) return;
  if (s.drag.release()) s.place(s.frameAt(event->position().x()), false);
}

void ClipView::mouseDoubleClickEvent(QMouseEvent* event) {
  if (event->button() != Qt::LeftButton || state_->frames() == 0) return;
  state_->selectAbout(state_->frameAt(event->position().x()));
}

void ClipView::keyPressEvent(QKeyEvent* event) {
  State& s = *state_;
  const AxisKey key = axisKey(*event);
  if (s.frames() == 0) {
    event->ignore();
    return;
  }
  const FrameCount step(static_cast<qint64>(std::max(1.0, std::round(s.framesPerPixel))));
  const double page = pageShare * s.lane.width() * s.framesPerPixel;
  const auto go = [&](FrameIndex frame) {
    s.place(frame, key.selecting);
    s.reveal(s.playhead);
  };
  using Ask = AxisKey::Ask;
  switch (key.ask) {
    case Ask::back:
      go(s.playhead - step);
      break;
    case Ask::on:
      go(s.playhead + step);
      break;
    case Ask::stopBack:
      go(s.nextStop(false));
      break;
    case Ask::stopOn:
      go(s.nextStop(true));
      break;
    case Ask::start:
      go(FrameIndex(0));
      break;
    case Ask::end:
      go(FrameIndex(s.frames()));
      break;
    case Ask::pageBack:
      s.moveTo(s.originFrame - page);
      break;
    case Ask::pageOn:
      s.moveTo(s.originFrame + page);
      break;
    case Ask::closer:
      zoom(zoomKey);
      break;
    case Ask::farther:
      zoom(1.0 / zoomKey);
      break;
    case Ask::taller:
      s.zoomHeight(zoomKey);
      break;
    case Ask::lower:
      s.zoomHeight(1.0 / zoomKey);
      break;
    case Ask::whole:
      showAll();
      break;
    case Ask::selectAll:
      setSelection(frame_range(0, s.frames()));
      break;
    case Ask::activate:
      s.selectAbout(s.playhead);
      break;
    case Ask::drop:
      if (!s.drag.isOn() && !s.selection) {
        event->ignore();
        return;
      }
      s.select(s.drag.isOn() ? s.drag.giveUp() : std::nullopt);
      break;
    case Ask::nothing:
      QWidget::keyPressEvent(event);
      return;
  }
  event->accept();
}

void ClipView::focusInEvent(QFocusEvent* event) {
  state_->describe();
  QWidget::focusInEvent(event);
  update();
}

void ClipView::focusOutEvent(QFocusEvent* event) {
  QWidget::focusOutEvent(event);
  update();
}

}  // namespace fourbeat::ui
