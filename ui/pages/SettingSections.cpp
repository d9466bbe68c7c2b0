// SPDX-License-Identifier: GPL-3.0-or-later
#include "DrivingForm.h"
#include "DutiesForm.h"
#include "Sections.h"

#include "fourbeat/drive/neglect.h"

#include <QHBoxLayout>
#include <QLocale>

namespace fourbeat::ui {

namespace {

constexpr int lettersOfTheNote = 40;
constexpr double halfSpeed = 0.5;

/// A section that is one form, with what stands over it.
template <class Form>
class SettingSection : public Section {
 public:
  SettingSection(Form* form, QString need, QWidget* parent)
      : Section(parent), form_(form), need_(std::move(need)), bar_(new QHBoxLayout) {
    auto* column = new QVBoxLayout(this);
    column->setContentsMargins(0, Theme::gap, 0, 0);
    column->setSpacing(Theme::gap);
    column->addLayout(bar_);
    body_ = new QHBoxLayout;
    body_->setSpacing(Theme::margin);
    area_ = makeFormScroll(form, this);
    body_->addWidget(area_, 1);
    column->addLayout(body_, 1);
  }

  [[nodiscard]] QString need() const override { return need_; }
  void reveal(const QString& inside) override { form_->reveal(inside); }

 protected:
  [[nodiscard]] Form& form() const { return *form_; }
  [[nodiscard]] QHBoxLayout& bar() const { return *bar_; }
  [[nodiscard]] QHBoxLayout& body() const { return *body_; }
  /// Where the form scrolls.
  [[nodiscard]] QWidget& area() const { return *area_; }

 private:
  Form* form_;
  QString need_;
  QHBoxLayout* bar_;
  QHBoxLayout* body_;
  QWidget* area_;
};

class DrivingSection : public SettingSection<DrivingForm> {
  Q_DECLARE_TR_FUNCTIONS(DrivingSection)
 public:
  DrivingSection(Workspace& workspace, QWidget* parent)
      : SettingSection(new DrivingForm(workspace),
                       tr("How the engine moves, and what its sounds follow: what does not come "
                          "from a CV."),
                       parent) {
    bar().addStretch();
    bar().addWidget(makeButton(this, {}, tr("&Usual figures"),
                               tr("Put every figure back to what a new set has"), [this] {
                                 form().change(
                                     [](model::Driving& each, int) {
                                       model::Extra extra = std::move(each.extra);
                                       each = {};
                                       each.extra = std::move(extra);
                                     },
                                     0);
                               }));
  }
};

/// What the figures of the duties mean in play.
class NeglectNote : public QGroupBox {
  Q_DECLARE_TR_FUNCTIONS(NeglectNote)
 public:
  explicit NeglectNote(QWidget* parent)
      : QGroupBox(tr("With no chore done"), parent), note_(makeNote(this, title())) {
    auto* column = new QVBoxLayout(this);
    column->addWidget(note_);
    column->addStretch();
    setFixedWidth(fontMetrics().averageCharWidth() * lettersOfTheNote);
  }

  void show(const model::Duties& duties) {
    if (shown_ == duties) return;
    shown_ = duties;
    using model::Effort;
    note_->setText(QStringList{
        paragraph(tr("At rest"), drive::neglect(duties, {0.0, Effort::easy, true})),
        paragraph(tr("At half speed, easy"),
                  drive::neglect(duties, {halfSpeed, Effort::easy, false})),
        paragraph(tr("At top speed, hard"), drive::neglect(duties, {1.0, Effort::hard, false}))}
                       .join(QStringLiteral("\n\n")));
  }

 private:
  static QString paragraph(const QString& title, const drive::Neglect& found) {
    QStringList lines{title};
    const auto add = [&](const std::optional<double>& seconds, const QString& line) {
      constexpr double minute = 60.0;
      if (seconds) lines << line.arg(QLocale().toString(*seconds / minute, 'f', 1));
    };
    add(found.warns_s, tr("warns after %1 min"));
    add(found.weakens_s, tr("pulls less after %1 min"));
    add(found.drops_s, tr("drops its fire after %1 min"));
    add(found.stands_s, tr("stands still after %1 min"));
    if (lines.size() == 1) {
      constexpr double hour = 3600.0;
      lines << tr("nothing is amiss for %1 h").arg(drive::longest_neglect_s / hour);
    }
    return lines.join(QLatin1Char('\n'));
  }

  QLabel* note_;
  std::optional<model::Duties> shown_;
};

class DutiesSection : public SettingSection<DutiesForm> {
  Q_DECLARE_TR_FUNCTIONS(DutiesSection)
 public:
  DutiesSection(Workspace& workspace, QWidget* parent)
      : SettingSection(new DutiesForm(workspace),
                       tr("Duties give the driver fire and water to look after, as a game: chores "
                          "fall due in minutes."),
                       parent),
        workspace_(workspace),
        has_(new QCheckBox(tr("The set has &duties"), this)),
        none_(makeLabel(this,
                        tr("The set has no duties: steam holds, and no key for fire or feed does "
                           "anything."),
                        "muted")) {
    has_->setAccessibleName(tr("The set has duties"));
    connect(has_, &QCheckBox::clicked, this, [this](bool on) { give(on); });
    bar().addWidget(has_);
    bar().addStretch();
    usual_ = makeButton(this, {}, tr("&Usual figures"),
                        tr("Put every figure back to what a new set's duties have"), [this] {
                          form().change(
                              [](model::Duties& each, int) {
                                model::Duties fresh;
                                fresh.on = each.on;
                                fresh.extra = std::move(each.extra);
                                each = std::move(fresh);
                              },
                              0);
                        });
    bar().addWidget(usual_);
    neglect_ = new NeglectNote(this);
    body().addWidget(neglect_, 0, Qt::AlignTop);
    none_->setAlignment(Qt::AlignCenter);
    body().insertWidget(0, none_, 1);
    connect(&workspace.document(), &Document::changed, this, [this] { refresh(); });
    refresh();
  }

 protected:
  void showEvent(QShowEvent* event) override {
    SettingSection::showEvent(event);
    refresh();
  }

 private:
  void give(bool on) {
    std::optional<model::Duties> duties;
    if (on) {
      duties.emplace();
      duties->on = true;
    }
    const QString step = on ? tr("Give the set duties") : tr("Take the duties away");
    if (!workspace_.perform(step, {model::SetDuties{std::move(duties)}})) refresh();
  }
  void refresh() {
    const std::optional<model::Duties>& duties = workspace_.project().duties;
    has_->setChecked(duties.has_value());
    usual_->setVisible(duties.has_value());
    neglect_->setVisible(duties.has_value());
    none_->setVisible(!duties);
    area().setVisible(duties.has_value());
    if (duties && isVisible()) neglect_->show(*duties);
  }

  Workspace& workspace_;
  QCheckBox* has_;
  QLabel* none_;
  QPushButton* usual_ = nullptr;
  NeglectNote* neglect_ = nullptr;
};

}  // namespace

Section* makeDriving(Workspace& workspace, QWidget* parent) {
  return new DrivingSection(workspace, parent);
}

Section* makeDuties(Workspace& workspace, QWidget* parent) {
  return new DutiesSection(workspace, parent);
}

}  // namespace fourbeat::ui
