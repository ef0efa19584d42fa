/// The definition of a case file, and the keys that say what is asked of the tile.

#include "tile/case_words.h"
#include "tileflux/devices/power_chain.h"
#include "tileflux/tile/case_reader.h"

namespace tileflux::tile {

namespace {

Section limit_section() {
  Section trip = section_of(
      "Trip", "The beam trips off at `below` and comes back later.",
      {with_default(quantity("to", "1", share, "share of the commanded drive that is left while tripped"), "0 %"),
       needed(temperature("reset_below", "temperature below which the beam may come back")),
       needed(quantity("minimum_off", "s", {0.01, 1e9}, "shortest time that the beam stays off"))});
  Section limit = section_of(
      "Limit",
      "Bounds on a node's temperature and on how fast it changes, under the node's name, and what is done about them.",
      {temperature("below", "the node must stay below this"), temperature("above", "the node must stay above this"),
       quantity("rate_below", "K/s", positive,
                "fastest change of the temperature in either direction, such as `0.5 K/min`; the node needs a heat "
                "capacity"),
       temperature("throttle_from", "drive falls from full at this temperature to none at `below`"),
       section("trip", std::move(trip), "trip at `below`"),
       {"level",
        ChoiceType{{"design", "acceptance", "qualification"}},
        "what `below` and `above` bound, for `margins`: what predictions must keep to (without it), or what the part is "
        "accepted or qualified for",
        false,
        {}},
       {"includes_margin",
        QuantityType{{"K", units::Kind::difference}, {0.0, 200.0}},
        "what `below` and `above` have been moved inward by already; `margins` warns where a policy does it again",
        false,
        {}}});
  return limit;
}

Section difference_section() {
  Section difference =
      section_of("Difference",
                 "A bound on how far the temperatures of two nodes are apart. Say one of: `below`; `gradient_below`.",
                 {{"between", NameListType{NameType{true}, 2, 2}, "the two nodes", true, {}},
                  {"below",
                   QuantityType{{"K", units::Kind::difference}, positive},
                   "the temperatures must be less apart than this",
                   false,
                   {}},
                  quantity("distance", "m", positive, "between the nodes, for `gradient_below`"),
                  quantity("gradient_below", "K/m", positive, "the difference over `distance` must stay below this")});
  difference.exactly_one_of = {{"below", "gradient_below"}};
  return difference;
}

Section failure_section() {
  return section_of(
      "Failure",
      "Something that breaks at a time and stays broken. One at 0 s counts in steady answers and duty limits too; "
      "later "
      "ones count in `run` only.",
      {needed(quantity("at", "s", not_negative, "time from the start of the run")),
       needed(
           {"what",
            ChoiceType{{"dead_modules", "lost_pipes", "stuck_tilt", "open_strings", "stuck_heater", "degraded_finish"}},
            "dead_modules of a laser, lost_pipes of a heat pipe (with `count`); stuck_tilt (with `tilt`); open_strings "
            "of the cells (with `share`); stuck_heater (with `state`); degraded_finish of a surface (with "
            "`absorptance`, `emittance` or both)",
            true,
            {}}),
       {"of", NameType{}, "the laser bank, heat pipe, heater or surface", false, {}},
       {"count", CountType{1, 100000}, "modules or pipes lost", false, {}},
       quantity("tilt", "rad", {0.0, 3.14159265358979312}, "tilt at which it sticks"),
       quantity("share", "1", positive_share, "share of the cells lost"),
       {"state", ChoiceType{{"on", "off"}}, "how the heater sticks", false, {}},
       quantity("absorptance", "1", share, "from then on"),
       quantity("emittance", "1", positive_share, "from then on")});
}

Section beam_section() {
  Section beam = section_of(
      "Beam", "What is asked of the lasers. Without `on` and `every` the beam is always on.",
      {with_default(quantity("drive", "1", positive_share, "share of rated drive"), "100 %"),
       quantity("light", "W", positive, "light that is wanted out of the tile: the drive follows it, up to `drive`"),
       quantity("on", "s", not_negative, "time on in each period"), quantity("every", "s", period, "period"),
       {"per_orbit", CountType{1, 1000}, "stands for `every`: so many periods fill one revolution of the `orbit`", false, {}},
       with_default(quantity("first", "s", not_negative, "time of the first switching on"), "0 s")});
  beam.at_most_one_of = {{"every", "per_orbit"}};
  return beam;
}

}  // namespace

Section case_definition() {
  Section materials = section_of(
      "Materials of this case", "Entries like those of the materials library, each with its source.",
      {section("solids", tileflux::materials::solid_section(), "solids by name", SectionType::Shape::by_name),
       section("media", tileflux::materials::medium_section(), "media that store heat by melting, by name",
               SectionType::Shape::by_name),
       section("fluids", tileflux::materials::fluid_section(), "working fluids of heat pipes by name",
               SectionType::Shape::by_name),
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
       with_default(quantity("charge_within", "1", {1e-6, 1.0},
                             "a battery counts as recovered when it is no more than this share of its capacity below "
                             "its starting charge"),
                    "1 %"),
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
       section("orbit", orbit_section(), "a revolution around a planet or moon"),
       with_default(temperature("space", "temperature of deep space; 2.72548 K after Fixsen 2009"), "2.72548 K"),
       section("materials", std::move(materials), "materials defined in the case"),
       section("stack", stack_section(), "layers through the tile"),
       section("parts", part_section(), "lumps by name", by_name),
       section("joins", join_section(), "conduction paths", list),
       section("infrared", infrared_section(), "radiation between nodes", list),
       section("heat_pipes", pipe_section(), "heat pipes by name", by_name, 50),
       section("stores", store_section(), "phase-change stores by name", by_name, 50),
       section("surfaces", surface_section(), "outer surfaces by name", by_name),
       section("enclosures", enclosure_section(), "grey-diffuse enclosures by name", by_name, 50),
       section("loads", load_section(), "heat from outside the power chain", list),
       section("cells", cells_section(), "photovoltaic cells"),
       section("bus", bus_section(), "priorities on the bus"),
       section("battery", battery_section(), "battery on the bus"),
       section("conditioning", conditioning_section(), "power conditioning"),
       section("heaters", heater_section(), "heaters by name", by_name, 50),
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
        "limits by node",
        false,
        {}},
       section("differences", difference_section(), "limits on differences and gradients between two nodes", list),
       section("beam", beam_section(), "the commanded beam; without it there is none"),
       section("campaign", campaign_section(), "who asks for light when, for `campaign` and `run`"),
       {"emitting_path",
        NameListType{NameType{true}, 1, 50},
        "nodes that the light passes and whose drift shifts its phase; without it amplifier fibres and optics",
        false,
        {}},
       section("failures", failure_section(), "what breaks, and when", list, 100),
       section("ageing", ageing_section(), "wear over years"),
       with_default(section("start", std::move(start), "start of a transient"), "{}"),
       with_default(section("run", std::move(run), "settings of `run`"), "{}"),
       with_default(section("duty", std::move(duty), "settings of `duty`"), "{}"),
       section("size", size_section(), "settings of `size`, which needs them"),
       section("uncertainty", uncertainty_section(), "how well inputs are known, for `margins`", list, 200),
       section("margins", margins_section(), "settings of `margins`"),
       with_default(section("accuracy", std::move(accuracy), "solver tolerances"), "{}")});
}

}  // namespace tileflux::tile
