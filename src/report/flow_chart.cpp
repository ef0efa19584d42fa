/// The powers of an operating point as a flow from sunlight to light, heat and space.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "report/story_parts.h"

namespace tileflux::report {

namespace {

using End = FlowChart::End;

/// A station must balance to this share of the whole, as a steady state must.
constexpr double balance_bound = 1e-9;
/// Less than this share of the whole is not drawn.
constexpr double least_drawn = 1e-13;

constexpr const char* station_sunlight = "sunlight met";
constexpr const char* station_absorbed = "sunlight absorbed";
constexpr const char* station_electricity = "electricity available";
constexpr const char* station_bus = "electricity used";
constexpr const char* station_lasers = "lasers and optics";
constexpr const char* station_heat = "heat";
constexpr const char* station_light = "light out";
const std::string infrared_from = "infrared from ";
constexpr const char* station_held = "parts held at a temperature";

/// Puts links together; stations come in the order in which they are named.
class FlowBuilder {
 public:
  FlowBuilder(FlowChart& chart, double whole_W) : chart_(chart) { chart_.whole_W = whole_W; }

  void station(const std::string& name, End kind) { chart_.stations.push_back({name, kind}); }

  void link(const std::string& from, const std::string& to, double power_W) {
    if (std::abs(power_W) <= least_drawn * chart_.whole_W) return;
    chart_.links.push_back({from, to, power_W});
  }

  /// Stations that nothing enters or leaves are not drawn.
  void drop_idle_stations() {
    std::erase_if(chart_.stations, [&](const FlowChart::Station& station) {
      return std::none_of(chart_.links.begin(), chart_.links.end(), [&](const FlowChart::Link& link) {
        return link.from == station.name || link.to == station.name;
      });
    });
  }

  void check(const View& point, double open_W) const {
    const double bound_W = balance_bound * chart_.whole_W;
    for (const FlowChart::Link& link : chart_.links) {
      if (link.power_W < -bound_W)
        point.refuse(Code::ledger_open,
                     fmt::format("{:.6g} W would flow backwards from {} to {}", -link.power_W, link.from, link.to));
    }
    for (const FlowChart::Station& station : chart_.stations) {
      double in_W = 0.0, out_W = 0.0;
      int entering = 0, leaving = 0;
      for (const FlowChart::Link& link : chart_.links) {
        if (link.to == station.name) in_W += link.power_W, ++entering;
        if (link.from == station.name) out_W += link.power_W, ++leaving;
      }
      if (entering == 0 || leaving == 0) continue;  // an end
      const double allowed_W = bound_W + (station.name == station_heat ? std::abs(open_W) : 0.0);
      if (!(std::abs(in_W - out_W) <= allowed_W))
        point.refuse(Code::ledger_open, fmt::format("the powers do not add up: {:.9g} W enter {}, {:.9g} W leave it",
                                                    in_W, station.name, out_W));
    }
  }

