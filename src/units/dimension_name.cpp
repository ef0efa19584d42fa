#include "units/dimension_name.h"

#include <array>
#include <string_view>

namespace tileflux::units {

namespace {

struct Named {
  std::string_view si_unit;
  std::string_view name;
  std::string_view example;
};

/// The first of each dimension gives the name; a field's own unit text chooses among those of one dimension.
constexpr std::array named_dimensions{
    Named{"m", "a length", "1 mm"},
    Named{"m2", "an area", "0.25 m2"},
    Named{"m3", "a volume", "1 l"},
    Named{"kg", "a mass", "1.4 kg"},
    Named{"s", "a time", "300 s"},
    Named{"K", "a temperature", "28 degC"},
    Named{"rad", "an angle", "10 deg"},
    Named{"W", "a power", "400 W"},
    Named{"J", "an energy", "1 kWh"},
    Named{"A", "an electric current", "2 A"},
    Named{"V", "a voltage", "28 V"},
    Named{"ohm", "an electric resistance", "10 mohm"},
    Named{"C", "an electric charge", "10 Ah"},
    Named{"Hz", "a frequency", "1 kHz"},
    Named{"1/s", "a rate", "1 1/s"},
    Named{"1/K", "a change per kelvin", "-0.2 %/K"},
    Named{"1/m", "a reciprocal length", "10 1/m"},
    Named{"1/W", "a change per watt", "0.1 %/W"},
    Named{"W/(m K)", "a thermal conductivity", "167 W/(m K)"},
    Named{"W/(m2 K)", "a heat transfer coefficient", "800 W/(m2 K)"},
    Named{"m2 K/W", "a thermal resistance of an area", "1e-4 m2 K/W"},
    Named{"W/K", "a thermal conductance", "5 W/K"},
    Named{"K/W", "a thermal resistance", "0.5 K/W"},
    Named{"W/m2", "a power per area", "1361 W/m2"},
    Named{"J/K", "a heat capacity", "900 J/K"},
    Named{"J/(kg K)", "a specific heat capacity", "900 J/(kg K)"},
    Named{"J/(m2 K)", "a heat capacity per area", "800 J/(m2 K)"},
    Named{"J/kg", "an energy per mass", "200 kJ/kg"},
    Named{"kg/m3", "a density", "2700 kg/m3"},
    Named{"kg/m2", "a mass per area", "2 kg/m2"},
    Named{"W/kg", "a power per mass", "100 W/kg"},
    Named{"W/A", "a power per current", "1.1 W/A"},
    Named{"A/K", "a change of current per kelvin", "5 mA/K"},
    Named{"V/K", "a change of voltage per kelvin", "-2 mV/K"},
    Named{"m/s", "a speed", "1 m/s"},
    Named{"m/s2", "an acceleration", "9.81 m/s2"},
    Named{"N", "a force", "10 N"},
    Named{"Pa", "a pressure", "1 bar"},
    Named{"mol", "an amount of substance", "1 mol"},
    Named{"cd", "a luminous intensity", "1 cd"},
    Named{"sr", "a solid angle", "1 sr"},
};

std::string powers_text(const Powers& powers, int sign) {
  std::string text;
  for (std::size_t i = 0; i < powers.size(); ++i) {
    const int power = powers[i] * sign;
    if (power <= 0) continue;
    if (!text.empty()) text += ' ';
    text += base_symbols[i];
    if (power > 1) text += std::to_string(power);
  }
  return text;
}

}  // namespace

std::string name_of_powers(const Powers& powers) {
  if (powers == Powers{}) return "a plain number";
  for (const Named& named : named_dimensions) {
    if (resolve_unit(named.si_unit).meaning.powers == powers) return std::string(named.name);
  }
  const std::string above = powers_text(powers, 1);
  const std::string below = powers_text(powers, -1);
  if (below.empty()) return above;
  const bool many = below.find(' ') != std::string::npos;
  return (above.empty() ? "1" : above) + '/' + (many ? '(' + below + ')' : below);
}

DimensionName name_of(const Dimension& dimension) {
  if (dimension.si_unit == "1") return {"a number", "32 %"};
  if (dimension.si_unit == "K" && dimension.kind == Kind::difference) return {"a temperature difference", "5 K"};
  for (const Named& named : named_dimensions) {
    if (named.si_unit == dimension.si_unit) return {std::string(named.name), std::string(named.example)};
  }
  const Resolved resolved = resolve_unit(dimension.si_unit);
  const std::string unit(dimension.si_unit);
  if (resolved.fault)
    throw Error(Code::internal, "a field expects the unit '" + unit + "': " + resolved.fault->message);
  for (const Named& named : named_dimensions) {
    if (resolve_unit(named.si_unit).meaning.powers == resolved.meaning.powers)
      return {std::string(named.name), "1 " + unit};
  }
  return {"a value in " + unit, "1 " + unit};
}

}  // namespace tileflux::units
