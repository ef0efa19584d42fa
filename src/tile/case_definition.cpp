/// The definition of every key of a case file.

#include "tile/definition_parts.h"
#include "tileflux/devices/power_chain.h"
#include "tileflux/tile/case_reader.h"

namespace tileflux::tile {

using namespace definition;

namespace {

Section pattern_section() {
  return section_of("Pattern", "On for a while in every period.",
                    {needed(quantity("on", "s", not_negative, "time on in each period")),
                     needed(quantity("every", "s", period, "period")),
                     with_default(quantity("first", "s", not_negative, "time of the first switching on"), "0 s")});
}

Section sun_section() {
  return section_of(
      "Sun", "Where the tile is and how it faces the Sun.",
      {needed(quantity("distance", "m", {1e9, 1e14}, "distance from the Sun; `1 AU` is 149 597 870 700 m")),
       with_default(quantity("tilt", "rad", {0.0, 3.14159265358979312},
                             "angle between the normal of the sunlit face and the direction to the Sun: 0 faces it"),
                    "0 deg"),
       with_default(quantity("irradiance_at_1AU", "W/m2", {0.0, 1e5},
                             "irradiance on a plane normal to the Sun at 1 AU; IAU 2015 Resolution B3"),
                    "1361 W/m2")});
}

Section stack_section() {
  Section layer = section_of(
      "Layer", "One layer; it becomes a node of the same name (or `name.1`, `name.2` ... from the sun side if sliced).",
      {needed({"name", NameType{}, "name of the layer and of its node", true, {}}),
       needed({"material", NameType{}, "a solid from the materials library or defined under `materials`", true, {}}),
       needed(quantity("thickness", "m", {1e-9, 10.0}, "thickness")),
       with_default({"slices", CountType{1, 100}, "number of nodes through the thickness", false, {}}, "1"),
       quantity("contact_below", "W/(m2 K)", positive,
                "contact conductance to the next layer; without it the contact is perfect"),
       temperature("start", "temperature at the start of a transient, if it differs from `start`")});
  return section_of(
      "Stack",
      "Layers on top of each other, sun side first. Conduction through them follows from materials and thicknesses, "
      "between the mid-planes of layers; a surface on a layer is at its mid-plane temperature.",
      {needed(quantity("area", "m2", positive, "area of every layer")),
       needed(section("layers", std::move(layer), "the layers, sun side first", SectionType::Shape::list, 200))});
}

Section part_section() {
  Section part = section_of(
      "Part",
      "A lump at one temperature. Say one of: `material` with `mass`; `heat_capacity`; `massless: yes`; `fixed`.",
      {{"material", NameType{}, "a solid, for its heat capacity over temperature", false, {}},
       quantity("mass", "kg", positive, "mass"),
       quantity("heat_capacity", "J/K", positive, "heat capacity of the whole part, constant"),
       {"massless", FlagType{}, "the part stores no heat: its balance holds at every instant", false, {}},
       temperature("fixed", "temperature at which the part is held from outside"),
       temperature("start", "temperature at the start of a transient, if it differs from `start`")});
  part.exactly_one_of = {{"material", "heat_capacity", "massless", "fixed"}};
  part.together = {{"material", "mass"}};
  return part;
}

Section join_section() {
  Section join = section_of(
      "Join",
      "A conduction path between two nodes. Say one of: `conductance`; `contact` with `area`; `material` with `area` "
      "and `length`.",
      {{"between", NameListType{NameType{true}, 2, 2}, "the two nodes", true, {}},
       quantity("conductance", "W/K", positive, "conductance of the whole path"),
       quantity("contact", "W/(m2 K)", positive, "contact conductance per area"),
       {"material", NameType{}, "solid of a bar; conduction with its conductivity over temperature", false, {}},
       quantity("area", "m2", positive, "contact area, or cross-section of the bar"),
       quantity("length", "m", positive, "length of the bar")});
  join.exactly_one_of = {{"conductance", "contact", "material"}};
  return join;
}

Section infrared_section() {
  Section link =
      section_of("Infrared path",
                 "Heat radiation between two nodes: q = sigma R (Ta^4 - Tb^4). Say `exchange_area`, or `area` with "
                 "`emittances` for wide parallel grey surfaces, or `area` with `effective_emittance` for insulation.",
                 {{"between", NameListType{NameType{true}, 2, 2}, "the two nodes", true, {}},
                  quantity("exchange_area", "m2", positive, "R: area times view factor for black surfaces"),
                  quantity("area", "m2", positive, "area of each of two parallel surfaces, or of an insulation"),
                  {"emittances",
                   QuantityListType{QuantityType{{"1"}, positive_share}, 2, 2},
                   "emittances of the two surfaces",
                   false,
                   {}},
                  quantity("effective_emittance", "1", positive_share,
                           "of multilayer insulation between the two nodes: q = e* A sigma (Ta^4 - Tb^4)")});
  link.exactly_one_of = {{"exchange_area", "emittances", "effective_emittance"}};
  link.at_most_one_of = {{"exchange_area", "area"}};
  return link;
}

Section surface_section() {
  Section deposit = section_of(
      "Share of the absorbed sunlight", "Where a share of the absorbed sunlight becomes heat.",
      {node("node", "the node"), needed(quantity("share", "1", share, "share; all shares together are 100 %"))});
  Section fin = section_of(
      "Fin",
      "The sheet that carries the surface, from the node of `on` at its root to an insulated tip. Area over length is "
      "its width.",
      {needed({"material",
               NameType{},
               "a solid; conductivity is taken at the root's temperature unless there are segments",
               true,
               {}}),
       needed(quantity("thickness", "m", {0.0, 1.0, true}, "thickness")),
       needed(quantity("length", "m", {0.0, 100.0, true}, "from root to tip: half the pitch between two pipes")),
       with_default({"segments",
                     CountType{0, 200},
                     "0: one exact fin that stores no heat; otherwise so many nodes `name.1` ... with heat capacity",
                     false,
                     {}},
                    "0")});
  Section louvre =
      section_of("Louvre", "An emittance that changes with the temperature of `on`: linear between two temperatures.",
                 {needed(quantity("closed", "1", positive_share, "emittance up to `closed_below`")),
                  needed(quantity("open", "1", positive_share, "emittance from `open_above` on")),
                  needed(temperature("closed_below", "temperature up to which it is closed")),
                  needed(temperature("open_above", "temperature from which it is open"))});
  Section surface = section_of(
      "Surface",
      "An outer surface of a node. It radiates to space; if `sunlit`, it absorbs sunlight. Say `finish`, or "
      "`emittance` (and `absorptance` if sunlit).",
      {node("on", "the node at whose temperature it radiates"),
       needed(quantity("area", "m2", positive, "area of one face")),
       with_default({"faces", CountType{1, 2}, "number of equal faces", false, {}}, "1"),
       {"finish", NameType{}, "a surface finish from the library or defined under `materials`", false, {}},
       quantity("emittance", "1", positive_share, "hemispherical infrared emittance"),
       quantity("absorptance", "1", share, "share of sunlight absorbed"),
       with_default(quantity("view_to_space", "1", share, "view factor to space"), "100 %"),
       with_default({"sunlit", FlagType{}, "whether this face is the one that the tilt speaks of", false, {}}, "no"),
       section("fin", std::move(fin), "the surface is a fin rooted in `on`"),
       section("louvre", std::move(louvre), "stands for `emittance`"),
       section("absorbed_in", std::move(deposit),
               "where absorbed sunlight becomes heat; without it in the node of `on`", SectionType::Shape::list, 20)});
  surface.exactly_one_of = {{"finish", "emittance", "louvre"}};
  surface.at_most_one_of = {{"finish", "absorptance"}, {"louvre", "fin"}, {"fin", "absorbed_in"}};
  return surface;
}

Section enclosure_section() {
  const QuantityType coordinate{{"m"}, {-1e4, 1e4}};
  Section face =
      section_of("Face", "A grey-diffuse face of an enclosure. Say `finish` or `emittance`, and `area` or `corners`.",
                 {node("on", "the node at whose temperature it radiates"),
                  quantity("area", "m2", positive, "area"),
                  {"finish", NameType{}, "a surface finish", false, {}},
                  quantity("emittance", "1", positive_share, "emittance"),
                  {"corners",
                   TableType{{coordinate, coordinate, coordinate}, 3, 50, false},
                   "corners of a flat convex face, counter-clockwise as seen from inside: rows of x, y, z",
                   false,
                   {}}});
  face.exactly_one_of = {{"finish", "emittance"}, {"area", "corners"}};
  Section view = section_of(
      "View factor", "The share of what one face emits that arrives at another; the way back follows from the areas.",
      {node("from", "face"), node("to", "face, which may be the same one if it is hollow"),
       needed(quantity("factor", "1", share, "view factor"))});
  Section enclosure = section_of(
      "Enclosure",
      "Faces that see each other, with all reflections between them. View factors are stated, or follow from `corners` "
      "of every face.",
      {needed(section("faces", std::move(face), "the faces by name", SectionType::Shape::by_name, 60)),
       section("views", std::move(view), "the view factors", SectionType::Shape::list, 3600),
       with_default({"open", FlagType{}, "whether what the view factors leave over is space", false, {}}, "no")});
  return enclosure;
}

Section load_section() {
  return section_of(
      "Load", "Heat put into a node from outside the power chain.",
      {node("on", "the node"), needed(quantity("power", "W", {-1e12, 1e12}, "heat into the node")),
       with_default({"when",
                     ChoiceType{{"always", "beam_on", "beam_off", "pattern"}},
                     "when the load acts; a load of `beam_on` is its power at 100 % drive and scales with the drive",
                     false,
                     {}},
                    "always"),
       section("pattern", pattern_section(), "the times of `when: pattern`")});
}

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
       {"shunt", NameType{true}, "the node of `undrawn: goes_to_shunt`", false, {}}});
  cells.exactly_one_of = {{"type", "efficiency"}};
  cells.together = {{"efficiency", "slope"}};
  return cells;
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
  Section laser = section_of(
      "Laser bank", "Equal modules on one mount. The junction is the node `name.junction`. Say `diode` or `table`.",
      {node("mount", "the node that carries the modules"),
       with_default({"modules", CountType{1, 100000}, "number of equal modules", false, {}}, "1"),
       with_default({"dead",
                     CountType{0, 100000},
                     "how many of them, open strings, take no electricity and give no light",
                     false,
                     {}},
                    "0"),
       section("diode", std::move(diode), "laser law of a diode"),
       section("table", std::move(table), "laser law of a data sheet"),
       needed(quantity("resistance", "K/W", {1e-9, 1e6}, "thermal resistance from junction to mount, of one module")),
       quantity("junction_capacity", "J/K", positive,
                "heat capacity on the junction's side, of one module; without it the junction stores nothing")});
  laser.exactly_one_of = {{"diode", "table"}};
  return laser;
}

