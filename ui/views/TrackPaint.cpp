// SPDX-License-Identifier: GPL-3.0-or-later
#include "AxisPaint.h"
#include "HeatMap.h"
#include "SamplePages.h"
#include "Spectra.h"
#include "Theme.h"
#include "TrackState.h"
#include "WavePaint.h"

#include <QFontMetrics>
#include <QLocale>
#include <QPainter>
#include <QPainterPath>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace fourbeat::ui {

namespace {

using Ink = Theme::Ink;

QColor ink(Ink which, double alpha = 1.0) {
  QColor color = Theme::instance().color(which);
  color.setAlphaF(static_cast<float>(color.alphaF() * alpha));
  return color;
}

/// An ink thinned with the paper of the lanes, opaque: thin lines with alpha are slow to fill.
QColor thinned(Ink which, double part) {
  const QColor color = Theme::instance().color(which);
  const QColor paper = Theme::instance().color(Ink::surface);
  const auto mix = [part](int a, int b) {
    return static_cast<int>(std::lround(a * part + b * (1.0 - part)));
  };
  return {mix(color.red(), paper.red()), mix(color.green(), paper.green()),
          mix(color.blue(), paper.blue())};
}

Ink inkOf(TrackSpan::Kind kind) {
  switch (kind) {
    case TrackSpan::Kind::beat:
      return Ink::beat;
    case TrackSpan::Kind::mark:
      return Ink::mark;
    case TrackSpan::Kind::unusable:
      return Ink::error;
    case TrackSpan::Kind::segment:
      return Ink::trim;
    case TrackSpan::Kind::chuff:
      return Ink::beat;
  }
  return Ink::mark;
}

/// Raw samples are kept up to this many frames a device pixel, blocks of them above.
constexpr double samplesUpTo = 64.0;

}  // namespace

void TrackView::State::forgetTiles() {
  tiles.clear();
  spares.clear();
  spareMaker.stop();
  overviewImage = QImage();
}

void TrackView::State::paint(QPainter& painter, const QRect& rect) {
  const QRect inside = view.rect();
  const QRect left(0, 0, lanes.left(), readout.top());
  if (rect.intersects(left)) {
    painter.fillRect(left & rect, ink(Ink::window));
    painter.setFont(Theme::instance().smallFont());
    painter.setPen(ink(Ink::mutedText));
    const auto label = [&](const QRect& beside, const QString& text) {
      painter.drawText(QRect(8, beside.top(), lanes.left() - 12, beside.height()),
                       Qt::AlignVCenter | Qt::AlignLeft, text);
    };
    label(QRect(overview.left(), overview.top(), 1, overview.height() * 3 / 4), tr("Whole take"));
    if (markRow) label(QRect(band.left(), band.top(), 1, bandRow), tr("Marks"));
    if (pieceRow) {
      label(QRect(band.left(), band.top() + (markRow ? bandRow : 0), 1, bandRow), tr("Segments"));
    }
    paintScale(painter);
    for (int c = 1; c < channels(); ++c)
      painter.fillRect(QRect(0, lane(c).top(), lanes.left(), 1) & rect, ink(Ink::line));
    painter.fillRect(QRect(0, lanes.top(), lanes.left(), 1) & rect, ink(Ink::line));
  }
  if (rect.right() > lanes.right()) {
    painter.fillRect(
        QRect(lanes.right() + 1, 0, inside.right() - lanes.right(), readout.top()) & rect,
        ink(Ink::window));
  }
  if (rect.intersects(overview)) paintOverview(painter, rect);
  if (rect.intersects(ruler)) {
    drawTimeRuler(painter, ruler, axis(painter.device()->devicePixelRatioF()),
                  painter.device()->devicePixelRatioF(), unit);
    const double x = xOf(playhead);
    if (hasSound() && x > ruler.left() - 8 && x < ruler.right() + 8) {
      const double middle = x + 0.5;
      const double bottom = ruler.bottom() + 1;
      painter.save();
      painter.setClipRect(ruler, Qt::IntersectClip);
      painter.setRenderHint(QPainter::Antialiasing);
      painter.setPen(Qt::NoPen);
      painter.setBrush(ink(Ink::playhead));
      painter.drawPolygon(
          QPolygonF({{middle - 5.5, bottom - 8}, {middle + 5.5, bottom - 8}, {middle, bottom}}));
      painter.restore();
    }
  }
  if (!band.isEmpty() && rect.intersects(band)) paintBand(painter);
  if (rect.intersects(lanes)) {
    if (hasSound()) {
      paintLanes(painter, rect & lanes);
    } else {
      paintMessage(painter);
    }
  }
  if (rect.intersects(readout)) paintReadout(painter);
  // The rim: the ring of the focus.
  const QColor rim = view.hasFocus() ? ink(Ink::focus) : ink(Ink::line);
  const int width = view.hasFocus() ? 2 : 1;
  if (!view.hasFocus()) {
    for (const QRect& edge :
         {QRect(0, 0, inside.width(), 2), QRect(0, inside.bottom() - 1, inside.width(), 2),
          QRect(0, 0, 2, inside.height()), QRect(inside.right() - 1, 0, 2, inside.height())}) {
      painter.fillRect(edge & rect, ink(Ink::window));
    }
  }
  painter.fillRect(QRect(0, 0, inside.width(), width), rim);
  painter.fillRect(QRect(0, inside.bottom() + 1 - width, inside.width(), width), rim);
  painter.fillRect(QRect(0, 0, width, inside.height()), rim);
  painter.fillRect(QRect(inside.right() + 1 - width, 0, width, inside.height()), rim);
}

