// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/print/print.h"

#include "pdf_stamp.h"

#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"

#include <QBuffer>
#include <QGuiApplication>
#include <QPageLayout>
#include <QPageSize>
#include <QPdfWriter>
#include <QTextDocument>
#include <array>
#include <clocale>
#include <optional>

namespace fourbeat::print {

namespace {

constexpr const char* style = R"css(
body { color: #111; }
h1 { font-size: 17pt; margin-top: 0; margin-bottom: 3px; }
h2 { font-size: 12pt; margin-top: 18px; margin-bottom: 5px; }
h3, h4, h5, h6 { font-size: 10pt; margin-top: 12px; margin-bottom: 4px; }
p, li { margin-top: 4px; margin-bottom: 4px; line-height: 125%; }
.subtitle { color: #555; }
table { border-collapse: collapse; border-style: solid; border-width: 0.5px; border-color: #999;
  margin-top: 6px; margin-bottom: 6px; }
th, td { padding: 3px 6px; border-style: solid; border-width: 0.5px; border-color: #999;
  text-align: left; }
)css";

/// Keeps Qt's remarks about the machine off the terminal, and the C locale as the program has it.
class QuietQt {
 public:
  QuietQt()
      : locale_(std::setlocale(LC_ALL, nullptr)),  // NOLINT(concurrency-mt-unsafe): main thread
        handler_(
            qInstallMessageHandler([](QtMsgType, const QMessageLogContext&, const QString&) {})) {}
  ~QuietQt() {
    qInstallMessageHandler(handler_);
    std::setlocale(LC_ALL, locale_.c_str());  // NOLINT(concurrency-mt-unsafe): main thread
  }
  QuietQt(const QuietQt&) = delete;
  QuietQt& operator=(const QuietQt&) = delete;

 private:
  std::string locale_;
  QtMessageHandler handler_;
};

/// An application without a window while the object lives, if the program has none.
class Offscreen {
 public:
  Offscreen() {
    if (QCoreApplication::instance() == nullptr) application_.emplace(count_, words_.data());
  }

 private:
  int count_ = 3;
  std::string name_ = "fourbeat";
  std::string option_ = "-platform";
  std::string platform_ = "offscreen";
  std::array<char*, 4> words_{name_.data(), option_.data(), platform_.data(), nullptr};
  std::optional<QGuiApplication> application_;
};

QString text_of(const std::string& text) {
  return QString::fromUtf8(printable(text).c_str());
}

QByteArray draw(const deliver::Sheet& sheet) {
  constexpr int dots_per_inch = 1200;
  constexpr double font_points = 9.5;
  QByteArray bytes;
  QBuffer buffer(&bytes);
  buffer.open(QIODevice::WriteOnly);
  QPdfWriter writer(&buffer);
  writer.setResolution(dots_per_inch);
  writer.setTitle(text_of(sheet.title));
  writer.setCreator(QStringLiteral("Fourbeat"));
  writer.setPageLayout(QPageLayout(QPageSize(QPageSize::A4), QPageLayout::Portrait, QMarginsF(),
                                   QPageLayout::Millimeter));
  // The document keeps its own margins of 2 cm, with the page number in them.
  QTextDocument document;
  QFont font(QStringLiteral("DejaVu Sans"));
  font.setStyleHint(QFont::SansSerif);
  font.setPointSizeF(font_points);
  document.setDefaultFont(font);
  document.setDefaultStyleSheet(QString::fromLatin1(style));
  document.setHtml(QString::fromStdString(deliver::body_html_of(sheet)));
  document.print(&writer);
  return bytes;
}

}  // namespace

Result<std::string> pdf_bytes(const deliver::Sheet& sheet) {
  const QuietQt quiet;
  const Offscreen offscreen;
  if (qobject_cast<QGuiApplication*>(QCoreApplication::instance()) == nullptr) {
    return Error{ErrorCode::io_failed, {}, {}, "the program's Qt cannot draw", {}};
  }
  const QByteArray drawn = draw(sheet);
  std::string pdf(drawn.constData(), static_cast<std::size_t>(drawn.size()));
  if (pdf.rfind("%PDF-", 0) != 0 || !fix_stamps(pdf)) {
    return Error{ErrorCode::io_failed, {}, {}, "Qt gave no PDF that can be stamped", {}};
  }
  return pdf;
}

Status print_pdf(const deliver::Sheet& sheet, const std::filesystem::path& path) {
  const Result<std::string> pdf = pdf_bytes(sheet);
  if (!pdf) {
    Error error = pdf.error();
    error.file = path_text(path);
    return error;
  }
  return write_file_atomically(path, *pdf);
}

}  // namespace fourbeat::print
