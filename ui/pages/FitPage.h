// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Page.h"

#include "fourbeat/model/decoder_profile.h"

#include <set>
#include <string>
#include <vector>

class QComboBox;
class QLabel;
class QProgressBar;
class QPushButton;
class QStackedWidget;
class QTableView;

namespace fourbeat::ui {

class FitSoundModel;

/// The set against its decoder: which one, what it takes, and what of it is worth most.
class FitPage : public Page {
  Q_OBJECT
 public:
  explicit FitPage(Workspace& workspace, QWidget* parent = nullptr);

  void reveal(const QString& pointer) override;
  [[nodiscard]] bool shows(const QString& pointer) const override;
  void playRequested() override;

  /// How the set stands, in plain sentences.
  [[nodiscard]] QString verdict() const;

 private:
  /// A figure against its limit.
  struct Gauge {
    QLabel* sign = nullptr;
    QProgressBar* bar = nullptr;
    QLabel* figures = nullptr;
  };

  QWidget* makeChoice();
  QWidget* makeGauges();
  QWidget* makeTable();
  void fillDecoders();
  void writeOwn();
  void changeOwn();
  /// Puts a profile that was just written to use.
  void choose(const model::DecoderProfile& made);
  void refresh();
  void refreshFacts();
  void refreshVerdict();
  void show(const Gauge& gauge, double used, double available, const QString& figures);
  void hideGauges(const QString& why);
  [[nodiscard]] const model::DecoderProfile* profile() const;

  std::vector<model::DecoderProfile> profiles_;
  std::set<std::string> shipped_;  ///< ids of those that come with the program
  FitSoundModel* model_;
  QComboBox* decoder_ = nullptr;
  QPushButton* own_ = nullptr;
  QPushButton* change_ = nullptr;
  QLabel* facts_ = nullptr;
  Gauge memory_;
  Gauge voices_;
  Gauge sounds_;
  QLabel* verdict_ = nullptr;
  QStackedWidget* stack_ = nullptr;
  QLabel* empty_ = nullptr;
  QTableView* table_ = nullptr;
  QPushButton* hear_ = nullptr;
};

}  // namespace fourbeat::ui
