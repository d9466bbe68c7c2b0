// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QColor>
#include <QDBusVariant>
#include <QFont>
#include <QIcon>
#include <QObject>
#include <QPalette>
#include <QString>

class QApplication;
class QPainter;
class QProgressBar;

namespace fourbeat::ui {

/// Colours, type scale, spacing and icons of the whole window: nothing else names a colour or a
/// size. Colours are told apart by lightness too (safe for colour-blind eyes), and no meaning is
/// carried by colour alone.
class Theme : public QObject {
  Q_OBJECT
 public:
  enum class Mode { system, light, dark };

  /// What a colour means.
  enum class Ink {
    window,     ///< behind everything
    surface,    ///< lists, fields, canvases
    raised,     ///< bars, buttons
    line,       ///< hairlines between things
    text,       ///< on window, surface and raised
    mutedText,  ///< secondary text, readable on the same
    accent,     ///< the one thing to do, the current page
    onAccent,   ///< text on accent
    focus,      ///< the ring around what has the keyboard
    selection,  ///< behind selected rows
    error,      ///< text and signs
    warning,
    hint,
    good,
    wave,      ///< waveform peaks
    waveBody,  ///< waveform RMS
    playhead,
    selectionVeil,  ///< over the selected stretch of a take (has alpha)
    trim,           ///< edges of a segment
    loop,           ///< loop handles
    beat,
    mark,
    count
  };

  /// The theme of the program; made on first use, follows the system until told otherwise.
  static Theme& instance();

  /// Puts palette, font and style sheet on the program.
  void install(QApplication& application);
  void setMode(Mode mode);
  [[nodiscard]] Mode mode() const { return mode_; }
  [[nodiscard]] bool isDark() const { return dark_; }

  [[nodiscard]] QColor color(Ink ink) const { return color(ink, dark_); }
  [[nodiscard]] static QColor color(Ink ink, bool dark);
  /// WCAG 2.1 contrast ratio of two opaque colours, 1 to 21.
  [[nodiscard]] static double contrast(const QColor& a, const QColor& b);

  /// The type scale, in steps about the body size: title, body, small; figures are of equal width.
  [[nodiscard]] QFont titleFont() const;
  [[nodiscard]] QFont bodyFont() const;
  [[nodiscard]] QFont smallFont() const;
  [[nodiscard]] QFont figureFont() const;

  /// Spacing in device-independent pixels: 4, 8, 12, 16, 24.
  static constexpr int tight = 4;
  static constexpr int gap = 8;
  static constexpr int wide = 12;
  static constexpr int margin = 16;
  static constexpr int section = 24;

  /// One of the icons in ui/icons, in the text colour, sharp at any scale; it follows the theme.
  [[nodiscard]] QIcon icon(const QString& name) const;
  [[nodiscard]] QIcon icon(const QString& name, Ink ink) const;

  /// The ring around what has the keyboard, two pixels wide, just inside `rect`.
  static void drawFocusRing(QPainter& painter, const QRect& rect);

 Q_SIGNALS:
  /// Colours changed: repaint what is cached.
  void changed();

 private Q_SLOTS:
  /// The desktop says that one of its settings changed (freedesktop.org portal, "SettingChanged").
  void systemSettingChanged(const QString& group, const QString& key, const QDBusVariant& value);

 private:
  /// What the desktop prefers (portal, "color-scheme").
  enum class Scheme { none = 0, dark = 1, light = 2 };

  Theme();
  void apply();
  [[nodiscard]] bool systemIsDark() const;
  [[nodiscard]] static Scheme askScheme();

  QApplication* application_ = nullptr;
  Mode mode_ = Mode::system;
  Scheme scheme_ = Scheme::none;
  bool dark_ = false;
  QFont systemFont_;
  QPalette systemPalette_;
};

/// Shows a bar as over its limit, or not (theme.qss: QProgressBar[over="true"]).
void showOver(QProgressBar* bar, bool over);

}  // namespace fourbeat::ui
