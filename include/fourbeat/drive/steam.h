// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/duties.h"
#include "fourbeat/model/effort.h"

/// Fire, water and steam, and the chores that keep them: model::Duties as timers. Equations, units
/// and balances: docs/steam.md.

namespace fourbeat::drive {

/// How the engine works over a step.
struct Draw {
  double speed_share = 0.0;  ///< of top speed; 0 to 1
  model::Effort effort = model::Effort::easy;
  bool at_rest = true;  ///< then it uses no steam, whatever speed and effort say
};

/// Steam used, as a share of what top speed and hard effort use: the share of top speed times 0
/// drifting, 0.5 easy, 1 hard (ours).
[[nodiscard]] double steam_use(const Draw& draw) noexcept;

/// What came to pass in a step; each is told once.
struct SteamEvents {
  bool lifts = false;    ///< a safety valve lifted
  bool reseats = false;  ///< it shut
  bool primes = false;   ///< water began to be carried over
  bool fire_dropped = false;
  bool recovered = false;  ///< after a dropped fire or a stall: the engine pulls fully again
  bool operator==(const SteamEvents&) const = default;
};

/// Where it all came from and went since the start: pressure in bar; fire, coal and water as
/// shares. What stands in the boiler is its start, plus the gains, less the losses.
struct SteamBalance {
  double heat_bar = 0.0;      ///< gained from the fire
  double standing_bar = 0.0;  ///< lost by standing losses,
  double working_bar = 0.0;   ///< to the cylinders,
  double kindling_bar = 0.0;  ///< to fresh coal,
  double feeding_bar = 0.0;   ///< to fresh water,
  double valve_bar = 0.0;     ///< through the safety valve
  double fed_water = 0.0;
  double used_water = 0.0;
  double carried_water = 0.0;  ///< over into the cylinders, by priming
  double shovelled = 0.0;      ///< coal put on
  double kindled = 0.0;        ///< of it, what became fire
  double burnt = 0.0;
  double dropped_fire = 0.0;
  double dropped_coal = 0.0;
};

/// Duties at play. Deterministic: the same duties, calls and steps give the same values. No
/// function but the constructor allocates; none throws.
class Steam {
 public:
  /// duties: as model::validate() has them.
  explicit Steam(model::Duties duties);

  /// Off: everything holds, chores do nothing, the engine pulls fully. What was under way ends: a
  /// lifted valve shuts (told by the next step), the feed's key counts again once duties are on.
  void set_on(bool on) noexcept { on_ = on; }
  [[nodiscard]] bool on() const noexcept { return on_; }
  /// How many times as fast duties run; held to what model::duty_pace_rule has.
  void set_pace(double times) noexcept;

  /// Puts a charge of coal on: as much as the grate takes beside what burns and what waits.
  void fire() noexcept;
  /// Opens and shuts the feed.
  void feed(bool on) noexcept { feeding_ = on; }

  /// A control step of dt_s (above 0, to 0.1; 64 frames in an engine).
  SteamEvents advance(double dt_s, const Draw& draw) noexcept;

  [[nodiscard]] double pressure_bar() const noexcept { return pressure_bar_; }
  [[nodiscard]] double fire_share() const noexcept { return fire_; }
  [[nodiscard]] double waiting_coal() const noexcept { return coal_; }  ///< to kindle
  [[nodiscard]] double water() const noexcept { return water_; }        ///< of the glass
  [[nodiscard]] bool valve_lifted() const noexcept { return lifted_; }
  [[nodiscard]] bool priming() const noexcept { return priming_; }
  [[nodiscard]] bool unlit() const noexcept { return unlit_; }  ///< since the fire was dropped
  /// What share of its drive level the engine can still make, 0 to 1.
  [[nodiscard]] double pull() const noexcept;

  /// Before it is too late: pressure a quarter of the way or less from weak_bar up to lift_bar;
  /// water likewise from low_water to high_water.
  [[nodiscard]] bool warns_of_pressure() const noexcept { return on_ && pressure_warning_; }
  [[nodiscard]] bool warns_of_water() const noexcept { return on_ && water_warning_; }
  /// Seconds of duties (at pace 1) that are left to feed before the fire must be dropped; grace_s
  /// while the water stands above low_water.
  [[nodiscard]] double grace_left_s() const noexcept;

  [[nodiscard]] const SteamBalance& balance() const noexcept { return balance_; }

 private:
  /// What one step moves, from how things stand at its start.
  struct Flow;
  [[nodiscard]] Flow flow(double seconds, double use) const noexcept;
  void move(const Flow& flow) noexcept;
  void judge_valve(SteamEvents& told) noexcept;
  void judge_priming(double seconds, bool used, SteamEvents& told) noexcept;
  void judge_fire(double seconds, SteamEvents& told) noexcept;
  void judge_trouble(SteamEvents& told) noexcept;
  void judge_warnings() noexcept;

  model::Duties duties_;
  bool on_;
  double pace_ = 1.0;
  bool feeding_ = false;

  double pressure_bar_;
  double fire_;
  double coal_ = 0.0;
  double water_;
  bool lifted_ = false;
  bool priming_ = false;
  double unused_s_ = 0.0;  // since steam was last used, while priming
  double low_s_ = 0.0;     // since the water fell to low_water
  bool unlit_ = false;
  double relight_left_s_ = 0.0;
  bool in_trouble_ = false;
  bool pressure_warning_ = false;
  bool water_warning_ = false;
  SteamBalance balance_;
};

}  // namespace fourbeat::drive
