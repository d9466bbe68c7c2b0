// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/print/print.h"

#include "pdf_stamp.h"
#include "typesetter.h"

#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"

#include <QGuiApplication>
#include <array>
#include <clocale>
#include <optional>

namespace fourbeat::print {

namespace {

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

/// An application without a window while the object lives, if the program has none. One that has is
/// left as it is: its sheets may be drawn in any thread.
class Offscreen {
 public:
  Offscreen() {
    if (QCoreApplication::instance() != nullptr) return;
    quiet_.emplace();
    application_.emplace(count_, words_.data());
  }

 private:
  int count_ = 3;
  std::string name_ = "fourbeat";
  std::string option_ = "-platform";
  std::string platform_ = "offscreen";
  std::array<char*, 4> words_{name_.data(), option_.data(), platform_.data(), nullptr};
  std::optional<QuietQt> quiet_;  // outlives the application
  std::optional<QGuiApplication> application_;
};

}  // namespace

Result<std::string> pdf_bytes(const deliver::Sheet& sheet) {
  const Offscreen offscreen;
  if (qobject_cast<QGuiApplication*>(QCoreApplication::instance()) == nullptr) {
    return Error{ErrorCode::io_failed, {}, {}, "the program's Qt cannot draw", {}};
  }
  const QByteArray drawn = typeset(sheet);
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
