// SPDX-License-Identifier: GPL-3.0-or-later
#include "LayerForm.h"

#include "WhenRows.h"

#include "fourbeat/model/driving_members.h"

#include <algorithm>

namespace fourbeat::ui {

namespace {

using model::Layer;
using model::LayerKind;

constexpr double levelStepKmh = 20.0;
constexpr double angleStepDeg = 90.0;
constexpr double axleStepM = 2.0;
constexpr double firstJointM = 20.0;

void setKind(Layer& each, LayerKind kind) {
  each.kind = kind;
  if (kind != LayerKind::wheel) {
    each.angles_deg.clear();
  } else if (each.angles_deg.empty()) {
    each.angles_deg = {0.0};
  }
  if (kind != LayerKind::distance) {
    each.joint_m = 0.0;
    each.axles_m.clear();
  } else if (each.joint_m < 1.0) {
    each.joint_m = firstJointM;
  }
}

EntityForm<Layer>::Applies of(LayerKind kind) {
  return [kind](const Layer& each) { return each.kind == kind; };
}

}  // namespace

LayerForm::LayerForm(Workspace& workspace, QWidget* parent)
    : EntityForm(workspace, tr("Change layer"), parent) {
  setAccessibleName(tr("Layer"));
  addLine(
      tr("Name"), [](const Layer& each) { return text(each.name); },
      [](Layer& each, const QString& name) { each.name = utf8(name); });
  addKind();
  addSounds();
  addPlaces();
  addBand();
  addLoudness();
  addLevels();
  addWhen(*this);
}

void LayerForm::addKind() {
  addChoice(
      tr("Runs"),
      [] {
        return wordsOf<LayerKind>([](LayerKind kind) { return word(kind); },
                                  static_cast<int>(model::EnumNames<LayerKind>::list.size()));
      },
      [](const Layer& each) { return static_cast<qlonglong>(each.kind); },
      [](Layer& each, const qlonglong& place) { setKind(each, static_cast<LayerKind>(place)); });
}

void LayerForm::addSounds() {
  Parts parts;
  parts.columns = {{tr("Sound, in turn"), {}, [this] {
                      ChoiceDelegate::Choices names = namesOf(project().sounds, {});
                      names.removeFirst();  // each must be one
                      return names;
                    }}};
  parts.rows = [](const Layer& each) {
    QVector<QVariantList> rows;
    for (const Id<model::Sound> sound : each.sounds)
      rows.append(QVariantList{static_cast<qlonglong>(sound.value())});
    return rows;
  };
  parts.set = [](Layer& each, int row, int, const QVariant& value) {
    each.sounds[static_cast<std::size_t>(row)] = Id<model::Sound>(value.toLongLong());
  };
  parts.add = [this](Layer& each, int row) {
    if (project().sounds.empty()) return;
    const auto at = row < 0 ? each.sounds.end() : each.sounds.begin() + row + 1;
    each.sounds.insert(at, project().sounds.front().id);
  };
  parts.remove = [](Layer& each, int row) { each.sounds.erase(each.sounds.begin() + row); };
  addParts(tr("Sounds"), parts);
}

void LayerForm::addFigures(const QString& label, const PartColumn& column,
                           std::vector<double> Layer::*list, double step, LayerKind kind) {
  Parts parts;
  parts.columns = {column};
  parts.rows = [list](const Layer& each) {
    QVector<QVariantList> rows;
    for (const double figure : each.*list)
      rows.append(QVariantList{figure});
    return rows;
  };
  parts.set = [list](Layer& each, int row, int, const QVariant& value) {
    (each.*list)[static_cast<std::size_t>(row)] = value.toDouble();
    std::sort((each.*list).begin(), (each.*list).end());
  };
  parts.add = [list, step, most = column.number.high](Layer& each, int) {
    std::vector<double>& figures = each.*list;
    figures.push_back(figures.empty() ? 0.0 : std::min(most, figures.back() + step));
  };
  parts.remove = [list](Layer& each, int row) { (each.*list).erase((each.*list).begin() + row); };
  addParts(label, parts, of(kind));
}

void LayerForm::addPlaces() {
  addFigures(tr("Wheel angles"), {tr("Angle"), {0, 359.9, 1, 5, tr("°")}, {}}, &Layer::angles_deg,
             angleStepDeg, LayerKind::wheel);
  addNumber(
      tr("Between rail joints"), {1, 1000, 1, 1, tr(" m")},
      [](const Layer& each) { return each.joint_m; },
      [](Layer& each, const double& value) { each.joint_m = value; }, of(LayerKind::distance));
  addFigures(tr("Axles"), {tr("Behind the first"), {0, 200, 2, 0.1, tr(" m")}, {}}, &Layer::axles_m,
             axleStepM, LayerKind::distance);
}

void LayerForm::addBand() {
  addNumber(
      tr("From speed"), {0, fastestKmh, 1, 5, tr(" km/h")},
      [](const Layer& each) { return each.from_kmh; },
      [](Layer& each, const double& value) { each.from_kmh = value; });
  addNumber(
      tr("To below"), {0, fastestKmh, 1, 5, tr(" km/h")},
      [](const Layer& each) { return each.to_kmh; },
      [](Layer& each, const double& value) { each.to_kmh = value; });
  QDoubleSpinBox* turns = addNumber(
      tr("For turns after rest"), {0, 1000, 1, 1, {}},
      [](const Layer& each) { return each.first_turns; },
      [](Layer& each, const double& value) { each.first_turns = value; });
  turns->setSpecialValueText(tr("for ever"));
}

void LayerForm::addLoudness() {
  const auto level = [this](const QString& label, double Layer::*member) {
    addNumber(
        label, {-60, 20, 1, 1, tr(" dB")}, [member](const Layer& each) { return each.*member; },
        [member](Layer& each, const double& value) { each.*member = value; });
  };
  level(tr("Gain"), &Layer::gain_db);
  level(tr("Drifting"), &Layer::drifting_db);
  level(tr("Easy"), &Layer::easy_db);
  level(tr("Hard"), &Layer::hard_db);
  addNumber(
      tr("Fades over"), {0.01, 30, 2, 0.1, tr(" s")}, [](const Layer& each) { return each.fade_s; },
      [](Layer& each, const double& value) { each.fade_s = value; }, of(LayerKind::bed));
}

void LayerForm::addLevels() {
  Parts parts;
  parts.columns = {{tr("At speed"), {0, fastestKmh, 1, 5, tr(" km/h")}, {}},
                   {tr("Level"), {-60, 20, 1, 1, tr(" dB")}, {}}};
  parts.rows = [](const Layer& each) {
    QVector<QVariantList> rows;
    for (const model::SpeedLevel& level : each.levels)
      rows.append(QVariantList{level.speed_kmh, level.gain_db});
    return rows;
  };
  parts.set = [](Layer& each, int row, int column, const QVariant& value) {
    model::SpeedLevel& level = each.levels[static_cast<std::size_t>(row)];
    (column == 0 ? level.speed_kmh : level.gain_db) = value.toDouble();
    std::stable_sort(each.levels.begin(), each.levels.end(),
                     [](const model::SpeedLevel& a, const model::SpeedLevel& b) {
                       return a.speed_kmh < b.speed_kmh;
                     });
  };
  parts.add = [](Layer& each, int) {
    const bool first = each.levels.empty();
    each.levels.push_back(
        {first ? 0.0 : std::min(fastestKmh, each.levels.back().speed_kmh + levelStepKmh),
         first ? 0.0 : each.levels.back().gain_db,
         {}});
  };
  parts.remove = [](Layer& each, int row) { each.levels.erase(each.levels.begin() + row); };
  addParts(tr("Levels by speed"), parts);
}

}  // namespace fourbeat::ui
