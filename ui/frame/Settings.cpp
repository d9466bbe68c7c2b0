// SPDX-License-Identifier: GPL-3.0-or-later
#include "Settings.h"

#include <QDir>
#include <QFileInfo>
#include <QSettings>
#include <QStandardPaths>

namespace fourbeat::ui::settings {

namespace {

constexpr qsizetype mostRecent = 10;

QSettings& store() {
  static QSettings settings(QSettings::IniFormat, QSettings::UserScope, QStringLiteral("fourbeat"),
                            QStringLiteral("fourbeat-desk"));
  return settings;
}

const QString recentKey = QStringLiteral("recent");
const QString geometryKey = QStringLiteral("window/geometry");
const QString stateKey = QStringLiteral("window/state");
const QString arrangementKey = QStringLiteral("pages/%1");
const QString themeKey = QStringLiteral("theme");
const QString deviceKey = QStringLiteral("sound/device");
const QString volumeKey = QStringLiteral("sound/volume");
const QString folderKey = QStringLiteral("folder");

}  // namespace

QStringList recentProjects() {
  QStringList there;
  for (const QString& path : store().value(recentKey).toStringList()) {
    if (QFileInfo::exists(path)) there.append(path);
  }
  return there;
}

void noteProject(const QString& path) {
  const QString whole = QFileInfo(path).absoluteFilePath();
  QStringList list = store().value(recentKey).toStringList();
  list.removeAll(whole);
  list.prepend(whole);
  while (list.size() > mostRecent)
    list.removeLast();
  store().setValue(recentKey, list);
}

void clearRecentProjects() {
  store().remove(recentKey);
}

QByteArray windowGeometry() {
  return store().value(geometryKey).toByteArray();
}
QByteArray windowState() {
  return store().value(stateKey).toByteArray();
}
void keepWindow(const QByteArray& geometry, const QByteArray& state) {
  store().setValue(geometryKey, geometry);
  store().setValue(stateKey, state);
}

QList<int> arrangement(const QString& part) {
  QList<int> numbers;
  for (const QVariant& number : store().value(arrangementKey.arg(part)).toList())
    numbers << number.toInt();
  return numbers;
}
void keepArrangement(const QString& part, const QList<int>& numbers) {
  store().setValue(arrangementKey.arg(part), QVariantList(numbers.begin(), numbers.end()));
}

QString themeMode() {
  return store().value(themeKey, QStringLiteral("system")).toString();
}
void keepThemeMode(const QString& mode) {
  store().setValue(themeKey, mode);
}

QByteArray soundDevice() {
  return store().value(deviceKey).toByteArray();
}
void keepSoundDevice(const QByteArray& id) {
  store().setValue(deviceKey, id);
}

int volumeDb() {
  return store().value(volumeKey, 0).toInt();
}
void keepVolumeDb(int db) {
  store().setValue(volumeKey, db);
}

QString lastFolder() {
  QString kept = store().value(folderKey).toString();
  if (!kept.isEmpty() && QDir(kept).exists()) return kept;
  return QStandardPaths::writableLocation(QStandardPaths::DocumentsLocation);
}
void keepLastFolder(const QString& folder) {
  store().setValue(folderKey, folder);
}

}  // namespace fourbeat::ui::settings
