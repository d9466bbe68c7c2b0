// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QMap>
#include <QPointer>
#include <QWidget>

class QGridLayout;
class QLabel;
class QProgressBar;
class QToolButton;

namespace fourbeat::ui {

class JobRunner;

/// The oldest running job with its progress and a button to cancel it; where there are more, how
/// many, on a button that opens a list of all of them.
class JobBar : public QWidget {
  Q_OBJECT
 public:
  explicit JobBar(QWidget* parent = nullptr);

  /// The runner shown; null: none.
  void setRunner(JobRunner* runner);

 private:
  struct Job {
    QString title;
    QString stage;
    double fraction = -1.0;
  };
  /// What tells of a job, here and in the list.
  struct Line {
    QLabel* title = nullptr;
    QProgressBar* bar = nullptr;
    QToolButton* cancel = nullptr;
  };
  [[nodiscard]] Line makeLine(QWidget* parent, quint64 ticket);
  static void show(const Line& line, const Job& job);
  void cancel(quint64 ticket);
  void refresh();
  void refreshList();
  void openList();

  QPointer<JobRunner> runner_;
  QMap<quint64, Job> jobs_;  ///< by their age
  Line first_;
  QToolButton* more_;
  QWidget* list_;
  QGridLayout* rows_;
  QMap<quint64, Line> lines_;
};

}  // namespace fourbeat::ui
