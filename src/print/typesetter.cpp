// SPDX-License-Identifier: GPL-3.0-or-later
#include "typesetter.h"

#include "table_layout.h"

#include "fourbeat/base/text.h"

#include <QAbstractTextDocumentLayout>
#include <QBuffer>
#include <QFont>
#include <QPageLayout>
#include <QPageSize>
#include <QPainter>
#include <QPalette>
#include <QPdfWriter>
#include <QTextBlock>
#include <QTextDocument>
#include <QTextLayout>
#include <algorithm>

namespace fourbeat::print {

namespace {

constexpr int dots_per_inch = 1200;
constexpr double points_per_inch = 72.0;
constexpr double mm_per_inch = 25.4;

constexpr double points(double value) {
  return value * dots_per_inch / points_per_inch;
}
constexpr double millimetres(double value) {
  return value * dots_per_inch / mm_per_inch;
}

constexpr double page_width = millimetres(210);
constexpr double page_height = millimetres(297);
constexpr double margin_side = millimetres(18);
constexpr double margin_top = millimetres(18);
constexpr double margin_bottom = millimetres(20);
constexpr double text_width = page_width - 2 * margin_side;
constexpr double text_bottom = page_height - margin_bottom;

constexpr double body_points = 9.5;
constexpr double small_points = 8.0;
constexpr double cell_points = 8.5;
constexpr double title_points = 17.0;
constexpr double heading_points = 12.0;
constexpr double cell_side = points(4);
constexpr double cell_top = points(2.5);
constexpr double hairline = points(0.5);
constexpr double before_heading = points(14);
constexpr double after_heading = points(4);
constexpr double after_paragraph = points(4);
constexpr double kept_with_heading = points(60);  ///< what a heading takes along at least

const QColor ink(0x11, 0x11, 0x11);
const QColor pale_ink(0x55, 0x55, 0x55);
const QColor rule(0xA0, 0xA0, 0xA0);
const QColor shade(0xEF, 0xEF, 0xEF);

QFont font_of(double size_points, bool bold = false) {
  QFont font(QStringLiteral("DejaVu Sans"));
  font.setStyleHint(QFont::SansSerif);
  font.setHintingPreference(QFont::PreferNoHinting);
  // In the page's own units, so that no screen has a say in it.
  font.setPixelSize(static_cast<int>(points(size_points)));
  font.setBold(bold);
  return font;
}

QString text_of(const std::string& text) {
  return QString::fromStdString(printable(text));
}

Measure measure_of(const QFontMetricsF& metrics) {
  return [metrics](std::string_view text) {
    return metrics.horizontalAdvance(
        QString::fromUtf8(text.data(), static_cast<qsizetype>(text.size())));
  };
}

QString markdown_style() {
  const auto px = [](double value) { return QString::number(static_cast<int>(points(value))); };
  return QStringLiteral(
             "body { color: #111111; }"
             "h1, h2, h3, h4, h5, h6 { font-size: %1px; font-weight: 600; margin-top: %2px;"
             " margin-bottom: %3px; }"
             "p, li { margin-top: 0px; margin-bottom: %3px; }"
             "ul, ol { margin-top: 0px; margin-bottom: %3px; }"
             "blockquote { margin-left: %2px; color: #555555; }"
             "pre, code { font-family: 'DejaVu Sans Mono'; }")
      .arg(px(body_points + 0.5), px(8), px(3));
}

/// Sets a sheet on pages. Without a painter it only counts them.
class Typesetter {
 public:
  Typesetter(QPdfWriter& writer, QPainter* painter, int pages, const QString& title)
      : writer_(writer), painter_(painter), pages_(pages), title_(title) {}

  void set(const deliver::Sheet& sheet) {
    line_text(sheet.title, font_of(title_points, true), ink, 0.0);
    if (!sheet.subtitle.empty())
      line_text(sheet.subtitle, font_of(body_points), pale_ink, points(2));
    y_ += points(6);
    for (const deliver::SheetBlock& block : sheet.blocks)
      set_block(block);
    number_page();
  }
  [[nodiscard]] int pages() const { return page_; }

