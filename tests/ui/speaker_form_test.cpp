// SPDX-License-Identifier: GPL-3.0-or-later
#include "page_fixture.h"
#include "review/SpeakerForm.h"

#include "fourbeat/store/data_files.h"

#include <QCheckBox>
#include <QLineEdit>
#include <QTest>
#include <array>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

using S = model::Speaker;

/// Figures by the names of their fields, with what the model allows (design: figures of a speaker).
struct Figure {
  const char* name;
  double S::*at;
  double low;
  double high;
  const char* unit;
};
constexpr std::array<Figure, 7> figures{{{"High-pass frequency", &S::high_pass_hz, 10, 5000, " Hz"},
                                         {"High-pass Q", &S::high_pass_q, 0.3, 10, ""},
                                         {"Peak frequency", &S::peak_hz, 50, 20000, " Hz"},
                                         {"Peak Q", &S::peak_q, 0.1, 20, ""},
                                         {"Peak gain", &S::peak_db, -24, 24, " dB"},
                                         {"Low-pass frequency", &S::low_pass_hz, 500, 40000, " Hz"},
                                         {"Low-pass Q", &S::low_pass_q, 0.3, 10, ""}}};

struct FormFixture : PageFixture {
  FormFixture() {
    auto speakers = store::load_speakers();
    REQUIRE(speakers);
    shipped = *speakers;
    REQUIRE(workspace.perform(QStringLiteral("a"), {model::SetSpeaker{shipped.front()}}));
    form = new ui::SpeakerForm(
        workspace, shipped, [this] { ++heard; }, nullptr);
    form->show();
    form->activateWindow();
    REQUIRE(QTest::qWaitForWindowActive(form));
  }
  ~FormFixture() { delete form; }
  FormFixture(const FormFixture&) = delete;
  FormFixture& operator=(const FormFixture&) = delete;

  [[nodiscard]] const S& speaker() const { return *project().speaker; }
  template <class Widget>
  Widget* named(const QString& name) {
    return childNamed<Widget>(*form, name);
  }
  QDoubleSpinBox* field(const Figure& figure) {
    return named<QDoubleSpinBox>(QString::fromLatin1(figure.name));
  }

  std::vector<S> shipped;
  ui::SpeakerForm* form = nullptr;
  int heard = 0;
};

}  // namespace

TEST_CASE("speaker form: every figure is within bounds, has its unit, and is changed by one step",
          "[ui]") {
  FormFixture f;
  for (const Figure& figure : figures) {
    CAPTURE(figure.name);
    QDoubleSpinBox* field = f.field(figure);
    CHECK(field->suffix() == QString::fromLatin1(figure.unit));
    CHECK(field->value() == Approx(f.speaker().*figure.at).margin(0.05));
    CHECK(field->minimum() >= figure.low);
    CHECK(field->maximum() <= figure.high);
    const double wanted = f.speaker().*figure.at * 1.25;
    f.edits([&] { field->setValue(wanted); },
            [&] { return f.speaker().*figure.at == Approx(wanted).margin(0.51); });
    CHECK(field->value() == Approx(f.speaker().*figure.at).margin(0.05));
    // Past the end it stays at the end, and the project can be saved.
    field->setValue(1e9);
    CHECK(f.speaker().*figure.at <= figure.high);
    f.workspace.document().endMerge();
    field->setValue(-1e9);
    CHECK(f.speaker().*figure.at >= figure.low);
    f.workspace.document().endMerge();
    f.undo();
    f.undo();
  }
  CHECK(f.told.isEmpty());
}

TEST_CASE("speaker form: the low-pass stays above the high-pass", "[ui]") {
  FormFixture f;
  f.field(figures[5])->setValue(900.0);
  f.field(figures[0])->setValue(3000.0);
  CHECK(f.speaker().low_pass_hz == 900.0);
  CHECK(f.speaker().high_pass_hz == 899.0);
  f.field(figures[5])->setValue(500.0);
  CHECK(f.speaker().low_pass_hz == 900.0);
  CHECK(f.told.isEmpty());
}

