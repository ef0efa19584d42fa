/// Margins that are counted twice, and settings of a case that differ from the policy.

#include <algorithm>
#include <cstdio>

#include "studies/margins_parts.h"
#include "studies/warning.h"

namespace tileflux::studies {

namespace {

template <class... Values>
std::string text_of(const char* format, Values... values) {
  char text[400];
  std::snprintf(text, sizeof text, format, values...);
  return text;
}

/// A limit that carries a margin already, and gets one again.
void limits_moved_already(const tile::Case& description, const std::vector<MarginRow>& rows,
                          std::vector<Diagnostic>& warnings) {
  for (const tile::Limit& limit : description.limits) {
    if (!(limit.includes_margin_K > 0.0)) continue;
    double most_K = 0.0;
    for (const MarginRow& row : rows) {
      if (row.stated.margin.kind == LimitKind::temperature && row.stated.margin.node == limit.node)
        most_K = std::max(most_K, row.uncertainty + row.step_K);
    }
    if (most_K > 0.0)
      warnings.push_back(warning_of(
          Code::margin_twice,
          text_of(
              "the limit of '%s' includes a margin of %.4g K already, and the policy asks %.4g K on top: %.4g K are "
              "counted twice",
              limit.node.c_str(), limit.includes_margin_K, most_K, std::min(most_K, limit.includes_margin_K))));
    if (!description.size || !(description.size->margin_K > 0.0)) continue;
    const std::vector<std::string>& hold = description.size->hold;
    if (!limit.below_K || (!hold.empty() && std::count(hold.begin(), hold.end(), limit.node) == 0)) continue;
    warnings.push_back(warning_of(
        Code::margin_twice,
        text_of("the limit of '%s' includes a margin of %.4g K already, and `size.margin` holds it by %.4g K more",
                limit.node.c_str(), limit.includes_margin_K, description.size->margin_K)));
  }
}

/// A radiator that was sized for other margins than are asked here.
void sized_for_others(const tile::Case& description, const MarginsOptions& options, std::vector<Diagnostic>& warnings) {
  if (!description.size) return;
  const tile::Policy& policy = options.policy;
  const auto differ = [](double a, double b) { return a < b - 1e-9 || a > b + 1e-9; };
  if (policy.tested) {
    const double asked_K = (options.tested ? policy.tested : policy.untested)->value;
    if (differ(description.size->margin_K, asked_K))
      warnings.push_back(warning_of(Code::margin_differs,
                                    text_of("`size.margin` is %.4g K, and the policy asks %.4g K %s a balance test",
                                            description.size->margin_K, asked_K, options.tested ? "after" : "before")));
  }
  if (policy.radiator_area && !options.tested && differ(description.size->area_margin, policy.radiator_area->value))
    warnings.push_back(
        warning_of(Code::margin_differs,
                   text_of("`size.area_margin` is %.4g %%, and the policy asks %.4g %% before a balance test",
                           100.0 * description.size->area_margin, 100.0 * policy.radiator_area->value)));
  if (options.tested && policy.radiator_area && description.size->area_margin > 0.0)
    warnings.push_back(warning_of(
        Code::margin_twice,
        text_of("`size.area_margin` adds %.4g %% of area for a model that no test has corrected, but this one "
                "is `tested`",
                100.0 * description.size->area_margin)));
}

/// Levels for which the policy has no number.
void levels_not_known(const tile::Case& description, const tile::Policy& policy,
                      std::vector<Diagnostic>& warnings) {
  for (const tile::Limit& limit : description.limits) {
    const bool acceptance = limit.level != tile::LimitLevel::design && !policy.acceptance;
    const bool qualification = limit.level == tile::LimitLevel::qualification && !policy.qualification;
    if (acceptance || qualification)
      warnings.push_back(
          warning_of(Code::margin_differs,
                     text_of("the limit of '%s' is one of %s, for which the policy '%s' has no number: "
                             "nothing is taken off for it",
                             limit.node.c_str(), std::string(name_of(limit.level)).c_str(), policy.name.c_str())));
  }
}

}  // namespace

std::vector<Diagnostic> margins_applied_twice(const tile::Case& description, const MarginsOptions& options,
                                              const std::vector<MarginRow>& rows) {
  std::vector<Diagnostic> warnings;
  limits_moved_already(description, rows, warnings);
  sized_for_others(description, options, warnings);
  levels_not_known(description, options.policy, warnings);
  return warnings;
}

}  // namespace tileflux::studies
