/// The definition of the keys of `margins` and `uncertainty`.

#include "tile/case_words.h"

namespace tileflux::tile {

namespace {

// Its unit depends on the path, so the value is text here and is read when the path is known.
Field amount(const char* key, const char* meaning) { return {key, TextType{64}, meaning, false, {}}; }

}  // namespace

Section margins_section() {
  return section_of(
      "Margins", "What `margins` compares with.",
      {with_default(
           {"policy", NameType{}, "a profile of materials/policies; `--policy` takes another, or a file", false, {}},
           "smc_s_016"),
       with_default(
           {"tested", FlagType{}, "whether a thermal balance test of this tile has corrected the model", false, {}},
           "no"),
       with_default({"tiles", CountType{1, 1'000'000'000}, "tiles in the array: the worst of them counts", false, {}},
                    "1")});
}

Section uncertainty_section() {
  Section normal =
      section_of("Normal", "Around the stated value, without bounds.",
                 {needed(amount("standard_deviation",
                                "in the unit of the input, or in % of its value: `3 %`, `0.02`, `0.1 W/K`; "
                                "`%` is always of the value"))});
  Section uniform = section_of(
      "Uniform", "Anything between two ends alike. Say one of: `plus_minus`; `from` and `to`.",
      {amount("plus_minus", "half the width around the stated value, in its unit or in % of it"),
       amount("from", "lower end, in the unit of the input"), amount("to", "upper end, in the unit of the input")});
  uniform.exactly_one_of = {{"plus_minus", "from"}};
  uniform.together = {{"from", "to"}};
  Section bounded = section_of(
      "Bounded", "Normal around the stated value, cut off at two ends. Say one of: `plus_minus`; `from` and `to`.",
      {needed(amount("standard_deviation", "before it is cut off, in the unit of the input or in % of its value")),
       amount("plus_minus", "half the width around the stated value, in its unit or in % of it"),
       amount("from", "lower end, in the unit of the input"), amount("to", "upper end, in the unit of the input")});
  bounded.exactly_one_of = {{"plus_minus", "from"}};
  bounded.together = {{"from", "to"}};
  Section entry = section_of(
      "Uncertain input",
      "How far one input may be from what the case states. Without an entry, a value from the library takes what the "
      "library says of it, as the ends of a uniform law. Say one of: `normal`; `uniform`; `bounded`.",
      {{"input",
        TextType{200},
        "path of a value in the case, such as `surfaces.front.absorptance`, or of a factor on a library value, such as "
        "`materials.surfaces.white_silicate_paint.emittance.factor`",
        true,
        {}},
       section("normal", std::move(normal), "a normal law"),
       section("uniform", std::move(uniform), "a uniform law"),
       section("bounded", std::move(bounded), "a normal law with ends"),
       {"batch",
        NameType{},
        "inputs of one batch move together within a tile, and alike in all tiles of an array; without it an input "
        "differs from tile to tile",
        false,
        {}},
       quantity("correlation", "1", share,
                "share of the input's variance that is its batch's, which is the correlation of two inputs that state "
                "the same; without it 100 %"),
       {"bounding",
        FlagType{},
        "whether the bounding cases move it; without it as the policy goes: see the guide",
        false,
        {}}});
  entry.exactly_one_of = {{"normal", "uniform", "bounded"}};
  return entry;
}

}  // namespace tileflux::tile
