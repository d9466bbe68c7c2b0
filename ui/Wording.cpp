// SPDX-License-Identifier: GPL-3.0-or-later
#include "Wording.h"

#include "fourbeat/base/speed_units.h"
#include "fourbeat/base/text.h"

#include <QCoreApplication>
#include <QLocale>
#include <QStringList>
#include <array>
#include <variant>

namespace fourbeat::ui {

namespace {
QString tr(const char* source) {
  return QCoreApplication::translate("Wording", source);
}
}  // namespace

QString pathText(const std::filesystem::path& path) {
  return text(path_text(path));
}

std::filesystem::path textPath(const QString& text) {
  return text_path(utf8(text));
}

QString errorLine(const Error& error) {
  return text(to_line(error));
}

QString word(model::MarkKind kind) {
  switch (kind) {
    case model::MarkKind::beat:
      return tr("Beat");
    case model::MarkKind::whistle:
      return tr("Whistle");
    case model::MarkKind::safety_valve:
      return tr("Safety valve");
    case model::MarkKind::pump:
      return tr("Pump");
    case model::MarkKind::injector:
      return tr("Injector");
    case model::MarkKind::standing:
      return tr("Standing");
    case model::MarkKind::unusable:
      return tr("Unusable");
    case model::MarkKind::other:
      return tr("Other");
    case model::MarkKind::effort:
      return tr("Effort");
    case model::MarkKind::beat_added:
      return tr("Beat added");
    case model::MarkKind::beat_removed:
      return tr("Beat removed");
    case model::MarkKind::beat_moved:
      return tr("Beat moved");
    case model::MarkKind::beats_halved:
      return tr("Beats halved");
    case model::MarkKind::beats_doubled:
      return tr("Beats doubled");
    case model::MarkKind::revolution:
      return tr("Revolution");
    case model::MarkKind::retracked:
      return tr("Tracked anew");
  }
  return {};
}

QString word(model::SoundKind kind) {
  switch (kind) {
    case model::SoundKind::one_shot:
      return tr("One-shot");
    case model::SoundKind::held:
      return tr("Begin, hold, release");
  }
  return {};
}

QString word(model::Category category) {
  switch (category) {
    case model::Category::exhaust:
      return tr("Exhaust");
    case model::Category::whistle:
      return tr("Whistle");
    case model::Category::bell:
      return tr("Bell");
    case model::Category::safety_valve:
      return tr("Safety valve");
    case model::Category::pump:
      return tr("Pump");
    case model::Category::injector:
      return tr("Injector");
    case model::Category::motion:
      return tr("Motion");
    case model::Category::ambience:
      return tr("Ambience");
    case model::Category::voice:
      return tr("Voice");
    case model::Category::other:
      return tr("Other");
  }
  return {};
}

QString word(model::Condition condition) {
  switch (condition) {
    case model::Condition::normal:
      return tr("Normal running");
    case model::Condition::cocks_open:
      return tr("Cylinder cocks open");
    case model::Condition::heavy_start:
      return tr("Heavy start");
    case model::Condition::slip:
      return tr("Slip");
  }
  return {};
}

QString word(model::Effort effort) {
  switch (effort) {
    case model::Effort::drifting:
      return tr("Drifting");
    case model::Effort::easy:
      return tr("Easy");
    case model::Effort::hard:
      return tr("Hard");
  }
  return {};
}

QString word(model::KeyMode mode) {
  switch (mode) {
    case model::KeyMode::latching:
      return tr("Latching");
    case model::KeyMode::momentary:
      return tr("Momentary");
  }
  return {};
}

QString word(model::KeyDirection direction) {
  switch (direction) {
    case model::KeyDirection::any:
      return tr("Both ways");
    case model::KeyDirection::forward:
      return tr("Forward");
    case model::KeyDirection::reverse:
      return tr("Reverse");
  }
  return {};
}

QString word(check::Severity severity) {
  switch (severity) {
    case check::Severity::error:
      return tr("Error");
    case check::Severity::warning:
      return tr("Warning");
    case check::Severity::hint:
      return tr("Hint");
  }
  return {};
}

QString word(model::State state) {
  switch (state) {
    case model::State::standing:
      return tr("Standing");
    case model::State::starting:
      return tr("Starting");
    case model::State::working:
      return tr("Working");
    case model::State::coasting:
      return tr("Coasting");
    case model::State::braking:
      return tr("Braking");
    case model::State::stopping:
      return tr("Stopping");
    case model::State::asleep:
      return tr("Asleep");
    case model::State::no_power:
      return tr("No track power");
  }
  return {};
}

QString word(model::Chore chore) {
  switch (chore) {
    case model::Chore::fire:
      return tr("Fire: a charge of coal");
    case model::Chore::feed:
      return tr("Feed: water into the boiler");
  }
  return {};
}

QString word(model::TriggerEvent event) {
  switch (event) {
    case model::TriggerEvent::state_entered:
      return tr("A state begins");
    case model::TriggerEvent::state_left:
      return tr("A state ends");
    case model::TriggerEvent::leaving_rest:
      return tr("Leaving rest");
    case model::TriggerEvent::at_rest:
      return tr("Coming to rest");
    case model::TriggerEvent::regulator_opened:
      return tr("Regulator opened");
    case model::TriggerEvent::regulator_closed:
      return tr("Regulator closed");
    case model::TriggerEvent::speed_rises:
      return tr("Speed rises through");
    case model::TriggerEvent::speed_falls:
      return tr("Speed falls through");
    case model::TriggerEvent::reversing:
      return tr("Reversing");
    case model::TriggerEvent::sound_on:
      return tr("Sound put on");
    case model::TriggerEvent::sound_off:
      return tr("Sound shut down");
    case model::TriggerEvent::power_on:
      return tr("Track power comes");
    case model::TriggerEvent::power_off:
      return tr("Track power goes");
    case model::TriggerEvent::every:
      return tr("Again and again");
    case model::TriggerEvent::blows_off:
      return tr("Safety valve lifts");
    case model::TriggerEvent::reseats:
      return tr("Safety valve shuts");
    case model::TriggerEvent::primes:
      return tr("Boiler primes");
    case model::TriggerEvent::fire_dropped:
      return tr("Fire dropped");
    case model::TriggerEvent::slips:
      return tr("Wheels slip");
  }
  return {};
}

QString word(model::TriggerAction action) {
  switch (action) {
    case model::TriggerAction::start:
      return tr("Start a sound");
    case model::TriggerAction::stop:
      return tr("Stop a sound");
    case model::TriggerAction::swap:
      return tr("Swap two sounds");
  }
  return {};
}

QString word(model::LayerKind kind) {
  switch (kind) {
    case model::LayerKind::wheel:
      return tr("With the wheel");
    case model::LayerKind::distance:
      return tr("At rail joints");
    case model::LayerKind::bed:
      return tr("Held bed");
  }
  return {};
}

QString taskWord(std::size_t kind) {
  switch (kind) {
    case 0:
      return tr("Brake");
    case 1:
      return tr("Direct control");
    case 2:
      return tr("Silence");
    case 3:
      return tr("Soften");
    case 4:
      return tr("Chore");
    case 5:
      return tr("Effort");
    case 6:
      return tr("Option");
    case 7:
      return tr("Wake");
    case 8:
      return tr("Slip");
    default:
      return {};
  }
}
static_assert(std::variant_size_v<model::KeyTask> == 9, "taskWord() has a word for each task");

namespace {

QString percent(double share) {
  return tr("%1 %").arg(QLocale().toString(100.0 * share, 'f', 0));
}

/// One sentence a kind of task.
struct TaskLine {
  const model::Project& project;

