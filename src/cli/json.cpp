#include "cli/json.h"

#include <cmath>

#include "tileflux/base/cautions.h"
#include "cli/device_states.h"
#include "cli/json_parts.h"
#include "cli/terminal_text.h"

namespace tileflux::cli {

Json number(double value) { return std::isfinite(value) ? Json(value) : Json(nullptr); }
Json number(const std::optional<double>& value) { return value ? number(*value) : Json(nullptr); }

Json diagnostics_of(const std::vector<Diagnostic>& diagnostics) {
  Json list = Json::array();
  for (const Diagnostic& d : diagnostics) {
    Json item{{"code", entry_of(d.code).slug},
              {"severity", d.severity == Severity::error ? "error" : "warning"},
              {"message", d.message}};
    if (!d.place.file.empty()) item["file"] = d.place.file;
    if (d.place.line > 0) {
      item["line"] = d.place.line;
      item["column"] = d.place.column;
    }
    if (!d.place.path.empty()) item["path"] = d.place.path;
    if (!d.suggestion.empty()) item["suggestion"] = d.suggestion;
    list.push_back(std::move(item));
  }
  return list;
}

Json head_of(const char* verb, const tile::CaseFile& file) {
  const environment::Sun& sun = file.description.sun;
  return {{"tileflux", TILEFLUX_VERSION},
          {"verb", verb},
          {"title", file.description.title},
          {"case_file", file.file},
          {"life", file.description.end_of_life ? "end" : "begin"},
          {"sun",
           {{"distance_m", sun.distance_m},
            {"tilt_rad", sun.tilt_rad},
            {"irradiance_at_1AU_W_per_m2", sun.irradiance_at_1AU_W_per_m2},
            {"irradiance_standard", file.description.irradiance_standard},
            {"irradiance_on_face_W_per_m2", sun.irradiance_W_per_m2()}}}};
}

/// The surroundings of an orbit, or nothing.
void add_orbit(Json& json, const tile::Case& description) {
  if (!description.orbit) return;
  const tile::Orbit& orbit = *description.orbit;
  const tile::Sky sky(description);
  json["orbit"] = {{"body", orbit.body},
                   {"period_s", orbit.path.ellipse.period_s()},
                   {"beta_rad", orbit.path.beta_rad},
                   {"shadow_s", sky.shadow_s()},
                   {"albedo", orbit.planet.albedo}};
}

void add_tail(Json& json, const tile::CaseFile& file, const std::vector<Diagnostic>& warnings) {
  add_orbit(json, file.description);
  Json all = diagnostics_of(file.warnings);
  for (const Json& item : diagnostics_of(warnings)) all.push_back(item);
  json["warnings"] = std::move(all);
  Json defaults = Json::object();
  for (const input::FilledDefault& filled : file.defaults) defaults[filled.path] = filled.text;
  json["defaults"] = std::move(defaults);
  add_provenance(json, file);
  json["caution"] = short_caution();
}

std::string text_of(const Json& json) {
  return printable_json(json.dump(2, ' ', false, Json::error_handler_t::replace)) + '\n';
}

Json extremes_of(const std::vector<studies::TemperatureRange>& ranges) {
  Json json = Json::object();
  for (const studies::TemperatureRange& range : ranges) {
    json[range.node] = {{"lowest_K", range.lowest_K},
                        {"lowest_at_s", range.lowest_at_s},
                        {"highest_K", range.highest_K},
                        {"highest_at_s", range.highest_at_s}};
  }
  return json;
}

Json margins_of(const std::vector<studies::Margin>& margins) {
  Json json = Json::array();
  for (const studies::Margin& margin : margins) json.push_back(margin_of(margin));
  return json;
}

Json books_of(const studies::EnergyBooks& b) {
  return {{"incoming", b.incoming_J},       {"light", b.light_J},
          {"infrared", b.to_space_J},       {"to_held_parts", b.to_fixed_J},
          {"stored", b.stored_J},           {"to_battery", b.to_battery_J},
          {"electricity_drawn", b.drawn_J}, {"electricity_available", b.available_J},
          {"residual", b.residual_J()}};
}

Json temperatures_of(const tile::TileSystem& system, const std::vector<double>& x) {
  Json json = Json::object();
  for (network::NodeId id = 0; id < system.network().node_count(); ++id)
    json[system.network().node(id).name] = system.network().temperature_K(id, x);
  return json;
}

Json melted_of(const tile::TileSystem& system, const std::vector<double>& x) {
  Json json = Json::object();
  for (const StoreState& store : store_states(system, x)) json[store.name] = store.melted_share;
  return json;
}

Json point_of(const tile::CaseFile& file, const tile::TileSystem& system, const studies::OperatingPoint& point) {
  Json margins = Json::array();
  for (const studies::Margin& margin : point.margins) margins.push_back(margin_of(margin));
  Json infrared = Json::object();
  for (std::size_t i = 0; i < point.infrared_W.size(); ++i) infrared[system.infrared_names()[i]] = point.infrared_W[i];
  Json banks = Json::object();
  for (std::size_t b = 0; b < file.description.lasers.size(); ++b) {
    const devices::BankFlows<double>& bank = point.chain.bank[b];
    Json flows = {{"input_W", bank.input},
                  {"light_W", bank.light},
                  {"heat_W", bank.junction_heat},
                  {"driver_loss_W", bank.driver_loss},
                  {"loop_gain", point.loop_gains[b]}};
    if (file.description.lasers[b].devices.amplifier) {
      flows["pump_W"] = bank.diode_light;
      flows["fibre_heat_W"] = bank.fibre_heat;
      flows["quantum_defect_W"] = bank.quantum_defect;
      flows["unabsorbed_W"] = bank.unabsorbed;
    }
    banks[file.description.lasers[b].name] = std::move(flows);
  }
  Json heaters = Json::object();
  const std::vector<double>& heater_W = point.heater_W;
  for (std::size_t h = 0; h < heater_W.size(); ++h) {
    const tile::Heater& heater = file.description.heaters[h];
    heaters[heater.name] = {{"power_W", heater_W[h]}, {"duty", heater_W[h] / heater.power_W}};
  }
  Json pipes = Json::object();
  for (const PipeLoad& pipe : pipe_loads(system, point.x))
    pipes[pipe.name] = {{"carried_W", pipe.carried_W}, {"limit_W", pipe.limit_W}, {"at_limit", pipe.at_limit()}};
  return {{"drive", point.drive},
          {"regime", studies::name_of(point.regime)},
          {"binding_limit", margin_of(point.binding)},
          {"next_limit", margin_of(point.next)},
          {"limits_met", point.limits_met()},
          {"temperature_K", temperatures_of(system, point.x)},
          {"margins", std::move(margins)},
          {"power_W",
           {{"sunlight_met", point.ledger.sunlight_met_W},
            {"reflected", point.ledger.reflected_W},
            {"absorbed", point.ledger.absorbed_W},
            {"planet", point.ledger.planet_W},
            {"heat_loads", point.ledger.loads_W},
            {"fed_from_outside", point.ledger.fed_W},
            {"electricity_available", point.chain.available},
            {"electricity_drawn", point.chain.drawn},
            {"electricity_undrawn", point.chain.undrawn},
            {"conditioning_loss", point.chain.conditioning_loss},
            {"housekeeping", point.chain.housekeeping},
            {"heaters", point.chain.heaters},
            {"driver_loss", point.chain.driver_loss},
            {"laser_demand", point.chain.laser_demand},
            {"laser_input", point.chain.laser_input},
            {"optics_loss", point.chain.optics_loss},
            {"light_out", point.ledger.light_out_W},
            {"heat_to_be_rejected", point.ledger.incoming_W() - point.ledger.light_out_W},
            {"infrared", point.ledger.to_space_W},
            {"to_held_parts", point.ledger.to_fixed_W}}},
          {"infrared_by_surface_W", std::move(infrared)},
          {"tilt_rad", point.sky.tilt_rad},
          {"sunlight_on_front_W_per_m2", point.sky.front_sun_W_per_m2},
          {"lasers", std::move(banks)},
          {"heaters", std::move(heaters)},
          {"heat_pipes", std::move(pipes)},
          {"melted_share", melted_of(system, point.x)},
          {"throttle", point.chain.throttle},
          {"housekeeping_short", point.chain.housekeeping_short},
          {"ledger_residual_W", point.ledger.residual_W()},
          {"ledger_residual_relative", point.ledger_relative},
          {"ledger_residual_K", number(point.error_K)},
          {"worst_node_residual_W", point.worst_node_W},
          {"slowest_time_constant_s", number(point.slowest_s)},
          {"newton_steps", point.newton_steps},
          {"continuation_steps", point.continuation_steps}};
}

std::string json_check(const tile::CaseFile& file, const tile::TileSystem& system) {
  Json json = head_of("check", file);
  json["sound"] = true;
  json["nodes"] = system.network().node_count();
  json["unknowns"] = system.size();
  Json sources = Json::array();
  for (const tile::UsedSource& used : file.sources) {
    sources.push_back({{"material", used.material},
                       {"property", used.property},
                       {"basis", used.basis},
                       {"uncertainty", used.uncertainty},
                       {"source", used.source}});
  }
  json["sources"] = std::move(sources);
  add_tail(json, file, {});
  return text_of(json);
}

std::string json_balance(const tile::CaseFile& file, const tile::TileSystem& system, const studies::Balance& balance) {
  Json json = head_of("balance", file);
  json["usable_laser_power_W"] = balance.usable_laser_W;
  json["usable_drive"] = balance.usable_drive;
  json["limits_met"] = balance.limits_met;
  json["rating_without_throttle"] = balance.rating ? Json{{"drive", balance.rating->drive},
                                                          {"light_W", balance.rating->light_W},
                                                          {"binding_limit", margin_of(balance.rating->binding)},
                                                          {"next_limit", margin_of(balance.rating->next)}}
                                                   : Json(nullptr);
  json["beam_on"] = balance.beam_on ? point_of(file, system, *balance.beam_on) : Json(nullptr);
  json["beam_off"] = point_of(file, system, balance.beam_off);
  add_tail(json, file, balance.warnings);
  return text_of(json);
}

std::string json_run(const tile::CaseFile& file, const tile::TileSystem& system, const studies::RunResult& run) {
  Json json = head_of("run", file);
  json["outcome"] = run.outcome == studies::RunOutcome::complete ? "complete" : "interrupted";
  json["end_s"] = run.end_s;
  json["limits_met"] = run.limits_met();
  json["binding_limit"] = margin_of(run.binding);
  json["next_limit"] = margin_of(run.next);
  json["light_J"] = run.books.light_J;
  json["mean_light_W"] = run.mean_light_W;
  json["beam_s"] = run.beam_s;
  json["trips"] = run.trips;
  Json heaters = Json::object();
  for (const studies::HeaterUse& use : run.heaters)
    heaters[use.name] = {{"duty", use.duty}, {"switched_on", use.switched_on}, {"power_W", use.power_W}};
  json["heaters"] = std::move(heaters);
  json["heaters_J"] = run.heaters_J;
  if (run.battery) {
    json["battery"] = {{"begin_percent", run.battery->begin_percent},
                       {"end_percent", run.battery->end_percent},
                       {"least_percent", run.battery->least_percent},
                       {"most_percent", run.battery->most_percent}};
  }
  Json ageing = Json::object();
  for (const studies::AgeState& state : run.ageing) ageing[state.name] = {{"begin", state.begin}, {"end", state.end}};
  json["ageing"] = std::move(ageing);
  Json path = Json::object();
  for (const studies::EmittingNode& node : run.emitting_path) {
    path[node.node] = {{"lowest_K", node.lowest_K},
                       {"highest_K", node.highest_K},
                       {"range_K", node.highest_K - node.lowest_K},
                       {"fastest_K_per_s", node.fastest_K_per_s}};
  }
  json["emitting_path"] = std::move(path);
  json["final_temperature_K"] = temperatures_of(system, run.final_x);
  json["final_melted_share"] = melted_of(system, run.final_x);
  json["extremes"] = extremes_of(run.ranges);
  json["margins"] = margins_of(run.margins);
  json["event_count"] = run.event_count;
  Json counts = Json::object();
  for (const auto& [what, count] : run.event_counts) counts[std::string(what)] = count;
  json["event_counts"] = std::move(counts);
  Json events = Json::array();
  for (const studies::RunEvent& event : run.events) {
    events.push_back({{"time_s", event.time_s},
                      {"what", event.what},
                      {"where", event.where},
                      {"temperature_K", event.temperature_K > 0.0 ? Json(event.temperature_K) : Json(nullptr)}});
  }
  json["events"] = std::move(events);
  json["ledger_J"] = books_of(run.books);
  json["ledger_residual_relative"] = run.books.relative();
  json["ledger_residual_K"] = run.error_K;
  json["solver"] = {{"steps", run.counts.steps},
                    {"restarts", run.counts.restarts},
                    {"residuals", run.counts.residuals},
                    {"jacobians", run.counts.jacobians},
                    {"relative_tolerance", run.accuracy.relative},
                    {"absolute_tolerance_K", run.accuracy.absolute_K},
                    {"used_relative_tolerance", run.used_accuracy.relative},
                    {"used_absolute_tolerance_K", run.used_accuracy.absolute_K}};
  add_tail(json, file, run.warnings);
  return text_of(json);
}

std::string json_wear(const tile::CaseFile& file, const studies::WearResult& wear) {
  Json json = head_of("run", file);
  json["outcome"] = wear.interrupted ? "interrupted" : "complete";
  json["accelerated"] = true;
  json["end_s"] = wear.rows.back().time_s;
  json["limits_met"] = wear.limits_met();
  json["light_J"] = wear.light_J;
  json["light_error_J"] = wear.light_error_J;
  json["cycle_evaluations"] = wear.cycles;
  Json rows = Json::array();
  for (const studies::WearRow& row : wear.rows) {
    Json ageing = Json::object();
    for (std::size_t k = 0; k < wear.names.size(); ++k) ageing[wear.names[k]] = row.age[k];
    rows.push_back({{"time_s", row.time_s},
                    {"ageing", std::move(ageing)},
                    {"mean_light_W", row.mean_light_W},
                    {"light_J", row.light_J},
                    {"binding_limit", margin_of(row.binding)}});
  }
  json["rows"] = std::move(rows);
  add_tail(json, file, wear.warnings);
  return text_of(json);
}

namespace {

void add_pedigree(Json& json, const materials::Pedigree& pedigree) {
  json["basis"] = pedigree.basis;
  json["source"] = pedigree.source;
  json["uncertainty"] = pedigree.uncertainty;
  if (!pedigree.note.empty()) json["note"] = pedigree.note;
}

Json property_of(const materials::Property& property) {
  Json json;
  if (property.table.constant()) {
    json["value_si"] = property.table.values()[0];
  } else {
    json["temperature_K"] = property.table.temperatures_K();
    json["value_si"] = property.table.values();
  }
  json["valid_K"] = {property.table.valid_from_K(), property.table.valid_to_K()};
  add_pedigree(json, property);
  return json;
}

Json fact_of(const materials::Fact& fact) {
  Json json{{"value_si", fact.value}};
  add_pedigree(json, fact);
  return json;
}

Json phase_of(const materials::Phase& phase) {
  return {{"density", property_of(phase.density)},
          {"heat_capacity", property_of(phase.heat_capacity)},
          {"conductivity", property_of(phase.conductivity)}};
}

Json medium_of(const materials::Medium& medium) {
  Json json{{"title", medium.title},
            {"melting_temperature", fact_of(medium.melting_temperature)},
            {"melting_range_K", medium.melting_range_K()},
            {"latent_heat", fact_of(medium.latent_heat)},
            {"solid", phase_of(medium.solid)},
            {"liquid", phase_of(medium.liquid)}};
  if (medium.melting_range) json["melting_range"] = fact_of(*medium.melting_range);
  return json;
}

Json fluid_of(const materials::Fluid& fluid) {
  Json json{{"title", fluid.title},
            {"freezing_temperature", fact_of(fluid.freezing_temperature)},
            {"critical_temperature", fact_of(fluid.critical_temperature)},
            {"usable_from", fact_of(fluid.usable_from)},
            {"usable_to", fact_of(fluid.usable_to)},
            {"merit", {{"temperature_K", fluid.merit.temperatures_K()}, {"value_si", fluid.merit.values()}}}};
  if (fluid.merit_source) add_pedigree(json["merit"], *fluid.merit_source);
  if (fluid.liquid) {
    json["surface_tension"] = property_of(fluid.liquid->surface_tension);
    json["density"] = property_of(fluid.liquid->density);
    json["latent_heat"] = property_of(fluid.liquid->latent_heat);
    json["viscosity"] = property_of(fluid.liquid->viscosity);
  }
  return json;
}

Json case_values_of(const materials::CaseValues& values) {
  Json json{{"mean", fact_of(values.mean)}};
  if (values.hot) json["hot"] = fact_of(*values.hot);
  if (values.cold) json["cold"] = fact_of(*values.cold);
  return json;
}

Json body_of(const materials::Body& body) {
  Json json{{"title", body.title},
            {"radius", fact_of(body.radius)},
            {"gravitational_parameter", fact_of(body.gravitational_parameter)},
            {"sun_distance", fact_of(body.sun_distance)},
            {"sun_eccentricity", fact_of(body.sun_eccentricity)},
            {"albedo", case_values_of(body.albedo)}};
  if (body.infrared) json["infrared"] = case_values_of(*body.infrared);
  if (body.night_infrared) json["night_infrared"] = fact_of(*body.night_infrared);
  return json;
}

}  // namespace

std::string json_materials(const materials::Library& library, const std::string& entry) {
  Json json;
  for (const char* kind : {"solids", "media", "fluids", "surfaces", "cells", "bodies"}) json[kind] = Json::object();
  const auto wanted = [&](const std::string& name) { return entry.empty() || entry == name; };
  for (const materials::Solid& s : library.solids) {
    if (wanted(s.name))
      json["solids"][s.name] = {{"title", s.title},
                                {"density", property_of(s.density)},
                                {"heat_capacity", property_of(s.heat_capacity)},
                                {"conductivity", property_of(s.conductivity)}};
  }
  for (const materials::Medium& m : library.media) {
    if (wanted(m.name)) json["media"][m.name] = medium_of(m);
  }
  for (const materials::Fluid& f : library.fluids) {
    if (wanted(f.name)) json["fluids"][f.name] = fluid_of(f);
  }
  for (const materials::Surface& s : library.surfaces) {
    if (!wanted(s.name)) continue;
    Json item{{"title", s.title},
              {"absorptance", property_of(s.begin.absorptance)},
              {"emittance", property_of(s.begin.emittance)},
              {"end_of_life", nullptr}};
    if (s.end)
      item["end_of_life"] = {{"after", s.end_after},
                             {"absorptance", property_of(s.end->absorptance)},
                             {"emittance", property_of(s.end->emittance)}};
    json["surfaces"][s.name] = std::move(item);
  }
  for (const materials::CellType& c : library.cells) {
    if (!wanted(c.name)) continue;
    Json item{{"title", c.title},
              {"efficiency", property_of(c.efficiency)},
              {"reference_temperature", property_of(c.reference_temperature)},
              {"slope", property_of(c.slope)},
              {"end_of_life", nullptr}};
    if (c.remaining) item["end_of_life"] = {{"after", c.end_after}, {"remaining", property_of(*c.remaining)}};
    json["cells"][c.name] = std::move(item);
  }
  for (const materials::Body& b : library.bodies) {
    if (wanted(b.name)) json["bodies"][b.name] = body_of(b);
  }
  return text_of(json);
}

std::string json_error(const Error& error) {
  return text_of({{"tileflux", TILEFLUX_VERSION},
                  {"error",
                   {{"code", entry_of(error.code()).slug},
                    {"exit_status", error.exit_status()},
                    {"diagnostics", diagnostics_of(error.diagnostics())}}}});
}

}  // namespace tileflux::cli