TEST_CASE("speaker form: steps of one figure are one undo, those of two are two", "[ui]") {
  FormFixture f;
  const std::string before = f.state();
  auto& stack = f.workspace.document().undoStack();
  const int steps = stack.index();
  QDoubleSpinBox* field = f.field(figures[2]);
  field->setFocus();
  for (int i = 0; i < 3; ++i)
    QTest::keyClick(field, Qt::Key_Up);
  CHECK(stack.index() == steps + 1);
  QTest::keyClick(field, Qt::Key_Tab);
  CHECK(f.field(figures[3])->hasFocus());
  QTest::keyClick(f.field(figures[3]), Qt::Key_Down);
  CHECK(stack.index() == steps + 2);
  auto* hear = f.named<QPushButton>(QStringLiteral("Hear through this speaker"));
  hear->setFocus();
  QTest::keySequence(f.form, QKeySequence::Undo);
  QTest::keySequence(f.form, QKeySequence::Undo);
  CHECK(f.state() == before);
  QTest::keySequence(f.form, QKeySequence::Redo);
  CHECK(stack.index() == steps + 1);
  QTest::keyClick(f.form, Qt::Key_Return, Qt::ControlModifier);
  CHECK(f.heard == 1);
}

TEST_CASE("speaker form: figures typed by hand make a speaker of one's own, which can be named",
          "[ui]") {
  FormFixture f;
  QDoubleSpinBox* field = f.field(figures[0]);
  field->setFocus();
  field->selectAll();
  QTest::keyClicks(field, QStringLiteral("512"));
  QTest::keyClick(field, Qt::Key_Return);
  CHECK(f.speaker().high_pass_hz == 512.0);
  CHECK(f.speaker().name == f.shipped.front().name + " (changed)");
  CHECK(f.speaker().invented);
  auto* name = f.named<QLineEdit>(QStringLiteral("Name of the speaker"));
  f.edits(
      [&] {
        name->setFocus();
        name->selectAll();
        QTest::keyClicks(name, QStringLiteral("Tender, measured"));
        QTest::keyClick(name, Qt::Key_Return);
      },
      [&] { return f.speaker().name == "Tender, measured"; });
  auto* invented = f.form->findChild<QCheckBox*>();
  f.edits([&] { QTest::keyClick(invented, Qt::Key_Space); }, [&] { return !f.speaker().invented; });
  // A name that is none is refused.
  const std::string before = f.state();
  name->setFocus();
  name->selectAll();
  QTest::keyClicks(name, QStringLiteral("  "));
  QTest::keyClick(name, Qt::Key_Return);
  CHECK(f.state() == before);
  CHECK(name->text().toStdString() == f.speaker().name);
}

TEST_CASE("speaker form: without a speaker there is nothing to change; every field has a name",
          "[ui]") {
  FormFixture f;
  for (const QWidget* widget : f.form->findChildren<QWidget*>()) {
    if (widget->focusPolicy() == Qt::NoFocus || !widget->isVisible()) continue;
    if (widget->parentWidget()->inherits("QAbstractSpinBox")) continue;
    INFO(widget->metaObject()->className());
    const auto* button = qobject_cast<const QAbstractButton*>(widget);
    CHECK(
        (!widget->accessibleName().isEmpty() || (button != nullptr && !button->text().isEmpty())));
  }
  const std::string before = f.state();
  f.undo();
  REQUIRE_FALSE(f.project().speaker);
  for (const Figure& figure : figures)
    CHECK_FALSE(f.field(figure)->isEnabled());
  CHECK_FALSE(f.named<QLineEdit>(QStringLiteral("Name of the speaker"))->isEnabled());
  f.workspace.document().undoStack().redo();
  CHECK(f.state() == before);
  CHECK(f.field(figures[0])->isEnabled());
}
