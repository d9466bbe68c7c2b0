// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/sweep.h"

#include "bounds.h"
#include "chuff_stock.h"
#include "full_scale.h"

#include "fourbeat/base/wheel.h"
#include "fourbeat/drive/row_choice.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

namespace fourbeat::work {

namespace {

/// A stretch of constant acceleration, in turns of the wheel and seconds.
struct Ramp {
  double seconds = 0.0;
  double from_hz = 0.0;  ///< turns a second
  double to_hz = 0.0;
  model::Effort effort = model::Effort::easy;

  [[nodiscard]] double slope() const { return seconds > 0.0 ? (to_hz - from_hz) / seconds : 0.0; }
  [[nodiscard]] double turns() const { return 0.5 * (from_hz + to_hz) * seconds; }
};

/// A moment at which the wheel has made so many turns.
struct Moment {
  double time_s = 0.0;
  double turns_hz = 0.0;
  model::Effort effort = model::Effort::easy;
};

class Run {
 public:
  Run(const SweepParams& params, double top_hz)
      : ramps_{{{params.seconds_up, 0.0, top_hz, params.up},
                {params.seconds_at_top, top_hz, top_hz, params.at_top},
                {params.seconds_down, top_hz, 0.0, params.down}}} {}

  /// Nothing where the run ends before.
  [[nodiscard]] std::optional<Moment> at(double turns) const {
    double before_s = 0.0;
    for (const Ramp& ramp : ramps_) {
      if (turns <= ramp.turns()) {
        const double time_s =
            std::min(ramp.seconds, time_of_turns(turns, ramp.from_hz, ramp.slope()));
        return Moment{before_s + time_s, ramp.from_hz + ramp.slope() * time_s, ramp.effort};
      }
      turns -= ramp.turns();
      before_s += ramp.seconds;
    }
    return std::nullopt;
  }
  [[nodiscard]] double seconds() const {
    double sum = 0.0;
    for (const Ramp& ramp : ramps_)
      sum += ramp.seconds;
    return sum;
  }

 private:
  std::array<Ramp, 3> ramps_;
};

Status check_params(const SweepParams& params) {
  return check_bounds({{"seconds_up", params.seconds_up, 1, 300},
                       {"seconds_at_top", params.seconds_at_top, 0, 60},
                       {"seconds_down", params.seconds_down, 1, 300},
                       {"load", params.load, 0, 1}});
}

/// Plays the loop of each fused row from its first beat to the first of the next row.
Status play_loops(const ChuffStock& stock, Sweep& sweep) {
  for (std::size_t i = 0; i < sweep.beats.size();) {
    std::size_t next = i + 1;
    while (next < sweep.beats.size() && sweep.beats[next].row == sweep.beats[i].row)
      ++next;
    if (stock.is_fused(sweep.beats[i].row)) {
      const std::int64_t until = next < sweep.beats.size()
                                     ? sweep.beats[next].frame.value()
                                     : static_cast<std::int64_t>(sweep.clip.samples.size());
      if (Status played = stock.play_loop(sweep.clip.samples, sweep.beats[i].frame.value(), until,
                                          sweep.beats[i].row);
          !played) {
        return played;
      }
    }
    i = next;
  }
  return ok();
}

}  // namespace

Result<Sweep> sweep_table(const model::Project& project,
                          const std::filesystem::path& project_folder, const SweepParams& params,
                          JobControl& job) {
  if (const Status checked = check_params(params); !checked) return checked.error();
  const Result<ChuffStock> stock = ChuffStock::render(project, project_folder, std::nullopt, job);
  if (!stock) return stock.error();
  const double circumference_m = wheel_circumference_m(project.engine.driver_diameter_mm);
  const Run run(params, project.engine.top_speed_kmh / 3.6 / circumference_m);
  const double rate = stock->sample_rate_hz();
  const auto lead = static_cast<double>(stock->lead_frames());
  std::vector<drive::RowBand> bands;
  for (const model::ChuffRow& row : project.chuffs.rows)
    bands.push_back(drive::band_of(row));

  Sweep sweep;
  sweep.clip.sample_rate_hz = rate;
  sweep.clip.samples.assign(static_cast<std::size_t>(std::llround(lead + run.seconds() * rate)),
                            0.0F);
  const std::vector<double> angles_deg = model::beat_angles_deg(project.engine);
  bool over = false;
  for (std::int64_t turn = 0; !over; ++turn) {
    if (job.cancelled()) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
    for (std::size_t k = 0; k < angles_deg.size() && !over; ++k) {
      const double turns = static_cast<double>(turn) + angles_deg[k] / 360.0;
      if (turns == 0.0) continue;  // standing on a beat is not reaching it
      const std::optional<Moment> moment = run.at(turns);
      over = !moment;
      if (!moment) break;
      SweepBeat beat;
      beat.frame = FrameIndex(frame_of_beat(lead + moment->time_s * rate));
      beat.speed_kmh = moment->turns_hz * circumference_m * 3.6;
      beat.position = static_cast<int>(k);
      const int row = drive::choose_row(
          bands, beat.speed_kmh, moment->effort,
          drive::condition_of(turns, params.load, project.driving.cocks_open_turns,
                              project.driving.heavy_start_load));
      if (row < 0) continue;
      beat.row = project.chuffs.rows[static_cast<std::size_t>(row)].id;
      if (!stock->is_fused(beat.row) &&
          !stock->play(sweep.clip.samples, beat.frame.value(), beat.row, turn, k)) {
        continue;
      }
      if (!sweep.beats.empty() && sweep.beats.back().row != beat.row) {
        sweep.changes.push_back(sweep.beats.size());
      }
      sweep.beats.push_back(beat);
    }
  }
  if (const Status played = play_loops(*stock, sweep); !played) return played.error();
  const TurnedDown turned = hold_to_full_scale(sweep.clip);
  sweep.peak = turned.peak;
  sweep.turned_db = turned.db;
  return sweep;
}

}  // namespace fourbeat::work
