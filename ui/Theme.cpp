// SPDX-License-Identifier: GPL-3.0-or-later
#include "Theme.h"

#include <QAbstractItemView>
#include <QApplication>
#include <QDBusConnection>
#include <QDBusMessage>
#include <QDBusVariant>
#include <QFile>
#include <QIconEngine>
#include <QPainter>
#include <QPixmapCache>
#include <QProgressBar>
#include <QProxyStyle>
#include <QPushButton>
#include <QStyle>
#include <QStyleFactory>
#include <QStyleOption>
#include <QSvgRenderer>
#include <QTabBar>
#include <QToolButton>
#include <array>

/// The resources of a static library are linked in by name, from outside any namespace.
static void linkResources() {
  Q_INIT_RESOURCE(resources);
}

namespace fourbeat::ui {

namespace {

/// What draws the ring around itself by the style sheet.
bool ringsItself(const QWidget* widget) {
  return qobject_cast<const QPushButton*>(widget) || qobject_cast<const QToolButton*>(widget) ||
         qobject_cast<const QTabBar*>(widget);
}

/// Fusion, its check boxes framed so that an empty one is seen on dark ground too
/// (WCAG 2.1, 1.4.11), and a ring around whatever has the keyboard (2.4.7).
class FramedBoxes : public QProxyStyle {
 public:
  using QProxyStyle::QProxyStyle;

  void drawPrimitive(PrimitiveElement element, const QStyleOption* option, QPainter* painter,
                     const QWidget* widget) const override {
    if (element == PE_FrameFocusRect) {
      if (qobject_cast<const QAbstractItemView*>(widget)) {
        painter->setPen(Theme::instance().color(Theme::Ink::focus));
        painter->drawRect(option->rect.adjusted(0, 0, -1, -1));
      } else if (!ringsItself(widget)) {
        Theme::drawFocusRing(*painter, option->rect);
      }
      return;
    }
    QProxyStyle::drawPrimitive(element, option, painter, widget);
    if (element != PE_IndicatorCheckBox && element != PE_IndicatorItemViewItemCheck) return;
    const bool enabled = (option->state & State_Enabled) != 0;
    painter->save();
    painter->setPen(Theme::instance().color(enabled ? Theme::Ink::mutedText : Theme::Ink::line));
    painter->setBrush(Qt::NoBrush);
    painter->setRenderHint(QPainter::Antialiasing);
    painter->drawRoundedRect(QRectF(option->rect).adjusted(0.5, 0.5, -0.5, -0.5), 2.0, 2.0);
    painter->restore();
  }

  int styleHint(StyleHint hint, const QStyleOption* option, const QWidget* widget,
                QStyleHintReturn* more) const override {
    // Their icons would be another set's.
    if (hint == SH_DialogButtonBox_ButtonsHaveIcons) return 0;
    return QProxyStyle::styleHint(hint, option, widget, more);
  }

  void drawControl(ControlElement element, const QStyleOption* option, QPainter* painter,
                   const QWidget* widget) const override {
    QProxyStyle::drawControl(element, option, painter, widget);
    // The tab in front; the pages' own tabs are drawn by the style sheet.
    if (element == CE_TabBarTabLabel && (option->state & State_HasFocus) != 0 &&
        widget->objectName() != QLatin1String("pages"))
      Theme::drawFocusRing(*painter, option->rect.adjusted(2, 2, -2, -2));
  }

