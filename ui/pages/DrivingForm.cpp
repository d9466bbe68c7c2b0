// SPDX-License-Identifier: GPL-3.0-or-later
#include "DrivingForm.h"

#include "WhenRows.h"

#include "fourbeat/model/driving_members.h"

#include <algorithm>

namespace fourbeat::ui {

namespace {

using model::Driving;
using model::SpeedPoint;
using model::Synchronisation;
using model::SyncKind;

constexpr double fullLevel = 255.0;

NumberForm numberOf(const model::MemberRule& rule, int decimals, double step,
                    const QString& suffix) {
  return {rule.low, rule.high, decimals, step, suffix};
}

void sortCurve(Driving& each) {
  std::stable_sort(each.speed_curve.begin(), each.speed_curve.end(),
                   [](const SpeedPoint& a, const SpeedPoint& b) { return a.level < b.level; });
}

/// One more point: first rest, then full drive at top speed, then halfway in the widest gap.
void addPoint(Driving& each, double topSpeedKmh) {
  std::vector<SpeedPoint>& curve = each.speed_curve;
  if (curve.empty()) {
    curve.push_back({});
  } else if (curve.back().level < fullLevel) {
    curve.push_back({fullLevel, std::max(topSpeedKmh, curve.back().speed_kmh), {}});
  } else if (curve.size() == 1) {
    curve.insert(curve.begin(), SpeedPoint{});
  } else {
    std::size_t widest = 1;
    const auto gap = [&](std::size_t i) { return curve[i].level - curve[i - 1].level; };
    for (std::size_t i = 1; i < curve.size(); ++i)
      widest = gap(i) > gap(widest) ? i : widest;
    const SpeedPoint& low = curve[widest - 1];
    const SpeedPoint& high = curve[widest];
    const SpeedPoint middle{
        0.5 * (low.level + high.level), 0.5 * (low.speed_kmh + high.speed_kmh), {}};
    curve.insert(curve.begin() + static_cast<std::ptrdiff_t>(widest), middle);
  }
}

bool slips(const Driving& each) {
  return each.slip.has_value();
}

}  // namespace

DrivingForm::DrivingForm(Workspace& workspace, QWidget* parent)
    : ValueForm(workspace, tr("Change how it drives"), parent) {
  setAccessibleName(tr("How the set drives"));
  addSpeed();
  addWheel();
  addStart();
  addSlip();
  addRunning();
  addPower();
  alignGroups();
  refresh();
}

std::vector<model::Edit> DrivingForm::edits(const Driving& /*before*/, const Driving& after) const {
  return {model::SetDriving{after}};
}

void DrivingForm::addSpeed() {
  addGroup(tr("Speed of the model"));
  Parts parts;
  parts.columns = {
      {tr("Drive level"), numberOf(model::rule_of(&SpeedPoint::level), 0, 5, {}), {}},
      {tr("Speed"), numberOf(model::rule_of(&SpeedPoint::speed_kmh), 1, 1, tr(" km/h")), {}}};
  parts.rows = [](const Driving& each) {
    QVector<QVariantList> rows;
    for (const SpeedPoint& point : each.speed_curve)
      rows.append(QVariantList{point.level, point.speed_kmh});
    return rows;
  };
  parts.set = [](Driving& each, int row, int column, const QVariant& value) {
    SpeedPoint& point = each.speed_curve[static_cast<std::size_t>(row)];
    (column == 0 ? point.level : point.speed_kmh) = value.toDouble();
    sortCurve(each);
  };
  parts.add = [this](Driving& each, int /*row*/) {
    addPoint(each, project().engine.top_speed_kmh);
  };
  parts.remove = [](Driving& each, int row) {
    each.speed_curve.erase(each.speed_curve.begin() + row);
  };
  explained(tr("What a model was measured to run at a drive level, 255 being full, and straight in "
               "between. Without a row the speed is in proportion, up to the engine's top speed."))
      .addParts(tr("Measured speeds"), parts);
}

void DrivingForm::addWheel() {
  addGroup(tr("Beats and wheel"));
  const auto sync = [](auto& each) -> auto& {
    return each.sync;
  };
  const auto of = [](SyncKind kind) {
    return [kind](const Driving& each) { return each.sync.kind == kind; };
  };
  explained(tr("How the decoder knows when a beat is due."))
      .addChoice(
          tr("The wheel is known"),
          [] {
            return ChoiceDelegate::Choices{
                {tr("exactly"), static_cast<qlonglong>(SyncKind::exact)},
                {tr("by a wheel sensor"), static_cast<qlonglong>(SyncKind::sensor)},
                {tr("by reckoning"), static_cast<qlonglong>(SyncKind::calculated)}};
          },
          [](const Driving& each) { return static_cast<qlonglong>(each.sync.kind); },
          [](Driving& each, const qlonglong& kind) {
            each.sync.kind = static_cast<SyncKind>(kind);
          });
  explained(tr("Even pulses of the sensor in a turn of the driving wheels."))
      .addFigureOf(sync, tr("Pulses a turn"), &Synchronisation::pulses_per_turn, {0, 1, {}},
                   of(SyncKind::sensor));
  explained(tr("Beats more than the wheel makes, as the speed is only reckoned from the drive "
               "level; fewer below 0."))
      .addFigureOf(sync, tr("Beats too many"), &Synchronisation::error_percent, {1, 1, tr(" %")},
                   of(SyncKind::calculated));
  explained(tr("How long after the engine the decoder hears of speed and effort, and changes the "
               "row of chuffs."))
      .addFigureOf(sync, tr("Rows follow after"), &Synchronisation::row_delay_s,
                   {2, 0.05, tr(" s")});
}

void DrivingForm::addStart() {
  addGroup(tr("Leaving rest"));
  explained(tr("So many turns of the driving wheels after rest, rows recorded with cocks open are "
               "heard."))
      .addFigure(tr("Cylinder cocks open for"), &Driving::cocks_open_turns, {1, 1, tr(" turns")});
  explained(tr("With this share of the heaviest train, rows of a heavy start are heard, and wheels "
               "may slip."))
      .addFigure(tr("Heavy from a load of"), &Driving::heavy_start_load, {0, 5, tr(" %"), 100.0});
}

void DrivingForm::addSlip() {
  using model::Slip;
  const auto slip = [](auto& each) -> auto& {
    return *each.slip;
  };
  explained(tr("The wheels may lose their grip and race, at a heavy start or by a key."))
      .addCheck(tr("Wheels slip"), &slips, [](Driving& each, const bool& on) {
        each.slip.reset();
        if (on) each.slip.emplace();
      });
  explained(tr("How often, of a hundred heavy starts."))
      .addFigureOf(slip, tr("Chance of a slip"), &Slip::chance, {0, 5, tr(" %"), 100.0}, &slips);
  explained(tr("How much faster the wheels race than the engine moves."))
      .addFigureOf(slip, tr("Wheels race by"), &Slip::wheel_kmh, {1, 1, tr(" km/h")}, &slips);
  explained(tr("From grip to full race."))
      .addFigureOf(slip, tr("Slip grows over"), &Slip::rises_s, {2, 0.1, tr(" s")}, &slips);
  explained(tr("At full race."))
      .addFigureOf(slip, tr("Slip lasts"), &Slip::lasts_s, {2, 0.1, tr(" s")}, &slips);
  explained(tr("From full race back to grip."))
      .addFigureOf(slip, tr("Grip is back after"), &Slip::recovers_s, {2, 0.1, tr(" s")}, &slips);
}

void DrivingForm::addRunning() {
  addGroup(tr("Running and braking"));
  explained(tr("So that rows do not change to and fro, an effort lasts at least so long."))
      .addFigure(tr("An effort lasts"), &Driving::effort_hold_s, {2, 0.1, tr(" s")});
  explained(tr("Likewise a state, but for rest and track power, which come at once."))
      .addFigure(tr("A state lasts"), &Driving::state_hold_s, {2, 0.1, tr(" s")});
  const auto check = [this](const QString& help, const QString& label, bool Driving::*at) {
    QCheckBox* box = explained(help).addCheck(
        label, [at](const Driving& each) { return each.*at; },
        [at](Driving& each, const bool& on) { each.*at = on; });
    nameMember(at, box);
  };
  check(tr("Where no row was recorded drifting, no chuff is heard: the layers have it to "
           "themselves."),
        tr("Drifts without chuffs"), &Driving::drifting_without_chuffs);
  check(tr("With the regulator shut the engine rolls on far longer than CV4 says, until a brake "
           "key is "
           "used."),
        tr("Rolls on until braked"), &Driving::coasts_until_braked);
  explained(tr("So many times as long as CV4 says it takes to roll to rest, as long as nobody "
               "brakes."))
      .addFigure(tr("Rolls on for"), &Driving::coasting_factor, {1, 1, tr(" times")},
                 [](const Driving& each) { return each.coasts_until_braked; });
  explained(tr("From top speed to rest with a brake key at full strength, without a train."))
      .addFigure(tr("A full brake takes"), &Driving::full_brake_s, {1, 0.5, tr(" s")});
}

void DrivingForm::addPower() {
  addGroup(tr("Track power and sleep"));
  explained(tr("Sound goes on so long when the track gives no power."))
      .addFigure(tr("Sound in reserve"), &Driving::power_reserve_s, {2, 0.1, tr(" s")});
  explained(tr("Then it fades out over this time."))
      .addFigure(tr("Fades out over"), &Driving::power_fade_s, {2, 0.1, tr(" s")});
  explained(tr("Put off by a key that wakes the engine, its beds and layers are heard so much "
               "longer."))
      .addFigure(tr("Falls asleep after"), &Driving::sleeps_after_s, {1, 1, tr(" s")});
}

}  // namespace fourbeat::ui
