/// Bursts to the first limit of any kind, and the recovery after them.

#include <algorithm>
#include <cmath>

#include "studies/modes.h"
#include "studies/tile_integrands.h"
#include "tileflux/solvers/transient.h"
#include "tileflux/studies/duty.h"
#include "tileflux/tile/schedule.h"

namespace tileflux::studies {

namespace {

/// Lengths of bursts and recoveries are temperatures over slopes of hundredths of a kelvin per second: carried finer.
constexpr double finer = 10.0;

std::vector<Margin> margins_with_rates(const tile::TileSystem& system, double time_s, std::span<const double> x) {
  return margins_at(system, x, has_rate_limits(system) ? rates_at(system, time_s, x) : std::vector<double>{});
}

/// What the lasers ask for beyond what they can be given; negative while they could have more.
double drive_short_W(const tile::TileSystem& system, double time_s, std::span<const double> x) {
  const devices::ChainFlows<double> chain = system.chain_flows(time_s, x);
  return chain.sun_limited ? chain.laser_demand - chain.laser_bus : -chain.spare;
}

/// Every bound of the case as a function that is negative while the bound is kept and, where the drive is to be
/// delivered, what is short of it.
class LimitWatch : public solvers::Watch {
 public:
  LimitWatch(const tile::TileSystem& system, std::span<const double> x, bool drive)
      : system_(system), limits_(margins_at(system, x).size()), drive_(drive) {}
  int count() const override { return static_cast<int>(limits_ + (drive_ ? 1 : 0)); }
  void evaluate(double time_s, std::span<const double> x, std::span<double> values) const override {
    const std::vector<Margin> margins = margins_with_rates(system_, time_s, x);
    for (std::size_t i = 0; i < limits_; ++i) values[i] = -margins[i].margin;
    if (drive_) values[limits_] = drive_short_W(system_, time_s, x);
  }
  /// Whether a watched function is the drive's.
  bool is_drive(std::size_t index) const { return index == limits_; }

 private:
  const tile::TileSystem& system_;
  std::size_t limits_;
  bool drive_;
};

/// Whether a bound that is met exactly is about to be broken: no zero is to be found after this one.
bool leaves(const tile::TileSystem& system, const std::vector<Margin>& margins, std::span<const double> x,
            std::span<const double> rate) {
  constexpr double soon_s = 1e-3;
  std::vector<double> later(x.begin(), x.end());
  for (std::size_t i = 0; i < later.size(); ++i) later[i] += soon_s * rate[i];
  const std::vector<Margin> then = margins_at(system, later);
  for (std::size_t i = 0; i < margins.size(); ++i) {
    if (margins[i].kind != LimitKind::rate && margins[i].margin == 0.0 && then[i].margin < 0.0) return true;
  }
  return false;
}

/// The largest excess over the starting state, less what counts as recovered: in kelvin of a node, in percent of the
/// battery's charge. Of a store its enthalpy counts, in kelvin of the solid: it must have frozen again.
class RecoveryWatch : public solvers::Watch {
 public:
  RecoveryWatch(const tile::TileSystem& system, const std::vector<double>& start_x, bool charge)
      : start_x_(start_x),
        nodes_(static_cast<std::size_t>(system.network().unknown_count())),
        within_K_(system.description().duty.recovered_within_K),
        charge_(charge),
        within_percent_(system.description().duty.charge_within_percent) {}
  int count() const override { return 1; }
  void evaluate(double, std::span<const double> x, std::span<double> values) const override {
    values[0] = excess(x).first;
  }

  /// The excess and the unknown that has it.
  std::pair<double, int> excess(std::span<const double> x) const {
    std::pair<double, int> most = excess_K(x);
    if (charge_ && charge_short_percent(x) > most.first)
      most = {charge_short_percent(x), static_cast<int>(x.size() - 1)};
    return most;
  }
  std::pair<double, int> excess_K(std::span<const double> x) const {
    std::pair<double, int> most{-HUGE_VAL, 0};
    for (std::size_t i = 0; i < nodes_; ++i) {
      const double excess = x[i] - start_x_[i] - within_K_;
      if (excess > most.first) most = {excess, static_cast<int>(i)};
    }
    return most;
  }
  double charge_short_percent(std::span<const double> x) const { return recovered_percent() - x[x.size() - 1]; }
  double recovered_percent() const { return start_x_.back() - within_percent_; }