void TrackView::State::paintScale(QPainter& painter) {
  if (!hasSound()) return;
  const QFont font = Theme::instance().smallFont();
  painter.setFont(font);
  const QFontMetrics metrics(font);
  const int height = metrics.height();
  painter.save();
  painter.setClipRect(QRect(0, lanes.top(), lanes.left(), lanes.height()), Qt::IntersectClip);
  const auto label = [&](const QRect& area, double y, const QString& text) {
    painter.fillRect(QRectF(lanes.left() - 4, y, 4, 1), ink(Ink::mutedText));
    const double half = 0.5 * height;
    const double middle = std::clamp(y, area.top() + half, area.bottom() + 1 - half);
    painter.drawText(QRectF(0, middle - half, lanes.left() - 6, height),
                     Qt::AlignRight | Qt::AlignVCenter, text);
  };
  const FrequencyAxis frequencies{linear, rate()};
  for (int c = 0; c < channels(); ++c) {
    if (look != Look::spectrogram) {
      // Amplitudes at full scale and each halving (6 dB) that has room.
      const QRect wave = waveRect(c);
      const WaveScale scale{wave.height(), heightZoom};
      double last = wave.top() - 1e9;
      for (int halving = 0; halving < 60; ++halving) {
        const double y = wave.top() + scale.yOf(std::pow(0.5, halving));
        if (y < wave.top()) continue;
        if (wave.top() + 0.5 * wave.height() - y < 0.5 * height) break;
        if (y - last < height + 1) continue;
        last = std::max<double>(y, wave.top() + 0.5 * height);
        label(wave, y, halving == 0 ? tr("0 dB") : QLocale().toString(-6 * halving));
      }
    }
    if (look != Look::waveform) {
      const QRect area = spectrumRect(c);
      double last = 1e9;
      for (const double hz : frequencies.roundHz()) {
        const double place = frequencies.placeOf(hz);
        const double y = area.bottom() + 1 - place * area.height();
        if (last - y < height + 1) continue;
        last = std::min<double>(y, area.bottom() + 1 - 0.5 * height);
        if (last - 0.5 * height < area.top() - 0.5 * height) continue;
        label(area, std::min<double>(y, area.bottom()),
              hz >= 1000.0 ? tr("%1k").arg(QLocale().toString(hz / 1000.0, 'f', 0))
                           : QLocale().toString(hz, 'f', 0));
      }
    }
  }
  painter.restore();
}

void TrackView::State::paintOverview(QPainter& painter, const QRect& rect) {
  painter.save();
  painter.setClipRect(overview & rect);
  const double ratio = painter.device()->devicePixelRatioF();
  if (!hasSound()) {
    painter.fillRect(overview, ink(Ink::surface));
    painter.restore();
    return;
  }
  if (overviewImage.isNull() || overviewRatio != ratio) {
    const int width = std::max(1, static_cast<int>(std::lround(overview.width() * ratio)));
    const int height = std::max(1, static_cast<int>(std::lround(overview.height() * ratio)));
    overviewImage = QImage(width, height, QImage::Format_RGB32);
    overviewRatio = ratio;
    std::vector<audio::Peak> all(static_cast<std::size_t>(width) + 1);
    for (int c = 1; c <= channels(); ++c) {
      const auto peaks =
          take->peaks()->columns(c, FrameIndex(0), static_cast<double>(frames()) / width, width);
      if (!peaks) continue;
      for (std::size_t i = 0; i < peaks->size(); ++i) {
        audio::Peak& sum = all[i + 1];
        sum.min = std::min(sum.min, (*peaks)[i].min);
        sum.max = std::max(sum.max, (*peaks)[i].max);
        sum.rms = std::max(sum.rms, (*peaks)[i].rms);
      }
    }
    // As tall as the take is loud, like the lanes at first.
    drawPeaks(overviewImage, all,
              WaveScale{height, std::clamp(0.95 * std::pow(10.0, -loudestDb / 20.0), 1.0, 32.0)});
  }
  painter.drawImage(overview, overviewImage);
  const double scale = static_cast<double>(overview.width()) / static_cast<double>(frames());
  const auto place = [&](double frame) { return overview.left() + frame * scale; };
  if (selection) {
    const double from = place(static_cast<double>(selection->start.value()));
    const double to = place(static_cast<double>(selection->end.value()));
    painter.fillRect(QRectF(from, overview.top(), std::max(1.0, to - from), overview.height()),
                     ink(Ink::selectionVeil));
  }
  const double left = std::floor(place(originFrame));
  const double right = std::max(
      left + 6.0, std::ceil(std::min<double>(place(originFrame + lanes.width() * framesPerPixel),
                                             overview.right() + 1)));
  const QColor veil = ink(Ink::window, 0.6);
  painter.fillRect(
      QRectF(overview.left(), overview.top(), left - overview.left(), overview.height()), veil);
  painter.fillRect(QRectF(right, overview.top(), overview.right() + 1 - right, overview.height()),
                   veil);
  painter.setPen(QPen(ink(Ink::accent), 1.5));
  painter.setBrush(Qt::NoBrush);
  painter.drawRect(
      QRectF(left + 0.75, overview.top() + 0.75, right - left - 1.5, overview.height() - 1.5));
  painter.fillRect(QRectF(std::floor(place(static_cast<double>(playhead.value()))), overview.top(),
                          1, overview.height()),
                   ink(Ink::playhead));
  painter.restore();
}

