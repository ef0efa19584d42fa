/// The definition of the keys of `size`.

#include "tile/case_words.h"

namespace tileflux::tile {

Section size_section() {
  const auto bounds = [](const char* key, const char* unit, Range range, const char* meaning) {
    return Field{key, QuantityListType{QuantityType{{unit}, range}, 2, 2}, meaning, false, {}};
  };
  const auto surroundings = [](const char* life) {
    return std::vector<Field>{
        with_default({"life", ChoiceType{{"begin", "end"}}, "age of every finish and cell", false, {}}, life),
        quantity("distance", "m", {1e9, 1e14}, "distance from the Sun; without it as in `sun`"),
        quantity("tilt", "rad", {0.0, 3.14159265358979312}, "tilt; without it as in `sun`")};
  };
  std::vector<Field> cold = surroundings("begin");
  cold.push_back(with_default({"beam", ChoiceType{{"on", "off"}}, "whether the beam is on", false, {}}, "off"));
  cold.push_back(
      {"heater", NameType{true}, "the node that a heater warms; without it the root of the radiator", false, {}});
  cold.push_back(with_default(quantity("heater_margin", "1", {0.0, 10.0},
                                       "installed power over needed power, less one; SMC-S-016 (2014) 4.4.2"),
                              "25 %"));
  return section_of(
      "Size",
      "What `size` looks for: the radiator with the least mass or area that holds limits, or reaches a light, in the "
      "hot "
      "case; then what the cold case takes. A range frees what it bounds; what has no range stays as the surface says.",
      {{"surface", NameType{}, "the surface that is the radiator", true, {}},
       {"hold",
        NameListType{NameType{true}, 1, 1000},
        "nodes whose `below` is to be held; without it every `below` of the case",
        false,
        {}},
       quantity("light", "W", positive, "light to be reached with the beam on; throttles may act then"),
       with_default({"minimise", ChoiceType{{"mass", "area"}}, "what is to be least", false, {}}, "mass"),
       needed(bounds("area", "m2", positive, "least and largest area of one face")),
       bounds("thickness", "m", {0.0, 1.0, true}, "least and largest thickness of the fin's sheet; frees it"),
       bounds("pitch", "m", {0.0, 200.0, true},
              "least and largest distance between two pipes, twice the fin's length; frees it"),
       with_default(
           {"faces", ChoiceType{{"as_stated", "either"}}, "`either`: one face or two, whichever is better", false, {}},
           "as_stated"),
       with_default(quantity("pipe_mass", "kg/m", not_negative, "mass of a pipe with its filling, per length"),
                    "0 kg/m"),
       with_default(quantity("other_mass", "kg/m2", not_negative,
                             "mass on top of sheet and pipes, per area of one face: coating, fixtures"),
                    "0 kg/m2"),
       with_default({"margin",
                     QuantityType{{"K", units::Kind::difference}, {0.0, 200.0}},
                     "how far every held node stays below its limit; for passive parts 11 K by SMC-S-016 (2014) 4.4.2",
                     false,
                     {}},
                    "11 K"),
       with_default(quantity("area_margin", "1", {0.0, 10.0},
                             "area on top of what is computed; before correlation 10 % by SMC-S-016 (2014) 4.4.2"),
                    "10 %"),
       with_default(
           section("hot", section_of("Hot case", "Where and at what age the radiator must do.", surroundings("end")),
                   "the hot case"),
           "{}"),
       section("cold",
               section_of("Cold case", "Where and at what age it is coldest; a heater holds every `above` there.",
                          std::move(cold)),
               "the cold case; without it none is looked at")});
}

}  // namespace tileflux::tile
