// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "AxisHand.h"
#include "SamplePages.h"
#include "Spectra.h"
#include "TakeMedia.h"
#include "TimeAxis.h"
#include "TrackView.h"

#include <QBasicTimer>
#include <QCache>
#include <QImage>
#include <QPointer>
#include <QStringList>
#include <QTimer>
#include <algorithm>
#include <functional>
#include <memory>
#include <optional>
#include <vector>

class QLabel;
class QScrollBar;
class QToolButton;

namespace fourbeat::ui {

/// One rendered stretch of one lane.
struct TileKey {
  qint64 index = 0;  ///< counts tiles of TrackView::State::tileWidth device pixels from frame 0
  double framesPerPixel = 1.0;
  double heightZoom = 1.0;
  int channel = 0;
  int height = 0;
  bool spectrum = false;
  bool linear = false;  ///< frequencies of a spectrogram
  bool exact = false;   ///< drawn from what this zoom deserves, not from coarse peaks
  bool operator==(const TileKey&) const = default;
};
size_t qHash(const TileKey& key, size_t seed = 0);

/// A frame brought into 0 … frames.
[[nodiscard]] inline FrameIndex clampFrame(FrameIndex frame, qint64 frames) {
  return FrameIndex(std::clamp<qint64>(frame.value(), 0, frames));
}

/// The inside of a TrackView: what is shown and how it is laid out (TrackView.cpp), how it is
/// painted (TrackPaint.cpp), what it does with pointer and keyboard (TrackInput.cpp). x and y are
/// logical pixels of the widget unless said otherwise.
struct TrackView::State {
  explicit State(TrackView& owner);

  static constexpr int tileWidth = 256;  ///< device pixels
  static constexpr int snapReach = 6;
  static constexpr int gripSize = 14;
  static constexpr int headWidth = 148;
  static constexpr int overviewHeight = 40;
  static constexpr int bandRow = 19;
  static constexpr int leastLane = 44;

  enum class Drag {
    none,
    pressed,  ///< in the lanes, not yet moved far enough to select
    label,    ///< on a label of the band
    select,
    selectionStart,
    selectionEnd,
    trimStart,
    trimEnd,
    fadeIn,
    fadeOut,
    loopStart,
    loopEnd,
    crossfade,
    spanStart,
    spanEnd,
    overview,
    pan
  };

  struct Head {
    QPointer<QWidget> widget;
    QLabel* name = nullptr;
    QToolButton* mute = nullptr;
    QToolButton* solo = nullptr;
  };

  // What is shown.
  TrackView& view;
  std::shared_ptr<TakeMedia> take;
  QString emptyText;
  QStringList channelNames;
  std::vector<TrackSpan> spans;    ///< by start
  std::vector<qint64> latestEnd;   ///< of the spans up to each
  std::vector<qint64> stops;       ///< starts and ends of spans, sorted, once each
  std::vector<qint64> beatFrames;  ///< sorted
  std::optional<TrackTrim> trim;
  std::optional<TrackLoop> loop;
  Look look = Look::waveform;
  TimeUnit unit = TimeUnit::time;
  bool linear = false;  ///< frequencies
  std::optional<FrameRange> selection;
  FrameIndex playhead;

  // Where it is shown.
  double framesPerPixel = 1.0;  ///< of a logical pixel
  double originFrame = 0.0;     ///< at the left edge; stands on a device pixel
  double heightZoom = 1.0;
  bool heightFitted = false;
  double loudestDb = 0.0;  ///< of the take's peaks
  bool showsAll = true;
  int scrollY = 0;
  QRect overview, ruler, band, lanes, readout;
  bool markRow = false;
  bool pieceRow = false;
  std::vector<Head> heads;
  QToolButton* unitButton = nullptr;
  QToolButton* frequencyButton = nullptr;
  QScrollBar* laneBar = nullptr;

  // What is kept for painting.
  QCache<TileKey, QImage> tiles;
  /// Images for the next tiles, their memory touched between the frames: a page of memory that is
  /// touched first while a frame is painted can cost more than what is painted on it.
  std::vector<std::unique_ptr<QImage>> spares;
  int spareHeight = 0;
  QTimer spareMaker;
  std::vector<double> zoomsBefore;  ///< frames of a device pixel, the newest first
  QImage overviewImage;
  double overviewRatio = 0.0;

  // The gesture.
  Drag drag = Drag::none;
  QPoint pressedAt;
  QPoint movedTo;
  FrameIndex pressFrame;
  FrameIndex grabbed;  ///< where the handle stood
  SelectionAnchor<FrameRange> anchor;
  qint64 spanId = 0;
  FrameRange spanBefore;
  std::optional<TrackTrim> trimBefore;
  std::optional<TrackLoop> loopBefore;
  std::optional<FrameRange> selectionBefore;
  double originBefore = 0.0;
  bool unsnapped = false;
  bool dragMoved = false;
  QBasicTimer edgeTimer;
  QPoint hover{-1, -1};

