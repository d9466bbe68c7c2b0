// SPDX-License-Identifier: GPL-3.0-or-later
// German runs longer than English by about a third: nothing may be cut off for it.
#include "pages/CvTablePage.h"
#include "pages/KeysPage.h"
#include "section_hand.h"

#include <QGroupBox>
#include <QLabel>
#include <QScrollArea>
#include <QTabBar>
#include <QTranslator>
#include <algorithm>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

constexpr qsizetype wordLetters = 8;

/// Every text of the window, a third longer.
class LongWords : public QTranslator {
 public:
  [[nodiscard]] bool isEmpty() const override { return false; }
  [[nodiscard]] QString translate(const char* /*context*/, const char* source,
                                  const char* /*disambiguation*/, int /*n*/) const override {
    QString words = QString::fromUtf8(source);
    if (words.trimmed().size() < 3 || words.startsWith(QLatin1Char(' '))) return words;
    QString longer = words;
    for (qsizetype more = (words.size() + 2) / 3; more > 0; more -= wordLetters)
      longer += QLatin1Char(more > wordLetters ? ' ' : 'n') +
                QString(std::min(more, wordLetters), QLatin1Char('n'));
    return longer;
  }
};

/// The words that do not fit where they stand; a label that wraps needs the height instead.
QStringList cutOff(const QWidget& page) {
  QStringList cut;
  for (const QLabel* label : page.findChildren<QLabel*>()) {
    if (!label->isVisible() || label->text().isEmpty()) continue;
    const bool fits = label->wordWrap() ? label->height() >= label->heightForWidth(label->width())
                                        : label->width() >= label->sizeHint().width();
    const bool inside = label->parentWidget()->rect().contains(label->geometry());
    if (!fits || !inside) cut << label->text();
  }
  for (const QAbstractButton* button : page.findChildren<QAbstractButton*>()) {
    if (!button->isVisible() || button->text().isEmpty()) continue;
    if (button->width() < button->minimumSizeHint().width() ||
        !button->parentWidget()->rect().contains(button->geometry())) {
      cut << button->text();
    }
  }
  for (const QScrollArea* area : page.findChildren<QScrollArea*>()) {
    if (area->isVisible() && area->widget()->width() > area->viewport()->width())
      cut << QStringLiteral("what scrolls is wider than its area");
  }
  for (const QGroupBox* box : page.findChildren<QGroupBox*>()) {
    if (box->isVisible() && box->fontMetrics().horizontalAdvance(box->title()) > box->width())
      cut << box->title();
  }
  return cut;
}

template <class PageType>
void checkTabs(PageRig& rig, const std::vector<int>& places, const std::vector<const char*>& adds) {
  PageType page(rig.workspace);
  page.resize(1000, 660);
  page.show();
  REQUIRE(QTest::qWaitForWindowExposed(&page));
  CHECK(page.minimumSizeHint().width() <= 1000);
  for (std::size_t i = 0; i < places.size(); ++i) {
    QWidget& tab = openTab(page, places[i]);
    for (QPushButton* button : tab.findChildren<QPushButton*>()) {
      if (adds[i] != nullptr && button->accessibleName().startsWith(QString::fromUtf8(adds[i])))
        button->click();
    }
    QCoreApplication::processEvents();
    QCoreApplication::processEvents();
    INFO("tab " << places[i] << ": " << cutOff(tab).join(QLatin1String(" | ")).toStdString());
    CHECK(cutOff(tab).isEmpty());
  }
}

}  // namespace

TEST_CASE("long words: a third longer, the labels of the new forms are not cut off", "[ui]") {
  LongWords words;
  QCoreApplication::installTranslator(&words);
  PageRig rig;
  model::Driving driving = rig.project().driving;
  driving.slip.emplace();
  driving.coasts_until_braked = true;
  driving.sync.kind = model::SyncKind::calculated;
  REQUIRE(rig.document().perform(QStringLiteral("t"),
                                 {model::SetDriving{driving}, model::SetDuties{model::Duties{}}}));
  checkTabs<ui::KeysPage>(rig, {4, 5}, {nullptr, nullptr});
  checkTabs<ui::CvTablePage>(rig, {1, 2}, {"Add option", "Add CV"});
  QCoreApplication::removeTranslator(&words);
}
