#include "cli/cautions.h"

namespace tileflux::cli {

std::string_view cautions() {
  return "Cautions\n"
         "  Planning aid only: not qualified, not certified, no safety system. No flight, range or laser-safety "
         "decision\n"
         "  may rest on it without independent review by licensed people under local rules.\n"
         "  Lasers at these powers are class 4: direct, reflected and diffuse light harms eyes and skin and starts "
         "fires.\n"
         "  Appoint a laser safety officer; IEC 60825-1, ANSI Z136.1 and national rules apply. No eye-safe distance is "
         "computed.\n"
         "  Arrays are live in light and arc at low pressure. Batteries can run away. Vacuum chambers and cryogenic "
         "shrouds\n"
         "  bring asphyxiation, burns and implosion. Beams in the sky are coordinated with the national authority.\n";
}

std::string_view short_caution() {
  return "Planning aid only, not qualified or certified; class 4 laser light, live arrays, batteries, vacuum: see "
         "`tileflux "
         "--help` for cautions.";
}

}  // namespace tileflux::cli
