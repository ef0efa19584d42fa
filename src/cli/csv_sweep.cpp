#include <functional>
#include <vector>

#include "cli/csv.h"
#include "tileflux/results/csv.h"

namespace tileflux::cli {

namespace {

struct CsvColumn {
  std::string name, unit;
  std::function<std::string(const studies::SweepPoint&)> value;  ///< of a point with an answer
};

std::string limit_cell(const std::optional<studies::StateMargin>& limit) {
  if (!limit) return "";
  return limit_words(limit->margin) + (limit->beam ? ", beam on" : ", beam off");
}

std::vector<CsvColumn> csv_columns(const studies::Sweep& sweep) {
  using Point = studies::SweepPoint;
  std::vector<CsvColumn> columns;
  const auto margin = [](const std::optional<studies::StateMargin>& limit) {
    return limit ? results::csv_number(limit->margin.margin) : std::string();
  };
  const auto unit = [](const std::optional<studies::StateMargin>& limit) {
    return limit ? std::string(studies::unit_of(limit->margin.kind)) : std::string();
  };
  if (sweep.has_beam) {
    columns.push_back(
        {"usable_laser_power", "W", [](const Point& p) { return results::csv_number(p.usable_light_W); }});
    columns.push_back({"usable_drive", "1", [](const Point& p) { return results::csv_number(p.usable_drive); }});
    columns.push_back({"light_at_the_beam", "W", [](const Point& p) { return results::csv_number(p.beam_light_W); }});
    columns.push_back(
        {"sustainable_beam", "", [](const Point& p) { return std::string(p.sustainable ? "yes" : "no"); }});
    columns.push_back({"continuous_rating", "1",
                       [](const Point& p) { return p.rating ? results::csv_number(p.rating->drive) : std::string(); }});
    columns.push_back({"sustainable_duty", "1",
                       [](const Point& p) { return p.duty ? results::csv_number(p.duty->fraction) : std::string(); }});
    columns.push_back({"mean_light_at_that_duty", "W", [](const Point& p) {
                         return p.duty ? results::csv_number(p.duty->mean_light_W) : std::string();
                       }});
  }
  columns.push_back({"regime", "", [](const Point& p) { return std::string(studies::name_of(p.regime)); }});
  columns.push_back({"binding_limit", "", [](const Point& p) { return results::csv_text(limit_cell(p.binding)); }});
  columns.push_back({"binding_margin", "", [margin](const Point& p) { return margin(p.binding); }});
  columns.push_back({"binding_margin_unit", "", [unit](const Point& p) { return unit(p.binding); }});
  columns.push_back({"next_limit", "", [](const Point& p) { return results::csv_text(limit_cell(p.next)); }});
  columns.push_back({"next_margin", "", [margin](const Point& p) { return margin(p.next); }});
  columns.push_back({"next_margin_unit", "", [unit](const Point& p) { return unit(p.next); }});
  columns.push_back({"tilt", "", [](const Point& p) { return p.tilt ? tilt_word(*p.tilt) : std::string(); }});
  columns.push_back({"tilt_needed", "rad", [](const Point& p) {
                       const bool kept = p.tilt && (p.tilt->need == studies::TiltNeeded::Need::none ||
                                                    p.tilt->need == studies::TiltNeeded::Need::tilted);
                       return kept ? results::csv_number(p.tilt->tilt_rad) : std::string();
                     }});
  columns.push_back({"tilt_taken_beam_off", "rad", [](const Point& p) { return results::csv_number(p.off_tilt_rad); }});
  if (sweep.has_beam)
    columns.push_back({"tilt_taken_beam_on", "rad", [](const Point& p) { return results::csv_number(p.on_tilt_rad); }});
  columns.push_back({"heaters_beam_off", "W", [](const Point& p) { return results::csv_number(p.heaters_W(false)); }});
  if (sweep.has_beam)
    columns.push_back({"heaters_beam_on", "W", [](const Point& p) { return results::csv_number(p.heaters_W(true)); }});
  for (std::size_t i = 0; i < sweep.nodes.size(); ++i)
    columns.push_back(
        {sweep.nodes[i] + "_beam_off", "K", [i](const Point& p) { return results::csv_number(p.off_K[i]); }});
  for (std::size_t i = 0; sweep.has_beam && i < sweep.nodes.size(); ++i)
    columns.push_back(
        {sweep.nodes[i] + "_beam_on", "K", [i](const Point& p) { return results::csv_number(p.on_K[i]); }});
  return columns;
}

}  // namespace

std::string csv_sweep(const Swept& swept) {
  const std::vector<CsvColumn> columns = csv_columns(swept.sweep);
  std::string heads = results::csv_text(swept.varied.path), units(swept.varied.type.dimension.si_unit);
  for (const CsvColumn& column : columns) {
    heads += ',' + results::csv_text(column.name);
    units += ',' + column.unit;
  }
  std::string text = heads + ",trouble\n" + units + ",\n";
  for (const studies::SweepPoint& point : swept.sweep.points) {
    text += results::csv_number(point.value);
    for (const CsvColumn& column : columns) text += ',' + (point.trouble ? std::string() : column.value(point));
    text += ',' + (point.trouble ? results::csv_text(point.trouble->message) : std::string()) + '\n';
  }
  return text;
}

}  // namespace tileflux::cli