 private:
  const std::vector<double>& start_x_;
  std::size_t nodes_;
  double within_K_;
  bool charge_;
  double within_percent_;
};

std::optional<double> adiabatic_time_s(const tile::TileSystem& system, double time_s, std::span<const double> x,
                                       const std::optional<Margin>& limit) {
  if (!limit || limit->kind != LimitKind::temperature || !limit->upper) return std::nullopt;
  const std::vector<double> capacity = solvers::rate_coefficients(system, time_s, x);
  double room_J = 0.0;
  for (int i = 0; i < system.network().unknown_count(); ++i) {
    const auto k = static_cast<std::size_t>(i);
    room_J += capacity[k] * (system.network().unknown_at(system.network().node_of_unknown(i), limit->limit) - x[k]);
  }
  const tile::Ledger ledger = system.ledger(time_s, x, {});
  const double heat_W = ledger.incoming_W() - ledger.light_out_W - ledger.to_battery_W;
  if (heat_W <= 0.0 || room_J <= 0.0) return std::nullopt;
  return room_J / heat_W;
}

/// What ended the burst where the drive is no longer delivered: the battery gives less for its charge, or too little is
/// left for another reason, such as cells that have become hot.
Margin drive_margin(const tile::TileSystem& system, double time_s, std::span<const double> x) {
  const devices::BatteryLaw& law = system.description().battery->law;
  const double charge_percent = system.charge_percent(x);
  const bool by_charge = charge_percent < law.least_percent + law.derating_percent;
  if (by_charge)
    return {
        .kind = LimitKind::charge, .node = "battery", .value = charge_percent, .limit = charge_percent, .upper = false};
  const devices::ChainFlows<double> chain = system.chain_flows(time_s, x);
  return {.kind = LimitKind::power,
          .node = "lasers",
          .value = chain.laser_bus,
          .limit = chain.laser_demand,
          .upper = false,
          .margin = chain.laser_bus - chain.laser_demand};
}

/// Surroundings that move do so here, unless the case asks for one instant.
tile::Mode mode_at(const tile::TileSystem& system, bool beam, double time_s) {
  tile::Mode mode = steady_mode(system.description(), beam, false);
  mode.battery = battery_acts(system);
  if (system.sky_moves() && !system.description().steady_at_s) {
    mode.surroundings = tile::Mode::Surroundings::moving;
    mode.stowed = system.stowed_after(time_s);
  }
  return mode;
}

bool moves(const tile::TileSystem& system) {
  return system.mode().surroundings == tile::Mode::Surroundings::moving && system.sky_moves();
}

/// Which watched function is above zero, or none.
std::optional<std::size_t> above_zero(const solvers::Watch& watch, const solvers::Transient& transient) {
  std::vector<double> values(static_cast<std::size_t>(watch.count()));
  watch.evaluate(transient.time_s(), transient.state(), values);
  const auto most = std::max_element(values.begin(), values.end());
  if (most == values.end() || *most <= 0.0) return std::nullopt;
  return static_cast<std::size_t>(most - values.begin());
}

/// Goes on to the first zero, or to the stop, over the edges at which the surroundings change: there the transient
/// begins again, and `seen` may end it. Returns whether a zero or `seen` ended it.
bool advance_over_edges(tile::TileSystem& system, solvers::Transient& transient, double stop_s,
                        const std::function<bool()>& seen) {
  for (;;) {
    const double edge_s = moves(system) ? system.next_sky_edge_s(transient.time_s()) : tile::never_s;
    if (transient.advance(std::min(stop_s, edge_s)) == solvers::Arrival::root) return true;
    if (transient.time_s() >= stop_s) return false;
    tile::Mode mode = system.mode();
    mode.stowed = system.stowed_after(transient.time_s());
    system.set_mode(mode);
    transient.start(transient.time_s(), std::vector<double>(transient.state().begin(), transient.state().end()));
    if (seen()) return true;
  }
}

/// Where the background alone holds a node above its start, or does not charge the battery at its own temperature,
/// waiting is in vain. A tile without a steady state is integrated, and so are surroundings that move.
bool never_recovers(tile::TileSystem& system, const RecoveryWatch& watch, const std::vector<double>& start_x,
                    const std::vector<double>& burst_end_x, Recovery& result) {
  system.set_mode(mode_at(system, false, 0.0));
  if (moves(system)) return false;
  system.set_mode(steady_mode(system.description(), false, false));
  try {
    const OperatingPoint idle = operating_point(system, start_x);
    const auto [excess_K, unknown] = watch.excess_K(idle.x);
    if (excess_K >= 0.0) {
      result.never = true;
      result.node = system.unknown_name(unknown);
      result.held_K = system.network().temperature_K(system.network().node_of_unknown(unknown), idle.x);
      return true;
    }
    if (!battery_acts(system) || watch.charge_short_percent(burst_end_x) <= 0.0) return false;
    // The nearer to full the less is taken: what is not gained here is not gained on the way either.
    std::vector<double> there = idle.x;
    there.back() = watch.recovered_percent();
    system.set_mode(mode_at(system, false, 0.0));
    result.charging_W = system.chain_flows(there).stored();
    result.never = result.charging_W <= 0.0;
    if (result.never) result.node = "battery";
  } catch (const Error& error) {
    if (error.code() != Code::node_isolated && error.exit_status() != 3) throw;
  }
  return result.never;
}

}  // namespace

bool battery_acts(const tile::TileSystem& system) {
  return system.has_lasers() && system.description().battery && system.description().battery->feeds_lasers;
}

Burst burst(tile::TileSystem& system, const std::vector<double>& start_x) {
  system.set_mode(mode_at(system, true, 0.0));
  const TileIntegrands integrands(system);
  std::vector<double> begin_x = start_x, begin_rate(start_x.size());
  solvers::make_consistent(system, 0.0, begin_x, begin_rate);
  const bool battery = battery_acts(system);
  const LimitWatch watch(system, begin_x, battery && drive_short_W(system, 0.0, begin_x) < 0.0);
  Burst result;
  const auto conclude = [&](std::span<const double> x, double time_s, const std::optional<Margin>& ended_by) {
    std::vector<Margin> margins = margins_with_rates(system, time_s, x);
    if (battery) margins.push_back(charge_margin(system, system.charge_percent(x)));
    result.binding = ended_by ? ended_by : binding(margins);
    result.next = next_after(margins, result.binding);
    result.end_x.assign(x.begin(), x.end());
    std::erase_if(margins, [](const Margin& m) { return m.kind != LimitKind::temperature || !m.upper; });
    const bool heat = result.binding && result.binding->kind == LimitKind::temperature;
    result.adiabatic_limit = heat ? result.binding : binding(margins);
    if (time_s > 0.0) result.adiabatic_s = adiabatic_time_s(system, 0.0, begin_x, result.adiabatic_limit);
  };
  const std::vector<Margin> begin_margins = margins_with_rates(system, 0.0, begin_x);
  const std::optional<Margin> first = binding(begin_margins);
  if (first && (first->margin < 0.0 || leaves(system, begin_margins, begin_x, begin_rate))) {
    result.length_s = 0.0;
    conclude(begin_x, 0.0, std::nullopt);
    return result;
  }
  solvers::Transient transient(system, &watch, &integrands, transient_options(system, finer));
  transient.start(0.0, start_x);
  std::optional<Margin> ended_by;
  const auto end_by = [&](std::size_t function) {
    result.length_s = transient.time_s();
    ended_by = watch.is_drive(function) ? drive_margin(system, transient.time_s(), transient.state())
                                        : margins_with_rates(system, transient.time_s(), transient.state())[function];
    return true;
  };
  const auto broken_after_an_edge = [&] {
    const std::optional<std::size_t> broken = above_zero(watch, transient);
    return broken && end_by(*broken);
  };
  while (!result.length_s) {
    if (!advance_over_edges(system, transient, system.description().duty.longest_wait_s, broken_after_an_edge)) break;
    // A bound from which the tile moves away has its zero too.
    const std::span<const int> roots = transient.roots();
    for (std::size_t i = 0; i < roots.size() && !result.length_s; ++i) {
      if (roots[i] > 0) end_by(i);
    }
  }
  result.light_J = transient.integrals()[1];
  conclude(transient.state(), transient.time_s(), ended_by);
  return result;
}

Recovery recovery(tile::TileSystem& system, const std::vector<double>& start_x, const std::vector<double>& burst_end_x,
                  double begin_s) {
  const bool battery = battery_acts(system);
  const RecoveryWatch watch(system, start_x, battery);
  Recovery result;
  if (never_recovers(system, watch, start_x, burst_end_x, result)) return result;
  system.set_mode(mode_at(system, false, begin_s));
  solvers::Transient transient(system, &watch, nullptr, transient_options(system, finer));
  transient.start(begin_s, burst_end_x);
  if (watch.excess(transient.state()).first <= 0.0) {
    result.time_s = 0.0;
    return result;
  }
  const auto recovered = [&] { return watch.excess(transient.state()).first <= 0.0; };
  const bool ended =
      advance_over_edges(system, transient, begin_s + system.description().duty.longest_wait_s, recovered);
  const int last = watch.excess(transient.state()).second;
  result.node = last < system.network().unknown_count() ? system.unknown_name(last) : "battery";
  if (ended) result.time_s = transient.time_s() - begin_s;
  return result;
}

}  // namespace tileflux::studies