void TrackView::State::paintBand(QPainter& painter) {
  painter.save();
  painter.setClipRect(band, Qt::IntersectClip);
  painter.fillRect(band, ink(Ink::window));
  const QFont font = Theme::instance().smallFont();
  painter.setFont(font);
  const QFontMetrics metrics(font);
  const FrameRange range = shownFrames();
  const auto margin = static_cast<qint64>(160.0 * framesPerPixel);
  // Where the label of a row ends; a label that has no room before the next point is left out.
  struct Point {
    double x = 0.0;
    const TrackSpan* span = nullptr;
  };
  std::vector<Point> points;
  std::array<double, 2> covered{-1e9, -1e9};
  double last_tick = -1e9;
  visitSpans(range.start.value() - margin, range.end.value(), [&](const TrackSpan& span) {
    const bool piece = inPieceRow(span);
    const int top = band.top() + (piece && markRow ? bandRow : 0);
    const double x = xOf(span.range.start);
    const QColor color = ink(inkOf(span.kind));
    if (span.range.empty()) {
      if (x - last_tick < 1.0) return;  // of the points in one pixel the first is shown
      const bool beat = span.kind == TrackSpan::Kind::beat;
      painter.fillRect(QRectF(x, beat ? top + bandRow - 7 : top + 2, 1, beat ? 7 : bandRow - 2),
                       color);
      last_tick = x;
      points.push_back({x, &span});
      return;
    }
    const double from = std::max<double>(x, band.left() - 4);
    const double to = std::min<double>(xOf(span.range.end), band.right() + 4);
    const QRectF bar(from, top + 1.5, std::max(2.0, to - from), bandRow - 4);
    QColor fill = color;
    fill.setAlphaF(0.16F);
    painter.fillRect(bar, fill);
    if (span.kind == TrackSpan::Kind::unusable) {
      painter.fillRect(bar, QBrush(color, Qt::BDiagPattern));
    }
    painter.fillRect(QRectF(x, bar.top(), 1, bar.height()), color);
    painter.fillRect(QRectF(xOf(span.range.end) - 1, bar.top(), 1, bar.height()), color);
    painter.fillRect(QRectF(bar.left(), bar.bottom() - 1, bar.width(), 1.5), color);
    double& row = covered[piece ? 1 : 0];
    const double label_from = std::max<double>({x, static_cast<double>(band.left()), row}) + 4;
    const double room = to - label_from - 3;
    if (room > 18 && !span.label.isEmpty()) {
      const QString text = metrics.elidedText(span.label, Qt::ElideRight, static_cast<int>(room));
      if (span.kind == TrackSpan::Kind::unusable) {
        painter.fillRect(QRectF(label_from - 2, bar.top(), metrics.horizontalAdvance(text) + 4.0,
                                bar.height() - 1),
                         ink(Ink::window));
      }
      painter.setPen(ink(Ink::text));
      painter.drawText(QRectF(label_from, top, room, bandRow - 2), Qt::AlignVCenter | Qt::AlignLeft,
                       text);
      row = label_from + metrics.horizontalAdvance(text);
    }
  });
  // Labels of points in the room up to the next point.
  painter.setPen(ink(Ink::text));
  for (std::size_t i = 0; i < points.size(); ++i) {
    const TrackSpan& span = *points[i].span;
    if (span.label.isEmpty()) continue;
    const bool piece = inPieceRow(span);
    double& row = covered[piece ? 1 : 0];
    const double from = points[i].x + 4;
    const double to = i + 1 < points.size() ? points[i + 1].x - 2 : band.right() + 200.0;
    if (from < row || to - from < 6.0) continue;
    const int width = metrics.horizontalAdvance(span.label);
    const bool beat = span.kind == TrackSpan::Kind::beat;
    if (width > to - from && (beat || to - from < 28)) continue;
    const int top = band.top() + (piece && markRow ? bandRow : 0);
    const QString text =
        metrics.elidedText(span.label, Qt::ElideRight, static_cast<int>(to - from));
    painter.drawText(QRectF(from, top, to - from, bandRow - 2), Qt::AlignVCenter | Qt::AlignLeft,
                     text);
    row = from + std::min<double>(width, to - from);
  }
  painter.fillRect(QRectF(band.left(), band.bottom(), band.width(), 1), ink(Ink::line));
  painter.restore();
}

std::unique_ptr<QImage> TrackView::State::blankTile(int height) {
  if (!spares.empty() && spares.back()->height() != height) spares.clear();
  spareHeight = height;
  spareMaker.start();
  if (spares.empty()) return std::make_unique<QImage>(tileWidth, height, QImage::Format_RGB32);
  std::unique_ptr<QImage> spare = std::move(spares.back());
  spares.pop_back();
  return spare;
}

void TrackView::State::makeSpare() {
  // What a column of tiles takes, and no more.
  if (spares.size() >= static_cast<std::size_t>(channels())) {
    spareMaker.stop();
    return;
  }
  spares.push_back(std::make_unique<QImage>(tileWidth, spareHeight, QImage::Format_RGB32));
  spares.back()->fill(0U);
}

