#include "cli/case_inputs.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>

#include "tileflux/tile/uncertain_inputs.h"

namespace tileflux::cli {

namespace {

bool is_wanted(const tile::CaseInput& input) {
  // What would a better laser do is asked of all of them together; nothing of the tile is that factor.
  return input.stated || !input.path.ends_with(".light_factor");
}

/// Makes cases with one input changed. What the file states, and factors on the library, stand in one series that is
/// read once; other paths (defaults, which a series would state, and rows of tables) each in one of their own.
class CaseMaker {
 public:
  CaseMaker(const tile::CaseTemplate& cases, const std::vector<tile::CaseInput>& inputs, CaseFrom from)
      : cases_(cases), from_(std::move(from)) {
    std::vector<std::string> paths;
    for (const tile::CaseInput& one : inputs) {
      if (!is_shared(one)) continue;
      place_[one.path] = paths.size();
      paths.push_back(one.path);
      values_.push_back(one.value_si);
    }
    if (!paths.empty()) shared_ = std::make_shared<tile::CaseSeries>(cases, paths);
  }

  studies::CaseAt at(const tile::CaseInput& input) const {
    const auto found = place_.find(input.path);
    if (found == place_.end()) {
      const auto own = std::make_shared<tile::CaseSeries>(cases_, std::vector<std::string>{input.path});
      return [own, from = from_](double value) { return from(*own, std::span(&value, 1)); };
    }
    return [shared = shared_, from = from_, values = values_, place = found->second](double value) {
      std::vector<double> moved = values;
      moved[place] = value;
      return from(*shared, moved);
    };
  }

 private:
  static bool is_shared(const tile::CaseInput& input) {
    return input.source || (input.stated && !input.path.ends_with("]"));
  }

  const tile::CaseTemplate& cases_;
  CaseFrom from_;
  std::map<std::string, std::size_t> place_;
  std::vector<double> values_;
  std::shared_ptr<tile::CaseSeries> shared_;
};

studies::GainInput gain_input(const CaseMaker& maker, const tile::CaseInput& one) {
  constexpr double inside = 1e-9;  // of what is excluded
  const input::Range& range = one.range;
  const double least = range.least_excluded ? range.least + inside * std::abs(one.value_si - range.least) : range.least;
  const double most = range.most_excluded ? range.most - inside * std::abs(range.most - one.value_si) : range.most;
  const bool quadratures = one.path.starts_with("orbit.") || one.path.starts_with("materials.bodies.");
  return {one.path,
          std::string(one.dimension.si_unit),
          one.value_si,
          least,
          most,
          maker.at(one),
          quadratures ? studies::GainInput::step_share_of_quadratures : studies::GainInput::usual_step_share};
}

/// Surroundings, limits and what is commanded are no design. Nor are wavelengths: a per cent of one is many linewidths.
bool is_design(const std::string& path) {
  if (path.ends_with(".amplifier.pump") || path.ends_with(".amplifier.signal") ||
      path.find(".amplifier.absorption[") != std::string::npos)
    return false;
  constexpr std::string_view others[] = {
      "sun.", "orbit.", "space", "limits.", "differences", "beam.", "materials.bodies.", "failures", "loads"};
  return std::none_of(std::begin(others), std::end(others),
                      [&](std::string_view one) { return path.starts_with(one); });
}

/// What a unit more of an input weighs, where that is plain: a radiator's area, a layer's or a fin's thickness, a mass.
std::optional<double> kg_per_unit(const tile::Case& description, const std::string& path) {
  for (const tile::Surface& surface : description.surfaces) {
    const std::string of = "surfaces." + surface.name;
    if (path == of + ".area" && !surface.meets_sunlight()) {
      // The input is the area of one face, the mass is told per area that radiates.
      const auto areal_kg_per_m2 = studies::areal_mass_kg_per_m2(description, surface.name);
      return areal_kg_per_m2 ? std::optional<double>(surface.faces * *areal_kg_per_m2) : std::nullopt;
    }
    if (path == of + ".fin.thickness" && surface.fin && surface.fin->density_kg_per_m3 > 0.0)
      return surface.fin->density_kg_per_m3 * surface.area_m2 / surface.faces;
  }
  for (const tile::Part& part : description.parts) {
    if (path == "parts." + part.name + ".mass") return 1.0;
  }
  if (!description.stack) return std::nullopt;
  const auto& layers = description.stack->layers;
  for (std::size_t i = 0; i < layers.size(); ++i) {
    if (path == "stack.layers[" + std::to_string(i) + "].thickness")
      return layers[i].material.density_kg_per_m3 * description.stack->area_m2;
  }
  return std::nullopt;
}

}  // namespace

std::vector<studies::GainInput> gain_inputs(const tile::CaseTemplate& cases) {
  const std::vector<tile::CaseInput> all = cases.inputs();
  const CaseMaker maker(cases, all,
                        [](tile::CaseSeries& series, std::span<const double> values) { return series.with(values); });
  std::vector<studies::GainInput> inputs;
  for (const tile::CaseInput& one : all) {
    if (is_wanted(one)) inputs.push_back(gain_input(maker, one));
  }
  return inputs;
}

std::vector<studies::WeighedInput> weighed_inputs(const tile::CaseTemplate& cases, const tile::Case& description,
                                                  const CaseFrom& from) {
  const std::vector<tile::CaseInput> all = cases.inputs();
  const CaseMaker maker(cases, all, from);
  std::vector<studies::WeighedInput> inputs;
  for (const tile::CaseInput& one : all) {
    if (!is_wanted(one)) continue;
    studies::WeighedInput input{
        gain_input(maker, one), is_design(one.path), kg_per_unit(description, one.path), {}, {}, {}};
    if (one.source) {
      input.basis = one.source->basis;
      input.words = one.source->uncertainty;
      input.uncertainty = tile::stated_share(one.source->uncertainty);
    }
    inputs.push_back(std::move(input));
  }
  return inputs;
}

}  // namespace tileflux::cli
