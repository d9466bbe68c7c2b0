// SPDX-License-Identifier: GPL-3.0-or-later
#include "QuickFind.h"

#include "Theme.h"
#include "Wording.h"

#include "fourbeat/model/project.h"

#include <QCoreApplication>
#include <QKeyEvent>
#include <QLineEdit>
#include <QListWidget>
#include <QVBoxLayout>
#include <algorithm>

namespace fourbeat::ui {

namespace {

constexpr int mostShown = 100;
constexpr int exactBonus = 100;
constexpr int findWidthPx = 520;
constexpr int findHeightPx = 420;

QString tr(const char* source) {
  return QCoreApplication::translate("QuickFind", source);
}

/// Lower case without accents.
QString plain(const QString& text) {
  QString folded;
  for (const QChar c : text.normalized(QString::NormalizationForm_KD)) {
    if (c.category() != QChar::Mark_NonSpacing) folded += c.toCaseFolded();
  }
  return folded;
}

}  // namespace

int matchScore(const QString& typed, const QString& name) {
  const QString in = plain(name);
  int score = 1;
  for (const QString& word : plain(typed).split(QLatin1Char(' '), Qt::SkipEmptyParts)) {
    qsizetype at = in.indexOf(word);
    if (at < 0) return 0;
    int best = 1;
    for (; at >= 0; at = in.indexOf(word, at + 1)) {
      const bool starts = at == 0 || !in[at - 1].isLetterOrNumber();
      best = std::max(best, at == 0 ? 4 : starts ? 3 : 1);
    }
    score += best;
  }
  return score;
}

std::vector<Findable> findablesOf(const model::Project& project,
                                  const std::function<void(const QString&)>& reveal) {
  std::vector<Findable> all;
  const auto offer = [&](const auto& list, const char* pointer, const QString& kind,
                         const char* icon, auto name) {
    for (std::size_t i = 0; i < list.size(); ++i) {
      const QString place = QLatin1String(pointer) + QLatin1Char('/') + QString::number(i);
      all.push_back({name(list[i]), kind, QLatin1String(icon), [reveal, place] { reveal(place); }});
    }
  };
  offer(project.takes, "/takes", tr("Take"), "takes",
        [](const model::Take& take) { return text(take.path); });
  offer(project.segments, "/segments", tr("Segment"), "segments",
        [](const model::Segment& segment) { return text(segment.name); });
  offer(project.sounds, "/sounds", tr("Sound"), "volume",
        [](const model::Sound& sound) { return text(sound.name); });
  offer(project.chuffs.rows, "/chuffs/rows", tr("Chuff row"), "chuffs",
        [](const model::ChuffRow& row) {
          return tr("%1 to %2, %3")
              .arg(speedText(row.from_kmh), speedText(row.to_kmh), word(row.effort));
        });
  offer(project.keys, "/keys", tr("Key"), "keys", [](const model::Key& key) {
    return QStringLiteral("F%1 %2").arg(key.number).arg(text(key.label));
  });
  offer(project.cvs, "/cvs", tr("CV"), "cvs", [](const model::Cv& cv) {
    return QStringLiteral("CV%1 %2").arg(cv.number).arg(text(cv.name));
  });
  return all;
}

QuickFind::QuickFind(std::vector<Findable> all, QWidget* parent)
    : QDialog(parent), all_(std::move(all)) {
  setWindowTitle(tr("Find"));
  resize(findWidthPx, findHeightPx);
  auto* column = new QVBoxLayout(this);
  words_ = new QLineEdit(this);
  words_->setPlaceholderText(tr("A take, segment, sound, key, CV or command"));
  words_->setAccessibleName(tr("Find"));
  words_->setClearButtonEnabled(true);
  words_->installEventFilter(this);
  column->addWidget(words_);
  list_ = new QListWidget(this);
  list_->setAccessibleName(tr("Found"));
  list_->setFocusPolicy(Qt::NoFocus);
  column->addWidget(list_, 1);
  connect(words_, &QLineEdit::textChanged, this, &QuickFind::refresh);
  connect(words_, &QLineEdit::returnPressed, this, &QuickFind::choose);
  connect(list_, &QListWidget::itemClicked, this, &QuickFind::choose);
  refresh();
}

void QuickFind::refresh() {
  list_->clear();
  std::vector<std::pair<int, std::size_t>> found;
  for (std::size_t i = 0; i < all_.size(); ++i) {
    int score = matchScore(words_->text(), all_[i].name + QLatin1Char(' ') + all_[i].kind);
    // The very name comes before all that only hold it.
    if (plain(all_[i].name) == plain(words_->text().trimmed())) score += exactBonus;
    if (score > 0) found.emplace_back(-score, i);
  }
  std::stable_sort(found.begin(), found.end(),
                   [](const auto& a, const auto& b) { return a.first < b.first; });
  for (const auto& [score, i] : found) {
    if (list_->count() == mostShown) break;
    auto* item = new QListWidgetItem(Theme::instance().icon(all_[i].icon),
                                     tr("%1  ·  %2").arg(all_[i].name, all_[i].kind), list_);
    item->setData(Qt::UserRole, QVariant::fromValue(static_cast<qulonglong>(i)));
  }
  if (list_->count() == 0) {
    auto* none = new QListWidgetItem(tr("Nothing of that name"), list_);
    none->setFlags(Qt::NoItemFlags);
  } else {
    list_->setCurrentRow(0);
  }
}

void QuickFind::choose() {
  const QListWidgetItem* item = list_->currentItem();
  if (item == nullptr || !item->data(Qt::UserRole).isValid()) return;
  const std::size_t i = item->data(Qt::UserRole).toULongLong();
  accept();
  all_[i].go();
}

bool QuickFind::eventFilter(QObject* watched, QEvent* event) {
  if (watched == words_ && event->type() == QEvent::KeyPress) {
    const auto* key = static_cast<QKeyEvent*>(event);
    const int step = key->key() == Qt::Key_Down       ? 1
                     : key->key() == Qt::Key_Up       ? -1
                     : key->key() == Qt::Key_PageDown ? 10
                     : key->key() == Qt::Key_PageUp   ? -10
                                                      : 0;
    if (step != 0 && list_->count() > 0) {
      list_->setCurrentRow(std::clamp(list_->currentRow() + step, 0, list_->count() - 1));
      return true;
    }
  }
  return QDialog::eventFilter(watched, event);
}

}  // namespace fourbeat::ui