const QImage& TrackView::State::tile(const TileKey& wanted, const TimeAxis& axis) {
  TileKey key = wanted;
  key.exact = true;
  if (const QImage* kept = tiles.object(key)) return *kept;
  const bool coarse_is_exact =
      axis.framesPerPixel >= static_cast<double>(take->peaks()->block_frames().value());
  const WaveScale scale{key.height, key.heightZoom};
  const double ratio = framesPerPixel / axis.framesPerPixel;
  // One that was drawn from coarse peaks makes room for the exact one, and is its paper.
  key.exact = false;
  const bool had_coarse = tiles.contains(key);
  key.exact = true;
  std::unique_ptr<QImage> image;
  const auto paper = [&]() -> QImage& {
    TileKey coarse = key;
    coarse.exact = false;
    if (had_coarse) image.reset(tiles.take(coarse));
    if (!image) image = blankTile(key.height);
    return *image;
  };
  bool drawn = false;
  // One column more in front, so that columns join across tiles.
  const double first_column = static_cast<double>(key.index) * tileWidth - 1.0;
  if (!coarse_is_exact) {
    SamplePages& pages = take->samples();
    if (axis.framesPerPixel < 1.0) {
      const double place = static_cast<double>(key.index) * tileWidth * axis.framesPerPixel;
      const auto first = std::max<qint64>(0, static_cast<qint64>(std::floor(place)) - 2);
      const auto end = std::min<qint64>(
          frames(), static_cast<qint64>(std::ceil(place + tileWidth * axis.framesPerPixel)) + 3);
      if (const auto samples = pages.samples(key.channel, frame_range(first, end))) {
        // A sample's dot stands in the middle of the pixel of its frame.
        const double step = 1.0 / axis.framesPerPixel;
        const double first_x =
            static_cast<double>(first) * step - static_cast<double>(key.index) * tileWidth + 0.5;
        drawSamples(paper(), *samples, first_x, step, scale, ratio);
        drawn = true;
      }
    } else {
      const auto depth = axis.framesPerPixel < samplesUpTo ? SamplePages::Depth::samples
                                                           : SamplePages::Depth::fine;
      if (const auto peaks = pages.columns(key.channel, first_column * axis.framesPerPixel,
                                           axis.framesPerPixel, tileWidth + 1, depth)) {
        drawPeaks(paper(), *peaks, scale);
        drawn = true;
      }
    }
  }
  if (!drawn) {
    key.exact = coarse_is_exact;
    if (const QImage* kept = tiles.object(key)) return *kept;
    const auto start = FrameIndex(std::llround(first_column * axis.framesPerPixel));
    if (const auto peaks =
            take->peaks()->columns(key.channel + 1, start, axis.framesPerPixel, tileWidth + 1)) {
      drawPeaks(paper(), *peaks, scale);
    } else {
      paper().fill(ink(Ink::surface));
    }
  }
  const QImage* made = image.release();
  tiles.insert(key, const_cast<QImage*>(made), static_cast<int>(made->sizeInBytes() / 1024 + 1));
  const QImage* kept = tiles.object(key);
  static const QImage none;
  return kept != nullptr ? *kept : none;
}

std::optional<SamplePages::Depth> TrackView::State::depth() const {
  if (!hasSound() || look == Look::spectrogram) return std::nullopt;
  const TimeAxis now = axis();
  if (now.framesPerPixel >= static_cast<double>(take->peaks()->block_frames().value()))
    return std::nullopt;
  const auto wanted =
      now.framesPerPixel < samplesUpTo ? SamplePages::Depth::samples : SamplePages::Depth::fine;
  const double frames_shown = 2.0 * lanes.width() * framesPerPixel;
  if (!take->samples().hasRoom(frames_shown, wanted)) return std::nullopt;
  return wanted;
}

qint64 TrackView::State::framesOfTile() const {
  return static_cast<qint64>(std::ceil(tileWidth * axis().framesPerPixel)) + 4;
}

FrameRange TrackView::State::framesOfShownTiles() const {
  const FrameRange shown = shownFrames();
  const FrameCount beside(framesOfTile());
  return {shown.start - beside, shown.end + beside};
}

bool TrackView::State::lacksPages() const {
  const auto wanted = depth();
  if (!wanted || take->samples().isBroken()) return false;
  const FrameRange range = framesOfShownTiles();
  const qint64 first = std::max<qint64>(0, range.start.value()) / SamplePages::pageFrames;
  const qint64 last = (std::min<qint64>(frames(), range.end.value()) - 1) / SamplePages::pageFrames;
  for (qint64 index = first; index <= last; ++index) {
    if (!take->samples().page(index, *wanted)) return true;
  }
  return false;
}

std::vector<SpectrumKey> TrackView::State::lackingSpectra() const {
  std::vector<SpectrumKey> keys;
  if (!hasSound() || look == Look::waveform || take->spectra().isBroken()) return keys;
  const TimeAxis now = axis();
  const auto width = static_cast<qint64>(std::ceil(lanes.width() * view.devicePixelRatioF()));
  const qint64 first = now.originPixel / tileWidth;
  const qint64 last =
      std::min(now.pixelOf(FrameIndex(frames() - 1)), now.originPixel + width - 1) / tileWidth;
  for (qint64 index = first; index <= last; ++index) {
    const SpectrumKey key{index, now.framesPerPixel, linear};
    if (!take->spectra().tile(key)) keys.push_back(key);
  }
  return keys;
}

void TrackView::State::wantMore() {
  if (!hasSound()) return;
  if (lacksPages()) {
    FrameRange range = framesOfShownTiles();
    const auto beside = static_cast<qint64>(0.5 * lanes.width() * framesPerPixel);
    range.start = range.start - FrameCount(beside);
    range.end = range.end + FrameCount(beside);
    take->samples().want(range, *depth());
  }
  if (look != Look::waveform) take->spectra().want(lackingSpectra());
}