  QString operator()(const model::BrakeKey& task) const {
    const QString line = tr("Brakes at %1").arg(percent(task.strength));
    return task.grows_s > 0.0
               ? tr("%1, growing over %2 s").arg(line, QLocale().toString(task.grows_s, 'f', 1))
               : line;
  }
  QString operator()(const model::DirectControlKey& task) const {
    return task.momentum > 0.0 ? tr("Momentum at %1").arg(percent(task.momentum))
                               : tr("No momentum");
  }
  QString operator()(const model::SilenceKey& task) const {
    return tr("Silences all, over %1 s").arg(QLocale().toString(task.fade_s, 'f', 2));
  }
  QString operator()(const model::SoftenKey& task) const {
    return tr("Softens all by %1").arg(decibelText(task.by_db));
  }
  QString operator()(const model::ChoreKey& task) const { return word(task.chore); }
  QString operator()(const model::EffortKey& task) const {
    return tr("Effort: %1").arg(word(task.effort).toLower());
  }
  QString operator()(const model::OptionKey& task) const {
    const model::Option* option = model::find(project, task.option);
    return tr("%1 = %2").arg(option == nullptr ? tr("Option") : text(option->name)).arg(task.value);
  }
  QString operator()(const model::WakeKey& task) const {
    return task.starts_asleep ? tr("Wakes the engine, asleep at first")
                              : tr("Wakes the engine, awake at first");
  }
  QString operator()(const model::SlipKey& task) const {
    return tr("Slips the wheels at %1").arg(percent(task.strength));
  }
};

}  // namespace

QString taskText(const model::Project& project, const std::optional<model::KeyTask>& task) {
  return task ? std::visit(TaskLine{project}, *task) : QString();
}

QString whenText(const model::Project& project, const model::When& when) {
  QStringList states;
  for (const model::State state : when.states)
    states << word(state);
  for (const Id<model::OwnState> id : when.own_states) {
    if (const model::OwnState* state = model::find(project, id)) states << text(state->name);
  }
  QStringList parts;
  if (!states.isEmpty()) parts << states.join(tr(", "));
  if (const model::Option* option = model::find(project, when.option))
    parts << tr("%1 = %2").arg(text(option->name)).arg(when.option_value);
  return parts.isEmpty() ? tr("Always") : parts.join(tr("; "));
}

QString timeText(double seconds, int decimals) {
  const QLocale locale;
  const double scale = std::pow(10.0, decimals);
  const double rounded = std::round(std::abs(seconds) * scale) / scale;
  const auto whole = static_cast<qint64>(rounded);
  const qint64 hours = whole / 3600;
  const qint64 minutes = whole / 60 % 60;
  const double rest = rounded - static_cast<double>(whole - whole % 60);
  const QString sign = seconds < 0 && rounded > 0 ? QStringLiteral("-") : QString();
  QString tail = locale.toString(rest, 'f', decimals);
  if (rest < 10.0 && tail.size() < (decimals > 0 ? decimals + 3 : 2)) tail.prepend(u'0');
  if (hours > 0) {
    return sign +
           QStringLiteral("%1:%2:%3").arg(hours).arg(minutes, 2, 10, QLatin1Char('0')).arg(tail);
  }
  return sign + QStringLiteral("%1:%2").arg(minutes).arg(tail);
}

QString bytesText(qint64 bytes) {
  return QLocale().formattedDataSize(bytes, 2, QLocale::DataSizeIecFormat);
}

QString mebibytes(qint64 bytes) {
  constexpr double mebibyte = 1024.0 * 1024.0;
  return QLocale().toString(static_cast<double>(bytes) / mebibyte, 'f', 2);
}

QString decibelText(std::optional<double> db, int decimals) {
  if (!db) return QStringLiteral("—");
  return tr("%1 dB").arg(QLocale().toString(*db, 'f', decimals));
}

QString truePeakText(std::optional<double> dbtp) {
  if (!dbtp) return QStringLiteral("—");
  return tr("%1 dBTP").arg(QLocale().toString(*dbtp, 'f', 1));
}

QString speedText(double kmh) {
  return tr("%1 km/h").arg(QLocale().toString(kmh, 'f', 1));
}

QString bothSpeedsText(double kmh) {
  return tr("%1 (%2 mph)").arg(speedText(kmh), QLocale().toString(mph_of_kmh(kmh), 'f', 1));
}

QString scaleSpeedText(double kmh, double ratio) {
  return tr("%1 mm/s at 1:%2")
      .arg(QLocale().toString(model_speed_mm_s(kmh, ratio), 'f', 0),
           QLocale().toString(ratio, 'g', 4));
}

}  // namespace fourbeat::ui