  [[nodiscard]] qint64 frames() const { return take ? take->info().frames.value() : 0; }
  [[nodiscard]] int channels() const { return take ? take->info().channels : 0; }
  [[nodiscard]] double rate() const { return take ? take->info().sample_rate_hz : 48000.0; }
  [[nodiscard]] bool hasSound() const { return take && take->peaks() && frames() > 0; }

  // Layout and zoom.
  void layOut();
  void rebuildHeads();
  void placeHeads();
  void nameHeads();
  [[nodiscard]] int laneHeight() const;
  [[nodiscard]] QRect lane(int channel) const;
  [[nodiscard]] QRect waveRect(int channel) const;
  [[nodiscard]] QRect spectrumRect(int channel) const;
  [[nodiscard]] TimeAxis axis(double pixelRatio) const;
  [[nodiscard]] TimeAxis axis() const { return axis(view.devicePixelRatioF()); }
  [[nodiscard]] double allFramesPerPixel() const;
  [[nodiscard]] double leastFramesPerPixel() const;
  void moveTo(double frame);
  void zoomTo(double framesPerLogicalPixel, double x);
  void zoomHeight(double factor);
  void fitAll();
  void shown();  ///< the range shown has changed
  [[nodiscard]] FrameRange shownFrames() const;

  // Places.
  [[nodiscard]] FrameIndex frameAt(int x) const;
  [[nodiscard]] double xOf(FrameIndex frame) const;  ///< logical, in the widget
  [[nodiscard]] int channelAt(int y) const;

  // Spans.
  void takeSpans(std::vector<TrackSpan> given);
  [[nodiscard]] const TrackSpan* spanAt(QPoint at) const;
  [[nodiscard]] const TrackSpan* smallestSpanAt(FrameIndex frame) const;
  [[nodiscard]] bool inPieceRow(const TrackSpan& span) const;
  [[nodiscard]] std::optional<FrameIndex> nextStop(FrameIndex from, bool forward) const;
  /// Calls `use` for the spans that touch a stretch, in order of their starts.
  void visitSpans(qint64 start, qint64 end, const std::function<void(const TrackSpan&)>& use) const;

  // Gestures.
  struct Grip {
    Drag drag = Drag::none;
    FrameIndex frame;
    qint64 spanId = 0;
  };
  [[nodiscard]] std::optional<Grip> gripAt(QPoint at) const;
  void showCursor(QPoint at);
  void dragTo(QPoint at, bool finished);
  void giveUpDrag();
  void startEdgeScroll(QPoint at);
  [[nodiscard]] FrameIndex snapped(FrameIndex frame, int y) const;
  void select(std::optional<FrameRange> range);
  void updateBetween(FrameIndex a, FrameIndex b);
  void updatePlayhead(FrameIndex frame);
  void placePlayhead(FrameIndex frame, bool selecting);
  void reveal(FrameIndex frame);
  void moveOverview(QPoint at);
  void describe();

  // Painting.
  void paint(QPainter& painter, const QRect& rect);
  void paintScale(QPainter& painter);
  void paintOverview(QPainter& painter, const QRect& rect);
  void paintBand(QPainter& painter);
  void paintLanes(QPainter& painter, const QRect& rect);
  void paintLane(QPainter& painter, int channel, const QRect& dirty, double ratio);
  void paintTiles(QPainter& painter, int channel, const QRect& area, const QRect& dirty,
                  double ratio, bool spectrum);
  void paintSpansInLanes(QPainter& painter, const QRect& dirty, double ratio);
  void paintTrim(QPainter& painter, double ratio);
  void paintLoop(QPainter& painter, double ratio);
  void paintReadout(QPainter& painter);
  void paintMessage(QPainter& painter);
  [[nodiscard]] std::unique_ptr<QImage> blankTile(int height);
  void makeSpare();
  [[nodiscard]] const QImage& tile(const TileKey& key, const TimeAxis& axis);
  [[nodiscard]] const QImage* spectrumTile(const TileKey& key);
  /// In the place of a spectrogram that is not there yet: what another zoom knew of it.
  void paintStandIn(QPainter& painter, const TileKey& key, const QRect& at);
  /// How deep this zoom looks under the blocks of the peaks; nothing where they will do, or where
  /// there is no room for more.
  [[nodiscard]] std::optional<SamplePages::Depth> depth() const;
  /// A tile is drawn whole: with it, frames beside those shown are needed.
  [[nodiscard]] qint64 framesOfTile() const;
  [[nodiscard]] FrameRange framesOfShownTiles() const;
  [[nodiscard]] bool lacksPages() const;
  [[nodiscard]] std::vector<SpectrumKey> lackingSpectra() const;
  void wantMore();
  void spectrumDone(const SpectrumKey& key);
  void fitHeight();
  void pageRead(FrameRange range);
  void forgetTiles();
  [[nodiscard]] QString placed(FrameIndex frame) const;
  [[nodiscard]] QString selectionText() const;

  std::vector<QMetaObject::Connection> links;
};

}  // namespace fourbeat::ui