Section limit_section() {
  Section trip =
      section_of("Trip", "The beam trips off at `below` and comes back later.",
                 {needed(temperature("reset_below", "temperature below which the beam may come back")),
                  needed(quantity("minimum_off", "s", {0.01, 1e9}, "shortest time that the beam stays off"))});
  Section limit = section_of(
      "Limit", "Bounds on a node's temperature, under the node's name, and what is done about them.",
      {temperature("below", "the node must stay below this"), temperature("above", "the node must stay above this"),
       temperature("throttle_from", "drive falls from full at this temperature to none at `below`"),
       section("trip", std::move(trip), "trip at `below`")});
  return limit;
}

Section beam_section() {
  Section beam =
      section_of("Beam", "What is asked of the lasers. Without `on` and `every` the beam is always on.",
                 {with_default(quantity("drive", "1", positive_share, "share of rated drive"), "100 %"),
                  quantity("on", "s", not_negative, "time on in each period"), quantity("every", "s", period, "period"),
                  with_default(quantity("first", "s", not_negative, "time of the first switching on"), "0 s")});
  beam.together = {{"on", "every"}};
  return beam;
}

}  // namespace

Section case_definition() {
  Section materials = section_of(
      "Materials of this case", "Entries like those of the materials library, each with its source.",
      {section("solids", tileflux::materials::solid_section(), "solids by name", SectionType::Shape::by_name),
       section("surfaces", tileflux::materials::surface_section(), "surface finishes by name",
               SectionType::Shape::by_name),
       section("cells", tileflux::materials::cell_section(), "cell types by name", SectionType::Shape::by_name)});
  Section start = section_of(
      "Start", "Where a transient or a burst starts.",
      {with_default({"from",
                     ChoiceType{{"temperature", "beam_off_balance", "beam_on_balance"}},
                     "a stated temperature, or a steady state in the same sun",
                     false,
                     {}},
                    "temperature"),
       with_default(temperature("temperature",
                                "temperature of every node that states no `start` of its own, for `from: temperature`"),
                    "20 degC")});
  Section run = section_of("Run", "What `run` integrates.",
                           {with_default(quantity("duration", "s", {1e-6, 1e9}, "time to integrate over"), "24 h"),
                            with_default(quantity("output_every", "s", positive, "interval of the series"), "60 s")});
  Section duty = section_of(
      "Duty", "What `duty` means by recovered and by unlimited.",
      {with_default({"recovered_within",
                     QuantityType{{"K", units::Kind::difference}, {0.0, 100.0}},
                     "a node counts as recovered when it is no more than this above its starting temperature",
                     false,
                     {}},
                    "0.5 K"),
       with_default(quantity("longest_wait", "s", {0.0, 1e10, true},
                             "bursts and recoveries longer than this are called unlimited"),
                    "30 day")});
  Section accuracy = section_of(
      "Accuracy", "Tolerances of the transient solver on temperatures.",
      {with_default(quantity("relative", "1", {1e-12, 1e-3}, "relative tolerance"), "1e-7"),
       with_default(
           {"absolute", QuantityType{{"K", units::Kind::difference}, {1e-12, 0.1}}, "absolute tolerance", false, {}},
           "1e-5 K")});
  constexpr auto list = SectionType::Shape::list;
  constexpr auto by_name = SectionType::Shape::by_name;
  return section_of(
      "Case", "One tile, its surroundings and what is asked of it.",
      {{"tileflux", CountType{1, 1}, "version of the case format", true, {}},
       {"title", TextType{200}, "a line for people", true, {}},
       with_default(
           {"life", ChoiceType{{"begin", "end"}}, "begin or end of life, for every finish and cell at once", false, {}},
           "begin"),
       needed(section("sun", sun_section(), "the Sun")),
       with_default(temperature("space", "temperature of deep space; 2.72548 K after Fixsen 2009"), "2.72548 K"),
       section("materials", std::move(materials), "materials defined in the case"),
       section("stack", stack_section(), "layers through the tile"),
       section("parts", part_section(), "lumps by name", by_name),
       section("joins", join_section(), "conduction paths", list),
       section("infrared", infrared_section(), "radiation between nodes", list),
       section("surfaces", surface_section(), "outer surfaces by name", by_name),
       section("enclosures", enclosure_section(), "grey-diffuse enclosures by name", by_name, 50),
       section("loads", load_section(), "heat from outside the power chain", list),
       section("cells", cells_section(), "photovoltaic cells"),
       section("conditioning", conditioning_section(), "power conditioning"),
       section("housekeeping",
               section_of("Housekeeping", "Electricity that the tile itself needs all the time.",
                          {node("on", "the node where it ends as heat"),
                           needed(quantity("power", "W", not_negative, "power"))}),
               "the tile's own needs"),
       section("lasers", laser_section(), "laser banks by name", by_name, devices::most_banks),
       section("optics",
               section_of(
                   "Optics", "What the lasers' light passes through.",
                   {node("on", "the node that the lost light heats"),
                    needed(quantity("transmission", "1", positive_share, "share of the light that leaves the tile"))}),
               "optics"),
       {"limits",
        SectionType{std::make_shared<const Section>(limit_section()), by_name, 1000, NameType{true}},
        "temperature limits by node",
        false,
        {}},
       section("beam", beam_section(), "the commanded beam; without it there is none"),
       with_default(section("start", std::move(start), "start of a transient"), "{}"),
       with_default(section("run", std::move(run), "settings of `run`"), "{}"),
       with_default(section("duty", std::move(duty), "settings of `duty`"), "{}"),
       section("size", size_section(), "settings of `size`, which needs them"),
       with_default(section("accuracy", std::move(accuracy), "solver tolerances"), "{}")});
}

}  // namespace tileflux::tile
