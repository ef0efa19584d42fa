#include "tileflux/tile/uncertain_inputs.h"

#include <algorithm>

namespace tileflux::tile {

namespace {

/// Library values that the case uses at begin or end of life, as factors.
std::vector<std::pair<std::string, std::string>> factors_of(const CaseTemplate& cases) {
  std::vector<std::pair<std::string, std::string>> found;
  for (const CaseInput& input : cases.inputs()) {
    if (input.source) found.emplace_back(input.path, input.source->uncertainty);
  }
  try {
    for (const UsedSource& source : cases.with({}, true).sources) {
      const std::string path = "materials.cells." + source.material + ".remaining.factor";
      const auto known = [&](const auto& one) { return one.first == path; };
      if (source.property == "remaining" && std::none_of(found.begin(), found.end(), known))
        found.emplace_back(path, source.uncertainty);
    }
  } catch (const Error& error) {
    if (error.code() != Code::life_unknown) throw;  // no end of life, nothing more of it
  }
  return found;
}

bool is_allowed(const CaseTemplate& cases, const std::string& path, double factor) {
  try {
    cases.with({{path, factor}});
    return true;
  } catch (const Error&) {
    return false;
  }
}

/// The largest factor up to `most` with which the case is sound, to a hundredth of a percent.
double largest_allowed(const CaseTemplate& cases, const std::string& path, double most) {
  double low = 1.0, high = most;
  constexpr double close_enough = 1e-4;
  while (high - low > close_enough) {
    const double middle = 0.5 * (low + high);
    (is_allowed(cases, path, middle) ? low : high) = middle;
  }
  return low;
}

}  // namespace

std::optional<double> stated_share(const std::string& words) {
  const std::optional<double> share = units::parse_quantity(words, {"1"}).value_si;
  if (!share || !(*share > 0.0 && *share < 1.0)) return std::nullopt;
  return share;
}

UncertainInputs uncertain_inputs(const CaseTemplate& cases) {
  UncertainInputs all;
  all.inputs = cases.as_written().description.uncertainty;
  const std::size_t stated = all.inputs.size();
  for (const auto& [path, words] : factors_of(cases)) {
    const auto same = [&path = path](const UncertainInput& one) { return one.path == path; };
    if (std::any_of(all.inputs.begin(), all.inputs.begin() + static_cast<std::ptrdiff_t>(stated), same)) continue;
    const std::optional<double> share = stated_share(words);
    if (!share) {
      all.unknown.push_back(path);
      continue;
    }
    UncertainInput input;
    input.path = path;
    input.unit = "1";
    input.law = {InputLaw::Kind::uniform, 1.0, 0.0, 1.0 - *share, 1.0 + *share};
    input.batch = path;
    input.correlation = 1.0;
    input.from_library = words;
    if (!is_allowed(cases, path, input.law.to)) {
      input.law.to = largest_allowed(cases, path, input.law.to);
      all.shortened.push_back(path);
    }
    if (input.law.from < input.law.to) all.inputs.push_back(std::move(input));
  }
  return all;
}

}  // namespace tileflux::tile