void TrackView::State::spectrumDone(const SpectrumKey& key) {
  const TimeAxis now = axis();
  if (!hasSound() || key.framesPerColumn != now.framesPerPixel) return;
  const auto frame = [&](qint64 column) {
    return FrameIndex(static_cast<qint64>(static_cast<double>(column) * now.framesPerPixel));
  };
  updateBetween(frame(key.index * tileWidth), frame((key.index + 1) * tileWidth));
}

void TrackView::State::fitHeight() {
  if (heightFitted || !hasSound()) return;
  heightFitted = true;
  float loudest = 0.0F;
  for (int c = 1; c <= channels(); ++c) {
    const auto whole = take->peaks()->columns(c, FrameIndex(0), static_cast<double>(frames()), 1);
    if (whole) loudest = std::max({loudest, whole->front().max, -whole->front().min});
  }
  loudestDb = 20.0 * std::log10(std::max(1e-4, static_cast<double>(loudest)));
  // Quiet takes fill their lanes too; the scale beside the lanes says how loud they are.
  heightZoom = std::clamp(0.95 / std::max(1e-3, static_cast<double>(loudest)), 1.0, 32.0);
}

void TrackView::State::pageRead(FrameRange range) {
  if (!hasSound()) return;
  // Tiles drawn from coarse peaks give way when they are next painted.
  const FrameRange drawn = framesOfShownTiles();
  if (range.end < drawn.start || range.start > drawn.end) return;
  const FrameCount beside(framesOfTile());
  updateBetween(std::max(range.start - beside, drawn.start),
                std::min(range.end + beside, drawn.end));
}

const QImage* TrackView::State::spectrumTile(const TileKey& wanted) {
  TileKey key = wanted;
  key.exact = true;
  if (const QImage* kept = tiles.object(key)) return kept;
  const auto levels = take->spectra().tile({key.index, key.framesPerPixel, key.linear});
  if (!levels) return nullptr;
  // The colours end 6 dB under the loudest peak, of which a spectrum shows a part only.
  constexpr double span_db = 76.0;
  const HeatMap& map = heatMap(Theme::instance().isDark());
  std::array<QRgb, 256> colors{};
  const double floor_db = loudestDb - 6.0 - span_db;
  for (std::size_t i = 0; i < colors.size(); ++i) {
    const double db = static_cast<double>(i) * SpectrumTile::stepDb + SpectrumTile::quietDb;
    const double place = std::clamp((db - floor_db) / span_db, 0.0, 1.0);
    colors[i] = map[static_cast<std::size_t>(std::lround(place * 255.0))];
  }
  const std::vector<quint8>& from = levels->levels[static_cast<std::size_t>(key.channel)];
  auto image = std::make_unique<QImage>(tileWidth, key.height, QImage::Format_RGB32);
  std::array<quint8, SpectrumTile::columns> loudest{};
  for (int y = 0; y < key.height; ++y) {
    // Row 0 of the levels is at the bottom of the lane; rows that share a line: the loudest shows.
    const int low = (key.height - 1 - y) * SpectrumTile::rows / key.height;
    const int high = std::max(low + 1, (key.height - y) * SpectrumTile::rows / key.height);
    std::copy_n(from.data() + static_cast<std::ptrdiff_t>(low) * SpectrumTile::columns,
                SpectrumTile::columns, loudest.begin());
    for (int row = low + 1; row < high; ++row) {
      const quint8* levels_of_row =
          from.data() + static_cast<std::ptrdiff_t>(row) * SpectrumTile::columns;
      for (std::size_t x = 0; x < loudest.size(); ++x)
        loudest[x] = std::max(loudest[x], levels_of_row[x]);
    }
    auto* line = reinterpret_cast<QRgb*>(image->scanLine(y));
    for (std::size_t x = 0; x < loudest.size(); ++x)
      line[x] = colors[loudest[x]];
  }
  const int kilobytes = static_cast<int>(image->sizeInBytes() / 1024 + 1);
  tiles.insert(key, image.release(), kilobytes);
  return tiles.object(key);
}

void TrackView::State::paintStandIn(QPainter& painter, const TileKey& key, const QRect& at) {
  painter.fillRect(at, ink(Ink::surface));
  for (const double zoom : zoomsBefore) {
    if (zoom == key.framesPerPixel) continue;
    const double ratio = key.framesPerPixel / zoom;
    const double from = static_cast<double>(key.index * tileWidth) * ratio;
    const double to = from + tileWidth * ratio;
    // A stretch of many tiles of another zoom would cost more than it shows.
    if (ratio > 16.0) continue;
    bool any = false;
    for (auto index = static_cast<qint64>(std::floor(from / tileWidth));
         static_cast<double>(index * tileWidth) < to; ++index) {
      TileKey other = key;
      other.framesPerPixel = zoom;
      other.index = index;
      other.exact = true;
      const QImage* image = tiles.object(other);
      if (image == nullptr) continue;
      any = true;
      const double left = static_cast<double>(index * tileWidth);
      const double first = std::max(from, left);
      const double last = std::min(to, left + tileWidth);
      painter.drawImage(
          QRectF(at.left() + (first - from) / ratio, at.top(), (last - first) / ratio, at.height()),
          *image, QRectF(first - left, 0, last - first, image->height()));
    }
    if (any) return;
  }
}

