/// What both steady states tell.

#include <algorithm>
#include <cmath>
#include <limits>

#include "studies/answer_table.h"
#include "studies/linear.h"
#include "studies/modes.h"

namespace tileflux::studies {

namespace {

/// Adds the same answer of both states, as far as the tile has them.
class StateRows {
 public:
  StateRows(AnswerTable& table, bool has_beam) : table_(table), has_beam_(has_beam) {}

  template <class Value>
  void add(const std::string& name, const std::string& unit, const std::string& meaning, Value value,
           bool on_request = false) {
    add_one(name, unit, meaning, value, false, on_request);
    if (has_beam_) add_one(name, unit, meaning, value, true, on_request);
  }

  template <class Value>
  void add_one(const std::string& name, const std::string& unit, const std::string& meaning, Value value, bool beam,
               bool on_request = false) {
    AnswerField field{name + (beam ? ".on" : ".off"), unit, meaning + (beam ? ", beam on" : ", beam off"), {},
                      on_request};
    table_.push_back({std::move(field), [value, beam](AnswerFacts& facts) { return value(facts, facts.point(beam)); }});
  }

 private:
  AnswerTable& table_;
  bool has_beam_;
};

/// The limit that is nearest over both states, or the one that throttles where all are kept.
struct Nearest {
  double code = no_answer;
  double comparable = no_answer;
};

Nearest nearest_limit(const AnswerFacts& facts, const std::vector<std::string>& names) {
  Nearest nearest;
  double least = HUGE_VAL;
  const auto look_at = [&](const OperatingPoint& point) {
    for (std::size_t i = 0; i < point.margins.size(); ++i) {
      const double here = point.margins[i].comparable();
      if (!(here < least)) continue;
      least = here;
      nearest = {static_cast<double>(i), here};
    }
  };
  look_at(facts.steady->beam_off);
  const std::optional<OperatingPoint>& on = facts.steady->beam_on;
  if (on) look_at(*on);
  if (least >= 0.0 && on && on->regime == Regime::heat_limited && on->binding)
    nearest = {limit_code(names, on->binding), on->binding->comparable()};
  return nearest;
}

const ContinuousRating& rating_of(AnswerFacts& facts) {
  if (!facts.rating) {
    facts.rating = facts.steady->rating;
    if (!facts.rating) {
      facts.system->set_mode(steady_mode(facts.system->description(), true, true));
      facts.rating = continuous_rating(*facts.system);
    }
  }
  return *facts.rating;
}

void add_whole(const tile::TileSystem& system, AnswerTable& table) {
  const std::vector<std::string> names = limit_names(system);
  if (system.description().beam) {
    table.push_back({{"usable_laser_power", "W", "light that can be used without a pause"},
                     [](AnswerFacts& facts) { return facts.steady->usable_laser_W; }});
    table.push_back({{"usable_drive", "1", "share of rated drive that goes with it"},
                     [](AnswerFacts& facts) { return facts.steady->usable_drive; }});
    table.push_back({{"light_at_the_beam", "W", "light out of the tile as commanded, whether limits are met or not"},
                     [](AnswerFacts& facts) { return facts.point(true).chain.light_out; }});
  }
  AnswerField regime{"regime", "1", "what sets the light"};
  for (const Regime one : {Regime::beam_off, Regime::sun_limited, Regime::heat_limited, Regime::drive_limited})
    regime.flags.emplace_back(name_of(one));
  table.push_back({std::move(regime), [](AnswerFacts& facts) {
                     const OperatingPoint& point = facts.steady->beam_on ? *facts.steady->beam_on
                                                                         : facts.steady->beam_off;
                     return static_cast<double>(point.regime);
                   }});
  if (names.empty()) return;
  table.push_back({{"limits_met", "1", "whether every limit is met in both states", {"no", "yes"}},
                   [](AnswerFacts& facts) { return facts.steady->limits_met ? 1.0 : 0.0; }});
  const std::vector<Margin> margins = margins_at(system, system.uniform_state(293.15));
  const bool kelvin = std::all_of(margins.begin(), margins.end(),
                                  [](const Margin& margin) { return margin.kind == LimitKind::temperature; });
  table.push_back({{"binding_limit", "1", "the nearest limit of both states, or the one that throttles", names},
                   [names](AnswerFacts& facts) { return nearest_limit(facts, names).code; }});
  table.push_back({{"binding_margin", kelvin ? "K" : "1",
                    kelvin ? "how far it is" : "how far it is: kelvin of a temperature, hundredths of another limit"},
                   [names](AnswerFacts& facts) { return nearest_limit(facts, names).comparable; }});
  for (std::size_t i = 0; i < names.size(); ++i) {
    StateRows(table, system.description().beam.has_value())
        .add("margin." + names[i], answer_unit(margins[i].kind), "how far the limit is; negative: broken",
             [i](AnswerFacts&, const OperatingPoint& point) { return point.margins[i].margin; });
  }
}

void add_rating(const tile::TileSystem& system, AnswerTable& table) {
  if (!system.description().beam) return;
  table.push_back({{"continuous_rating.drive", "1", "largest drive that meets every limit without throttle", {}, true},
                   [](AnswerFacts& facts) { return rating_of(facts).drive; }});
  table.push_back({{"continuous_rating.light", "W", "light at that drive", {}, true},
                   [](AnswerFacts& facts) { return rating_of(facts).light_W; }});
}

void add_temperatures(const tile::TileSystem& system, StateRows& rows) {
  for (network::NodeId id = 0; id < system.network().node_count(); ++id) {
    rows.add("temperature." + system.network().node(id).name, "K", "temperature",
             [id](AnswerFacts& facts, const OperatingPoint& point) {
               return facts.system->network().temperature_K(id, point.x);
             });
  }
  for (std::size_t h = 0; h < system.description().heaters.size(); ++h) {
    rows.add("heater." + system.description().heaters[h].name, "W", "mean power of the heater",
             [h](AnswerFacts&, const OperatingPoint& point) { return point.heater_W[h]; });
  }
  rows.add("tilt", "rad", "tilt that the tile takes",
           [](AnswerFacts&, const OperatingPoint& point) { return point.sky.tilt_rad; });
}

void add_books(const tile::TileSystem& system, StateRows& rows) {
  struct Term {
    const char* name;
    double tile::Ledger::*value;
    const char* meaning;
  };
  using Ledger = tile::Ledger;
  constexpr Term terms[] = {
      {"sunlight_met", &Ledger::sunlight_met_W, "sunlight that meets the tile"},
      {"absorbed", &Ledger::absorbed_W, "sunlight absorbed"},
      {"from_planet", &Ledger::planet_W, "light and infrared of a planet absorbed"},
      {"loads", &Ledger::loads_W, "heat of loads"},
      {"fed", &Ledger::fed_W, "electricity from outside"},
      {"light_out", &Ledger::light_out_W, "laser light out of the tile"},
      {"to_space", &Ledger::to_space_W, "infrared to space"},
      {"to_fixed", &Ledger::to_fixed_W, "heat to parts at fixed temperature"},
  };
  for (const Term& term : terms) {
    rows.add(term.name, "W", term.meaning,
             [value = term.value](AnswerFacts&, const OperatingPoint& point) { return point.ledger.*value; });
  }
  for (std::size_t i = 0; i < system.infrared_names().size(); ++i) {
    rows.add("infrared." + system.infrared_names()[i], "W", "infrared of the surface to space",
             [i](AnswerFacts&, const OperatingPoint& point) { return point.infrared_W[i]; });
  }
}

void add_chain(const tile::TileSystem& system, StateRows& rows) {
  struct Flow {
    const char* name;
    double devices::ChainFlows<double>::*value;
    const char* meaning;
    bool only_lit;
  };
  using Flows = devices::ChainFlows<double>;
  constexpr Flow flows[] = {
      {"cells.available", &Flows::available, "electricity that the cells could give", false},
      {"cells.drawn", &Flows::drawn, "electricity drawn from the cells", false},
      {"conditioning_loss", &Flows::conditioning_loss, "loss of the conditioning", false},
      {"laser_input", &Flows::laser_input, "electricity into the lasers", true},
      {"laser_demand", &Flows::laser_demand, "electricity that the lasers ask for", true},
      {"throttle", &Flows::throttle, "factor on the commanded drive by temperature", true},
  };
  const bool lasers = system.description().beam && system.has_lasers();
  for (const Flow& flow : flows) {
    const std::string unit = flow.value == &Flows::throttle ? "1" : "W";
    const auto value = [value = flow.value](AnswerFacts&, const OperatingPoint& point) { return point.chain.*value; };
    if (flow.only_lit && lasers) rows.add_one(flow.name, unit, flow.meaning, value, true);
    if (!flow.only_lit && system.has_cells()) rows.add(flow.name, unit, flow.meaning, value);
  }
  for (std::size_t b = 0; lasers && b < system.description().lasers.size(); ++b) {
    const std::string& name = system.description().lasers[b].name;
    rows.add_one(
        "light." + name, "W", "light of the bank towards the optics",
        [b](AnswerFacts&, const OperatingPoint& point) { return point.chain.bank[b].light; }, true);
    rows.add_one(
        "loop_gain." + name, "1", "gain of the junction's loop; 1 or more: runaway",
        [b](AnswerFacts&, const OperatingPoint& point) { return point.loop_gains[b]; }, true);
  }
}

}  // namespace

AnswerTable steady_table(const tile::TileSystem& system) {
  AnswerTable table;
  add_whole(system, table);
  add_rating(system, table);
  StateRows rows(table, system.description().beam.has_value());
  add_temperatures(system, rows);
  add_books(system, rows);
  add_chain(system, rows);
  rows.add(
      "slowest_time_constant", "s", "longest time constant near the state",
      [](AnswerFacts& facts, const OperatingPoint& point) {
        facts.system->set_mode(steady_mode(facts.system->description(), point.beam, true));
        return slowest_time_constant_s(*facts.system, point.x);
      },
      true);
  return table;
}

}  // namespace tileflux::studies
