// SPDX-License-Identifier: GPL-3.0-or-later
#include "hand.h"

#include <QAbstractItemView>
#include <QApplication>
#include <QComboBox>
#include <QElapsedTimer>
#include <QEventLoop>
#include <QLabel>
#include <QMetaObject>
#include <QProcess>
#include <QTabBar>
#include <QThread>
#include <QWidget>
#include <thread>

namespace fourbeat::tests {

namespace {

/// Input passes through the X server, and what it starts may need a turn of the loop or two.
constexpr unsigned long settleMs = 80;
constexpr int lookEveryMs = 30;
constexpr int appearMs = 20'000;

struct Failed {
  QString what;
};

bool isNamed(const QWidget* widget, const QString& name) {
  const auto* label = qobject_cast<const QLabel*>(widget);
  if (label != nullptr && label->buddy() != nullptr) return false;  // its buddy is meant
  const QString text = widget->property("text").toString().remove(QLatin1Char('&'));
  return widget->accessibleName() == name || text == name || widget->objectName() == name;
}

QStringList moveTo(QPoint place) {
  return {QStringLiteral("mousemove"), QString::number(place.x()), QString::number(place.y())};
}

}  // namespace

QString Hand::run(const std::function<void(Hand&)>& script) {
  QString failed;
  QEventLoop loop;
  std::thread thread([&] {
    Hand hand;
    try {
      script(hand);
    } catch (const Failed& failure) {
      failed = failure.what;
    }
    QMetaObject::invokeMethod(
        &loop,
        [&loop] {
          // A dialog that the script left open would keep the loop from ending.
          while (QWidget* open = QApplication::activeModalWidget()) {
            open->close();
            QCoreApplication::processEvents();
          }
          loop.quit();
        },
        Qt::QueuedConnection);
  });
  loop.exec();
  thread.join();
  return failed;
}

void Hand::fail(const QString& what) {
  throw Failed{what};
}

void Hand::ask(const std::function<void()>& look) {
  QMetaObject::invokeMethod(qApp, look, Qt::BlockingQueuedConnection);
}

void Hand::waitFor(const QString& what, const std::function<bool()>& holds, int ms) {
  QElapsedTimer clock;
  clock.start();
  bool reached = false;
  while (true) {
    ask([&] { reached = holds(); });
    if (reached) return;
    if (clock.elapsed() > ms) fail(QStringLiteral("waited in vain for: ") + what);
    QThread::msleep(lookEveryMs);
  }
}

QWidget* Hand::find(const QString& name, const char* className) {
  QWidgetList tops = QApplication::topLevelWidgets();
  for (QWidget* first : {QApplication::activePopupWidget(), QApplication::activeModalWidget()}) {
    if (first != nullptr) tops.prepend(first);
  }
  for (const QWidget* top : tops) {
    if (!top->isVisible()) continue;
    for (QWidget* widget : top->findChildren<QWidget*>()) {
      if (widget->isVisible() && widget->inherits(className) && isNamed(widget, name)) {
        return widget;
      }
    }
    if (QApplication::activeModalWidget() == top) return nullptr;
  }
  return nullptr;
}

QPoint Hand::placeOf(const QString& name, QPointF at) {
  QPoint place;
  waitFor(
      QStringLiteral("“%1” to be there and enabled").arg(name),
      [&] {
        const QWidget* widget = find(name);
        if (widget == nullptr || !widget->isEnabled()) return false;
        const QPointF inside(at.x() * (widget->width() - 1), at.y() * (widget->height() - 1));
        place = (widget->mapToGlobal(inside) * widget->devicePixelRatioF()).toPoint();
        return true;
      },
      appearMs);
  return place;
}

void Hand::xdotool(const QStringList& arguments) {
  if (QProcess::execute(QStringLiteral("xdotool"), arguments) != 0) {
    fail(QStringLiteral("xdotool %1").arg(arguments.join(QLatin1Char(' '))));
  }
  QThread::msleep(settleMs);
}

void Hand::click(const QString& name, QPointF at, int times) {
  xdotool(moveTo(placeOf(name, at)) +
          QStringList{QStringLiteral("click"), QStringLiteral("--repeat"), QString::number(times),
                      QStringLiteral("--delay"), QStringLiteral("40"), QStringLiteral("1")});
}

void Hand::clickRow(const QString& view, const QString& text, int column, int target, int times) {
  QPoint place;
  waitFor(
      QStringLiteral("row “%1” in “%2”").arg(text, view),
      [&] {
        auto* list = qobject_cast<QAbstractItemView*>(find(view, "QAbstractItemView"));
        if (list == nullptr || list->model() == nullptr) return false;
        for (int row = 0; row < list->model()->rowCount(); ++row) {
          const QModelIndex cell = list->model()->index(row, column);
          if (!cell.data().toString().contains(text)) continue;
          const QModelIndex aim = target < 0 ? cell : cell.siblingAtColumn(target);
          list->scrollTo(aim);
          const QPoint inside = list->visualRect(aim).center();
          place = (QPointF(list->viewport()->mapToGlobal(inside)) * list->devicePixelRatioF())
                      .toPoint();
          return true;
        }
        return false;
      },
      appearMs);
  xdotool(moveTo(place) + QStringList{QStringLiteral("click"), QStringLiteral("--repeat"),
                                      QString::number(times), QStringLiteral("--delay"),
                                      QStringLiteral("40"), QStringLiteral("1")});
}

void Hand::clickTab(const QString& tabs, const QString& tab) {
  QPoint place;
  waitFor(
      QStringLiteral("tab “%1” of “%2”").arg(tab, tabs),
      [&] {
        QWidget* widget = find(tabs);
        const auto* bar = qobject_cast<QTabBar*>(widget);
        if (widget != nullptr && bar == nullptr) bar = widget->findChild<QTabBar*>();
        if (bar == nullptr) return false;
        for (int i = 0; i < bar->count(); ++i) {
          if (bar->tabText(i) != tab) continue;
          const QPointF middle(bar->mapToGlobal(bar->tabRect(i).center()));
          place = (middle * bar->devicePixelRatioF()).toPoint();
          return true;
        }
        return false;
      },
      appearMs);
  xdotool(moveTo(place) + QStringList{QStringLiteral("click"), QStringLiteral("1")});
}

void Hand::choose(const QString& combo, const QString& entry) {
  click(combo);
  int steps = 0;
  waitFor(QStringLiteral("entry “%1” in “%2”").arg(entry, combo), [&] {
    const auto* box = qobject_cast<QComboBox*>(find(combo, "QComboBox"));
    if (box == nullptr) return false;
    for (int i = 0; i < box->count(); ++i) {
      if (box->itemText(i).contains(entry)) {
        steps = i;
        return true;
      }
    }
    return false;
  });
  QStringList names{QStringLiteral("Home")};
  for (int i = 0; i < steps; ++i)
    names << QStringLiteral("Down");
  keys(names << QStringLiteral("Return"));
}

void Hand::drag(const QString& from, QPointF start, const QString& to, QPointF end) {
  const QPoint first = placeOf(from, start);
  const QPoint last = placeOf(to, end);
  QStringList steps = moveTo(first);
  steps << QStringLiteral("mousedown") << QStringLiteral("1");
  constexpr int moves = 12;
  for (int i = 1; i <= moves; ++i) {
    steps << moveTo(first + (last - first) * i / moves) << QStringLiteral("sleep")
          << QStringLiteral("0.03");
  }
  steps << QStringLiteral("sleep") << QStringLiteral("0.15") << QStringLiteral("mouseup")
        << QStringLiteral("1");
  xdotool(steps);
}

void Hand::hold(const QString& name, int ms) {
  xdotool(moveTo(placeOf(name, {0.5, 0.5})) +
          QStringList{QStringLiteral("mousedown"), QStringLiteral("1"), QStringLiteral("sleep"),
                      QString::number(ms / 1000.0, 'f', 3), QStringLiteral("mouseup"),
                      QStringLiteral("1")});
}

void Hand::type(const QString& text) {
  xdotool({QStringLiteral("type"), QStringLiteral("--delay"), QStringLiteral("12"),
           QStringLiteral("--"), text});
}

void Hand::keys(const QStringList& names) {
  xdotool(QStringList{QStringLiteral("key"), QStringLiteral("--delay"), QStringLiteral("30")} +
          names);
}

void Hand::holdKey(const QString& name, int ms) {
  xdotool({QStringLiteral("keydown"), name, QStringLiteral("sleep"),
           QString::number(ms / 1000.0, 'f', 3), QStringLiteral("keyup"), name});
}

}  // namespace fourbeat::tests