void TrackView::State::paintLane(QPainter& painter, int channel, const QRect& dirty, double ratio) {
  if (look != Look::spectrogram) {
    paintTiles(painter, channel, waveRect(channel), dirty, ratio, false);
  }
  if (look != Look::waveform) {
    paintTiles(painter, channel, spectrumRect(channel), dirty, ratio, true);
  }
}

void TrackView::State::paintTiles(QPainter& painter, int channel, const QRect& at,
                                  const QRect& dirty, double ratio, bool spectrum) {
  const QRect seen = at & dirty;
  if (seen.isEmpty()) return;
  const TimeAxis now = axis(ratio);
  const int top = static_cast<int>(std::lround((at.top() - lanes.top()) * ratio));
  const int bottom = static_cast<int>(std::lround((at.bottom() + 1 - lanes.top()) * ratio));
  const auto from = static_cast<qint64>(std::floor((seen.left() - lanes.left()) * ratio));
  const auto to = static_cast<qint64>(std::ceil((seen.right() + 1 - lanes.left()) * ratio));
  const auto floor_div = [](qint64 a, qint64 b) { return a >= 0 ? a / b : -((-a + b - 1) / b); };
  const qint64 first_tile = floor_div(now.originPixel + from, tileWidth);
  const qint64 last_tile = floor_div(now.originPixel + to - 1, tileWidth);
  TileKey key;
  key.framesPerPixel = now.framesPerPixel;
  key.heightZoom = heightZoom;
  key.channel = channel;
  key.height = bottom - top;
  key.spectrum = spectrum;
  key.linear = spectrum && linear;
  if (spectrum) key.heightZoom = 1.0;
  for (qint64 i = first_tile; i <= last_tile; ++i) {
    key.index = i;
    const QPoint corner(static_cast<int>(i * tileWidth - now.originPixel), top);
    if (!spectrum) {
      painter.drawImage(corner, tile(key, now));
    } else if (const QImage* image = spectrumTile(key)) {
      painter.drawImage(corner, *image);
    } else {
      paintStandIn(painter, key, QRect(corner, QSize(tileWidth, key.height)));
    }
  }
}

void TrackView::State::paintLanes(QPainter& painter, const QRect& rect) {
  const double ratio = painter.device()->devicePixelRatioF();
  painter.save();
  painter.setClipRect(rect, Qt::IntersectClip);
  // From here on in device pixels from the corner of the lanes.
  painter.translate(lanes.topLeft());
  painter.scale(1.0 / ratio, 1.0 / ratio);
  const std::vector<float> heard = view.gains();
  const int width = static_cast<int>(std::lround(lanes.width() * ratio));
  const int height = static_cast<int>(std::lround(lanes.height() * ratio));
  const int hair = std::max(1, static_cast<int>(ratio));
  for (int c = 0; c < channels(); ++c) {
    paintLane(painter, c, rect, ratio);
    const QRect at = lane(c);
    const int top = static_cast<int>(std::lround((at.top() - lanes.top()) * ratio));
    const int bottom = static_cast<int>(std::lround((at.bottom() + 1 - lanes.top()) * ratio));
    if (bottom < 0 || top > height) continue;
    if (heard[static_cast<std::size_t>(c)] == 0.0F) {
      painter.fillRect(QRect(0, top, width, bottom - top), ink(Ink::window, 0.65));
    }
    painter.fillRect(QRect(0, top, width, hair), ink(Ink::line));
  }
  const TimeAxis now = axis(ratio);
  const qint64 end_x = now.xOf(FrameIndex(frames()));
  if (end_x < width) {
    painter.fillRect(QRect(static_cast<int>(end_x), 0, width - static_cast<int>(end_x), height),
                     ink(Ink::window));
  }
  paintSpansInLanes(painter, rect, ratio);
  if (trim) paintTrim(painter, ratio);
  if (loop) paintLoop(painter, ratio);
  const auto clamp_x = [&](FrameIndex frame) {
    return static_cast<int>(std::clamp<qint64>(now.xOf(frame), -16, width + 16));
  };
  if (selection) {
    const int from = clamp_x(selection->start);
    const int to = std::max(from + 1, clamp_x(selection->end));
    drawSelected(painter, QRect(from, 0, to - from, height), hair);
  }
  const qint64 head = now.xOf(playhead);
  if (head >= -hair && head <= width + hair) {
    drawUpright(painter, QRect(static_cast<int>(head), 0, hair, height), ink(Ink::playhead));
  }
  painter.restore();
}

