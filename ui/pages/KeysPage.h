// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Page.h"

#include "fourbeat/audio/pcm.h"
#include "fourbeat/model/key_map.h"

#include <memory>
#include <vector>

class QLabel;
class QPushButton;
class QStackedWidget;
class QTabWidget;
class QTableView;

namespace fourbeat::ui {

class KeyForm;
class KeyMapModel;
class Section;

/// The function keys: which sound each plays, what it does beside, and when; and a key to try them
/// with. In tabs of their own what plays by itself: triggers, layers, and states of the set's own;
/// and how the set drives, and what its fire and water ask of the driver.
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

  void makeKeys();
  void makeSections();
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
  QTabWidget* tabs_ = nullptr;
  struct Tab {
    QString list;  ///< its JSON Pointer
    Section* section = nullptr;
  };
  std::vector<Tab> sections_;  ///< in the order of their tabs, which follow the keys'
  QTableView* table_ = nullptr;
  QStackedWidget* stack_ = nullptr;
  QPushButton* duplicate_ = nullptr;
  QPushButton* remove_ = nullptr;
  QLabel* title_ = nullptr;
  QLabel* what_ = nullptr;
  QLabel* status_ = nullptr;
  QLabel* snags_ = nullptr;
  QPushButton* try_ = nullptr;
  KeyForm* form_ = nullptr;

  std::shared_ptr<const audio::Clip> clip_;  ///< of clipSound_ at clipRevision_, or null
  Id<model::Sound> clipSound_;
  quint64 clipRevision_ = 0;
  Wish wish_ = Wish::none;
  bool latched_ = false;  ///< a latching key is on
};

}  // namespace fourbeat::ui
