// SPDX-License-Identifier: GPL-3.0-or-later
#include "DutiesForm.h"

#include "fourbeat/model/driving_members.h"

namespace fourbeat::ui {

namespace {

using model::Duties;

FigureForm bars() {
  return {1, 0.5, DutiesForm::tr(" bar")};
}
FigureForm barsAMinute() {
  return {2, 0.1, DutiesForm::tr(" bar/min")};
}
FigureForm percent() {
  return {0, 5, DutiesForm::tr(" %"), 100.0};
}
FigureForm percentAMinute() {
  return {1, 1, DutiesForm::tr(" %/min"), 100.0};
}
FigureForm seconds() {
  return {0, 5, DutiesForm::tr(" s")};
}

}  // namespace

DutiesForm::DutiesForm(Workspace& workspace, QWidget* parent)
    : ValueForm(workspace, tr("Change duties"), parent) {
  setAccessibleName(tr("Steam, fire and water"));
  addGroup(tr("Whose work it is"));
  QCheckBox* on =
      explained(tr("Fire and water are the driver's from the start. Without it they look after "
                   "themselves until a CV that puts duties on is set."))
          .addCheck(
              tr("On as it ships"), [](const Duties& each) { return each.on; },
              [](Duties& each, const bool& is) { each.on = is; });
  nameMember(&Duties::on, on);
  addSteam();
  addFire();
  addWater();
  alignGroups();
  refresh();
}

const Duties* DutiesForm::entity() const {
  return project().duties ? &*project().duties : nullptr;
}

std::vector<model::Edit> DutiesForm::edits(const Duties& /*before*/, const Duties& after) const {
  return {model::SetDuties{after}};
}

void DutiesForm::add(const QString& help, const QString& label, double Duties::*at,
                     const FigureForm& shown) {
  explained(help).addFigure(label, at, shown);
}

void DutiesForm::addSteam() {
  addGroup(tr("Steam"));
  add(tr("Pressure when the drive begins."), tr("Starts at"), &Duties::start_bar, bars());
  add(tr("The safety valves lift here, …"), tr("Safety valves lift at"), &Duties::lift_bar, bars());
  add(tr("… and shut here, a little below."), tr("Safety valves shut at"), &Duties::reseat_bar,
      bars());
  add(tr("From here down the engine pulls less and less, …"), tr("Pulls less below"),
      &Duties::weak_bar, bars());
  add(tr("… down to nothing here."), tr("Stands still at"), &Duties::stalled_bar, bars());
  add(tr("What a full and fully blown fire raises."), tr("A full fire raises"),
      &Duties::heat_bar_per_min, barsAMinute());
  add(tr("What is lost all the time, by cooling and leaks."), tr("Lost at all times"),
      &Duties::standing_bar_per_min, barsAMinute());
  add(tr("What the cylinders use at top speed, working hard; half of it at easy effort, none "
         "drifting."),
      tr("Used at full work"), &Duties::working_bar_per_min, barsAMinute());
  add(tr("What a lifted safety valve lets out."), tr("Safety valve lets out"),
      &Duties::valve_bar_per_min, barsAMinute());
}

void DutiesForm::addFire() {
  addGroup(tr("Fire"));
  add(tr("Of a full grate, when the drive begins."), tr("Fire at the start"), &Duties::start_fire,
      percent());
  add(tr("What burns away of the fire when nothing blows it."), tr("Burns at rest"),
      &Duties::burn_per_min, percentAMinute());
  add(tr("More of it when the exhaust or the blower blows it fully."), tr("More when blown"),
      &Duties::working_burn_per_min, percentAMinute());
  add(tr("Of the grate, each time the fire is fed by its key."), tr("A charge of coal"),
      &Duties::charge, percent());
  add(tr("Until a charge of coal burns; it cools meanwhile."), tr("Coal catches after"),
      &Duties::kindling_s, seconds());
  add(tr("What a fresh charge pulls the pressure down by until it burns."), tr("A charge costs"),
      &Duties::charge_bar, bars());
  add(tr("After the fire had to be dropped, coal makes fire again."), tr("Can be lit after"),
      &Duties::relight_s, seconds());
}

void DutiesForm::addWater() {
  addGroup(tr("Water"));
  add(tr("Of a full glass, when the drive begins."), tr("Water at the start"), &Duties::start_water,
      percent());
  add(tr("What the cylinders use at top speed, working hard."), tr("Water used at full work"),
      &Duties::working_water_per_min, percentAMinute());
  add(tr("What comes in while the feed's key is on."), tr("Feeding brings"),
      &Duties::feed_water_per_min, percentAMinute());
  add(tr("What fresh water pulls the pressure down by while it is fed."), tr("Feeding costs"),
      &Duties::feed_bar_per_min, barsAMinute());
  add(tr("From here down the fire is in danger."), tr("Low water"), &Duties::low_water, percent());
  add(tr("From here up, water is carried over when steam is used: the boiler primes."),
      tr("High water"), &Duties::high_water, percent());
  add(tr("So long the water may be low before the fire must be dropped."), tr("Time to feed"),
      &Duties::grace_s, seconds());
}

}  // namespace fourbeat::ui
