// SPDX-License-Identifier: GPL-3.0-or-later
// The cards of the trial run page.
#include "PageParts.h"
#include "TrialRunPage.h"
#include "Wording.h"
#include "Workspace.h"

#include "fourbeat/base/files.h"

#include <QComboBox>
#include <QMessageBox>
#include <algorithm>
#include <utility>

namespace fourbeat::ui {

work::CardInTheWay TrialRunPage::askAboutCards(const QStringList& files) {
  QMessageBox box(QMessageBox::Question, tr("Standard cards"),
                  tr("Other cards have the names of standard cards."), QMessageBox::Cancel, this);
  box.setInformativeText(files.join(QLatin1Char('\n')));
  const auto* keep = box.addButton(tr("&Keep them"), QMessageBox::AcceptRole);
  const auto* replace = box.addButton(tr("&Replace them"), QMessageBox::DestructiveRole);
  box.setDefaultButton(QMessageBox::Cancel);
  box.exec();
  if (box.clickedButton() == keep) return work::CardInTheWay::keep;
  return box.clickedButton() == replace ? work::CardInTheWay::replace : work::CardInTheWay::refuse;
}

void TrialRunPage::fillCards() {
  const QString before = card_->currentData().toString();
  QStringList cards;
  for (const std::string& path : workspace().project().run_cards)
    cards << text(path);
  QStringList shown;
  for (int i = 0; i + 1 < card_->count(); ++i)
    shown << card_->itemData(i).toString();
  if (shown == cards && card_->count() > 0) return;
  watchCards();
  const QSignalBlocker quiet(card_);
  card_->clear();
  for (const QString& path : cards)
    card_->addItem(path, path);
  card_->addItem(tr("Sweep: rest to top speed and back"), sweep);
  card_->setCurrentIndex(std::max(0, card_->findData(before)));
}

void TrialRunPage::watchCards() {
  if (const QStringList watched = cards_.files(); !watched.isEmpty()) cards_.removePaths(watched);
  for (const std::string& path : workspace().project().run_cards)
    cards_.addPath(pathText(workspace().document().folder() / textPath(text(path))));
}

void TrialRunPage::setCards(const QString& what, std::vector<std::string> cards) {
  (void)workspace().perform(what, {model::SetRunCards{std::move(cards)}});
}

void TrialRunPage::addCard(const QString& file) {
  if (file.isEmpty()) return;
  const Result<std::string> path =
      work::listed_card_path(workspace().document().folder(), textPath(file));
  if (!path) return workspace().tell(path.error());
  std::vector<std::string> cards = workspace().project().run_cards;
  if (std::find(cards.begin(), cards.end(), *path) == cards.end()) {
    cards.push_back(*path);
    setCards(tr("Add run card"), std::move(cards));
  }
  card_->setCurrentIndex(std::max(0, card_->findData(text(*path))));
  refresh();
}

void TrialRunPage::newCard() {
  const QString file = questions_.saveFile(
      tr("New run card"), pathText(workspace().document().folder() / "run-card.json"),
      tr("Run cards (*.json)"));
  if (file.isEmpty()) return;
  const Status wrote =
      write_file_atomically(textPath(file), work::card_template(workspace().project()));
  if (!wrote) return workspace().tell(wrote.error());
  addCard(file);
}

void TrialRunPage::removeCard() {
  std::vector<std::string> cards = workspace().project().run_cards;
  std::erase(cards, utf8(card_->currentData().toString()));
  setCards(tr("Take run card off the list"), std::move(cards));
}

void TrialRunPage::addStandardCards(work::CardInTheWay others) {
  workspace().jobs().run<work::StandardCardFiles>(
      tr("Writing the standard cards"), this,
      [project = workspace().document().snapshot(), folder = workspace().document().folder(),
       others](JobControl& job) {
        return work::write_standard_cards(*project, folder, others, job);
      },
      [this, others](const Result<work::StandardCardFiles>& files) {
        if (!files) return workspace().tell(files.error());
        if (others == work::CardInTheWay::refuse && !files->in_the_way.empty()) {
          QStringList names;
          for (const std::string& path : files->in_the_way)
            names << text(path);
          const work::CardInTheWay answer = questions_.cardsInTheWay(names);
          if (answer != work::CardInTheWay::refuse) addStandardCards(answer);
          return;
        }
        listStandardCards(*files);
      },
      QStringLiteral("standard cards"));
}

void TrialRunPage::listStandardCards(const work::StandardCardFiles& files) {
  const std::vector<std::string>& before = workspace().project().run_cards;
  std::vector<std::string> cards = work::listed_with(before, files.paths);
  const auto added = static_cast<int>(cards.size() - before.size());
  if (added > 0) setCards(tr("Add the standard cards"), std::move(cards));
  QString line =
      tr("Standard cards: %1 written, %2 added to the list.").arg(files.written.size()).arg(added);
  if (!files.in_the_way.empty())
    line +=
        QLatin1Char(' ') + tr("%1 of other cards left as they are.").arg(files.in_the_way.size());
  workspace().tell(line, false);
  if (!files.paths.empty())
    card_->setCurrentIndex(std::max(0, card_->findData(text(files.paths.front()))));
  refresh();
}

}  // namespace fourbeat::ui