 private:
  FlowChart& chart_;
};

/// Stations only where a flow parts: what each loss is made of stands in the table of all numbers.
void add_electricity(FlowBuilder& flow, const View& power) {
  const double fed_W = power.number("fed_from_outside"), drawn_W = power.number("electricity_drawn");
  const double demand_W = power.number("laser_input") + power.number("driver_loss");
  flow.link(station_absorbed, station_electricity, power.number("electricity_available"));
  flow.link(station_electricity, station_heat, power.number("electricity_undrawn"));
  flow.link(station_electricity, station_bus, drawn_W);
  flow.link("electricity from outside", station_bus, fed_W);
  flow.link(station_bus, station_heat,
            power.number("conditioning_loss") + power.number("housekeeping") + power.number("heaters"));
  flow.link(station_bus, station_lasers, demand_W);
  flow.link(station_lasers, station_heat, demand_W - power.number("light_out"));
  flow.link(station_lasers, station_light, power.number("light_out"));
}

/// Heat that leaves; what a surface or a held part gives instead comes in from it.
void add_heat(FlowBuilder& flow, const View& point) {
  const auto leave = [&](const std::string& name, double power_W) {
    if (power_W >= 0.0)
      flow.link(station_heat, name, power_W);
    else
      flow.link(name, station_heat, -power_W);
  };
  for (const auto& [name, value] : point.entries("infrared_by_surface_W"))
    leave(infrared_from + name, value.number());
  leave(station_held, point.at("power_W").number("to_held_parts"));
}

double whole_of(const View& point) {
  const View power = point.at("power_W");
  double whole_W = power.number("sunlight_met") + power.number("planet") + power.number("heat_loads") +
                   power.number("fed_from_outside") + std::max(0.0, -power.number("to_held_parts"));
  for (const auto& [name, value] : point.entries("infrared_by_surface_W")) whole_W += std::max(0.0, -value.number());
  return whole_W;
}

}  // namespace

FlowChart flow_chart(const View& point) {
  FlowChart chart;
  const View power = point.at("power_W");
  FlowBuilder flow(chart, whole_of(point));
  flow.station(station_sunlight, End::sunlight);
  flow.station("from the planet", End::sunlight);
  flow.station("electricity from outside", End::electricity);
  flow.station("heat loads", End::heat);
  for (const auto& [name, value] : point.entries("infrared_by_surface_W")) {
    if (value.number() < 0.0) flow.station("infrared from " + name, End::space);
  }
  flow.station("reflected", End::space);
  flow.station(station_absorbed, End::through);
  for (const char* name : {station_electricity, station_bus, station_lasers}) flow.station(name, End::electricity);
  flow.station(station_heat, End::heat);
  flow.station(station_light, End::light);
  for (const auto& [name, value] : point.entries("infrared_by_surface_W")) {
    if (value.number() >= 0.0) flow.station("infrared from " + name, End::space);
  }
  flow.station("parts held at a temperature", End::heat);

  flow.link(station_sunlight, "reflected", power.number("reflected"));
  flow.link(station_sunlight, station_absorbed, power.number("absorbed"));
  flow.link(station_absorbed, station_heat, power.number("absorbed") - power.number("electricity_available"));
  add_electricity(flow, power);
  flow.link("from the planet", station_heat, power.number("planet"));
  flow.link("heat loads", station_heat, power.number("heat_loads"));
  add_heat(flow, point);
  flow.check(point, point.number("ledger_residual_W"));
  std::erase_if(chart.links, [](const FlowChart::Link& link) { return link.power_W <= 0.0; });
  flow.drop_idle_stations();
  return chart;
}

Table flow_table(const FlowChart& chart, std::string caption) {
  Table table{
      std::move(caption), {{"from", "", 0, false}, {"to", "", 0, false}, {"power", "W"}, {"share", "%", 1}}, {}, ""};
  for (const FlowChart::Link& link : chart.links)
    table.rows.push_back({link.from, link.to, link.power_W, 100.0 * link.power_W / chart.whole_W});
  return table;
}

std::string flow_sentence(const FlowChart& chart) {
  if (chart.links.empty()) return "Nothing comes in and nothing leaves.";
  double light_W = 0.0, infrared_W = 0.0, held_W = 0.0;
  for (const FlowChart::Link& link : chart.links) {
    if (link.to == station_light) light_W += link.power_W;
    if (link.to.starts_with(infrared_from)) infrared_W += link.power_W;
    if (link.to == station_held) held_W += link.power_W;
  }
  std::vector<std::string> ways;
  const auto tell = [&](double power_W, const char* way) {
    ways.push_back(fmt::format("{} ({}) {}{}", amount_words(power_W, "W"), percent_words(power_W / chart.whole_W),
                               ways.empty() ? "leave " : "", way));
  };
  if (light_W > 0.0) tell(light_W, "as light");
  if (infrared_W > 0.0 || held_W <= 0.0) tell(infrared_W, "as infrared");
  if (held_W > 0.0) tell(held_W, "into parts held at a temperature");
  return fmt::format("Of {} that come in, {}.", amount_words(chart.whole_W, "W"), fmt::join(ways, " and "));
}

}  // namespace tileflux::report