  void drawComplexControl(ComplexControl control, const QStyleOptionComplex* option,
                          QPainter* painter, const QWidget* widget) const override {
    QProxyStyle::drawComplexControl(control, option, painter, widget);
    const bool field = control == CC_ComboBox || control == CC_SpinBox || control == CC_Slider;
    if (field && (option->state & State_HasFocus) != 0)
      Theme::drawFocusRing(*painter, option->rect);
  }
};

struct Pair {
  QRgb light;
  QRgb dark;
};

/// In the order of Theme::Ink.
constexpr std::array<Pair, static_cast<std::size_t>(Theme::Ink::count)> inks{{
    {0xFFF4F3F0, 0xFF1D1F21},  // window
    {0xFFFFFFFF, 0xFF26292B},  // surface
    {0xFFE9E7E2, 0xFF303437},  // raised
    {0xFFC9C6BE, 0xFF44494D},  // line
    {0xFF1E2022, 0xFFECEAE6},  // text
    {0xFF57595C, 0xFFB3B3B0},  // mutedText
    {0xFF1F5F8B, 0xFF7FBBE3},  // accent
    {0xFFFFFFFF, 0xFF10181E},  // onAccent
    {0xFF1F5F8B, 0xFF8CC8F0},  // focus
    {0xFFCFE3F1, 0xFF264A63},  // selection
    {0xFFA8321A, 0xFFFF9C84},  // error
    {0xFF7A5200, 0xFFF0BE55},  // warning
    {0xFF3A5F7D, 0xFF9BC4E4},  // hint
    {0xFF24692F, 0xFF86CF8F},  // good
    {0xFF7FA3BD, 0xFF4F7C99},  // wave
    {0xFF2C6288, 0xFF9CCBE8},  // waveBody
    {0xFFB03A00, 0xFFFFB067},  // playhead
    {0x401F5F8B, 0x4C7FBBE3},  // selectionVeil
    {0xFF5B3E90, 0xFFC3A9F2},  // trim
    {0xFF0B6B57, 0xFF62D2B6},  // loop
    {0xFF9A3F10, 0xFFF2A065},  // beat
    {0xFF57595C, 0xFFC9C7C2},  // mark
}};

/// An icon of one colour, drawn from its SVG at the size and scale asked for.
class InkIcon : public QIconEngine {
 public:
  InkIcon(QString name, Theme::Ink ink) : name_(std::move(name)), ink_(ink) {}

  void paint(QPainter* painter, const QRect& rect, QIcon::Mode mode, QIcon::State) override {
    const double scale = painter->device() ? painter->device()->devicePixelRatioF() : 1.0;
    painter->drawPixmap(rect, drawn(rect.size() * scale, mode));
  }
  QPixmap pixmap(const QSize& size, QIcon::Mode mode, QIcon::State) override {
    return drawn(size, mode);
  }
  QPixmap scaledPixmap(const QSize& size, QIcon::Mode mode, QIcon::State, qreal) override {
    return drawn(size, mode);
  }
  [[nodiscard]] QIconEngine* clone() const override { return new InkIcon(name_, ink_); }

 private:
  [[nodiscard]] QPixmap drawn(const QSize& size, QIcon::Mode mode) const {
    QColor color = Theme::instance().color(ink_);
    if (mode == QIcon::Disabled) color.setAlphaF(0.4F);
    const QString key = QStringLiteral("fourbeat/%1/%2x%3/%4")
                            .arg(name_)
                            .arg(size.width())
                            .arg(size.height())
                            .arg(color.rgba());
    QPixmap pixmap;
    if (QPixmapCache::find(key, &pixmap)) return pixmap;
    QImage image(size, QImage::Format_ARGB32_Premultiplied);
    image.fill(Qt::transparent);
    QSvgRenderer renderer(QStringLiteral(":/fourbeat/icons/%1.svg").arg(name_));
    QPainter painter(&image);
    renderer.render(&painter, QRectF(QPointF(0, 0), QSizeF(size)));
    painter.setCompositionMode(QPainter::CompositionMode_SourceIn);
    painter.fillRect(image.rect(), color);
    painter.end();
    pixmap = QPixmap::fromImage(image);
    QPixmapCache::insert(key, pixmap);
    return pixmap;
  }

