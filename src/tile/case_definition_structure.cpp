/// The keys of a case file that say what a tile is built of.

#include "tile/case_words.h"

namespace tileflux::tile {

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
  Section zones = section_of(
      "Zones",
      "Parts of the stack's area side by side, each with temperatures of its own: the node of a layer in a zone is "
      "`layer.zone`. The bare name of a layer then stands for all its zones by their share of the area.",
      {{"names", NameListType{NameType{}, 2, 4}, "the zones in a row", true, {}},
       {"shares",
        QuantityListType{QuantityType{{"1"}, positive_share}, 2, 4},
        "shares of the area, together 100 %; without them all are equal",
        false,
        {}},
       needed(quantity("border", "m", positive, "length of the border between two neighbours")),
       needed(quantity("distance", "m", positive, "between the middles of two neighbours"))});
  return section_of(
      "Stack",
      "Layers on top of each other, sun side first. Conduction through them follows from materials and thicknesses, "
      "between the mid-planes of layers; a surface on a layer is at its mid-plane temperature.",
      {needed(quantity("area", "m2", positive, "area of every layer")),
       needed(section("layers", std::move(layer), "the layers, sun side first", SectionType::Shape::list, 200)),
       section("zones", std::move(zones), "zones side by side; without them the stack is one")});
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
  Section core = section_of("Honeycomb core",
                            "Conduction through the foil and radiation through the cells, between two face sheets. "
                            "With the core's `material` "
                            "and `area`.",
                            {needed(quantity("height", "m", positive, "between the face sheets")),
                             needed(quantity("cell", "m", positive, "size of a cell between opposite walls")),
                             needed(quantity("foil", "m", positive, "thickness of the foil")),
                             needed(quantity("emittance", "1", positive_share, "of foil and face sheets"))});
  Section switched = section_of(
      "Switch", "A conductance that follows the temperature of the first node: linear between two temperatures.",
      {needed(quantity("open", "W/K", not_negative, "conductance up to `open_below`")),
       needed(quantity("closed", "W/K", positive, "conductance from `closed_above` on")),
       needed(temperature("open_below", "temperature up to which it is open")),
       needed(temperature("closed_above", "temperature from which it is closed"))});
  Section join = section_of(
      "Join",
      "A conduction path between two nodes. Say one of: `conductance`; `contact` with `area`; `material` with `area` "
      "and `length`; `material` with `area` and `core`; `switch`.",
      {{"between", NameListType{NameType{true}, 2, 2}, "the two nodes", true, {}},
       quantity("conductance", "W/K", positive, "conductance of the whole path"),
       quantity("contact", "W/(m2 K)", positive, "contact conductance per area"),
       {"material", NameType{}, "solid of a bar; conduction with its conductivity over temperature", false, {}},
       quantity("area", "m2", positive, "contact area, cross-section of the bar, or face of the core"),
       quantity("length", "m", positive, "length of the bar"),
       section("core", std::move(core), "the material is the foil of a honeycomb"),
       section("switch", std::move(switched), "a thermal switch")});
  join.exactly_one_of = {{"conductance", "contact", "material", "switch"}};
  join.at_most_one_of = {{"length", "core"}};
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

Section pipe_section() {
  const auto end = [](const char* title) {
    return section_of(title, "A stretch of the pipe that exchanges heat with a node.",
                      {node("on", "the node"), needed(quantity("conductance", "W/K", positive,
                                                               "between the node and the vapour, of one pipe"))});
  };
  constexpr auto list = SectionType::Shape::list;
  Section pipe = section_of(
      "Heat pipe",
      "Equal heat pipes side by side, which carry heat from evaporators to condensers by their vapour, the nodes "
      "`name.evaporator` and `name.condenser`. Say `transport`, or `fluid` with `transport_at`.",
      {with_default({"pipes", CountType{1, 10000}, "number of equal pipes", false, {}}, "1"),
       with_default({"lost", CountType{0, 10000}, "how many of them do not work", false, {}}, "0"),
       needed(section("evaporators", end("Evaporator"), "where heat comes in", list, 50)),
       needed(section("condensers", end("Condenser"), "where it goes out", list, 50)),
       {"transport",
        TableType{{QuantityType{{"K"}, temperature_range}, QuantityType{{"W m"}, not_negative}}, 3, 200},
        "rows of vapour temperature and heat times length that one pipe carries; 0 in the first row, where the fluid "
        "freezes, and in the last",
        false,
        {}},
       {"fluid",
        NameType{},
        "a working fluid from the library; capability over temperature follows its merit",
        false,
        {}},
       {"transport_at",
        TableType{{QuantityType{{"K"}, temperature_range}, QuantityType{{"W m"}, positive}}, 1, 1},
        "one row: a temperature and the capability there",
        false,
        {}},
       needed(quantity("effective_length", "m", positive, "half the evaporator, the part between, half the condenser")),
       quantity("capacity", "J/K", positive,
                "heat capacity of one pipe with its fluid; without it the vapour stores nothing"),
       with_default(quantity("along", "W/K", positive, "conductance of the vapour along one pipe"), "1000 W/K")});
  pipe.exactly_one_of = {{"transport", "fluid"}};
  pipe.together = {{"fluid", "transport_at"}};
  return pipe;
}

Section store_section() {
  return section_of(
      "Store",
      "A medium that melts, held in a part. It gives and takes heat through its wall only. Its node has the store's "
      "name (or `name.1` ... from the wall inwards if sliced).",
      {node("in", "the part that holds it"),
       needed({"medium", NameType{}, "a medium from the library or defined under `materials`", true, {}}),
       needed(quantity("mass", "kg", positive, "mass of the medium")),
       needed(quantity("area", "m2", positive, "over which it touches the wall, fins included")),
       quantity("thickness", "m", positive,
                "from the wall to the farthest medium; without it mass over solid density over area"),
       with_default(quantity("contact", "W/(m2 K)", positive, "between wall and medium"), "500 W/(m2 K)"),
       with_default({"slices",
                     CountType{1, 100},
                     "1: a lump with a melting front; more: nodes through the thickness",
                     false,
                     {}},
                    "1"),
       temperature("start", "temperature at the start of a transient, if it differs from `start`")});
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
       with_default({"sunlit",
                     FlagType{},
                     "whether this face, or with two faces of a fin one of them, is the one that the tilt speaks of",
                     false,
                     {}},
                    "no"),
       {"facing",
        ChoiceType{{"front", "rear", "both", "shielded"}},
        "where it looks: `front` is the side that the tilt speaks of (`sunlit: yes` says the same), `rear` meets the "
        "Sun "
        "when the front turns away by more than 90 deg, `both` is one face each way, `shielded` sees neither Sun nor "
        "planet. Needed around a planet; without it a surface meets no sunlight",
        false,
        {}},
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

}  // namespace tileflux::tile
