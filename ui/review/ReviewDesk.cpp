// SPDX-License-Identifier: GPL-3.0-or-later
#include "ReviewDesk.h"

#include "Wording.h"
#include "Workspace.h"

#include "fourbeat/work/segments.h"

#include <QRandomGenerator>
#include <algorithm>
#include <cmath>

namespace fourbeat::ui {

namespace {

constexpr double betweenRounds_s = 0.5;  ///< silence before what repeats begins again
const QString playKey = QStringLiteral("review");

/// The recipe of a piece's material.
std::string materialOf(const model::Project& project, model::Piece piece) {
  piece.loop.reset();
  return model::recipe_hash(project, piece);
}

/// A clip with a moment of silence behind it.
std::shared_ptr<const audio::Clip> paused(const audio::Clip& clip) {
  auto longer = std::make_shared<audio::Clip>(clip);
  const auto pause = static_cast<std::size_t>(betweenRounds_s * clip.sample_rate_hz);
  longer->samples.resize(longer->samples.size() + pause, 0.0F);
  return longer;
}

}  // namespace

ReviewDesk::ReviewDesk(Workspace& workspace, QObject* parent)
    : QObject(parent),
      workspace_(workspace),
      queue_(workspace, nullptr),
      seed_(QRandomGenerator::global()->generate64()) {
  connect(&workspace.document(), &Document::changed, this, &ReviewDesk::refresh);
  connect(&workspace.live(), &LiveCheck::updated, this, &ReviewDesk::refresh);
}

ReviewDesk::~ReviewDesk() {
  stop();
}

int ReviewDesk::row() const {
  return key_ ? queue_.rowOf(*key_) : -1;
}

void ReviewDesk::go(int row, bool play) {
  if (row < 0 || row >= queue_.rowCount()) return;
  const model::PieceKey wanted = queue_.rows()[static_cast<std::size_t>(row)].id;
  if (key_ != wanted) {
    stop();
    key_ = wanted;
    study_ = nullptr;
    asked_.clear();
    pair_.reset();
    chosen_ = nullptr;
    told_.clear();
  }
  playWhenMade_ = play;
  refresh();
  if (play && study()) again();
}

void ReviewDesk::step(int by) {
  const int count = queue_.rowCount();
  if (count == 0) return;
  go(((std::max(row(), 0) + by) % count + count) % count, true);
}

void ReviewDesk::refresh() {
  piece_.reset();
  recipe_.clear();
  if (key_) {
    for (model::Piece& piece : model::looped_pieces(workspace_.project())) {
      if (piece.key == *key_) piece_ = std::move(piece);
    }
  }
  if (piece_) {
    recipe_ = model::recipe_hash(workspace_.project(), *piece_);
    makeStudy();
  } else {
    key_.reset();
    study_ = nullptr;
    asked_.clear();
  }
  Q_EMIT changed();
}

work::HearingPlan ReviewDesk::plan() const {
  const auto checked = workspace_.live().checked();
  work::HearingPlan plan = work::hearing_plan(
      workspace_.project(), checked ? checked->facts.profile : std::nullopt,
      checked && checked->fitted ? &*checked->fitted : nullptr, piece_ ? piece_->name : "");
  if (plan.profile && encoding_) {
    const auto offers = [](const std::vector<int>& list, int value) {
      return std::find(list.begin(), list.end(), value) != list.end();
    };
    if (offers(plan.profile->sample_rates_hz, encoding_->sample_rate_hz) &&
        offers(plan.profile->bits, encoding_->bits)) {
      plan.encoding = *encoding_;
    }
  }
  return plan;
}

void ReviewDesk::makeStudy() {
  work::HearingPlan wanted = plan();
  std::string asked = recipe_;
  if (wanted.profile) {
    asked += "/" + wanted.profile->id + "/" + std::to_string(wanted.encoding.sample_rate_hz) + "/" +
             std::to_string(wanted.encoding.bits) + "/" + std::to_string(wanted.baked_db);
  }
  if (wanted.speaker) {
    const model::Speaker& s = *wanted.speaker;
    asked += "/" + s.name;
    for (const double figure : {s.high_pass_hz, s.high_pass_q, s.peak_hz, s.peak_db, s.peak_q,
                                s.low_pass_hz, s.low_pass_q})
      asked += "/" + std::to_string(figure);
  }
  if (asked == asked_) return;
  asked_ = asked;
  workspace_.jobs().run<Study>(
      tr("Rendering the seam of %1").arg(title()), this,
      [snapshot = workspace_.document().snapshot(), folder = workspace_.document().folder(),
       piece = *piece_, wanted = std::move(wanted)](JobControl& job) -> Result<Study> {
        Result<work::SeamStudy> made = work::study_seam(*snapshot, folder, piece, wanted, job);
        if (!made) return made.error();
        return std::make_shared<const work::SeamStudy>(std::move(*made));
      },
      [this, asked](Result<Study> made) {
        if (asked != asked_) return;
        madeFrom_ = asked;
        if (made) {
          keepStudy(std::move(*made));
        } else if (made.error().code != ErrorCode::cancelled) {
          workspace_.tell(made.error());
          tell(errorLine(made.error()));
        }
      },
      QStringLiteral("seam review"), JobKind::heard);
}

void ReviewDesk::keepStudy(Study study) {
  if (study_ && study_->piece.key == study->piece.key && study_->recipe != study->recipe) {
    before_[study->piece.key] = study_;
    pair_.reset();
    chosen_ = nullptr;
  }
  study_ = std::move(study);
  if (std::exchange(playWhenMade_, false)) again();
  Q_EMIT changed();
}

std::shared_ptr<const work::SeamStudy> ReviewDesk::study() const {
  return study_ && study_->recipe == recipe_ ? study_ : nullptr;
}

bool ReviewDesk::heard() const {
  return piece_ && heardKey_ == key_ && heardRecipe_ == recipe_;
}

bool ReviewDesk::canHear(work::Way way) const {
  return study() && study()->hearing.has(way);
}

work::Way ReviewDesk::nearest(const work::Hearing& hearing, work::Way way) const {
  for (const work::Way each : {way, work::Way{way.stored, false}, work::Way{false, way.speaker}}) {
    if (hearing.has(each)) return each;
  }
  return {};
}

void ReviewDesk::setWay(work::Way way) {
  if (way == way_) return;
  way_ = way;
  const bool playing =
      workspace_.transport().isPlaying() && workspace_.transport().request().key == playKey;
  if (playing && !pair_) again();
  Q_EMIT changed();
}

void ReviewDesk::setEncoding(std::optional<fit::Encoding> encoding) {
  if (encoding == encoding_) return;
  encoding_ = encoding;
  refresh();
}

void ReviewDesk::setRepeats(bool repeats) {
  if (repeats == repeats_) return;
  repeats_ = repeats;
  if (!repeats) workspace_.transport().setRepeat(false);
  Q_EMIT changed();
}

QString ReviewDesk::title() const {
  const int at = row();
  return at < 0 ? QString() : queue_.rows()[static_cast<std::size_t>(at)].name;
}

void ReviewDesk::again() {
  pair_.reset();
  // What is on its way is what was asked to be heard.
  if (!study() || madeFrom_ != asked_) {
    playWhenMade_ = key_.has_value();
    return;
  }
  play();
}

void ReviewDesk::play() {
  const work::Hearing& hearing = study_->hearing;
  const work::Way way = nearest(hearing, way_);
  PlayRequest request;
  request.source = ClipSource{repeats_ ? paused(*hearing.clip(way)) : hearing.clip(way), false};
  request.repeat = repeats_;
  request.title = tr("Seam of %1").arg(title());
  request.key = playKey;
  workspace_.transport().play(request);
  playWhenMade_ = false;
  heardKey_ = key_;
  heardRecipe_ = study_->recipe;
  heardAs_ = {};
  if (way.stored && hearing.encoding) {
    heardAs_.sample_rate_hz = hearing.encoding->sample_rate_hz;
    heardAs_.bits = hearing.encoding->bits;
  }
  if (way.speaker) heardAs_.speaker = hearing.speaker;
  Q_EMIT changed();
}

void ReviewDesk::stop() {
  playWhenMade_ = false;
  if (workspace_.transport().request().key == playKey) workspace_.transport().stop();
}

void ReviewDesk::tell(const QString& line) {
  told_ = line;
  Q_EMIT changed();
}

void ReviewDesk::judge(model::VerdictKind kind, const QString& note) {
  if (!heard()) return;
  const bool good = kind == model::VerdictKind::signed_off;
  const Result<model::Edit> edit =
      work::judge_seam(workspace_.project(), *key_, kind, heardAs_, utf8(note));
  if (!edit) {
    tell(errorLine(edit.error()));
    return;
  }
  const QString done = title();
  if (!workspace_.perform(good ? tr("Sign seam") : tr("Mark seam for rework"), {*edit})) return;
  const int next = queue_.nextOpen(row());
  if (next >= 0) go(next, true);
  tell(next < 0 ? tr("Every seam is decided on.")
       : good   ? tr("%1 is signed.").arg(done)
                : tr("%1 needs work.").arg(done));
}

void ReviewDesk::nextLoop() {
  if (!piece_) return;
  const std::string material = materialOf(workspace_.project(), *piece_);
  if (found_.count(material) != 0) {
    takeFound(*piece_);
    return;
  }
  tell(tr("Looking for other loops …"));
  using Loops = std::vector<model::Loop>;
  workspace_.jobs().run<Loops>(
      tr("Finding loops in %1").arg(title()), this,
      [snapshot = workspace_.document().snapshot(), folder = workspace_.document().folder(),
       piece = *piece_](JobControl& job) {
        return work::find_piece_loops(*snapshot, folder, piece, job);
      },
      [this, material](Result<Loops> loops) {
        if (!loops) {
          if (loops.error().code != ErrorCode::cancelled) tell(errorLine(loops.error()));
          return;
        }
        found_[material] = std::move(*loops);
        if (piece_ && materialOf(workspace_.project(), *piece_) == material) takeFound(*piece_);
      },
      QStringLiteral("review loops"));
}

void ReviewDesk::takeFound(const model::Piece& piece) {
  const std::vector<model::Loop>& loops = found_[materialOf(workspace_.project(), piece)];
  const auto same = std::find_if(loops.begin(), loops.end(), [&](const model::Loop& loop) {
    return loop.range == piece.loop->range &&
           loop.crossfade_frames == piece.loop->crossfade_frames &&
           loop.crossfade_at == piece.loop->crossfade_at && loop.drift_db == piece.loop->drift_db &&
           loop.octave_drift_db == piece.loop->octave_drift_db;
  });
  const std::size_t at =
      same == loops.end() ? 0 : static_cast<std::size_t>(same - loops.begin() + 1) % loops.size();
  if (loops.empty() || (same != loops.end() && loops.size() == 1)) {
    tell(tr("No other loop was found in this material."));
    return;
  }
  playWhenMade_ = true;
  setLoop(tr("Take next loop"), loops[at]);
  tell(tr("Loop %1 of the %2 found.").arg(at + 1).arg(loops.size()));
}

void ReviewDesk::setLoop(const QString& step, const model::Loop& loop) {
  const Result<model::Edit> edit = work::edit_to_set_loop(workspace_.project(), *key_, loop);
  if (!edit) {
    tell(errorLine(edit.error()));
    return;
  }
  workspace_.perform(step, {*edit});
}

bool ReviewDesk::canCompare() const {
  if (!study()) return false;
  const auto before = before_.find(*key_);
  return before != before_.end() && before->second->recipe != recipe_;
}

void ReviewDesk::compare() {
  if (!canCompare()) return;
  pair_.reset();
  chosen_ = nullptr;
  const Study before = before_[*key_];
  const work::Way way = nearest(study_->hearing, way_);
  workspace_.jobs().run<work::BlindPair>(
      tr("Making two takes of the seam"), this,
      [a = study_->hearing.clip(way), b = before->hearing.clip(nearest(before->hearing, way)),
       seed = seed_++](JobControl& job) { return work::blind_pair(*a, *b, seed, job); },
      [this, recipe = recipe_](Result<work::BlindPair> pair) {
        if (!pair || recipe != recipe_) return;
        pair_ = std::move(*pair);
        PlayRequest request;
        request.source = ClipSource{pair_->clip, false};
        request.title = tr("Two takes of one seam");
        request.key = playKey;
        workspace_.transport().play(request);
        tell(
            tr("Two takes, this loop's and the one before it. Which is better: the first (1) or "
               "the second (2)?"));
      },
      QStringLiteral("blind pair"), JobKind::heard);
}

void ReviewDesk::choose(bool second) {
  if (!pair_) return;
  stop();
  const bool before = second != pair_->swapped;
  chosen_ = before ? before_[*key_] : study_;
  const QString order = pair_->swapped ? tr("First came the loop before, then the present one.")
                                       : tr("First came the present loop, then the one before.");
  pair_.reset();
  tell(before ? tr("%1 You chose the loop before: K takes it back.").arg(order)
              : tr("%1 You chose the present one.").arg(order));
}

bool ReviewDesk::canTakeChosen() const {
  return chosen_ && piece_ && chosen_->piece.key == piece_->key && chosen_->recipe != recipe_;
}

void ReviewDesk::takeChosen() {
  if (!canTakeChosen()) return;
  const model::Loop loop = *chosen_->piece.loop;
  playWhenMade_ = true;
  setLoop(tr("Take the loop before"), loop);
  tell(tr("The loop heard before is the piece's again."));
}

std::optional<std::int64_t> ReviewDesk::place(FrameIndex played) const {
  if (!study() || pair_ || workspace_.transport().request().key != playKey) return std::nullopt;
  return (played - study_->hearing.wrap).value();
}

}  // namespace fourbeat::ui
