/// The keys that say where the tile flies and how it turns.

#include <numbers>

#include "tile/case_words.h"
#include "tileflux/environment/irradiance.h"

namespace tileflux::tile {

namespace {

constexpr Range angle{0.0, std::numbers::pi};
constexpr Range solar_distance{1e9, 1e14};

Section ellipse_section() {
  return section_of(
      "Ellipse around the Sun", "The distance follows Kepler's laws; its period is printed.",
      {needed(quantity("perihelion", "m", solar_distance, "smallest distance from the Sun")),
       needed(quantity("aphelion", "m", solar_distance, "largest distance from the Sun")),
       with_default({"start_at", ChoiceType{{"perihelion", "aphelion"}}, "where the tile is at time 0", false, {}},
                    "perihelion")});
}

Section course_section() {
  Section course = section_of(
      "Course",
      "Distance and tilt over time, straight between rows; nothing is known outside, so the rows must reach from 0 to "
      "the end of the run.",
      {{"file",
        TextType{200},
        "a CSV file beside the case: a row of names (`time`, and `distance`, `tilt` or both), a row of units, then rows "
        "that rise in time",
        false,
        {}},
       {"distance",
        TableType{{QuantityType{{"s"}, not_negative}, QuantityType{{"m"}, solar_distance}}, 2, 10000},
        "rows of time and distance from the Sun",
        false,
        {}},
       {"tilt",
        TableType{{QuantityType{{"s"}, not_negative}, QuantityType{{"rad"}, angle}}, 2, 10000},
        "rows of time and tilt; with `distance` at the same times",
        false,
        {}}});
  course.at_most_one_of = {{"file", "distance"}, {"file", "tilt"}};
  return course;
}

Section hold_section() {
  return section_of(
      "Hold",
      "The tile turns away from the Sun as a node warms: it stands at `tilt` up to `band` below `below`, at "
      "`most_tilt` "
      "at `below`, in proportion between.",
      {node("node", "the node whose temperature is held"), needed(temperature("below", "temperature not to be passed")),
       with_default(
           {"band", QuantityType{{"K", units::Kind::difference}, {1e-3, 100.0}}, "width of the ramp", false, {}},
           "1 K"),
       with_default(quantity("most_tilt", "rad", {0.0, 0.5 * std::numbers::pi, true}, "the largest tilt"), "90 deg")});
}

}  // namespace

Section sun_section() {
  std::vector<std::string> standards;
  for (const environment::IrradianceStandard& standard : environment::irradiance_standards())
    standards.emplace_back(standard.name);
  Section sun = section_of(
      "Sun", "Where the tile is and how it faces the Sun.",
      {quantity("distance", "m", solar_distance,
                "distance from the Sun; `1 AU` is 149 597 870 700 m. Around a planet its mean distance, if not stated"),
       with_default(
           quantity("tilt", "rad", angle,
                    "angle between the normal of the front and the direction to the Sun: 0 faces it, 90 deg is "
                    "edge-on, beyond that the rear is lit"),
           "0 deg"),
       {"standard",
        ChoiceType{standards},
        "irradiance at 1 AU by a standard's name; it is printed with results",
        false,
        {}},
       quantity(
           "irradiance_at_1AU", "W/m2", {0.0, 1e5},
           "irradiance on a plane normal to the Sun at 1 AU; without it and without `standard` 1361 W/m2, IAU 2015 "
           "Resolution B3"),
       section("ellipse", ellipse_section(), "stands for `distance`"),
       section("course", course_section(), "distance and tilt over time"),
       with_default({"tilt_law",
                     ChoiceType{{"fixed", "tracking", "edge_on", "fixed_in_space", "hold"}},
                     "`fixed`: `tilt` from the direction to the Sun. `tracking`: 0 deg. `edge_on`: 90 deg. "
                     "`fixed_in_space`: `tilt` "
                     "at the start, while the Sun then moves around the tile on its `ellipse`. `hold`: see there",
                     false,
                     {}},
                    "fixed"),
       section("hold", hold_section(), "a temperature held by tilting"),
       {"stow",
        TableType{{QuantityType{{"s"}, not_negative}, QuantityType{{"s"}, not_negative}}, 1, 1000},
        "windows `[from, to]` in which the tile stands edge-on to the Sun, whatever the tilt law says",
        false,
        {}}});
  sun.at_most_one_of = {{"standard", "irradiance_at_1AU"}, {"distance", "ellipse"}, {"ellipse", "course"}};
  return sun;
}

Section orbit_section() {
  Section orbit = section_of(
      "Orbit",
      "A revolution around a planet or moon, with the Sun fixed in its frame: its shadow, the sunlight that it "
      "reflects "
      "and its infrared. Cells make nothing of reflected light. State `beta`, or `inclination` with the directions of "
      "node and Sun.",
      {{"body", NameType{}, "a body of the materials library", true, {}},
       with_default(
           {"values", ChoiceType{{"mean", "hot", "cold"}}, "which of the body's albedo and infrared", false, {}},
           "mean"),
       quantity("albedo", "1", share, "stands for the library's"),
       quantity("infrared", "W/m2", not_negative,
                "infrared that leaves the ground everywhere; stands for the library's"),
       quantity("altitude", "m", {1.0, 1e12}, "of a circular orbit, above the body's radius"),
       quantity("lowest", "m", {1.0, 1e12}, "lowest altitude of an elliptic orbit"),
       quantity("highest", "m", {1.0, 1e12}, "highest altitude of an elliptic orbit"),
       quantity("beta", "rad", {-0.5 * std::numbers::pi, 0.5 * std::numbers::pi},
                "height of the Sun above the orbit's plane"),
       quantity("inclination", "rad", angle, "of the orbit to the equator"),
       with_default(quantity("node_from_sun", "rad", {-6.3, 6.3},
                             "right ascension of the ascending node less that of the Sun, for `inclination`"),
                    "0 deg"),
       with_default(quantity("sun_declination", "rad", {-0.5 * std::numbers::pi, 0.5 * std::numbers::pi},
                             "of the Sun, for `inclination`: 0 at an equinox"),
                    "0 deg"),
       with_default(
           quantity("periapsis_from_noon", "rad", {-6.3, 6.3},
                    "angle along the motion from the point nearest to the Sun to the lowest point, for `beta`"),
           "0 deg"),
       with_default(quantity("argument_of_periapsis", "rad", {-6.3, 6.3},
                             "angle along the motion from the ascending node to the lowest point, for `inclination`"),
                    "0 deg"),
       with_default(quantity("start_from_noon", "rad", {-6.3, 6.3},
                             "angle along the motion from the point nearest to the Sun to where the tile is at time 0"),
                    "0 deg"),
       with_default(
           {"front_to",
            ChoiceType{{"sun", "zenith", "nadir"}},
            "what the front is kept to: the Sun, by `sun.tilt`, turned from it towards the orbit's north; away "
            "from the body; towards it",
            false,
            {}},
           "sun"),
       with_default({"reflected",
                     ChoiceType{{"sunlit_part", "zenith_cosine"}},
                     "how reflected sunlight is found: by the sunlit part in sight, or by the usual estimate with the "
                     "cosine of the Sun's zenith angle below the tile",
                     false,
                     {}},
                    "sunlit_part")});
  orbit.exactly_one_of = {{"altitude", "lowest"}, {"beta", "inclination"}};
  orbit.together = {{"lowest", "highest"}};
  return orbit;
}

}  // namespace tileflux::tile
