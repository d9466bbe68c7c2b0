// SPDX-License-Identifier: GPL-3.0-or-later
#include "hand.h"

#include "support/catch.h"

#include <QCoreApplication>
#include <QElapsedTimer>
#include <QEventLoop>
#include <QProcess>
#include <QTest>

namespace fourbeat::tests {

namespace {

/// Input passes through the X server, and what it starts may need a turn of the loop or two.
constexpr int settleMs = 60;

void xdotool(const QStringList& arguments) {
  QProcess process;
  process.setProcessChannelMode(QProcess::ForwardedErrorChannel);
  QEventLoop loop;
  QObject::connect(&process, &QProcess::finished, &loop, &QEventLoop::quit);
  process.start(QStringLiteral("xdotool"), arguments);
  loop.exec();
  REQUIRE(process.exitCode() == 0);
  QTest::qWait(settleMs);
}

QStringList moveTo(const QWidget* widget, const QPoint& at) {
  const QPoint place = (QPointF(widget->mapToGlobal(at)) * widget->devicePixelRatioF()).toPoint();
  return {QStringLiteral("mousemove"), QString::number(place.x()), QString::number(place.y())};
}

}  // namespace

void Hand::click(const QWidget* widget) {
  click(widget, widget->rect().center());
}

void Hand::click(const QWidget* widget, const QPoint& at, int button, int times) {
  REQUIRE(widget->isVisible());
  xdotool(moveTo(widget, at) + QStringList{QStringLiteral("click"), QStringLiteral("--repeat"),
                                           QString::number(times), QStringLiteral("--delay"),
                                           QStringLiteral("40"), QString::number(button)});
}

void Hand::click(QAbstractItemView* view, int row, int column, int times) {
  const QModelIndex index = view->model()->index(row, column, view->rootIndex());
  REQUIRE(index.isValid());
  view->scrollTo(index);
  QTest::qWait(settleMs);
  click(view->viewport(), view->visualRect(index).center(), 1, times);
}

void Hand::drag(const QWidget* from, const QPoint& start, const QWidget* to, const QPoint& end) {
  QStringList steps = moveTo(from, start);
  steps << QStringLiteral("mousedown") << QStringLiteral("1");
  const QPoint first = from->mapToGlobal(start);
  const QPoint last = to->mapToGlobal(end);
  constexpr int moves = 12;
  for (int i = 1; i <= moves; ++i) {
    const QPoint at = first + (last - first) * i / moves;
    const QPoint place = (QPointF(at) * to->devicePixelRatioF()).toPoint();
    steps << QStringLiteral("mousemove") << QString::number(place.x())
          << QString::number(place.y()) << QStringLiteral("sleep") << QStringLiteral("0.03");
  }
  steps << QStringLiteral("sleep") << QStringLiteral("0.1") << QStringLiteral("mouseup")
        << QStringLiteral("1");
  xdotool(steps);
}

void Hand::hold(const QWidget* widget, int ms) {
  xdotool(moveTo(widget, widget->rect().center()) +
          QStringList{QStringLiteral("mousedown"), QStringLiteral("1"), QStringLiteral("sleep"),
                      QString::number(ms / 1000.0, 'f', 3), QStringLiteral("mouseup"),
                      QStringLiteral("1")});
}

void Hand::type(const QString& text) {
  xdotool({QStringLiteral("type"), QStringLiteral("--delay"), QStringLiteral("15"),
           QStringLiteral("--"), text});
}

void Hand::keys(const QStringList& names) {
  xdotool(QStringList{QStringLiteral("key"), QStringLiteral("--delay"), QStringLiteral("30")} +
          names);
}

QWidget* findWidget(const QWidget* root, const QString& name, const char* className) {
  QWidget* found = nullptr;
  for (QWidget* widget : root->findChildren<QWidget*>()) {
    if (!widget->isVisible()) continue;
    if (className != nullptr && !widget->inherits(className)) continue;
    const QString text = widget->property("text").toString().remove(QLatin1Char('&'));
    if (widget->accessibleName() != name && text != name && widget->objectName() != name) continue;
    found = widget;
    break;
  }
  INFO("widget " << name.toStdString());
  REQUIRE(found != nullptr);
  return found;
}

}  // namespace fourbeat::tests
