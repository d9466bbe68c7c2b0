// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QDialog>
#include <QString>
#include <functional>
#include <vector>

class QLineEdit;
class QListWidget;

namespace fourbeat::model {
struct Project;
}

namespace fourbeat::ui {

/// One thing that can be found by name.
struct Findable {
  QString name;
  QString kind;  ///< "Take", "Segment", "Command" …
  QString icon;
  std::function<void()> go;
};

/// Takes, segments, sounds, keys, chuff rows and CVs of a project; `reveal` is given the JSON
/// Pointer of the one chosen.
[[nodiscard]] std::vector<Findable> findablesOf(const model::Project& project,
                                                const std::function<void(const QString&)>& reveal);

/// How well words typed match a name: 0 not at all; more is better. Every word must be found, at
/// any place; at the start of a word counts most. Case and accents are ignored.
[[nodiscard]] int matchScore(const QString& typed, const QString& name);

/// Search over everything by a few letters: type, arrow keys, Enter.
class QuickFind : public QDialog {
  Q_OBJECT
 public:
  explicit QuickFind(std::vector<Findable> all, QWidget* parent = nullptr);

 protected:
  bool eventFilter(QObject* watched, QEvent* event) override;

 private:
  void refresh();
  void choose();

  std::vector<Findable> all_;
  QLineEdit* words_;
  QListWidget* list_;
};

}  // namespace fourbeat::ui
