// SPDX-License-Identifier: GPL-3.0-or-later
#include "NotesPage.h"

#include "Fields.h"
#include "PageParts.h"
#include "Wording.h"
#include "Workspace.h"
#include "views/SheetView.h"

#include "fourbeat/base/files.h"
#include "fourbeat/deliver/bundle.h"
#include "fourbeat/print/print.h"
#include "fourbeat/store/data_files.h"
#include "fourbeat/store/takes.h"

#include <QCheckBox>
#include <QDate>
#include <QDesktopServices>
#include <QFileDialog>
#include <QFileInfo>
#include <QFormLayout>
#include <QHBoxLayout>
#include <QKeyEvent>
#include <QLineEdit>
#include <QListWidget>
#include <QPlainTextEdit>
#include <QSplitter>
#include <QTextBrowser>
#include <QTextCursor>
#include <QUrl>
#include <QVBoxLayout>
#include <algorithm>

namespace fourbeat::ui {

namespace {

constexpr int previewRestMs = 150;
/// Typing after a pause of this length is another step to undo.
constexpr int typingPauseMs = 1500;
constexpr int pointerRole = Qt::UserRole;

/// Makes a text edit hold `wanted`, changing only what differs, so that the cursor stays.
void bringTo(QPlainTextEdit& edit, const QString& wanted) {
  const QString now = edit.toPlainText();
  if (now == wanted) return;
  const QSignalBlocker quiet(edit);
  const qsizetype most = std::min(now.size(), wanted.size());
  qsizetype same = 0;
  while (same < most && now[same] == wanted[same])
    ++same;
  qsizetype tail = 0;
  while (tail < most - same && now[now.size() - 1 - tail] == wanted[wanted.size() - 1 - tail])
    ++tail;
  QTextCursor cursor(edit.document());
  cursor.setPosition(static_cast<int>(same));
  cursor.setPosition(static_cast<int>(now.size() - tail), QTextCursor::KeepAnchor);
  cursor.insertText(wanted.mid(same, wanted.size() - same - tail));
}

void bringTo(QLineEdit& edit, const QString& wanted) {
  if (edit.text() == wanted) return;
  const QSignalBlocker quiet(edit);
  const int cursor = edit.cursorPosition();
  edit.setText(wanted);
  edit.setCursorPosition(cursor);
}

/// A sheet as a file: PDF or HTML, by its name.
Status writeSheet(const model::Project& project, const std::filesystem::path& folder,
                  const deliver::Sheet& sheet, const std::filesystem::path& file) {
  if (Status safe = store::refuse_takes_as_output(project, folder, file); !safe) return safe;
  if (file.extension() == ".pdf") return print::print_pdf(sheet, file);
  return write_file_atomically(file, deliver::html_of(sheet));
}

struct PackAnswer {
  work::Packed packed;
  QStringList faults;  ///< what reading the bundle back found
};

}  // namespace

NotesPage::NotesPage(Workspace& workspace, QWidget* parent) : Page(workspace, parent) {
  questions_.saveFile = [this](const QString& title, const QString& suggestion,
                               const QString& filter) {
    return QFileDialog::getSaveFileName(this, title, suggestion, filter);
  };
  questions_.folder = [this](const QString& title, const QString& folder) {
    return QFileDialog::getExistingDirectory(this, title, folder);
  };
  auto* row = new QHBoxLayout(this);
  row->setContentsMargins(Theme::margin, Theme::margin, Theme::margin, Theme::margin);
  auto* split = new QSplitter(Qt::Horizontal, this);
  row->addWidget(split);
  split->addWidget(makeEditor());
  preview_ = new SheetView(split);
  preview_->setAccessibleName(tr("Preview of the user notes"));
  split->addWidget(preview_);
  split->addWidget(makeDelivery());
  split->setChildrenCollapsible(false);
  const int letter = fontMetrics().averageCharWidth();
  split->setSizes({letter * 46, letter * 76, letter * 36});
  split->setStretchFactor(0, 3);
  split->setStretchFactor(1, 4);
  split->setStretchFactor(2, 2);

  previewDelay_.setSingleShot(true);
  previewDelay_.setInterval(previewRestMs);
  previewDelay_.setObjectName(QStringLiteral("notes preview delay"));
  connect(&previewDelay_, &QTimer::timeout, this, &NotesPage::showPreview);
  typingPause_.setSingleShot(true);
  typingPause_.setInterval(typingPauseMs);
  typingPause_.setObjectName(QStringLiteral("typing pause"));
  connect(&typingPause_, &QTimer::timeout, this,
          [this] { this->workspace().document().endMerge(); });
  connect(&workspace.document(), &Document::changed, this, &NotesPage::refresh);
  connect(&workspace.live(), &LiveCheck::updated, this, &NotesPage::refreshNeed);
  refresh();
  showPreview();
}

QWidget* NotesPage::makeFields() {
  auto* fields = new QWidget(this);
  auto* form = new QFormLayout(fields);
  form->setContentsMargins(0, 0, 0, 0);
  form->setVerticalSpacing(Theme::gap);
  const auto field = [&](const QString& label, const QString& name) {
    auto* edit = new QLineEdit(fields);
    edit->setAccessibleName(name);
    form->addRow(label, edit);
    return edit;
  };
  title_ = field(tr("&Title"), tr("Title"));
  author_ = field(tr("A&uthor"), tr("Author"));
  connect(title_, &QLineEdit::textEdited, this, [this](const QString& value) {
    (void)workspace().perform(tr("Change title"), {model::SetTitle{utf8(value)}},
                              QStringLiteral("project/title"));
  });
  connect(author_, &QLineEdit::textEdited, this, [this](const QString& value) {
    (void)workspace().perform(tr("Change author"), {model::SetAuthor{utf8(value)}},
                              QStringLiteral("project/author"));
  });
  for (QLineEdit* edit : {title_, author_})
    connect(edit, &QLineEdit::editingFinished, this, [this] { workspace().document().endMerge(); });
  auto* dateRow = new QWidget(fields);
  auto* dateLine = new QHBoxLayout(dateRow);
  dateLine->setContentsMargins(0, 0, 0, 0);
  date_ = new QLineEdit(dateRow);
  date_->setAccessibleName(tr("Date"));
  date_->setPlaceholderText(tr("yyyy-mm-dd"));
  date_->setToolTip(tr("The date that the notes, the sheets and the bundle carry"));
  connect(date_, &QLineEdit::editingFinished, this, &NotesPage::writeDate);
  dateLine->addWidget(date_, 1);
  dateLine->addWidget(makeButton(this, {}, tr("T&oday"), tr("Put in today's date"), [this] {
    date_->setText(QDate::currentDate().toString(Qt::ISODate));
    writeDate();
  }));
  form->addRow(tr("&Date"), dateRow);
  if (auto* label = qobject_cast<QLabel*>(form->labelForField(dateRow))) label->setBuddy(date_);
  dateTrouble_ =
      makeLabel(fields, tr("A date is written yyyy-mm-dd, such as 2025-05-01."), "error");
  dateTrouble_->hide();
  form->addRow(dateTrouble_);
  return fields;
}

QWidget* NotesPage::makeEditor() {
  auto* panel = new QWidget(this);
  auto* column = new QVBoxLayout(panel);
  column->setContentsMargins(0, 0, Theme::gap, 0);
  column->setSpacing(Theme::gap);
  column->addWidget(makeFields());
  auto* label = new QLabel(tr("Your &words for the buyer"), panel);
  notes_ = new QPlainTextEdit(panel);
  notes_->setAccessibleName(tr("Your words for the buyer"));
  notes_->setPlaceholderText(
      tr("What is this engine, how was it recorded, what should the driver try first?"));
  notes_->setUndoRedoEnabled(false);  // the project's own undo does it
  notes_->setTabChangesFocus(true);
  notes_->installEventFilter(this);
  label->setBuddy(notes_);
  connect(notes_, &QPlainTextEdit::textChanged, this, [this] {
    typingPause_.start();
    (void)workspace().perform(tr("Write the user notes"),
                              {model::SetUserNotes{utf8(notes_->toPlainText())}},
                              QStringLiteral("project/notes"));
  });
  column->addWidget(label);
  column->addWidget(notes_, 1);
  column->addWidget(
      makeLabel(panel,
                tr("Markdown: # heading, *stress*, **strong**, - list item. Keys, CVs "
                   "and cautions are added by themselves."),
                "muted"));
  return panel;
}

QWidget* NotesPage::makeDelivery() {
  auto* panel = new QWidget(this);
  auto* column = new QVBoxLayout(panel);
  column->setContentsMargins(Theme::gap, 0, 0, 0);
  column->setSpacing(Theme::gap);
  column->addWidget(makeHeading(panel, tr("Sheets")));
  const auto sheet = [&](work::SheetKind kind, const QString& label, const QString& title,
                         const QString& name) {
    column->addWidget(makeButton(this, QStringLiteral("export"), label,
                                 tr("%1, as HTML or PDF").arg(title),
                                 [this, kind, title, name] { exportSheet(kind, title, name); }));
  };
  sheet(work::SheetKind::notes, tr("User &notes …"), tr("User notes"), QStringLiteral("notes"));
  sheet(work::SheetKind::loading, tr("&Loading sheet …"), tr("Loading sheet"),
        QStringLiteral("loading-sheet"));
  sheet(work::SheetKind::day, tr("Da&y sheet …"), tr("Day sheet"), QStringLiteral("day-sheet"));
  column->addSpacing(Theme::gap);
  column->addWidget(makeHeading(panel, tr("Bundle")));
  auto* label = new QLabel(tr("W&rite to"), panel);
  target_ = new QLineEdit(panel);
  target_->setAccessibleName(tr("Where the bundle goes"));
  label->setBuddy(target_);
  connect(target_, &QLineEdit::textEdited, this, [this] { targetChosen_ = true; });
  auto* row = new QHBoxLayout;
  row->addWidget(target_, 1);
  row->addWidget(makeButton(this, QStringLiteral("folder"), tr("&Choose …"),
                            tr("Choose where the bundle goes"), [this] { chooseTarget(); }));
  zip_ = new QCheckBox(tr("As one &zip file"), panel);
  connect(zip_, &QCheckBox::toggled, this, [this] {
    if (targetChosen_) return;
    refresh();
  });
  pack_ = makeButton(
      this, QStringLiteral("export"), tr("Pac&k the set"),
      tr("Check, fit and write the bundle, then read it back and prove it"), [this] { pack(); },
      QKeySequence(Qt::CTRL | Qt::Key_E), this);
  makePrimary(pack_, QStringLiteral("export"));
  openFolder_ = makeButton(this, QStringLiteral("folder"), tr("&Open its folder"),
                           tr("Show the bundle among your files"), [this] {
                             const QFileInfo packed(packedTo_);
                             QDesktopServices::openUrl(QUrl::fromLocalFile(
                                 packed.isDir() ? packedTo_ : packed.absolutePath()));
                           });
  openFolder_->hide();
  outcome_ = makeLabel(panel, tr("Nothing packed yet."), "muted");
  lines_ = new QListWidget(panel);
  lines_->setAccessibleName(tr("What was packed"));
  lines_->setWordWrap(true);
  lines_->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  connect(lines_, &QListWidget::itemClicked, this, &NotesPage::openLine);
  connect(lines_, &QListWidget::itemActivated, this, &NotesPage::openLine);
  column->addWidget(label);
  column->addLayout(row);
  column->addWidget(zip_);
  column->addWidget(pack_);
  column->addWidget(outcome_);
  column->addWidget(openFolder_);
  column->addWidget(lines_, 1);
  return panel;
}

bool NotesPage::eventFilter(QObject* watched, QEvent* event) {
  if (watched == notes_) {
    if (event->type() == QEvent::ShortcutOverride) {
      const auto* key = static_cast<QKeyEvent*>(event);  // NOLINT: the type says so
      if (key->matches(QKeySequence::Undo) || key->matches(QKeySequence::Redo)) {
        event->ignore();  // the window's undo
        return true;
      }
    } else if (event->type() == QEvent::FocusOut) {
      workspace().document().endMerge();
    }
  }
  return Page::eventFilter(watched, event);
}

void NotesPage::refresh() {
  const model::Project& project = workspace().project();
  bringTo(*title_, text(project.title));
  bringTo(*author_, text(project.author));
  bringTo(*date_, text(project.date));
  dateTrouble_->hide();
  bringTo(*notes_, text(project.user_notes));
  if (!targetChosen_) {
    const std::filesystem::path folder = workspace().document().folder();
    target_->setText(pathText(folder / (zip_->isChecked() ? "bundle.zip" : "bundle")));
    target_->setToolTip(target_->text());
  }
  previewDelay_.start();
  refreshNeed();
}

void NotesPage::refreshNeed() {
  const auto checked = workspace().live().checked();
  int errors = 0;
  if (checked) {
    errors = static_cast<int>(std::count_if(
        checked->snags.begin(), checked->snags.end(),
        [](const check::Snag& snag) { return snag.severity == check::Severity::error; }));
  }
  if (errors > 0) {
    setNeed(tr("Errors that keep the set from being packed: %1. The snags say where.").arg(errors));
  } else if (workspace().project().user_notes.empty()) {
    setNeed(tr("Tell the buyer in your own words what this engine is and what to try first."));
  } else if (!checked || !workspace().live().isCurrent()) {
    setNeed(tr("Checking the set …"));
  } else {
    setNeed(tr("No error keeps the set back: read the preview once more, then pack it."));
  }
}

void NotesPage::showPreview() {
  if (!isVisible() && !preview_->document()->isEmpty()) return;
  JobControl job;
  Result<deliver::Sheet> sheet = work::make_sheet(work::SheetKind::notes, workspace().project(),
                                                  workspace().document().folder(), job);
  // A profile that cannot be read is the Fit page's matter.
  preview_->setSheet(sheet ? std::move(*sheet)
                           : deliver::notes_sheet(workspace().project(), nullptr));
}

void NotesPage::entered() {
  showPreview();
}

void NotesPage::writeDate() {
  const std::string wanted = utf8(date_->text().trimmed());
  if (wanted == workspace().project().date) return;
  if (!workspace().perform(tr("Change date"), {model::SetDate{wanted}})) dateTrouble_->show();
}

void NotesPage::chooseTarget() {
  const QString chosen =
      zip_->isChecked()
          ? questions_.saveFile(tr("Bundle"), target_->text(), tr("Zip files (*.zip)"))
          : questions_.folder(tr("Folder of the bundle"), target_->text());
  if (chosen.isEmpty()) return;
  targetChosen_ = true;
  target_->setText(chosen);
}

void NotesPage::exportSheet(work::SheetKind kind, const QString& title, const QString& name) {
  const QString suggestion =
      pathText(workspace().document().folder()) + QLatin1Char('/') + name + QLatin1String(".pdf");
  const QString file =
      questions_.saveFile(title, suggestion, tr("PDF files (*.pdf);;HTML files (*.html)"));
  if (file.isEmpty()) return;
  workspace().jobs().run<QString>(
      tr("Writing: %1").arg(title), this,
      [project = workspace().document().snapshot(), folder = workspace().document().folder(), kind,
       path = textPath(file)](JobControl& job) -> Result<QString> {
        const Result<deliver::Sheet> sheet = work::make_sheet(kind, *project, folder, job);
        if (!sheet) return sheet.error();
        const Status wrote = writeSheet(*project, folder, *sheet, path);
        if (!wrote) return wrote.error();
        return pathText(path);
      },
      [this, title](Result<QString> wrote) {
        if (wrote) {
          workspace().tell(tr("%1 written: %2").arg(title, *wrote), false);
        } else {
          workspace().tell(wrote.error());
        }
      });
}

void NotesPage::pack() {
  const QString target = target_->text().trimmed();
  if (target.isEmpty()) return chooseTarget();
  pack_->setEnabled(false);
  openFolder_->hide();
  lines_->clear();
  setRole(outcome_, "muted");
  outcome_->setText(tr("Packing …"));
  workspace().jobs().run<PackAnswer>(
      tr("Packing the set"), this,
      [project = workspace().document().snapshot(), folder = workspace().document().folder(),
       path = textPath(target), zip = zip_->isChecked()](JobControl& job) -> Result<PackAnswer> {
        Result<work::Packed> packed = work::pack_project(*project, folder, path, zip, job);
        if (!packed) return packed.error();
        PackAnswer answer{std::move(*packed), {}};
        if (answer.packed.refused) return answer;
        const Result<deliver::Proof> proof = deliver::prove(path, job);
        if (!proof) return proof.error();
        for (const std::string& fault : proof->faults)
          answer.faults << text(fault);
        return answer;
      },
      [this, target](Result<PackAnswer> answer) {
        pack_->setEnabled(true);
        if (answer) {
          showPacked(answer->packed, target, answer->faults);
          return;
        }
        setRole(outcome_, "error");
        outcome_->setText(answer.error().code == ErrorCode::cancelled ? tr("Packing was stopped.")
                                                                      : errorLine(answer.error()));
      });
}

void NotesPage::addLine(const QString& iconName, Theme::Ink ink, const QString& line,
                        const QString& pointer) {
  auto* item = new QListWidgetItem(line, lines_);
  if (!iconName.isEmpty()) item->setIcon(Theme::instance().icon(iconName, ink));
  item->setData(pointerRole, pointer);
  item->setToolTip(pointer.isEmpty() ? line : tr("%1\nClick to go there").arg(line));
}

void NotesPage::showPacked(const work::Packed& packed, const QString& target,
                           const QStringList& faults) {
  if (packed.refused) {
    setRole(outcome_, "error");
    bool listed = false;
    for (const check::Snag& snag : packed.snags) {
      if (snag.severity != check::Severity::error) continue;
      listed = true;
      addLine(QStringLiteral("error"), Theme::Ink::error,
              tr("%1: %2. Mend: %3").arg(text(snag.label), text(snag.message), text(snag.mend)),
              text(snag.pointer));
    }
    outcome_->setText(listed ? tr("Nothing was written. These stop it; each is one click away:")
                             : tr("Nothing was written: %1").arg(errorLine(*packed.refused)));
    return;
  }
  packedTo_ = target;
  openFolder_->show();
  setRole(outcome_, faults.isEmpty() ? "good" : "error");
  outcome_->setText(
      faults.isEmpty()
          ? tr("Written to %1, read back and proved. Files: %2. Memory of the decoder: %3 of %4.")
                .arg(target, QString::number(packed.files.size()), bytesText(packed.bytes_used),
                     bytesText(packed.bytes_available))
          : tr("Written to %1, but reading it back found faults:").arg(target));
  for (const QString& fault : faults)
    addLine(QStringLiteral("error"), Theme::Ink::error, fault);
  for (const std::string& seam : packed.unsigned_seams)
    addLine(QStringLiteral("warning"), Theme::Ink::warning,
            tr("Nobody signed the seam of %1; the bundle says so.").arg(text(seam)));
  for (const std::string& file : packed.files)
    addLine({}, Theme::Ink::text, text(file));
}

void NotesPage::openLine(QListWidgetItem* item) {
  const QString pointer = item->data(pointerRole).toString();
  if (!pointer.isEmpty()) workspace().reveal(pointer);
}

bool NotesPage::shows(const QString& pointer) const {
  const QString member = pointer.section(QLatin1Char('/'), 1, 1);
  return member == QLatin1String("title") || member == QLatin1String("author") ||
         member == QLatin1String("date") || member == QLatin1String("user_notes");
}

void NotesPage::reveal(const QString& pointer) {
  const QString member = pointer.section(QLatin1Char('/'), 1, 1);
  QWidget* field = member == QLatin1String("title")    ? static_cast<QWidget*>(title_)
                   : member == QLatin1String("author") ? static_cast<QWidget*>(author_)
                   : member == QLatin1String("date")   ? static_cast<QWidget*>(date_)
                                                       : static_cast<QWidget*>(notes_);
  field->setFocus();
}

}  // namespace fourbeat::ui