 private:
  using Kind = deliver::SheetBlock::Kind;

  void set_block(const deliver::SheetBlock& block) {
    switch (block.kind) {
      case Kind::heading: {
        const QFont font = font_of(heading_points, true);
        const double height = QFontMetricsF(font).height() + before_heading + after_heading;
        if (y_ + height + kept_with_heading > text_bottom) next_page();
        line_text(block.text, font, ink, y_ > margin_top ? before_heading : 0.0);
        y_ += after_heading;
        break;
      }
      case Kind::paragraph:
        line_text(block.text, font_of(body_points), ink, 0.0);
        y_ += after_paragraph;
        break;
      case Kind::caution: {
        const QFont font = font_of(body_points);
        const double indent = points(12);
        need(QFontMetricsF(font).lineSpacing());
        if (painter_ != nullptr) {
          painter_->setFont(font);
          painter_->setPen(ink);
          painter_->drawText(QPointF(margin_side + points(2), y_ + QFontMetricsF(font).ascent()),
                             QStringLiteral("•"));
        }
        line_text(block.text, font, ink, 0.0, indent);
        y_ += after_paragraph;
        break;
      }
      case Kind::table:
        set_table(block);
        break;
      case Kind::markdown:
        set_markdown(block.text);
        break;
    }
  }

  void need(double height) {
    if (y_ + height > text_bottom && y_ > margin_top) next_page();
  }

  void next_page() {
    number_page();
    ++page_;
    y_ = margin_top;
    if (painter_ != nullptr) writer_.newPage();
  }

  void number_page() {
    if (painter_ == nullptr) return;
    const QFont font = font_of(small_points);
    painter_->setFont(font);
    painter_->setPen(pale_ink);
    const QRectF foot(margin_side, page_height - margin_bottom, text_width, margin_bottom * 0.7);
    const QString number = QStringLiteral("%1 of %2").arg(page_).arg(pages_);
    const QFontMetricsF metrics(font);
    painter_->drawText(foot, Qt::AlignRight | Qt::AlignVCenter, number);
    const double room = text_width - metrics.horizontalAdvance(number) - points(20);
    painter_->drawText(foot, Qt::AlignLeft | Qt::AlignVCenter,
                       metrics.elidedText(title_, Qt::ElideRight, room));
  }

  /// A text in lines, page by page.
  void line_text(const std::string& text, const QFont& font, const QColor& color, double before,
                 double indent = 0.0) {
    y_ += before;
    const QFontMetricsF metrics(font);
    for (const std::string& line :
         wrapped(printable(text), measure_of(metrics), text_width - indent)) {
      need(metrics.lineSpacing());
      if (painter_ != nullptr) {
        painter_->setFont(font);
        painter_->setPen(color);
        painter_->drawText(QPointF(margin_side + indent, y_ + metrics.ascent()),
                           QString::fromStdString(line));
      }
      y_ += metrics.lineSpacing();
    }
  }

  void set_markdown(const std::string& markdown) {
    QTextDocument document;
    document.setUseDesignMetrics(true);
    document.setDefaultFont(font_of(body_points));
    document.setDefaultStyleSheet(markdown_style());
    document.setDocumentMargin(0);
    document.setIndentWidth(points(12));
    document.setHtml(QString::fromStdString(deliver::markdown_html(markdown)));
    document.setTextWidth(text_width);
    // Slices between lines, as many as fit each page.
    std::vector<double> ends;
    for (QTextBlock block = document.begin(); block.isValid(); block = block.next()) {
      const QRectF place = document.documentLayout()->blockBoundingRect(block);
      const QTextLayout* layout = block.layout();
      for (int i = 0; i < layout->lineCount(); ++i) {
        const QRectF line = layout->lineAt(i).rect();
        ends.push_back(place.top() + line.bottom());
      }
    }
    double from = 0.0;
    if (!ends.empty()) need(ends.front());
    for (std::size_t i = 0; i < ends.size(); ++i) {
      const bool last = i + 1 == ends.size();
      const double next = last ? ends[i] : ends[i + 1];
      if (!last && y_ + next - from <= text_bottom) continue;
      draw_slice(document, from, ends[i]);
      y_ += ends[i] - from;
      from = ends[i];
      if (!last) next_page();
    }
    y_ += after_paragraph;
  }

