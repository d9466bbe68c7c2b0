// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "SeamQueueModel.h"

#include "fourbeat/work/hearing.h"
#include "fourbeat/work/segments.h"

#include <QObject>
#include <map>
#include <memory>
#include <optional>
#include <vector>

namespace fourbeat::ui {

/// What the review of seams is doing: which seam, how it is heard, what was found and decided. It
/// changes the project by Workspace::perform() alone; whatever takes long is a job.
class ReviewDesk : public QObject {
  Q_OBJECT
 public:
  ReviewDesk(Workspace& workspace, QObject* parent);
  ~ReviewDesk() override;

  [[nodiscard]] SeamQueueModel& queue() { return queue_; }
  /// The row of the seam under review, or -1.
  [[nodiscard]] int row() const;
  /// Goes to a row; play: hears it as soon as it is rendered.
  void go(int row, bool play);
  /// Goes on by so many rows, all round, and hears it.
  void step(int by);

  /// The seam under review as it is now; null while it is being rendered.
  [[nodiscard]] std::shared_ptr<const work::SeamStudy> study() const;
  /// True once the seam has been heard as it is now.
  [[nodiscard]] bool heard() const;

  [[nodiscard]] work::Way way() const { return way_; }
  /// True when there is that way to hear the seam.
  [[nodiscard]] bool canHear(work::Way way) const;
  void setWay(work::Way way);
  /// The rate and depth to hear it stored at; none: those of the fit.
  void setEncoding(std::optional<fit::Encoding> encoding);
  [[nodiscard]] bool repeats() const { return repeats_; }
  void setRepeats(bool repeats);

  void again();
  void stop();
  /// Notes what was decided, and goes on to the next seam that nobody has decided on.
  void judge(model::VerdictKind kind, const QString& note);
  /// Gives the piece the next of the loops found in its material, and hears it.
  void nextLoop();

  /// True when another loop of the same piece was heard before.
  [[nodiscard]] bool canCompare() const;
  /// Plays the seam and the one heard before it, in an order that is not told until choose().
  void compare();
  [[nodiscard]] bool isChoosing() const { return pair_.has_value(); }
  void choose(bool second);
  /// True when the loop heard before was chosen, and is not the piece's own.
  [[nodiscard]] bool canTakeChosen() const;
  void takeChosen();
  /// What blind orders are drawn from.
  void setSeed(quint64 seed) { seed_ = seed; }

  /// The last thing worth telling; empty for none.
  [[nodiscard]] const QString& told() const { return told_; }
  /// Where the seam that plays has come to, from the wrap, in frames; none: it does not play.
  [[nodiscard]] std::optional<std::int64_t> place(FrameIndex played) const;

 Q_SIGNALS:
  void changed();

 private:
  using Study = std::shared_ptr<const work::SeamStudy>;
  void refresh();
  void makeStudy();
  void keepStudy(Study study);
  void play();
  void tell(const QString& line);
  void takeFound(const model::Piece& piece);
  void setLoop(const QString& step, const model::Loop& loop);
  [[nodiscard]] work::HearingPlan plan() const;
  [[nodiscard]] work::Way nearest(const work::Hearing& hearing, work::Way way) const;
  [[nodiscard]] QString title() const;

  Workspace& workspace_;
  SeamQueueModel queue_;
  std::optional<model::PieceKey> key_;
  std::optional<model::Piece> piece_;  ///< as it is now
  std::string recipe_;                 ///< its recipe
  Study study_;
  std::string asked_;     ///< what the study that is there, or on its way, was made from
  std::string madeFrom_;  ///< what the one that is there was made from
  bool playWhenMade_ = false;
  bool repeats_ = false;
  work::Way way_;
  std::optional<fit::Encoding> encoding_;
  std::optional<model::PieceKey> heardKey_;  ///< the seam heard last, and its recipe then
  std::string heardRecipe_;
  work::HeardAs heardAs_;
  std::map<model::PieceKey, Study> before_;  ///< the seam of each piece heard before this one
  std::map<std::string, std::vector<model::Loop>> found_;  ///< by the recipe without a loop
  std::optional<work::BlindPair> pair_;
  Study chosen_;
  quint64 seed_;
  QString told_;
};

}  // namespace fourbeat::ui
