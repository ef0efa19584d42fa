// The tile as a section. Drawn here and not by script, so that it is there in any reader of HTML.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "report/page_charts.h"
#include "report/page_text.h"
#include "tileflux/base/constants.h"

namespace tileflux::report {

namespace {

using Part = SectionChart::Part;
using Role = Part::Role;

constexpr double width = 430.0;
constexpr double stack_left = 92.0;
constexpr double stack_right = 178.0;
constexpr double words_left = 198.0;
constexpr double words_room = 225.0;

/// As much of a text as fits into `room` pixels at 14 px letters, whose widths are estimated: there is nothing to
/// measure with.
std::string shortened(const std::string& text, double room) {
  const std::string whole = clean_text(text);
  double wide = 0.0;
  for (std::size_t at = 0; at < whole.size(); ++at) {
    const auto byte = static_cast<unsigned char>(whole[at]);
    if ((byte & 0xC0u) == 0x80u) continue;
    const bool broad = byte == 'W' || byte == 'M' || byte == '@' || byte == '%' || byte == 'm' || byte == 'w';
    wide += byte >= 0xE0u ? 19.0 : broad ? 13.5 : byte >= 'A' && byte <= 'Z' ? 9.6 : 8.0;
    if (wide > room) return whole.substr(0, at) + "\u2026";
  }
  return whole;
}

std::string text_svg(double x, double y, const char* kind, const std::string& words) {
  return fmt::format("<text x=\"{:.0f}\" y=\"{:.1f}\" class=\"{}\">{}</text>\n", x, y, kind, escaped(words));
}

/// An arrow along one axis, with its head drawn and not referred to: pages may hold several sections.
std::string arrow_svg(double x1, double y1, double x2, double y2, const char* kind) {
  const double length = std::hypot(x2 - x1, y2 - y1);
  const double along_x = (x2 - x1) / length, along_y = (y2 - y1) / length;
  const double neck_x = x2 - 9.0 * along_x, neck_y = y2 - 9.0 * along_y;
  return fmt::format(
      "<path d=\"M{:.1f} {:.1f}L{:.1f} {:.1f}\" class=\"arrow {}\"/><path d=\"M{:.1f} {:.1f}L{:.1f} {:.1f}L{:.1f} "
      "{:.1f}z\" class=\"h-{}\"/>\n",
      x1, y1, neck_x, neck_y, kind, x2, y2, neck_x - 5.0 * along_y, neck_y + 5.0 * along_x, neck_x + 5.0 * along_y,
      neck_y - 5.0 * along_x, kind);
}

std::string thickness_text(double thickness_m) {
  const double thickness_mm = 1e3 * thickness_m;
  return thickness_mm >= 0.1 ? number_text(thickness_mm, -3) + " mm" : number_text(1e3 * thickness_mm, -3) + " \u00B5m";
}

std::string state_text(const Part& part) {
  std::string text = fmt::format("{:.1f} \u00B0C", part.temperature_K - zero_celsius_K);
  if (part.thickness_m > 0.0) text += ", " + thickness_text(part.thickness_m);
  if (part.margin_K) text += fmt::format(", {} {:+.1f} K", *part.margin_K < 0.0 ? "BROKEN" : "margin", *part.margin_K);
  return text;
}

double height_of(const Part& part) {
  if (part.role != Role::layer && part.role != Role::bench) return 42.0;
  const double thicker = part.thickness_m > 0.0 ? 9.0 * std::log10(part.thickness_m / 1e-4) : 0.0;
  return 42.0 + std::clamp(thicker, 0.0, 30.0);
}

std::string box_svg(const Part& part, double top, double height, int shade) {
  const auto rectangle = [&](double x, double y, double w, double h) {
    return fmt::format("<rect x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\" class=\"part s{}\"/>\n", x,
                       y, w, h, shade);
  };
  const double middle = top + height / 2.0;
  switch (part.role) {
    case Role::fin:
      return rectangle(stack_left - 22.0, middle - 5.0, stack_right - stack_left + 22.0, 10.0);
    case Role::device:
      return rectangle(stack_right - 48.0, middle - 10.0, 48.0, 20.0);
    default:
      return rectangle(stack_left, top, stack_right - stack_left, height);
  }
}

/// Whether a surface is one of the part: its name, or its name with more behind a dot or blank.
bool is_of(const std::string& surface, const std::string& part) {
  if (!surface.starts_with(part)) return false;
  return surface.size() == part.size() || surface[part.size()] == '.' || surface[part.size()] == ' ';
}

const char* const styles_alone =
    "<style>text{font:14px system-ui,\"Segoe UI\",\"DejaVu "
    "Sans\",sans-serif;fill:#20262b}.soft{fill:#59636b;font-size:12.5px}"
    ".bad{fill:#a8201a;font-weight:600;font-size:12.5px}.part{stroke:#20262b;stroke-width:1}.tie,.lead{stroke:#9a9a94;"
    "fill:none}"
    ".arrow{fill:none;stroke-width:2.5}.sun{stroke:#b98300}.beam{stroke:#992c86}.heat{stroke:#bc501a}"
    ".h-sun{fill:#b98300}.h-beam{fill:#992c86}.h-heat{fill:#bc501a}"
    ".s0{fill:#e7edf2}.s1{fill:#f7efd2}.s2{fill:#f0d58f}.s3{fill:#e3b04f}.s4{fill:#d08436}.s5{fill:#b25a2c}.s6{fill:#"
    "893728}</style>"
    "<rect width=\"100%\" height=\"100%\" fill=\"#fbfaf6\"/>\n";

struct Drawing {
  std::string svg;
  double y = 8.0;
};

void draw_sunlight(Drawing& drawing, const SectionChart& chart) {
  if (!(chart.sunlight_W > 0.0)) return;
  for (int i = 0; i < 3; ++i)
    drawing.svg +=
        arrow_svg(stack_left + 15.0 + 28.0 * i, drawing.y, stack_left + 15.0 + 28.0 * i, drawing.y + 36.0, "sun");
  drawing.svg += text_svg(words_left, drawing.y + 22.0, "soft", "sunlight " + number_text(chart.sunlight_W, -4) + " W");
  drawing.y += 42.0;
}

void draw_part(Drawing& drawing, const SectionChart& chart, const Part& part, int shade, std::vector<bool>& drawn) {
  const double height = height_of(part);
  const double middle = drawing.y + height / 2.0;
  drawing.svg += box_svg(part, drawing.y, height, shade);
  drawing.svg +=
      fmt::format("<path d=\"M{:.1f} {:.1f}H{:.1f}\" class=\"lead\"/>\n", stack_right + 4.0, middle, words_left - 5.0);
  drawing.svg += text_svg(words_left, middle - 3.0, "name", shortened(part.name, words_room));
  drawing.svg +=
      text_svg(words_left, middle + 14.0, part.margin_K && *part.margin_K < 0.0 ? "bad" : "soft", state_text(part));
  double out_W = 0.0;
  for (std::size_t i = 0; i < chart.leaving.size(); ++i) {
    if (drawn[i] || !is_of(chart.leaving[i].from, part.name)) continue;
    out_W += chart.leaving[i].power_W;
    drawn[i] = true;
  }
  if (out_W > 0.0) {
    const double from = part.role == Role::fin ? stack_left - 26.0 : stack_left - 4.0;
    drawing.svg += arrow_svg(from, middle, 6.0, middle, "heat");
    drawing.svg += text_svg(6.0, middle - 8.0, "soft", number_text(out_W, -4) + " W");
  }
  drawing.y += height;
}

/// What devices hang on: a line behind them, from the stack to the last.
void draw_tie(Drawing& drawing, const SectionChart& chart) {
  double y = drawing.y, begin = drawing.y, end = drawing.y;
  for (const Part& part : chart.parts) {
    y += height_of(part);
    if (part.role == Role::layer || part.role == Role::bench) begin = y;
    if (part.role == Role::device) end = y - height_of(part) / 2.0;
  }
  if (end > begin)
    drawing.svg += fmt::format("<path d=\"M{:.1f} {:.1f}V{:.1f}\" class=\"tie\"/>\n", stack_right - 24.0, begin, end);
}

/// What leaves from places that are no parts of their own.
void draw_rest(Drawing& drawing, const SectionChart& chart, const std::vector<bool>& drawn) {
  for (std::size_t i = 0; i < drawn.size(); ++i) {
    if (drawn[i] || !(chart.leaving[i].power_W > 0.0)) continue;
    drawing.y += 34.0;
    drawing.svg += arrow_svg(stack_left - 4.0, drawing.y - 4.0, 6.0, drawing.y - 4.0, "heat");
    drawing.svg += text_svg(6.0, drawing.y - 12.0, "soft", number_text(chart.leaving[i].power_W, -4) + " W");
    drawing.svg +=
        text_svg(stack_left + 4.0, drawing.y, "soft", "infrared of " + shortened(chart.leaving[i].from, 250.0));
  }
}

void draw_light(Drawing& drawing, const SectionChart& chart) {
  if (!(chart.light_W > 0.0)) return;
  const double x = (stack_left + stack_right) / 2.0;
  drawing.svg += arrow_svg(x, drawing.y + 6.0, x, drawing.y + 42.0, "beam");
  drawing.svg += text_svg(words_left, drawing.y + 28.0, "soft", "laser light " + number_text(chart.light_W, -4) + " W");
  drawing.y += 46.0;
}

}  // namespace

std::string section_svg(const SectionChart& chart, const std::string& label, bool alone) {
  double low = INFINITY, high = -INFINITY;
  for (const Part& part : chart.parts) {
    low = std::min(low, part.temperature_K);
    high = std::max(high, part.temperature_K);
  }
  Drawing drawing;
  std::vector<bool> drawn(chart.leaving.size(), false);
  draw_sunlight(drawing, chart);
  draw_tie(drawing, chart);
  for (const Part& part : chart.parts) {
    const double share = high > low ? (part.temperature_K - low) / (high - low) : 0.5;
    draw_part(drawing, chart, part, std::min(6, static_cast<int>(7.0 * share)), drawn);
  }
  draw_light(drawing, chart);
  draw_rest(drawing, chart, drawn);
  drawing.y += 26.0;
  drawing.svg += text_svg(4.0, drawing.y, "soft", "Not to scale. To the left: infrared.");
  constexpr double alike_K = 0.05;
  if (high - low > alike_K) {
    drawing.y += 18.0;
    drawing.svg += text_svg(4.0, drawing.y, "soft",
                            fmt::format("Coloured from {:.1f} to {:.1f} \u00B0C.", low - zero_celsius_K, high - zero_celsius_K));
  }
  return fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"section-picture\" viewBox=\"0 0 {:.0f} {:.0f}\" role=\"img\" "
      "aria-label=\"{}\">\n{}{}</svg>\n",
      width, drawing.y + 10.0, escaped(label), alone ? styles_alone : "", drawing.svg);
}

}  // namespace tileflux::report
