/// What duty, transient and sizing tell.

#include <algorithm>
#include <limits>

#include "studies/answer_table.h"

namespace tileflux::studies {

namespace {

double or_none(const std::optional<double>& value) { return value.value_or(no_answer); }

double margin_or_none(const std::optional<Margin>& margin) { return margin ? margin->comparable() : no_answer; }

/// Limits that may end a burst or a duty: those of temperatures, and what a battery or the Sun cannot give.
std::vector<std::string> ending_names(const tile::TileSystem& system) {
  std::vector<std::string> names = limit_names(system);
  names.insert(names.end(), {"battery.charge", "lasers.power", "lasers.energy"});
  return names;
}

template <class Found>
void add(AnswerTable& table, const Found* AnswerFacts::*found, const std::string& name, const std::string& unit,
         const std::string& meaning, std::function<double(const Found&)> value, std::vector<std::string> flags = {}) {
  table.push_back({{name, unit, meaning, std::move(flags)},
                   [found, value = std::move(value)](AnswerFacts& facts) { return value(*(facts.*found)); }});
}

}  // namespace

AnswerTable duty_table(const tile::TileSystem& system) {
  AnswerTable table;
  const std::vector<std::string> names = ending_names(system);
  const auto put = [&](const std::string& name, const std::string& unit, const std::string& meaning,
                       std::function<double(const Duty&)> value, std::vector<std::string> flags = {}) {
    add<Duty>(table, &AnswerFacts::duty, name, unit, meaning, std::move(value), std::move(flags));
  };
  const auto put_limit = [&](const std::string& of, std::function<std::optional<Margin>(const Duty&)> margin) {
    put(of + ".binding_limit", "1", "the limit that ends it", [=](const Duty& d) { return limit_code(names, margin(d)); },
        names);
    put(of + ".binding_margin", "1", "how far that limit is",
        [=](const Duty& d) { return margin_or_none(margin(d)); });
  };
  put("burst.length", "s", "longest burst from the starting state; none: no limit was met",
      [](const Duty& d) { return or_none(d.burst.length_s); });
  put("burst.adiabatic_length", "s", "the same of one lump that loses nothing",
      [](const Duty& d) { return or_none(d.burst.adiabatic_s); });
  put("burst.light", "J", "light delivered in that burst", [](const Duty& d) { return d.burst.light_J; });
  put_limit("burst", [](const Duty& d) { return d.burst.binding; });
  put("recovery.time", "s", "from the end of the burst to the starting state; none: never, or too long",
      [](const Duty& d) { return or_none(d.recovery.time_s); });
  put(
      "recovery.never", "1", "whether the background keeps it from recovering",
      [](const Duty& d) { return d.recovery.never ? 1.0 : 0.0; }, {"no", "yes"});
  put("continuous_rating.drive", "1", "largest drive that meets every limit without throttle",
      [](const Duty& d) { return d.rating.drive; });
  put("continuous_rating.light", "W", "light at that drive", [](const Duty& d) { return d.rating.light_W; });
  put_limit("continuous_rating", [](const Duty& d) { return d.rating.binding; });
  if (!system.description().beam || !system.description().beam->pattern) return table;
  const auto put_share = [&](const std::string& name, const std::string& unit, const std::string& meaning,
                             std::function<double(const SustainableDuty&)> value) {
    put(name, unit, meaning, [=](const Duty& d) { return d.sustainable ? value(*d.sustainable) : no_answer; });
  };
  put_share("sustainable_duty.fraction", "1", "largest share of the time with the beam on, for ever",
            [](const SustainableDuty& s) { return s.fraction; });
  put_share("sustainable_duty.mean_light", "W", "mean light at that share",
            [](const SustainableDuty& s) { return s.mean_light_W; });
  put_share("sustainable_duty.period", "s", "period of the beam that fits the case's",
            [](const SustainableDuty& s) { return s.period_s; });
  put_share("sustainable_duty.short_period_fraction", "1", "bound for short periods by the limits alone",
            [](const SustainableDuty& s) { return or_none(s.short_period_fraction); });
  put_limit("sustainable_duty",
            [](const Duty& d) { return d.sustainable ? d.sustainable->binding : std::optional<Margin>(); });
  return table;
}

AnswerTable run_table(const tile::TileSystem& system) {
  AnswerTable table;
  const tile::Case& description = system.description();
  const auto put = [&](const std::string& name, const std::string& unit, const std::string& meaning,
                       std::function<double(const RunResult&)> value, std::vector<std::string> flags = {}) {
    add<RunResult>(table, &AnswerFacts::run, name, unit, meaning, std::move(value), std::move(flags));
  };
  put("light.mean", "W", "light over the whole time", [](const RunResult& r) { return r.mean_light_W; });
  put("light.most", "W", "most light with the beam on", [](const RunResult& r) { return r.most_light_W; });
  put("light.least", "W", "least light with the beam on", [](const RunResult& r) { return r.least_light_W; });
  put("beam_time", "s", "time with the beam on", [](const RunResult& r) { return r.beam_s; });
  put("trips", "1", "times that a trip ended the beam", [](const RunResult& r) { return static_cast<double>(r.trips); });
  std::vector<std::string> names = limit_names(system);
  std::vector<LimitKind> kinds;
  for (const Margin& margin : margins_at(system, system.uniform_state(293.15))) kinds.push_back(margin.kind);
  if (description.battery) {
    names.emplace_back("battery.charge");
    kinds.push_back(LimitKind::charge);
  }
  if (!names.empty()) {
    put(
        "limits_met", "1", "whether every limit was met all the time",
        [](const RunResult& r) { return r.limits_met() ? 1.0 : 0.0; }, {"no", "yes"});
    put("binding_limit", "1", "the limit that came nearest",
        [names](const RunResult& r) { return limit_code(names, r.binding); }, names);
    put("binding_margin", "1", "how near: kelvin of a temperature, percent of a charge, hundredths of another limit",
        [](const RunResult& r) { return margin_or_none(r.binding); });
  }
  for (std::size_t i = 0; i < names.size(); ++i) {
    put("margin." + names[i], answer_unit(kinds[i]), "least margin of the limit",
        [i](const RunResult& r) { return i < r.margins.size() ? r.margins[i].margin : no_answer; });
  }
  for (std::size_t id = 0; id < static_cast<std::size_t>(system.network().node_count()); ++id) {
    const std::string& name = system.network().node(static_cast<network::NodeId>(id)).name;
    put("temperature." + name + ".least", "K", "lowest temperature",
        [id](const RunResult& r) { return r.ranges[id].lowest_K; });
    put("temperature." + name + ".most", "K", "highest temperature",
        [id](const RunResult& r) { return r.ranges[id].highest_K; });
  }
  for (std::size_t h = 0; h < description.heaters.size(); ++h) {
    put("heater." + description.heaters[h].name + ".duty", "1", "share of the time that the heater was on",
        [h](const RunResult& r) { return r.heaters[h].duty; });
  }
  put("heaters.energy", "J", "what all heaters gave", [](const RunResult& r) { return r.heaters_J; });
  if (description.battery) {
    put("battery.charge.end", "percent", "charge at the end", [](const RunResult& r) { return r.battery->end_percent; });
    put("battery.charge.least", "percent", "lowest charge", [](const RunResult& r) { return r.battery->least_percent; });
  }
  put("energy.incoming", "J", "all that came in", [](const RunResult& r) { return r.books.incoming_J; });
  put("energy.light", "J", "laser light", [](const RunResult& r) { return r.books.light_J; });
  put("energy.to_space", "J", "infrared to space", [](const RunResult& r) { return r.books.to_space_J; });
  put("energy.stored", "J", "heat stored", [](const RunResult& r) { return r.books.stored_J; });
  put("energy.drawn", "J", "electricity taken from the cells", [](const RunResult& r) { return r.books.drawn_J; });
  return table;
}

AnswerTable size_table() {
  AnswerTable table;
  const auto put = [&](const std::string& name, const std::string& unit, const std::string& meaning,
                       std::function<double(const Size&)> value, std::vector<std::string> flags = {}) {
    add<Size>(table, &AnswerFacts::size, name, unit, meaning, std::move(value), std::move(flags));
  };
  const auto put_best = [&](const std::string& name, const std::string& unit, const std::string& meaning,
                            std::function<double(const SizedRadiator&)> value) {
    put(name, unit, meaning, [=](const Size& s) { return s.possible ? value(s.best) : no_answer; });
  };
  const auto put_cold = [&](const std::string& name, const std::string& unit, const std::string& meaning,
                            std::function<double(const ColdCase&)> value, std::vector<std::string> flags = {}) {
    put(name, unit, meaning, [=](const Size& s) { return s.cold ? value(*s.cold) : no_answer; }, std::move(flags));
  };
  put(
      "possible", "1", "whether a radiator within the bounds does what is asked",
      [](const Size& s) { return s.possible ? 1.0 : 0.0; }, {"no", "yes"});
  put_best("area", "m2", "area of one face as built", [](const SizedRadiator& r) { return r.design.area_m2; });
  put_best("needed_area", "m2", "area of one face before the margin", [](const SizedRadiator& r) { return r.needed_m2; });
  put_best("thickness", "m", "thickness of the sheet", [](const SizedRadiator& r) { return r.design.thickness_m; });
  put_best("pitch", "m", "distance of the pipes", [](const SizedRadiator& r) { return r.design.pitch_m; });
  put_best("faces", "1", "faces that radiate", [](const SizedRadiator& r) { return static_cast<double>(r.design.faces); });
  put_best("mass", "kg", "mass of the radiator", [](const SizedRadiator& r) { return r.mass_kg(); });
  put_best("mass.sheet", "kg", "mass of its sheet", [](const SizedRadiator& r) { return r.sheet_kg; });
  put_best("mass.pipes", "kg", "mass of its pipes", [](const SizedRadiator& r) { return r.pipes_kg; });
  put_best("efficiency", "1", "efficiency of the fin", [](const SizedRadiator& r) { return r.efficiency; });
  put_best("root_temperature", "K", "temperature at its root", [](const SizedRadiator& r) { return r.root_K; });
  put_best("heat", "W", "what the needed area draws there", [](const SizedRadiator& r) { return r.heat_W; });
  put("sink_temperature", "K", "of the radiator's surface in the hot case", [](const Size& s) { return s.sink_K; });
  put("light", "W", "usable light of the tile as built, hot case",
      [](const Size& s) { return s.hot ? s.hot->usable_laser_W : no_answer; });
  put_cold("cold.heater", "W", "least heater power that holds the cold case",
           [](const ColdCase& c) { return c.held ? c.heater_W : no_answer; });
  put_cold("cold.installed", "W", "the same with its margin",
           [](const ColdCase& c) { return c.held ? c.installed_W : no_answer; });
  put_cold(
      "cold.held", "1", "whether some power holds the cold case", [](const ColdCase& c) { return c.held ? 1.0 : 0.0; },
      {"no", "yes"});
  return table;
}

}  // namespace tileflux::studies