void TrackView::State::paintSpansInLanes(QPainter& painter, const QRect& dirty, double ratio) {
  const TimeAxis now = axis(ratio);
  const int height = static_cast<int>(std::lround(lanes.height() * ratio));
  const int width = static_cast<int>(std::lround(lanes.width() * ratio));
  const int hair = std::max(1, static_cast<int>(ratio));
  const double from_x = (dirty.left() - lanes.left()) * ratio - hair;
  const double to_x = (dirty.right() + 1 - lanes.left()) * ratio + hair;
  const auto from = static_cast<qint64>(std::floor(now.placeAt(from_x)));
  const auto to = static_cast<qint64>(std::ceil(now.placeAt(to_x)));
  // Beats too dense to be told apart stand in the band alone.
  const auto beats_from =
      std::lower_bound(beatFrames.begin(), beatFrames.end(), shownFrames().start.value());
  const auto beats_to = std::upper_bound(beats_from, beatFrames.end(), shownFrames().end.value());
  const bool shows_beats = static_cast<double>(beats_to - beats_from) * 6.0 < lanes.width();
  const auto clamp_x = [&](FrameIndex frame) {
    return static_cast<int>(std::clamp<qint64>(now.xOf(frame), -16, width + 16));
  };
  visitSpans(from, to, [&](const TrackSpan& span) {
    const int x = clamp_x(span.range.start);
    const QColor color = thinned(inkOf(span.kind), 0.75);
    if (span.range.empty()) {
      if (span.kind == TrackSpan::Kind::beat && !shows_beats) return;
      painter.fillRect(QRect(x, 0, hair, height), color);
      return;
    }
    const int end = std::max(x + hair, clamp_x(span.range.end));
    if (span.kind == TrackSpan::Kind::unusable) {
      QBrush hatch(ink(Ink::error, 0.35), Qt::BDiagPattern);
      // Patterns start at the paper's corner, not the widget's: this keeps them still on scrolling.
      hatch.setTransform(QTransform::fromTranslate(static_cast<double>(-(now.originPixel % 8)), 0));
      painter.fillRect(QRect(x, 0, end - x, height), hatch);
    }
    painter.fillRect(QRect(x, 0, hair, height), thinned(inkOf(span.kind), 0.55));
    painter.fillRect(QRect(end - hair, 0, hair, height), thinned(inkOf(span.kind), 0.55));
  });
}

void TrackView::State::paintTrim(QPainter& painter, double ratio) {
  const TimeAxis now = axis(ratio);
  const int height = static_cast<int>(std::lround(lanes.height() * ratio));
  const int width = static_cast<int>(std::lround(lanes.width() * ratio));
  const auto clamp_x = [&](FrameIndex frame) {
    return static_cast<int>(std::clamp<qint64>(now.xOf(frame), -(1 << 20), 1 << 20));
  };
  const int start = clamp_x(trim->range.start);
  const int end = clamp_x(trim->range.end);
  const int in = clamp_x(trim->range.start + trim->fadeIn);
  const int out = clamp_x(trim->range.end - trim->fadeOut);
  const QColor veil = ink(Ink::window, 0.6);
  if (start > 0) painter.fillRect(QRect(0, 0, std::min(start, width), height), veil);
  if (end < width) {
    const int from = std::max(0, end);
    painter.fillRect(QRect(from, 0, width - from, height), veil);
  }
  painter.save();
  painter.setRenderHint(QPainter::Antialiasing);
  const QColor line = ink(Ink::trim);
  // What a fade takes away, and its ramp.
  painter.setPen(Qt::NoPen);
  painter.setBrush(veil);
  if (in > start && in > 0 && start < width) {
    painter.drawPolygon(QPolygonF({QPointF(start, 0), QPointF(in, 0), QPointF(start, height)}));
  }
  if (end > out && end > 0 && out < width) {
    painter.drawPolygon(QPolygonF({QPointF(out, 0), QPointF(end, 0), QPointF(end, height)}));
  }
  painter.setPen(QPen(line, 1.5 * ratio));
  if (in > start) painter.drawLine(QPointF(start, height), QPointF(in, 0));
  if (end > out) painter.drawLine(QPointF(out, 0), QPointF(end, height));
  painter.setRenderHint(QPainter::Antialiasing, false);
  const int thick = static_cast<int>(std::lround(2.0 * ratio));
  drawUpright(painter, QRect(start, 0, thick, height), line);
  drawUpright(painter, QRect(end - thick, 0, thick, height), line);
  // Tabs of the edges point into the segment; squares are the ends of the fades.
  painter.setRenderHint(QPainter::Antialiasing);
  painter.setPen(Qt::NoPen);
  painter.setBrush(line);
  const double tab = 8.0 * ratio;
  const double tab_top = gripSize * ratio + 2.0 * ratio;
  painter.drawPolygon(QPolygonF({QPointF(start, tab_top), QPointF(start + tab, tab_top + tab / 2),
                                 QPointF(start, tab_top + tab)}));
  painter.drawPolygon(QPolygonF(
      {QPointF(end, tab_top), QPointF(end - tab, tab_top + tab / 2), QPointF(end, tab_top + tab)}));
  painter.setPen(QPen(line, 1.5 * ratio));
  painter.setBrush(ink(Ink::surface));
  const double box = 7.0 * ratio;
  painter.drawRect(QRectF(in - box / 2, 3.0 * ratio, box, box));
  painter.drawRect(QRectF(out - box / 2, 3.0 * ratio, box, box));
  painter.restore();
}

