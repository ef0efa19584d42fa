#include <fmt/format.h>

#include <algorithm>

#include "cli/json.h"
#include "cli/print.h"
#include "cli/verb_parts.h"
#include "cli/verbs.h"
#include "tileflux/tile/case_template.h"

namespace tileflux::cli {

namespace {

const tile::Surface& sized_surface(const tile::Case& hot) {
  return *std::find_if(hot.surfaces.begin(), hot.surfaces.end(),
                       [&](const tile::Surface& one) { return one.name == hot.size->surface; });
}

/// What was chosen, moved in proportion where what the case states for the surface was moved.
tile::RadiatorDesign moved_with(tile::RadiatorDesign chosen, const tile::RadiatorDesign& stated,
                                const tile::RadiatorDesign& moved) {
  const auto follow = [](double& value, double from, double to) {
    if (from > 0.0) value *= to / from;
  };
  follow(chosen.area_m2, stated.area_m2, moved.area_m2);
  follow(chosen.thickness_m, stated.thickness_m, moved.thickness_m);
  follow(chosen.pitch_m, stated.pitch_m, moved.pitch_m);
  return chosen;
}

bool has_heater(const tile::Case& hot) { return hot.size->cold && !hot.size->cold->heater.empty(); }

/// The hot case with a radiator. Lower limits are left to the heater, where one is sized for them.
tile::Case as_built(tile::Case hot, const tile::RadiatorDesign& design) {
  const bool heated = has_heater(hot);
  for (tile::Limit& limit : hot.limits) {
    if (heated) limit.above_K.reset();
  }
  const std::string surface = hot.size->surface;
  return studies::with_radiator(std::move(hot), surface, design);
}

/// The tile that explains a size: with the radiator that was found, or with the one that comes nearest.
Subject sized_subject(const tile::SizeCases& cases, const studies::Size& size) {
  const tile::RadiatorDesign chosen = size.possible ? size.best.design : size.shortfalls.front().nearest;
  const tile::RadiatorDesign stated = design_of(sized_surface(cases.hot));
  const auto from = [chosen, stated](tile::CaseSeries& series, std::span<const double> values_si) {
    tile::Case hot = series.sizes_with(values_si).hot;
    const tile::RadiatorDesign moved = design_of(sized_surface(hot));
    return as_built(std::move(hot), moved_with(chosen, stated, moved));
  };
  const std::string words =
      fmt::format("This is about the {}, in the hot case{}.", size.possible ? "tile as built" : "nearest radiator",
                  has_heater(cases.hot) ? "; the heater keeps the lower limits" : "");
  Subject subject{as_built(cases.hot, chosen), from, words};
  // Area and thickness follow what is stated in proportion, and so do the masses: all of them with the area.
  const std::string of = "surfaces." + cases.hot.size->surface;
  const auto weighs = [&](double kg, double of_what) {
    return size.possible && kg > 0.0 && of_what > 0.0 ? std::optional<double>(kg / of_what) : std::nullopt;
  };
  subject.kg_per_unit[of + ".area"] = weighs(size.best.mass_kg(), stated.area_m2);
  subject.kg_per_unit[of + ".fin.thickness"] = weighs(size.best.sheet_kg, stated.thickness_m);
  return subject;
}

}  // namespace

int size_verb(const Invocation& wanted, const materials::Library& library) {
  const tile::SizeCases cases = tile::read_size_cases(wanted.case_file, library);
  const studies::Size result = studies::size(cases.hot, cases.cold);
  const tile::CaseTemplate inputs(wanted.case_file, library);
  tell_answer(
      wanted, inputs, sized_subject(cases, result), "size.json", [&] { return json_size(cases, result); },
      [&] { return print_size(cases, result); });
  if (!result.possible) return answer_no(Code::radiator_impossible, "no radiator within the bounds does what is asked");
  if (result.cold && !result.cold->held)
    return answer_no(Code::limit_broken, "in the cold case no heater on '" + result.cold->heater + "' keeps '" +
                                             result.cold->unreached + "' warm enough");
  return 0;
}

}  // namespace tileflux::cli
