// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QMap>
#include <QPointer>
#include <QWidget>

class QLabel;
class QProgressBar;
class QToolButton;

namespace fourbeat::ui {

class JobRunner;

/// The oldest running job with its progress, how many more there are, and a button to cancel it.
class JobBar : public QWidget {
  Q_OBJECT
 public:
  explicit JobBar(QWidget* parent = nullptr);

  /// The runner shown; null: none.
  void setRunner(JobRunner* runner);

 private:
  struct Shown {
    QString title;
    QString stage;
    double fraction = -1.0;
  };
  void refresh();

  QPointer<JobRunner> runner_;
  QLabel* title_;
  QProgressBar* bar_;
  QToolButton* cancel_;
  QMap<quint64, Shown> jobs_;
};

}  // namespace fourbeat::ui