  void draw_slice(QTextDocument& document, double from, double to) {
    if (painter_ == nullptr) return;
    painter_->save();
    painter_->translate(margin_side, y_ - from);
    QAbstractTextDocumentLayout::PaintContext context;
    context.palette.setColor(QPalette::Text, ink);  // the program's own may be light
    context.clip = QRectF(0, from + 1, text_width, to - from - 2);  // no line of a neighbour
    document.documentLayout()->draw(painter_, context);
    painter_->restore();
  }

  struct Row {
    std::vector<std::vector<std::string>> cells;
    std::size_t lines = 1;
  };

  [[nodiscard]] Row wrap_row(const std::vector<std::string>& texts,
                             const std::vector<double>& widths, bool heading) const {
    Row row;
    for (std::size_t i = 0; i < widths.size(); ++i) {
      const bool bold = heading || i == 0;
      row.cells.push_back(wrapped(i < texts.size() ? printable(texts[i]) : std::string(),
                                  bold ? bold_ : plain_, widths[i] - 2 * cell_side));
      row.lines = std::max(row.lines, row.cells.back().size());
    }
    return row;
  }

  [[nodiscard]] double height_of(std::size_t lines) const {
    return 2 * cell_top + static_cast<double>(lines) * line_spacing_;
  }

  /// Lines `first` to `last` of a row's cells, at y_.
  void draw_row(const Row& row, const std::vector<double>& widths, bool heading, std::size_t first,
                std::size_t last) {
    const double height = height_of(last - first);
    if (painter_ != nullptr) {
      double x = margin_side;
      for (std::size_t i = 0; i < widths.size(); ++i) {
        const QRectF box(x, y_, widths[i], height);
        if (heading) painter_->fillRect(box, shade);
        painter_->setPen(QPen(rule, hairline));
        painter_->drawRect(box);
        painter_->setPen(ink);
        const bool bold = heading || i == 0;
        painter_->setFont(font_of(cell_points, bold));
        for (std::size_t line = first; line < last; ++line) {
          if (line >= row.cells[i].size()) break;
          const double base =
              y_ + cell_top + ascent_ + static_cast<double>(line - first) * line_spacing_;
          painter_->drawText(QPointF(x + cell_side, base),
                             QString::fromStdString(row.cells[i][line]));
        }
        x += widths[i];
      }
    }
    y_ += height;
  }