void TrackView::State::paintLoop(QPainter& painter, double ratio) {
  const TimeAxis now = axis(ratio);
  const int height = static_cast<int>(std::lround(lanes.height() * ratio));
  const int width = static_cast<int>(std::lround(lanes.width() * ratio));
  const auto clamp_x = [&](FrameIndex frame) {
    return static_cast<int>(std::clamp<qint64>(now.xOf(frame), -(1 << 20), 1 << 20));
  };
  const int start = clamp_x(loop->range.start);
  const int end = clamp_x(loop->range.end);
  const QColor line = ink(Ink::loop);
  const int thick = static_cast<int>(std::lround(2.0 * ratio));
  const int bar = static_cast<int>(std::lround(4.0 * ratio));
  const auto fill = [&](int from, int to, int top, int bottom, const QBrush& brush) {
    const int left = std::max(-32, from);
    const int right = std::min(width + 32, to);
    if (right > left) painter.fillRect(QRect(left, top, right - left, bottom - top), brush);
  };
  // The blend: hatched where it is heard, in outline where what is blended in comes from.
  const FrameIndex heard_from =
      loop->crossfadeAtStart ? loop->range.start : loop->range.end - loop->crossfade;
  const FrameIndex taken_from =
      loop->crossfadeAtStart ? loop->range.end : loop->range.start - loop->crossfade;
  if (loop->crossfade > FrameCount(0)) {
    QBrush hatch(ink(Ink::loop, 0.55), Qt::FDiagPattern);
    hatch.setTransform(QTransform::fromTranslate(static_cast<double>(-(now.originPixel % 8)), 0));
    const int from = clamp_x(heard_from);
    const int to = clamp_x(heard_from + loop->crossfade);
    fill(from, to, 0, height, hatch);
    QBrush faint(ink(Ink::loop, 0.35), Qt::Dense6Pattern);
    faint.setTransform(hatch.transform());
    fill(clamp_x(taken_from), clamp_x(taken_from + loop->crossfade), 0, height, faint);
  }
  drawUpright(painter, QRect(start, 0, thick, height), line);
  drawUpright(painter, QRect(end - thick, 0, thick, height), line);
  fill(start, end, height - bar, height, line);
  painter.save();
  painter.setRenderHint(QPainter::Antialiasing);
  painter.setPen(Qt::NoPen);
  painter.setBrush(line);
  const double tab = 9.0 * ratio;
  const double tab_bottom = height - gripSize * ratio - 2.0 * ratio;
  painter.drawPolygon(QPolygonF({QPointF(start, tab_bottom - tab), QPointF(start + tab, tab_bottom),
                                 QPointF(start, tab_bottom)}));
  painter.drawPolygon(QPolygonF(
      {QPointF(end, tab_bottom - tab), QPointF(end - tab, tab_bottom), QPointF(end, tab_bottom)}));
  const int grip =
      clamp_x(loop->crossfadeAtStart ? loop->range.start + loop->crossfade : heard_from);
  painter.setPen(QPen(line, 1.5 * ratio));
  painter.setBrush(ink(Ink::surface));
  const double size = 8.0 * ratio;
  const double middle = height - 7.0 * ratio;
  painter.drawPolygon(
      QPolygonF({QPointF(grip, middle - size / 2), QPointF(grip + size / 2, middle),
                 QPointF(grip, middle + size / 2), QPointF(grip - size / 2, middle)}));
  painter.restore();
}

void TrackView::State::paintReadout(QPainter& painter) {
  painter.save();
  painter.setClipRect(readout, Qt::IntersectClip);
  painter.fillRect(readout, ink(Ink::raised));
  painter.fillRect(QRect(readout.left(), readout.top(), readout.width(), 1), ink(Ink::line));
  if (hasSound()) {
    painter.setFont(Theme::instance().smallFont());
    painter.setPen(ink(Ink::text));
    const QRect inside = readout.adjusted(8, 1, -8, 0);
    const QString place = tr("Playhead %1").arg(placed(playhead));
    const QString whole = selection ? place + QStringLiteral("     ") + selectionText() : place;
    painter.drawText(inside, Qt::AlignVCenter | Qt::AlignLeft, whole);
    const FrameRange range = shownFrames();
    const QString scale =
        framesPerPixel >= 1.0
            ? tr("1 pixel = %1 frames")
                  .arg(QLocale().toString(framesPerPixel, 'f', framesPerPixel < 100.0 ? 1 : 0))
            : tr("1 frame = %1 pixels").arg(QLocale().toString(1.0 / framesPerPixel, 'f', 1));
    const QString right =
        tr("Shown %1     %2")
            .arg(lengthText(range.length(), rate(), unit, timeDecimals(framesPerPixel, rate())),
                 scale);
    const QFontMetrics metrics = painter.fontMetrics();
    if (metrics.horizontalAdvance(whole) + metrics.horizontalAdvance(right) + 24 < inside.width()) {
      painter.setPen(ink(Ink::mutedText));
      painter.drawText(inside, Qt::AlignVCenter | Qt::AlignRight, right);
    }
  }
  painter.restore();
}

void TrackView::State::paintMessage(QPainter& painter) {
  painter.save();
  painter.fillRect(lanes, ink(Ink::surface));
  const Theme& theme = Theme::instance();
  painter.setFont(theme.bodyFont());
  const QRect middle = lanes.adjusted(24, 12, -24, -12);
  if (!take) {
    painter.setPen(ink(Ink::mutedText));
    painter.drawText(middle, Qt::AlignCenter | Qt::TextWordWrap, emptyText);
  } else if (!take->trouble().isEmpty()) {
    painter.setPen(ink(Ink::error));
    painter.drawText(middle, Qt::AlignCenter | Qt::TextWordWrap, take->trouble());
  } else {
    const int percent = static_cast<int>(std::lround(take->progress() * 100.0));
    painter.setPen(ink(Ink::mutedText));
    painter.drawText(middle, Qt::AlignCenter | Qt::TextWordWrap,
                     tr("Reading the take: %1 %").arg(percent));
    const int width = std::min(280, middle.width());
    const QRect bar(middle.center().x() - width / 2,
                    middle.center().y() + painter.fontMetrics().height(), width, 6);
    painter.fillRect(bar, ink(Ink::raised));
    painter.fillRect(QRect(bar.left(), bar.top(), static_cast<int>(width * take->progress()), 6),
                     ink(Ink::accent));
  }
  painter.restore();
}

}  // namespace fourbeat::ui
