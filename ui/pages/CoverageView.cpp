// SPDX-License-Identifier: GPL-3.0-or-later
#include "CoverageView.h"

#include "Theme.h"
#include "Wording.h"

#include "fourbeat/work/chuff_builder.h"

#include <QLocale>
#include <QMouseEvent>
#include <QPainter>
#include <algorithm>
#include <array>

namespace fourbeat::ui {

namespace {

constexpr int laneHeight = 30;
constexpr int axisHeight = 22;
/// Hard at the top: what asks most of the engine stands highest.
constexpr std::array efforts{model::Effort::hard, model::Effort::easy, model::Effort::drifting};

QString rangesText(const std::vector<work::SpeedRange>& ranges) {
  QStringList parts;
  for (const work::SpeedRange& range : ranges) {
    parts << CoverageView::tr("%1 to %2")
                 .arg(QLocale().toString(range.from_kmh, 'f', 1), speedText(range.to_kmh));
  }
  return parts.join(CoverageView::tr(", "));
}

}  // namespace

CoverageView::CoverageView(QWidget* parent) : QWidget(parent) {
  setAccessibleName(tr("Speeds that the chuff table serves"));
  setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Fixed);
  connect(&Theme::instance(), &Theme::changed, this, qOverload<>(&QWidget::update));
}

QSize CoverageView::sizeHint() const {
  return {320, 3 * laneHeight + axisHeight + 2 * Theme::tight};
}

QSize CoverageView::minimumSizeHint() const {
  return {220, sizeHint().height()};
}

void CoverageView::show(const model::ChuffTable& table, double topSpeedKmh) {
  table_ = table;
  topSpeedKmh_ = std::max(1.0, topSpeedKmh);
  setAccessibleDescription(inWords());
  setToolTip(inWords());
  update();
}

void CoverageView::setChosen(Id<model::ChuffRow> row) {
  if (chosen_ == row) return;
  chosen_ = row;
  update();
}

QString CoverageView::inWords() const {
  QStringList lines;
  for (const work::EffortCoverage& each : work::coverage_of(table_, topSpeedKmh_)) {
    if (each.covered.empty()) {
      lines << tr("%1: no chuffs.").arg(word(each.effort));
      continue;
    }
    QStringList parts;
    if (!each.recorded.empty()) parts << tr("recorded %1").arg(rangesText(each.recorded));
    if (!each.derived.empty()) parts << tr("derived %1").arg(rangesText(each.derived));
    if (!each.missing.empty()) parts << tr("missing %1").arg(rangesText(each.missing));
    lines << tr("%1: %2.").arg(word(each.effort), parts.join(tr("; ")));
  }
  return lines.join(QLatin1Char('\n'));
}

QRectF CoverageView::chart() const {
  int words = 0;
  for (const model::Effort effort : efforts)
    words = std::max(words, fontMetrics().horizontalAdvance(word(effort)));
  return QRectF(rect()).adjusted(words + Theme::wide, Theme::tight, -Theme::wide,
                                 -axisHeight - Theme::tight);
}

double CoverageView::xOf(double kmh) const {
  const QRectF area = chart();
  return area.left() + area.width() * std::clamp(kmh / topSpeedKmh_, 0.0, 1.0);
}

QRectF CoverageView::lane(model::Effort effort) const {
  const QRectF area = chart();
  const auto place = std::find(efforts.begin(), efforts.end(), effort) - efforts.begin();
  return {area.left(), area.top() + static_cast<double>(place) * laneHeight, area.width(),
          laneHeight};
}

bool CoverageView::isShown(const model::ChuffRow& row) {
  return row.condition == model::Condition::normal && (row.fused || !row.revolutions.empty());
}

QRectF CoverageView::barOf(const model::ChuffRow& row) const {
  const QRectF in = lane(row.effort);
  return {xOf(row.from_kmh), in.top() + 3, xOf(row.to_kmh) - xOf(row.from_kmh), in.height() - 6};
}

