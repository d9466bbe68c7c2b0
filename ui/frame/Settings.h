// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QByteArray>
#include <QString>
#include <QStringList>

/// What the program remembers of a user between runs; nothing of a project.

namespace fourbeat::ui::settings {

/// Projects opened lately, newest first, at most ten; those that are gone are left out.
[[nodiscard]] QStringList recentProjects();
void noteProject(const QString& path);
void clearRecentProjects();

/// Window places and dock layout, as QMainWindow gives them.
[[nodiscard]] QByteArray windowGeometry();
[[nodiscard]] QByteArray windowState();
void keepWindow(const QByteArray& geometry, const QByteArray& state);

/// How a part of a page is arranged: sizes or places, as frame/Layout.h puts them; empty: never
/// kept.
[[nodiscard]] QList<int> arrangement(const QString& part);
void keepArrangement(const QString& part, const QList<int>& numbers);

/// "system", "light" or "dark".
[[nodiscard]] QString themeMode();
void keepThemeMode(const QString& mode);

/// The sound device's id; empty: the system's default.
[[nodiscard]] QByteArray soundDevice();
void keepSoundDevice(const QByteArray& id);

/// Monitor volume, dB; 0: full.
[[nodiscard]] int volumeDb();
void keepVolumeDb(int db);

/// The folder that file dialogs start in.
[[nodiscard]] QString lastFolder();
void keepLastFolder(const QString& folder);

}  // namespace fourbeat::ui::settings
