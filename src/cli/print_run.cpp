#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <string_view>
#include <utility>

#include "cli/device_states.h"
#include "cli/print.h"
#include "cli/print_parts.h"
#include "cli/text.h"

namespace tileflux::cli {

namespace {

std::string extremes(const tile::TileSystem& system, const studies::RunResult& run) {
  Table table({"Temperatures, degC", "lowest", "at s", "highest", "at s", "margin K", "limit"});
  for (const studies::TemperatureRange& range : run.ranges) {
    std::optional<double> least;
    for (const studies::Margin& margin : run.margins) {
      if (margin.kind != studies::LimitKind::temperature || margin.node != range.node) continue;
      if (!least || margin.margin < *least) least = margin.margin;
    }
    table.row({range.node, celsius(range.lowest_K), fmt::format("{:.1f}", range.lowest_at_s), celsius(range.highest_K),
               fmt::format("{:.1f}", range.highest_at_s), least ? margin_cell(*least) : "",
               limit_text(system, range.node)});
  }
  return table.text() + '\n';
}

/// Which events are told, in order of time: the first of each kind and place before the second ones, as many as there
/// is room for. So what happens once is not lost among what every cycle brings.
std::vector<std::size_t> told_events(const std::vector<studies::RunEvent>& events, std::size_t room) {
  std::map<std::pair<std::string_view, std::string_view>, std::size_t> seen;
  std::vector<std::pair<std::size_t, std::size_t>> by_occurrence;
  for (std::size_t i = 0; i < events.size(); ++i)
    by_occurrence.emplace_back(seen[{events[i].what, events[i].where}]++, i);
  std::sort(by_occurrence.begin(), by_occurrence.end());
  by_occurrence.resize(std::min(room, by_occurrence.size()));
  std::vector<std::size_t> told;
  for (const auto& [occurrence, i] : by_occurrence) told.push_back(i);
  std::sort(told.begin(), told.end());
  return told;
}

std::string events(const studies::RunResult& run) {
  if (run.events.empty()) return "";
  Table table({"Events", "what", "where", "degC"});
  constexpr std::size_t room = 12;
  const std::vector<std::size_t> told = told_events(run.events, room);
  for (const std::size_t i : told) {
    const studies::RunEvent& event = run.events[i];
    table.row({fmt::format("{:.3f} s", event.time_s), std::string(event.what), event.where,
               event.temperature_K > 0.0 ? celsius(event.temperature_K) : ""});
  }
  std::string text = table.text({0, 1, 2});
  const long more = run.event_count - static_cast<long>(told.size());
  if (more > 0) text += fmt::format("  and {} more; `--out DIR` writes all of them\n", more);
  text += "  in all:";
  for (const auto& [what, count] : run.event_counts) text += fmt::format(" {} {},", count, what);
  text.back() = '\n';
  return text + '\n';
}

std::string devices(const tile::TileSystem& system, const studies::RunResult& run) {
  std::string text;
  double asked_J = 0.0;
  for (const studies::HeaterUse& use : run.heaters) {
    asked_J += use.power_W * use.duty * run.end_s;
    text += fmt::format("  heater           {}: {} W for {} of the time, switched on {} times\n", use.name,
                        watts(use.power_W), percent(use.duty, 1), use.switched_on);
  }
  constexpr double round_off = 1e-6;  // of the integrated energy
  if (run.heaters_J < (1.0 - round_off) * asked_J) {
    text += fmt::format("  heaters          SHORT: the bus gave them only {} of what they asked for\n",
                        percent(run.heaters_J / asked_J, 1));
  }
  if (run.battery) {
    text += fmt::format("  battery          {:.1f} % at the start, {:.1f} % at the end; between {:.1f} and {:.1f} %\n",
                        run.battery->begin_percent, run.battery->end_percent, run.battery->least_percent,
                        run.battery->most_percent);
  }
  for (const studies::AgeState& state : run.ageing)
    text += fmt::format("  ageing           {} from {:.6f} to {:.6f}\n", state.name, state.begin, state.end);
  for (const StoreState& store : store_states(system, run.final_x))
    text += fmt::format("  store            {}: {} molten at the end\n", store.name, percent(store.melted_share, 1));
  for (const studies::EmittingNode& node : run.emitting_path) {
    text += fmt::format(
        "  emitting path    {}: {:.3f} K between coldest and warmest with the beam on, at most {:.3g} K/s; pointing "
        "and focus follow\n",
        node.node,
        node.highest_K - node.lowest_K, node.fastest_K_per_s);
  }
  return text;
}

}  // namespace

std::string print_run(const tile::CaseFile& file, const tile::TileSystem& system, const studies::RunResult& run) {
  std::string text = print_head(file);
  text += fmt::format("Run of {}{}\n", duration_text(run.end_s),
                      run.outcome == studies::RunOutcome::interrupted ? ", INTERRUPTED" : "");
  if (system.has_lasers()) {
    text += fmt::format("  light delivered  {:.4f} MJ; mean {} W over the run; {} to {} W while the beam was on ({})\n",
                        run.books.light_J / 1e6, watts(run.mean_light_W), watts(run.least_light_W),
                        watts(run.most_light_W), duration_text(run.beam_s));
  }
  text +=
      "  binding limit    " + (run.binding ? describe(*run.binding) : std::string("none is stated in the case")) + '\n';
  if (run.next) text += "  next limit       " + describe(*run.next) + '\n';
  if (run.trips > 0) text += fmt::format("  trips            {}\n", run.trips);
  text += devices(system, run);
  text += '\n' + extremes(system, run) + events(run);
  const studies::EnergyBooks& b = run.books;
  text += fmt::format(
      "Energy books, kJ\n  in {:.3f} = light {:.3f} + infrared {:.3f} + to held parts {:.3f} + stored {:.3f}{} + "
      "residual {}\n",
      b.incoming_J / 1e3, b.light_J / 1e3, b.to_space_J / 1e3, b.to_fixed_J / 1e3, b.stored_J / 1e3,
      run.battery ? fmt::format(" + into the battery {:.3f}", b.to_battery_J / 1e3) : "", tiny(b.residual_J() / 1e3));
  text += fmt::format("  residual {:.3f} J, {} %, worth {} K over the whole tile\n", b.residual_J(),
                      tiny(100.0 * b.relative()), tiny(run.error_K));
  text += fmt::format(
      "  {} steps, {} restarts, {} residuals, {} Jacobians; tolerances {} relative, {} K as asked for, {} and {} K as "
      "used\n",
      run.counts.steps, run.counts.restarts, run.counts.residuals, run.counts.jacobians, tiny(run.accuracy.relative),
      tiny(run.accuracy.absolute_K), tiny(run.used_accuracy.relative), tiny(run.used_accuracy.absolute_K));
  return text + print_notes(file, run.warnings);
}

std::string print_wear(const tile::CaseFile& file, const studies::WearResult& wear) {
  std::string text = print_head(file);
  text +=
      fmt::format("Wear over {}{}\n", duration_text(wear.rows.back().time_s), wear.interrupted ? ", INTERRUPTED" : "");
  // What the rows estimate may be less than what the integration of each of them can promise.
  const double error_J = std::max(wear.light_error_J, file.description.accuracy.relative * wear.light_J);
  text += fmt::format("  light delivered  {:.4f} GJ, good to about {:.2g} GJ\n", wear.light_J / 1e9, error_J / 1e9);
  text += fmt::format("  by               {} cycle evaluations, throttled, without trips, battery at rest\n\n",
                      wear.cycles);
  std::vector<std::string> heads{"After", "mean light W", "light GJ"};
  heads.insert(heads.end(), wear.names.begin(), wear.names.end());
  heads.emplace_back("binding limit");
  Table table(heads);
  for (const studies::WearRow& row : wear.rows) {
    constexpr double day_s = 86400.0;
    std::vector<std::string> cells{fmt::format("{:.1f} d", row.time_s / day_s), watts(row.mean_light_W),
                                   fmt::format("{:.4f}", row.light_J / 1e9)};
    for (const double age : row.age) cells.push_back(fmt::format("{:.5f}", age));
    cells.push_back(row.binding ? describe(*row.binding) : "");
    table.row(std::move(cells));
  }
  return text + table.text() + '\n' + print_notes(file, wear.warnings);
}

}  // namespace tileflux::cli