void CoverageView::paintEvent(QPaintEvent* event) {
  (void)event;
  QPainter painter(this);
  painter.setRenderHint(QPainter::Antialiasing);
  const Theme& theme = Theme::instance();
  const QRectF area = chart();
  painter.fillRect(area, theme.color(Theme::Ink::surface));
  for (const model::Effort effort : efforts) {
    const QRectF in = lane(effort);
    painter.setPen(theme.color(Theme::Ink::text));
    painter.drawText(QRectF(0, in.top(), area.left() - Theme::gap, in.height()),
                     Qt::AlignRight | Qt::AlignVCenter, word(effort));
    painter.setPen(theme.color(Theme::Ink::line));
    painter.drawLine(in.bottomLeft(), in.bottomRight());
  }
  for (const work::EffortCoverage& each : work::coverage_of(table_, topSpeedKmh_)) {
    const QRectF in = lane(each.effort);
    for (const work::SpeedRange& gap : each.missing) {
      const QRectF empty(xOf(gap.from_kmh), in.top() + 3, xOf(gap.to_kmh) - xOf(gap.from_kmh),
                         in.height() - 6);
      painter.fillRect(empty, QBrush(theme.color(Theme::Ink::line), Qt::BDiagPattern));
      if (empty.width() > fontMetrics().horizontalAdvance(tr("none")) + Theme::gap) {
        painter.setPen(theme.color(Theme::Ink::mutedText));
        painter.drawText(empty, Qt::AlignCenter, tr("none"));
      }
    }
  }
  for (const model::ChuffRow& row : table_.rows) {
    if (!isShown(row)) continue;
    const QRectF bar = barOf(row).adjusted(0.5, 0, -0.5, 0);
    const bool chosen = row.id == chosen_;
    painter.setPen(QPen(theme.color(chosen        ? Theme::Ink::focus
                                    : row.derived ? Theme::Ink::mutedText
                                                  : Theme::Ink::line),
                        chosen ? 2.0 : 1.0, row.derived ? Qt::DashLine : Qt::SolidLine));
    // What was recorded is a solid bar, what was derived an outline.
    painter.setBrush(chosen        ? QBrush(theme.color(Theme::Ink::selection))
                     : row.derived ? QBrush(Qt::NoBrush)
                                   : QBrush(theme.color(Theme::Ink::raised)));
    painter.drawRoundedRect(bar, 3, 3);
    const QString count =
        row.fused ? tr("loop") : QStringLiteral("×%1").arg(row.revolutions.size());
    if (bar.width() > fontMetrics().horizontalAdvance(count) + 2) {
      painter.setPen(theme.color(Theme::Ink::text));
      painter.drawText(bar, Qt::AlignCenter, count);
    }
  }
  painter.setFont(theme.smallFont());
  painter.setPen(theme.color(Theme::Ink::mutedText));
  const double step = topSpeedKmh_ > 120 ? 40 : topSpeedKmh_ > 50 ? 20 : 10;
  for (double kmh = 0; kmh <= topSpeedKmh_ + 1e-9; kmh += step) {
    const double x = xOf(kmh);
    painter.drawLine(QPointF(x, area.bottom()), QPointF(x, area.bottom() + 3));
    const bool last = kmh + step > topSpeedKmh_ + 1e-9;
    const QString figure = last ? tr("%1 km/h").arg(kmh) : QString::number(kmh);
    const double width = painter.fontMetrics().horizontalAdvance(figure) + 2.0;
    const double left = std::min(x - width / 2, rect().right() - width);
    painter.drawText(QRectF(left, area.bottom() + 3, width, axisHeight), Qt::AlignCenter, figure);
  }
}

void CoverageView::mousePressEvent(QMouseEvent* event) {
  for (const model::ChuffRow& row : table_.rows) {
    if (isShown(row) && barOf(row).contains(event->position())) {
      Q_EMIT rowClicked(row.id);
      return;
    }
  }
}

}  // namespace fourbeat::ui
