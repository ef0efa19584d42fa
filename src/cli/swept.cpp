#include "cli/swept.h"

#include <fmt/format.h>

namespace tileflux::cli {

std::string Swept::number(double value_si) const { return fmt::format("{:.5g}", range.in_unit(value_si)); }

std::string Swept::in_unit(double value_si) const {
  return range.unit == "1" ? number(value_si) : number(value_si) + ' ' + range.unit;
}

std::string limit_words(const studies::Margin& margin) {
  const std::string what =
      margin.kind == studies::LimitKind::temperature ? "" : std::string(studies::name_of(margin.kind)) + " of ";
  return what + margin.where() + (margin.upper ? " below" : " above");
}

std::string tilt_word(const studies::TiltNeeded& tilt) {
  switch (tilt.need) {
    case studies::TiltNeeded::Need::no_limit:
      return "no limit";
    case studies::TiltNeeded::Need::not_free:
      return "not free";
    case studies::TiltNeeded::Need::none:
      return "none";
    case studies::TiltNeeded::Need::tilted:
      return "needed";
    case studies::TiltNeeded::Need::too_cold:
      return "too cold";
    case studies::TiltNeeded::Need::in_vain:
      return "in vain";
  }
  return "";
}

}  // namespace tileflux::cli
