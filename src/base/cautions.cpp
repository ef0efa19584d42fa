#include "tileflux/base/cautions.h"

#include <array>

namespace tileflux {

namespace {

constexpr std::array<std::string_view, 5> paragraphs{
    "Planning aid only: not qualified, not certified, no safety system. No flight, range or laser-safety decision may "
    "rest on it without independent review by licensed people under local rules.",
    "Lasers at these powers are class 4: direct, reflected and diffuse light harms eyes and skin and starts fires. "
    "Appoint a laser safety officer; IEC 60825-1, ANSI Z136.1 and national rules apply. No eye-safe distance is "
    "computed.",
    "Arrays are live in light and arc at low pressure. Batteries can run away.",
    "Vacuum chambers and cryogenic shrouds bring asphyxiation, burns and implosion.",
    "Beams in the sky are coordinated with the national authority."};

}  // namespace

std::span<const std::string_view> cautions() { return paragraphs; }

std::string_view short_caution() {
  return "Planning aid only, not qualified or certified; class 4 laser light, live arrays, batteries, vacuum: see "
         "`tileflux --help` for cautions.";
}

}  // namespace tileflux
