// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Page.h"

#include "fourbeat/audio/pcm.h"
#include "fourbeat/model/key_map.h"

#include <memory>

class QLabel;
class QPushButton;
class QStackedWidget;
class QTableView;

namespace fourbeat::ui {

class KeyMapModel;

/// The function keys: which sound each plays, and how; and a key to try them with.
class KeysPage : public Page {
  Q_OBJECT
 public:
  explicit KeysPage(Workspace& workspace, QWidget* parent = nullptr);

  void reveal(const QString& pointer) override;
  [[nodiscard]] bool shows(const QString& pointer) const override;
  void entered() override;
  void playRequested() override;

  /// The selected use, or null.
  [[nodiscard]] const model::Key* current() const;
  void select(Id<model::Key> key);

 private:
  /// What the try button asked for while the sound is being rendered.
  enum class Wish { none, hold, once };

  void makeList();
  QWidget* makeTry();
  void addKey();
  void duplicateKey();
  void removeKey();
  void refresh();
  void refreshNeed();
  void tryPressed();
  void tryReleased();
  void play(Wish wish);
  void start(bool hold);
  void prepare();
  void showLength();

  KeyMapModel* model_;
  QTableView* table_ = nullptr;
  QStackedWidget* stack_ = nullptr;
  QPushButton* duplicate_ = nullptr;
  QPushButton* remove_ = nullptr;
  QLabel* title_ = nullptr;
  QLabel* what_ = nullptr;
  QLabel* status_ = nullptr;
  QLabel* snags_ = nullptr;
  QPushButton* try_ = nullptr;

  std::shared_ptr<const audio::Clip> clip_;  ///< of clipSound_ at clipRevision_, or null
  Id<model::Sound> clipSound_;
  quint64 clipRevision_ = 0;
  Wish wish_ = Wish::none;
  bool latched_ = false;  ///< a latching key is on
};

}  // namespace fourbeat::ui