  /// The widths of a table's columns that take the fewest lines.
  [[nodiscard]] std::vector<double> best_widths(const deliver::SheetBlock& block) const {
    const std::size_t columns = block.columns.size();
    std::vector<std::vector<double>> cells(columns);  // widths of each column's texts
    std::vector<double> least(columns, 0.0);
    std::size_t empty = 0;
    const auto measure = [&](std::size_t i, const std::string& cell, bool bold) {
      const std::string text = printable(cell);
      const Measure& width_of = bold ? bold_ : plain_;
      // A breath more, so that rounding never breaks what just fits.
      constexpr double around = 2 * cell_side + points(0.5);
      least[i] = std::max(least[i], least_width(text, width_of) + around);
      cells[i].push_back(width_of(text) + around);
    };
    for (std::size_t i = 0; i < columns; ++i)
      measure(i, block.columns[i], true);
    for (const std::vector<std::string>& row : block.rows) {
      for (std::size_t i = 0; i < std::min(columns, row.size()); ++i) {
        measure(i, row[i], i == 0);
        if (row[i].empty()) ++empty;
      }
    }
    // A form to be filled in wants room to write.
    const bool form = empty * 2 > block.rows.size() * columns;
    std::vector<double> best;
    std::size_t best_lines = 0;
    // A few long texts may wrap so that the many short ones need not.
    for (const double part : {1.0, 0.9, 0.75, 0.5}) {
      std::vector<double> wanted(columns, 0.0);
      for (std::size_t i = 0; i < columns; ++i) {
        std::sort(cells[i].begin(), cells[i].end());
        const double last = part * static_cast<double>(cells[i].size() - 1);
        wanted[i] = std::max(least[i], cells[i][static_cast<std::size_t>(last)]);
      }
      for (const Sharing sharing : {Sharing::evenly, Sharing::by_its_want}) {
        // What only some want is no reason to leave room empty.
        std::vector<double> widths =
            column_widths(least, wanted, text_width, sharing, form || part < 1.0);
        std::size_t lines = 0;
        for (const std::vector<std::string>& row : block.rows)
          lines += wrap_row(row, widths, false).lines;
        if (best.empty() || lines < best_lines) {
          best = std::move(widths);
          best_lines = lines;
        }
      }
      if (best_lines == block.rows.size()) break;
    }
    return best;
  }

  void set_table(const deliver::SheetBlock& block) {
    if (block.columns.empty()) return;
    const std::vector<double> widths = best_widths(block);
    const Row heading = wrap_row(block.columns, widths, true);
    const auto head = [&] { draw_row(heading, widths, true, 0, heading.lines); };
    y_ += points(3);
    bool first = true;
    const double page_room = text_bottom - margin_top - height_of(heading.lines);
    for (const std::vector<std::string>& texts : block.rows) {
      const Row row = wrap_row(texts, widths, false);
      const double height = height_of(row.lines);
      const double with_head = first ? height_of(heading.lines) : 0.0;
      if (y_ + with_head + height > text_bottom && y_ > margin_top) {
        next_page();
        first = true;
      }
      if (first) head();
      first = false;
      if (height <= page_room) {
        draw_row(row, widths, false, 0, row.lines);
        continue;
      }
      // A row taller than a page is the only one that is cut.
      const auto lines_a_page =
          static_cast<std::size_t>((page_room - 2 * cell_top) / line_spacing_);
      for (std::size_t line = 0; line < row.lines; line += lines_a_page) {
        if (line > 0) {
          next_page();
          head();
        }
        draw_row(row, widths, false, line, std::min(row.lines, line + lines_a_page));
      }
    }
    if (block.rows.empty()) head();
    y_ += points(6);
  }

  QPdfWriter& writer_;
  QPainter* painter_;
  int pages_;
  QString title_;
  Measure plain_ = measure_of(QFontMetricsF(font_of(cell_points)));
  Measure bold_ = measure_of(QFontMetricsF(font_of(cell_points, true)));
  double line_spacing_ = QFontMetricsF(font_of(cell_points)).lineSpacing();
  double ascent_ = QFontMetricsF(font_of(cell_points)).ascent();
  double y_ = margin_top;
  int page_ = 1;
};

}  // namespace

QByteArray typeset(const deliver::Sheet& sheet) {
  QByteArray bytes;
  QBuffer buffer(&bytes);
  buffer.open(QIODevice::WriteOnly);
  QPdfWriter writer(&buffer);
  writer.setResolution(dots_per_inch);
  writer.setTitle(text_of(sheet.title));
  writer.setCreator(QStringLiteral("Fourbeat"));
  writer.setPageLayout(QPageLayout(QPageSize(QPageSize::A4), QPageLayout::Portrait, QMarginsF(),
                                   QPageLayout::Millimeter));
  Typesetter counter(writer, nullptr, 0, text_of(sheet.title));
  counter.set(sheet);
  QPainter painter(&writer);
  Typesetter setter(writer, &painter, counter.pages(), text_of(sheet.title));
  setter.set(sheet);
  painter.end();
  return bytes;
}

}  // namespace fourbeat::print
