// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "MainWindow.h"
#include "support.h"

#include <QTest>
#include <memory>

namespace fourbeat::tests {

/// A window whose questions are answered by the test; one that is not expected fails it.
inline std::unique_ptr<ui::MainWindow> window_that_asks_nothing() {
  auto window = std::make_unique<ui::MainWindow>();
  window->questions().recovery = [](const QString&, const QString&) {
    FAIL("asked about recovery");
    return ui::RecoveryChoice::cancel;
  };
  window->questions().close = [](const QString&) {
    FAIL("asked about closing");
    return ui::CloseChoice::cancel;
  };
  window->questions().trust = [](const QString&) {
    FAIL("asked about trust");
    return false;
  };
  return window;
}

/// Such a window in view, with the keyboard, on a project.
inline std::unique_ptr<ui::MainWindow> window_on(const SmallProject& small) {
  auto window = window_that_asks_nothing();
  window->show();
  REQUIRE(QTest::qWaitForWindowExposed(window.get()));
  window->activateWindow();
  REQUIRE(window->openProject(small.path()));
  return window;
}

/// The widget of a name for screen readers, or null.
template <class Kind>
Kind* named(const QWidget& in, const char* name) {
  for (Kind* widget : in.findChildren<Kind*>()) {
    if (widget->accessibleName() == QLatin1String(name)) return widget;
  }
  return nullptr;
}

}  // namespace fourbeat::tests
