/// The keys of a case file for devices: cells, battery, conditioning, heaters, lasers, and how they wear.

#include "tile/case_words.h"
#include "tileflux/devices/power_chain.h"

namespace tileflux::tile {

Section cells_section() {
  Section cells = section_of(
      "Cells", "Photovoltaic cells on a sunlit surface. Say `type`, or `efficiency` with `slope`.",
      {{"surface", NameType{}, "the sunlit surface that carries them; its area and irradiance count", true, {}},
       node("on", "the node whose temperature sets the efficiency and that the electricity cools"),
       {"type", NameType{}, "a cell type from the library or defined under `materials`", false, {}},
       quantity("efficiency", "1", positive_share, "efficiency at the reference temperature, begin of life"),
       quantity("slope", "1/K", {-0.05, 0.05}, "relative change of efficiency per kelvin, normally negative"),
       with_default(temperature("at", "reference temperature of the stated efficiency"), "28 degC"),
       with_default(quantity("packing", "1", positive_share, "share of the surface that is cell"), "100 %"),
       with_default(quantity("intensity_slope", "1", {-0.5, 0.5},
                             "m of the factor 1 + m ln(E/E_ref) by which efficiency follows irradiance"),
                    "0"),
       with_default(
           quantity("reference_irradiance", "W/m2", positive, "E_ref: irradiance at which the efficiency holds"),
           "1361 W/m2"),
       {"pointing",
        TableType{{QuantityType{{"rad"}, {0.0, 3.2}}, QuantityType{{"1"}, share}}, 2, 200},
        "rows of tilt and factor on the irradiance that the cells use, instead of the tilt's cosine; from 0 deg to "
        "where it is zero",
        false,
        {}},
       quantity("remaining", "1", positive_share,
                "remaining factor on power at end of life, for `efficiency` stated here"),
       with_default({"undrawn",
                     ChoiceType{{"stays_in_cells", "goes_to_shunt"}},
                     "where electricity ends that could be drawn but is not",
                     false,
                     {}},
                    "stays_in_cells"),
       {"shunt", NameType{true}, "the node of `undrawn: goes_to_shunt`", false, {}},
       with_default({"load_sharing",
                     ChoiceType{{"proportional", "equal"}},
                     "how the cells of several zones share what the loads draw: in the ratio of what each could give; or "
                     "every zone the same, none helping out another, where what a zone has beyond its share can only "
                     "charge the battery",
                     false,
                     {}},
                    "proportional")});
  cells.exactly_one_of = {{"type", "efficiency"}};
  cells.together = {{"efficiency", "slope"}};
  return cells;
}

Section battery_section() {
  const QuantityListType window{QuantityType{{"K"}, temperature_range}, 2, 2};
  Section charge = section_of(
      "Charging", "What the battery takes.",
      {needed(quantity("most", "W", positive, "largest power from the bus")),
       with_default(quantity("full", "1", positive_share, "charge at which it takes nothing more"), "100 %"),
       with_default(quantity("taper", "1", positive_share, "width below full over which it takes less and less"),
                    "5 %"),
       with_default({"between", window, "battery temperatures between which it may be charged", false, {}},
                    "[0 degC, 45 degC]")});
  Section discharge = section_of(
      "Discharging", "What the battery gives.",
      {needed(quantity("most", "W", positive, "largest power to the bus")),
       with_default(
           quantity("derating", "1", positive_share, "width above the least charge over which it gives less and less"),
           "5 %"),
       with_default({"between", window, "battery temperatures between which it may be discharged", false, {}},
                    "[-20 degC, 60 degC]")});
  Section round_trip = section_of("Round trip", "Energy out over energy in at one power: fixes the resistance.",
                                  {needed(quantity("efficiency", "1", positive_share, "at that power")),
                                   needed(quantity("at", "W", positive, "power, the same both ways"))});
  return section_of(
      "Battery",
      "Stores electricity on the bus. It is charged from what the cells have left and helps out where they do not "
      "suffice. Its charge is a state, in percent.",
      {node("on", "the node that its losses heat and whose temperature counts"),
       needed(quantity("capacity", "J", positive, "energy from empty to full, such as `400 Wh`")),
       needed(section("round_trip", std::move(round_trip), "its losses")),
       needed(section("charge", std::move(charge), "charging")),
       needed(section("discharge", std::move(discharge), "discharging")),
       with_default(quantity("depth_of_discharge", "1", positive_share, "share of the capacity that may be used"),
                    "80 %"),
       with_default(quantity("self_discharge", "1/s", {0.0, 1.0},
                             "share of the charge that turns to heat, such as "
                             "`2 %/month`"),
                    "0 %/day"),
       with_default(
           quantity("start", "1", share, "charge at the start, and the one at which it rests in steady states"),
           "100 %"),
       with_default({"feeds_lasers", FlagType{}, "whether the lasers may draw on it", false, {}}, "yes")});
}

Section bus_section() {
  return section_of("Bus", "Who is fed first, and the voltage that heaters can count on.",
                    {with_default({"priorities",
                                   NameListType{NameType{}, 4, 4},
                                   "all of housekeeping, heaters, lasers, charging, the first one fed first",
                                   false,
                                   {}},
                                  "[housekeeping, heaters, lasers, charging]"),
                     quantity("lowest_voltage", "V", positive, "for heaters with a `rated_voltage`")});
}

Section heater_section() {
  return section_of(
      "Heater",
      "A heater with a thermostat: on below one temperature of its sensor, off above another. Fed from the bus, or "
      "from "
      "outside in a tile without cells.",
      {node("on", "the node that it heats"),
       {"sensor", NameType{true}, "the node whose temperature counts; without it the node of `on`", false, {}},
       needed(quantity("power", "W", positive, "power, at `rated_voltage` if stated")),
       quantity("rated_voltage", "V", positive,
                "voltage of the stated power; it gives (lowest bus voltage / rated)^2 of it"),
       needed(temperature("on_below", "temperature below which it is switched on")),
       needed(temperature("off_above", "temperature above which it is switched off"))});
}

Section conditioning_section() {
  Section full = section_of("Loss at full load", "One point of the loss curve; the quadratic term follows from it.",
                            {needed(quantity("power", "W", positive, "delivered power")),
                             needed(quantity("loss", "1", share, "loss at that power as a share of it"))});
  return section_of(
      "Conditioning",
      "Loss between cells and loads: standby + proportional P + quadratic P^2, with P the power delivered.",
      {node("on", "the node that the loss heats"),
       with_default(quantity("standby", "W", not_negative, "loss at no load, drawn whenever there is sunlight"), "0 W"),
       with_default(quantity("proportional", "1", share, "loss per delivered power"), "0 %"),
       section("full_load", std::move(full), "a point that fixes the quadratic term; without it the term is zero")});
}

Section laser_section() {
  Section diode = section_of(
      "Diode", "Threshold and slope over junction temperature, voltage over current, of one module.",
      {needed(quantity("rated_current", "A", positive, "current at 100 % drive")),
       needed(quantity("threshold", "A", not_negative, "threshold current at the reference temperature")),
       needed(quantity("threshold_T0", "K", positive,
                       "characteristic temperature of the threshold: it grows as exp(dT/T0)")),
       needed(quantity("slope", "W/A", positive, "light per current above threshold at the reference temperature")),
       needed(quantity("slope_T1", "K", positive, "characteristic temperature of the slope: it falls as exp(-dT/T1)")),
       with_default(temperature("at", "reference junction temperature"), "25 degC"),
       needed(quantity("turn_on", "V", positive, "voltage at vanishing current")),
       needed(quantity("series_resistance", "ohm", not_negative, "series resistance")),
       with_default({"valid",
                     QuantityListType{QuantityType{{"K"}, temperature_range}, 2, 2},
                     "junction temperatures over which these values were measured; beyond them the law is used with a "
                     "warning. The default is common practice, no source",
                     false,
                     {}},
                    "[-20 degC, 85 degC]")});
  Section table = section_of(
      "Efficiency table",
      "What a data sheet gives: efficiency over junction temperature and drive, of one module. Say `efficiency` or "
      "`rows`.",
      {needed(quantity("rated_input", "W", positive, "electrical input at 100 % drive")),
       quantity("efficiency", "1", positive_share, "one efficiency for all temperatures and drives"),
       {"rows",
        TableType{{QuantityType{{"K"}, temperature_range}, QuantityType{{"1"}, share}, QuantityType{{"1"}, share}},
                  1,
                  1000,
                  false},
        "rows of junction temperature, drive, efficiency: a full grid, temperatures and drives rising; end values are "
        "held outside",
        false,
        {}}});
  table.exactly_one_of = {{"efficiency", "rows"}};
  Section driver =
      section_of("Driver", "Loss between the bus and the lasers.",
                 {needed(quantity("loss", "1", share, "as a share of the lasers' input")),
                  {"on", NameType{true}, "the node that it heats; without it that of the conditioning", false, {}}});
  const Range nanometres{1e-7, 1e-5};
  Section amplifier = section_of(
      "Fibre amplifier",
      "The bank's light is its pump. The fibre absorbs 1 - exp(-a L) of it, with a over the pump's wavelength, which "
      "follows the junction; of what it absorbs a constant share becomes light, the rest heats the fibre.",
      {node("on", "the node that the fibre's heat goes to"),
       node("unabsorbed_in", "the node that takes the pump light which the fibre leaves"),
       needed(quantity("pump", "m", nanometres, "wavelength of the pump at the reference junction temperature")),
       with_default(temperature("at", "reference junction temperature"), "25 degC"),
       needed({"shift", QuantityType{{"m/K"}, {-1e-8, 1e-8}}, "of the pump's wavelength with its junction", true, {}}),
       needed({"absorption",
               TableType{{QuantityType{{"m"}, nanometres}, QuantityType{{"1/m"}, not_negative}}, 2, 200},
               "rows of wavelength and absorption per length; its ends are held",
               true,
               {}}),
       needed(quantity("length", "m", positive, "of the fibre")),
       needed(quantity("signal", "m", nanometres, "wavelength of the light")),
       needed(quantity("efficiency", "1", positive_share, "light over absorbed pump above threshold")),
       with_default(quantity("threshold", "W", not_negative, "absorbed pump without light"), "0 W")});
  Section laser = section_of(
      "Laser bank", "Equal modules on one mount. The junction is the node `name.junction`. Say `diode` or `table`.",
      {node("mount", "the node that carries the modules"),
       with_default({"modules", CountType{1, 100000}, "number of equal modules", false, {}}, "1"),
       with_default({"in_series",
                     CountType{1, 100000},
                     "modules of one string, one behind the other: one that dies takes its string along",
                     false,
                     {}},
                    "1"),
       with_default(
           {"dead",
            CountType{0, 100000},
            "modules that are dead, each in a string of its own: their strings take no electricity and give no "
            "light",
            false,
            {}},
           "0"),
       section("diode", std::move(diode), "laser law of a diode"),
       section("table", std::move(table), "laser law of a data sheet"),
       needed(quantity("resistance", "K/W", {1e-9, 1e6}, "thermal resistance from junction to mount, of one module")),
       quantity("junction_capacity", "J/K", positive,
                "heat capacity on the junction's side, of one module; without it the junction stores nothing"),
       with_default(quantity("light_factor", "1", {0.0, 10.0},
                             "factor on the light of the lasers' law, for the question what a better or worse laser "
                             "would do; none gives more than it takes"),
                    "1"),
       section("driver", std::move(driver), "the driver's loss, on top of what the lasers take"),
       section("amplifier", std::move(amplifier), "a fibre stage that the bank pumps")});
  laser.exactly_one_of = {{"diode", "table"}};
  return laser;
}

Section ageing_section() {
  constexpr auto by_name = SectionType::Shape::by_name;
  const Field activation =
      with_default(quantity("activation", "J", {0.0, 1e-18}, "energy of Arrhenius' law, such as `0.5 eV`"), "0 eV");
  const Field reference = with_default(temperature("at", "temperature at which the rate holds"), "25 degC");
  Section cells = section_of(
      "Ageing cells", "Power that cells lose; `rate` of what they have left.",
      {needed(quantity("rate", "1/s", {0.0, 1e-3}, "share lost per time, such as `1 %/year`")), reference, activation});
  Section radiation = section_of(
      "Radiation damage", "remaining = 1 - per_decade log10(1 + fluence / knee).",
      {needed(quantity("per_decade", "1", positive_share, "loss per decade of fluence well above the knee")),
       needed(quantity("knee", "1/m2", {0.0, 1e40, true}, "fluence from which the loss grows with its logarithm")),
       needed(quantity("flux", "1/(m2 s)", {0.0, 1e30}, "mean flux of equivalent particles"))});
  Section finish = section_of("Ageing finish", "Absorptance on its way to an end value, in sunlight only.",
                              {needed(quantity("end", "1", share, "absorptance after a long time")),
                               needed(quantity("time_constant", "s", positive, "of the way there, such as `3 year`"))});
  Section diodes = section_of(
      "Wear of diodes", "Share of its light that a bank loses.",
      {needed(quantity("rate", "1/s", {0.0, 1e-3}, "share of the light lost per time at full drive")), reference,
       activation, with_default(quantity("drive_exponent", "1", {0.0, 20.0}, "n of the factor drive^n"), "0")});
  return section_of(
      "Ageing", "How the tile wears while it is used; what `run` carries along.",
      {section("cells", std::move(cells), "the cells over time and temperature"),
       section("radiation", std::move(radiation), "the cells over particle fluence"),
       section("finishes", std::move(finish), "sunlit surfaces by name", by_name),
       section("lasers", std::move(diodes), "laser banks by name", by_name),
       with_default(quantity("update", "s", {1.0, 1e9}, "wear takes effect after every such time"), "1 day"),
       with_default(quantity("step", "s", {1.0, 1e10}, "step of `run --accelerated`"), "30 day")});
}

}  // namespace tileflux::tile
