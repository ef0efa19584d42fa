#include "cli/csv.h"

#include <fmt/format.h>

#include <initializer_list>
#include <limits>

#include "tileflux/results/csv.h"

namespace tileflux::cli {

namespace {

/// The numbers as cells; one that is none is empty.
std::string cells(std::initializer_list<double> values) {
  std::string text;
  for (const double value : values) text += (text.empty() ? "" : ",") + results::csv_number(value);
  return text;
}

}  // namespace

std::string csv_curve(const studies::DutyCurve& curve) {
  constexpr double none = std::numeric_limits<double>::quiet_NaN();
  std::string text =
      "period,duty,mean_light,short_period_bound,cycles_to_95_percent,slowest_multiplier,binding,margin,margin_unit\n"
      "s,1,W,1,1,1,,,\n";
  for (const studies::SustainableDuty& point : curve.points) {
    text += cells({point.period_s, point.fraction, point.mean_light_W, point.short_period_fraction.value_or(none),
                   point.ratchet.value_or(none), point.state.slowest_multiplier});
    text += point.limited && point.binding
                ? fmt::format(",{},{},{}\n", point.binding->where(), results::csv_number(point.binding->margin),
                              studies::unit_of(point.binding->kind))
                : ",,,\n";
  }
  return text;
}

std::string csv_map(const studies::DutyMap& map) {
  std::string text = "drive,period,duty,mean_light,binding\n1,s,1,W,\n";
  for (std::size_t d = 0; d < map.drives.size(); ++d) {
    for (std::size_t p = 0; p < map.periods_s.size(); ++p)
      text += cells({map.drives[d], map.periods_s[p], map.fraction[d][p], map.mean_light_W[d][p]}) + ',' +
              map.binding[d][p] + '\n';
  }
  return text;
}

std::string csv_campaign(const studies::CampaignResult& campaign) {
  std::string names = "name,at,windows,windows_in_full,asked,delivered", units = ",s,1,1,J,J";
  for (std::size_t why = 0; why < studies::refusals; ++why) {
    names += fmt::format(",refused_{}", studies::name_of(static_cast<studies::Refusal>(why)));
    units += ",J";
  }
  std::string text = names + ",asked_for,met,worst_at,worst_share\n" + units + ",s,s,s,1\n";
  for (const studies::RequestAnswer& one : campaign.requests) {
    text += fmt::format("{},{:.10g},{},{},{:.10g},{:.10g}", one.name, one.at_s, one.windows, one.met_windows,
                        one.served.asked_J, one.served.delivered_J);
    for (const double refused_J : one.served.refused_J) {
      // What the integration leaves below its tolerance is nothing.
      const bool nothing = refused_J <= studies::light_tolerance * one.served.asked_J;
      text += fmt::format(",{:.10g}", nothing ? 0.0 : refused_J);
    }
    text += fmt::format(",{:.10g},{:.10g},{:.10g},{:.10g}\n", one.served.asked_s, one.served.met_s, one.worst_at_s,
                        one.worst_share);
  }
  return text;
}

std::string csv_margins(const Margined& margined) {
  std::string text =
      "what,node,other_node,bound,unit,limit,stated,bounding,life,beam,uncertainty,step,predicted,left,verdict\n";
  for (const studies::MarginRow& row : margined.margins.rows) {
    const studies::Margin& margin = row.stated.margin;
    const bool heater = row.stated.kind == studies::Watched::Kind::heater;
    text += fmt::format("{},{},{},{},{},{:.10g},{:.10g},{:.10g},{},{},{:.10g},{:.10g},{:.10g},{:.10g},{}\n",
                        heater ? "heater" : studies::name_of(margin.kind), margin.node, margin.other,
                        margin.upper ? "below" : "above", heater ? "1" : studies::unit_of(margin.kind), margin.limit,
                        margin.value, row.bounding.value, row.bounding.end_of_life ? "end" : "begin",
                        row.bounding.beam ? "on" : "off", row.uncertainty, row.step_K, row.predicted, row.left,
                        studies::name_of(row.verdict));
  }
  return text;
}

}  // namespace tileflux::cli
