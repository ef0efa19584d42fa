/// Margins for programs: the keys end in the unit of what is limited.

#include <string>

#include "cli/json_parts.h"

namespace tileflux::cli {

namespace {

/// The unit as the end of a key.
const char* unit_suffix(studies::LimitKind kind) {
  switch (kind) {
    case studies::LimitKind::temperature:
    case studies::LimitKind::difference:
      return "_K";
    case studies::LimitKind::rate:
      return "_K_per_s";
    case studies::LimitKind::gradient:
      return "_K_per_m";
    case studies::LimitKind::charge:
      return "_percent";
    case studies::LimitKind::energy:
      return "_J";
    case studies::LimitKind::power:
      return "_W";
  }
  return "";
}

}  // namespace

Json margin_of(const std::optional<studies::Margin>& margin) {
  if (!margin) return nullptr;
  Json json{
      {"kind", studies::name_of(margin->kind)}, {"node", margin->node}, {"bound", margin->upper ? "below" : "above"}};
  if (!margin->other.empty()) json["other_node"] = margin->other;
  const std::string unit = unit_suffix(margin->kind);
  json[std::string(studies::name_of(margin->kind)) + unit] = margin->value;
  json["limit" + unit] = margin->limit;
  json["margin" + unit] = margin->margin;
  return json;
}

Json state_margin_of(const std::optional<studies::StateMargin>& limit) {
  if (!limit) return nullptr;
  Json json = margin_of(limit->margin);
  json["beam"] = limit->beam ? "on" : "off";
  return json;
}

}  // namespace tileflux::cli