  QString name_;
  Theme::Ink ink_;
};

double luminance(const QColor& color) {
  const auto linear = [](double channel) {
    return channel <= 0.04045 ? channel / 12.92 : std::pow((channel + 0.055) / 1.055, 2.4);
  };
  return 0.2126 * linear(color.redF()) + 0.7152 * linear(color.greenF()) +
         0.0722 * linear(color.blueF());
}

const QString schemeGroup = QStringLiteral("org.freedesktop.appearance");
const QString schemeKey = QStringLiteral("color-scheme");

/// What the portal answers: the number may be wrapped more than once.
int unwrapped(QVariant value) {
  while (value.canConvert<QDBusVariant>())
    value = value.value<QDBusVariant>().variant();
  return value.toInt();
}

QString sheet() {
  QFile file(QStringLiteral(":/fourbeat/theme.qss"));
  return file.open(QIODevice::ReadOnly) ? QString::fromUtf8(file.readAll()) : QString();
}

}  // namespace

Theme::Theme() = default;

Theme& Theme::instance() {
  static Theme theme;
  return theme;
}

void Theme::install(QApplication& application) {
  linkResources();
  application_ = &application;
  systemFont_ = QApplication::font();
  systemPalette_ = QApplication::palette();
  QApplication::setStyle(new FramedBoxes(QStyleFactory::create(QStringLiteral("Fusion"))));
  QDBusConnection::sessionBus().connect(
      QString(), QStringLiteral("/org/freedesktop/portal/desktop"),
      QStringLiteral("org.freedesktop.portal.Settings"), QStringLiteral("SettingChanged"), this,
      SLOT(systemSettingChanged(QString, QString, QDBusVariant)));
  scheme_ = askScheme();
  apply();
}

void Theme::systemSettingChanged(const QString& group, const QString& key,
                                 const QDBusVariant& value) {
  if (group != schemeGroup || key != schemeKey) return;
  scheme_ = Scheme(std::clamp(unwrapped(value.variant()), 0, 2));
  if (mode_ == Mode::system) apply();
}

void Theme::setMode(Mode mode) {
  mode_ = mode;
  apply();
}

Theme::Scheme Theme::askScheme() {
  const QDBusConnection bus = QDBusConnection::sessionBus();
  if (!bus.isConnected()) return Scheme::none;
  QDBusMessage ask = QDBusMessage::createMethodCall(
      QStringLiteral("org.freedesktop.portal.Desktop"),
      QStringLiteral("/org/freedesktop/portal/desktop"),
      QStringLiteral("org.freedesktop.portal.Settings"), QStringLiteral("Read"));
  ask << schemeGroup << schemeKey;
  // Before the first window; later changes are told.
  const QDBusMessage answer = bus.call(ask, QDBus::Block, 100);
  if (answer.type() != QDBusMessage::ReplyMessage || answer.arguments().isEmpty())
    return Scheme::none;
  return Scheme(std::clamp(unwrapped(answer.arguments().constFirst()), 0, 2));
}

bool Theme::systemIsDark() const {
  // The desktop's own word where there is one; else the palette the platform started with.
  if (scheme_ != Scheme::none) return scheme_ == Scheme::dark;
  return systemPalette_.color(QPalette::Window).lightnessF() <
         systemPalette_.color(QPalette::WindowText).lightnessF();
}

void Theme::apply() {
  if (application_ == nullptr) return;
  dark_ = mode_ == Mode::dark || (mode_ == Mode::system && systemIsDark());
  QPalette palette;
  const auto set = [&palette, this](QPalette::ColorRole role, Ink ink) {
    palette.setColor(role, color(ink));
  };
  set(QPalette::Window, Ink::window);
  set(QPalette::WindowText, Ink::text);
  set(QPalette::Base, Ink::surface);
  set(QPalette::AlternateBase, Ink::window);
  set(QPalette::ToolTipBase, Ink::surface);
  set(QPalette::ToolTipText, Ink::text);
  set(QPalette::PlaceholderText, Ink::mutedText);
  set(QPalette::Text, Ink::text);
  set(QPalette::Button, Ink::raised);
  set(QPalette::ButtonText, Ink::text);
  set(QPalette::BrightText, Ink::error);
  set(QPalette::Link, Ink::accent);
  set(QPalette::LinkVisited, Ink::accent);
  set(QPalette::Highlight, Ink::selection);
  set(QPalette::HighlightedText, Ink::text);
  set(QPalette::Light, Ink::surface);
  set(QPalette::Midlight, Ink::raised);
  set(QPalette::Mid, Ink::line);
  set(QPalette::Dark, Ink::line);
  for (const QPalette::ColorRole role :
       {QPalette::WindowText, QPalette::Text, QPalette::ButtonText}) {
    QColor faint = color(Ink::text);
    faint.setAlphaF(0.45F);
    palette.setColor(QPalette::Disabled, role, faint);
  }
  QApplication::setPalette(palette);
  QApplication::setFont(bodyFont());

  QString style = sheet();
  static const std::array<std::pair<const char*, Ink>, 13> names{{{"@window", Ink::window},
                                                                  {"@surface", Ink::surface},
                                                                  {"@raised", Ink::raised},
                                                                  {"@line", Ink::line},
                                                                  {"@text", Ink::text},
                                                                  {"@mutedText", Ink::mutedText},
                                                                  {"@accent", Ink::accent},
                                                                  {"@onAccent", Ink::onAccent},
                                                                  {"@focus", Ink::focus},
                                                                  {"@selection", Ink::selection},
                                                                  {"@error", Ink::error},
                                                                  {"@warning", Ink::warning},
                                                                  {"@good", Ink::good}}};
  for (const auto& [name, ink] : names)
    style.replace(QLatin1String(name) + QLatin1Char(';'), color(ink).name() + QLatin1Char(';'));
  application_->setStyleSheet(style);
  Q_EMIT changed();
}

QColor Theme::color(Ink ink, bool dark) {
  const Pair& pair = inks.at(static_cast<std::size_t>(ink));
  return QColor::fromRgba(dark ? pair.dark : pair.light);
}

double Theme::contrast(const QColor& a, const QColor& b) {
  // WCAG 2.1, "contrast ratio" and "relative luminance".
  const double la = luminance(a) + 0.05;
  const double lb = luminance(b) + 0.05;
  return std::max(la, lb) / std::min(la, lb);
}

QFont Theme::bodyFont() const {
  QFont font = systemFont_;
  font.setPointSizeF(std::max(9.5, systemFont_.pointSizeF()));
  return font;
}

QFont Theme::titleFont() const {
  QFont font = bodyFont();
  font.setPointSizeF(font.pointSizeF() * 1.35);
  font.setWeight(QFont::DemiBold);
  return font;
}

QFont Theme::smallFont() const {
  QFont font = bodyFont();
  font.setPointSizeF(font.pointSizeF() * 0.88);
  return font;
}

QFont Theme::figureFont() const {
  QFont font = bodyFont();
  font.setStyleHint(QFont::Monospace);
  font.setFamilies({QStringLiteral("DejaVu Sans Mono"), QStringLiteral("monospace")});
  return font;
}

QIcon Theme::icon(const QString& name) const {
  return icon(name, Ink::text);
}

QIcon Theme::icon(const QString& name, Ink ink) const {
  return QIcon(new InkIcon(name, ink));
}

void Theme::drawFocusRing(QPainter& painter, const QRect& rect) {
  painter.save();
  painter.setRenderHint(QPainter::Antialiasing);
  painter.setBrush(Qt::NoBrush);
  painter.setPen(QPen(instance().color(Ink::focus), 2));
  painter.drawRoundedRect(QRectF(rect).adjusted(1, 1, -1, -1), 3, 3);
  painter.restore();
}

void showOver(QProgressBar* bar, bool over) {
  if (bar->property("over").toBool() == over) return;
  bar->setProperty("over", over);
  bar->style()->unpolish(bar);
  bar->style()->polish(bar);
}

}  // namespace fourbeat::ui
