#include "bench/problem.h"

#include <algorithm>
#include <cmath>
#include <set>

namespace tileflux::bench {

namespace {

constexpr double sigma = 5.670374419e-8;
constexpr double efficiency = 0.96;

struct Link {
  int a, b;
  double value;
};

constexpr double capacity[nodes] = {110, 110, 60, 60, 150, 150, 100, 100, 150, 150, 400, 2500,
                                    4,   250, 4,  250, 800, 0.5, 150, 150, 150, 150, 150, 150};

const Link conductance[] = {
    {cover_a, cells_a, 400}, {cells_a, front_a, 300}, {front_a, core_a, 60}, {core_a, back_a, 60}, {cover_b, cells_b, 400},
    {cells_b, front_b, 300}, {front_b, core_b, 60}, {core_b, back_b, 60}, {cover_a, cover_b, 0.001}, {cells_a, cells_b, 0.05},
    {front_a, front_b, 0.3}, {core_a, core_b, 0.02}, {back_a, back_b, 0.3}, {back_a, converter, 2}, {back_b, battery, 0.5},
    {battery, converter, 0.2}, {converter, plate, 3}, {battery, plate, 0.3}, {junction_1, mount_1, 8}, {junction_2, mount_2, 7.5},
    {mount_1, plate, 12}, {mount_2, plate, 11}, {plate, vapour, 60}, {vapour, segment_1, 8}, {vapour, segment_1 + 1, 8},
    {vapour, segment_1 + 2, 8}, {vapour, segment_1 + 3, 8}, {vapour, segment_1 + 4, 8}, {vapour, segment_1 + 5, 8},
    {segment_1, segment_1 + 1, 0.4}, {segment_1 + 1, segment_1 + 2, 0.4}, {segment_1 + 2, segment_1 + 3, 0.4},
    {segment_1 + 3, segment_1 + 4, 0.4}, {segment_1 + 4, segment_1 + 5, 0.4}};

const Link exchange[] = {
    {back_a, segment_1, 0.015}, {back_a, segment_1 + 1, 0.015}, {back_a, segment_1 + 2, 0.015}, {back_b, segment_1 + 3, 0.015},
    {back_b, segment_1 + 4, 0.015}, {back_b, segment_1 + 5, 0.015}, {converter, back_a, 0.02}, {battery, back_b, 0.02},
    {mount_1, back_a, 0.005}, {mount_2, back_b, 0.005}, {converter, segment_1, 0.005}, {battery, segment_1 + 5, 0.005},
    {plate, back_a, 0.02}, {plate, back_b, 0.02}};

constexpr double segment_space_m2 = 0.088 * 0.55 / 0.6;
constexpr std::array<double, nodes> to_space_m2() {
  std::array<double, nodes> area{};
  area[cover_a] = area[cover_b] = 0.425;
  area[back_a] = area[back_b] = 0.16;
  for (int i = 0; i < 6; ++i) area[static_cast<std::size_t>(segment_1 + i)] = segment_space_m2;
  return area;
}
constexpr std::array<double, nodes> space_m2 = to_space_m2();

/// What the power chain does, with its derivatives: cells' temperatures, charge and junctions are what it depends on.
struct Chain {
  double drawn[2], drawn_slope[2][3];  ///< by cells a, cells b, charge
  double net, net_slope[3];
  double light_share[2], light_slope[2];
  double laser;

  Chain(double sun, double laser_power, const double* y, double charge) : laser(laser_power) {
    const double demand = (2.0 * laser * 1.05 + 15.0) / efficiency;
    const double x = (100.0 - charge) / 5.0, held = std::clamp(x, 0.0, 1.0);
    const double f = held * held * (3.0 - 2.0 * held), f_slope = (x > 0.0 && x < 1.0) ? 6.0 * held * (1.0 - held) * (-1.0 / 5.0) : 0.0;
    net = -2.0 * laser * 1.05 - 15.0;
    net_slope[0] = net_slope[1] = net_slope[2] = 0.0;
    for (int k = 0; k < 2; ++k) {
      const double p = sun * 1361.0 * 0.5 * 0.32 * (1.0 - 0.002 * (y[cells_a + k] - 301.15));
      const double p_slope = -sun * 1361.0 * 0.5 * 0.32 * 0.002;
      const bool short_of = p < demand / 2.0;
      const double least = short_of ? p : demand / 2.0;
      drawn[k] = f * p + (1.0 - f) * least;
      for (double& slope : drawn_slope[k]) slope = 0.0;
      drawn_slope[k][k] = f * p_slope + (1.0 - f) * (short_of ? p_slope : 0.0);
      drawn_slope[k][2] = f_slope * (p - least);
      net += efficiency * drawn[k];
      net_slope[k] += efficiency * drawn_slope[k][k];
      net_slope[2] += efficiency * drawn_slope[k][2];
    }
    for (int j = 0; j < 2; ++j) {
      light_share[j] = 0.5 * std::exp((298.15 - y[junction_1 + 2 * j]) / 180.0);
      light_slope[j] = -light_share[j] / 180.0;
    }
  }
};

void passive_heat(double sun, const double* T, double* heat) {
  for (int i = 0; i < nodes; ++i) {
    const double square = T[i] * T[i];
    heat[i] = -sigma * space_m2[static_cast<std::size_t>(i)] * square * square;
  }
  for (const Link& link : conductance) {
    const double flow = link.value * (T[link.a] - T[link.b]);
    heat[link.a] -= flow;
    heat[link.b] += flow;
  }
  for (const Link& link : exchange) {
    const double a2 = T[link.a] * T[link.a], b2 = T[link.b] * T[link.b];
    const double flow = sigma * link.value * (a2 * a2 - b2 * b2);
    heat[link.a] -= flow;
    heat[link.b] += flow;
  }
  heat[back_a] += 20.0;
  heat[back_b] += 20.0;
  for (int i = 0; i < 6; ++i) heat[segment_1 + i] += 5.0;
  for (int k = 0; k < 2; ++k) {
    heat[cover_a + k] += sun * 0.04 * 1361.0 * 0.5;
    heat[cells_a + k] += sun * 0.86 * 1361.0 * 0.5;
  }
}

void add_chain(const Chain& chain, bool battery_acts, double* heat) {
  const double drawn = chain.drawn[0] + chain.drawn[1];
  heat[cells_a] -= chain.drawn[0];
  heat[cells_b] -= chain.drawn[1];
  heat[converter] += 0.04 * drawn + 0.05 * 2.0 * chain.laser + 15.0;
  if (battery_acts) heat[battery] += 2.5e-4 * chain.net * chain.net;
  for (int j = 0; j < 2; ++j) heat[junction_1 + 2 * j] += chain.laser * (1.0 - chain.light_share[j]);
}

/// Adds values at (row, column); positions are looked up once.
class Assembly {
 public:
  Assembly(bool with_charge) {
    const int size = with_charge ? states : nodes;
    std::vector<std::set<int>> rows(static_cast<std::size_t>(size));
    const auto mark = [&](int row, int column) { rows[static_cast<std::size_t>(column)].insert(row); };
    for (int i = 0; i < size; ++i) mark(i, i);
    const auto mark_links = [&](const auto& links) {
      for (const Link& link : links) {
        mark(link.a, link.b);
        mark(link.b, link.a);
      }
    };
    mark_links(conductance);
    mark_links(exchange);
    for (const int k : {cells_a, cells_b}) {
      mark(converter, k);
      if (with_charge) {
        mark(battery, k);
        mark(nodes, k);
        mark(k, nodes);
      }
    }
    if (with_charge) {
      mark(converter, nodes);
      mark(battery, nodes);
    }
    place_.assign(static_cast<std::size_t>(size * size), -1);
    pattern.column_start.push_back(0);
    for (int column = 0; column < size; ++column) {
      for (const int row : rows[static_cast<std::size_t>(column)]) {
        place_[static_cast<std::size_t>(row * size + column)] = static_cast<int>(pattern.row.size());
        pattern.row.push_back(row);
      }
      pattern.column_start.push_back(static_cast<int>(pattern.row.size()));
    }
    size_ = size;
    for (const Link& link : conductance) conducted_.push_back(places_of(link));
    for (const Link& link : exchange) exchanged_.push_back(places_of(link));
    for (int i = 0; i < size; ++i) diagonal_.push_back(at(i, i));
  }

  int at(int row, int column) const { return place_[static_cast<std::size_t>(row * size_ + column)]; }
  int diagonal(int i) const { return diagonal_[static_cast<std::size_t>(i)]; }

  void passive(const double* T, double* values) const {
    std::fill(values, values + pattern.row.size(), 0.0);
    for (int i = 0; i < nodes; ++i) values[diagonal(i)] = -4.0 * sigma * space_m2[static_cast<std::size_t>(i)] * T[i] * T[i] * T[i];
    for (std::size_t k = 0; k < conducted_.size(); ++k) add(conducted_[k], conductance[k].value, conductance[k].value, values);
    for (std::size_t k = 0; k < exchanged_.size(); ++k) {
      const double Ta = T[exchange[k].a], Tb = T[exchange[k].b], four = 4.0 * sigma * exchange[k].value;
      add(exchanged_[k], four * Ta * Ta * Ta, four * Tb * Tb * Tb, values);
    }
  }

  Sparsity pattern;

 private:
  using Places = std::array<int, 4>;  // aa, ba, bb, ab

  Places places_of(const Link& link) const { return {at(link.a, link.a), at(link.b, link.a), at(link.b, link.b), at(link.a, link.b)}; }
  static void add(const Places& places, double by_a, double by_b, double* values) {
    values[places[0]] -= by_a;
    values[places[1]] += by_a;
    values[places[2]] -= by_b;
    values[places[3]] += by_b;
  }

  int size_ = 0;
  std::vector<int> place_, diagonal_;
  std::vector<Places> conducted_, exchanged_;
};

const Assembly& transient_assembly() {
  static const Assembly assembly(true);
  return assembly;
}
const Assembly& steady_assembly() {
  static const Assembly assembly(false);
  return assembly;
}

void junction_slopes(const Assembly& assembly, const Chain& chain, double* values) {
  for (int j = 0; j < 2; ++j) values[assembly.diagonal(junction_1 + 2 * j)] -= chain.laser * chain.light_slope[j];
}

}  // namespace

void rates(const Commands& commands, const double* y, double* out) {
  const double sun = commands.sun ? 1.0 : 0.0;
  const Chain chain(sun, laser_W(commands), y, y[nodes]);
  passive_heat(sun, y, out);
  add_chain(chain, true, out);
  for (int i = 0; i < nodes; ++i) out[i] /= capacity[i];
  out[nodes] = 100.0 / 1.44e6 * (chain.net - 2.5e-4 * chain.net * chain.net);
}

const Sparsity& sparsity() { return transient_assembly().pattern; }
const Sparsity& steady_sparsity() { return steady_assembly().pattern; }

void jacobian(const Commands& commands, const double* y, double* values) {
  const Assembly& assembly = transient_assembly();
  const Chain chain(commands.sun ? 1.0 : 0.0, laser_W(commands), y, y[nodes]);
  assembly.passive(y, values);
  junction_slopes(assembly, chain, values);
  const int inputs[3] = {cells_a, cells_b, nodes};
  for (int k = 0; k < 3; ++k) {
    const double drawn_slope = chain.drawn_slope[0][k] + chain.drawn_slope[1][k];
    for (int zone = 0; zone < 2; ++zone) {
      if (zone == k || k == 2) values[assembly.at(cells_a + zone, inputs[k])] -= chain.drawn_slope[zone][k];
    }
    values[assembly.at(converter, inputs[k])] += 0.04 * drawn_slope;
    values[assembly.at(battery, inputs[k])] += 5e-4 * chain.net * chain.net_slope[k];
    values[assembly.at(nodes, inputs[k])] += 100.0 / 1.44e6 * (1.0 - 5e-4 * chain.net) * chain.net_slope[k];
  }
  const Sparsity& pattern = assembly.pattern;
  for (std::size_t k = 0; k < pattern.row.size(); ++k) {
    if (pattern.row[k] < nodes) values[k] /= capacity[pattern.row[k]];
  }
}

double above_threshold_K(const Throttle& throttle, const Commands& commands, const double* y) {
  return std::max(y[junction_1], y[junction_2]) - (commands.throttled ? throttle.low_K : throttle.high_K);
}

double next_switch_s(double time_s) {
  constexpr double same_s = 1e-6;
  const double now = time_s + same_s;
  const double beam = 300.0 * (std::floor(now / 300.0) + 1.0);
  const double orbit = 5700.0 * std::floor(now / 5700.0);
  const double sun = now - orbit < 3600.0 ? orbit + 3600.0 : orbit + 5700.0;
  return std::min({beam, sun, horizon_s});
}

Commands commanded_at(double time_s, bool throttled) {
  constexpr double same_s = 1e-6;
  const double now = time_s + same_s;
  return {std::fmod(now, 5700.0) < 3600.0, std::fmod(now, 600.0) < 300.0, throttled};
}

std::array<double, states> start_state() {
  std::array<double, states> y;
  y.fill(290.0);
  y[nodes] = 70.0;
  return y;
}

void steady_heat(double share, const double* T, double* out_W) {
  passive_heat(1.0, T, out_W);
  add_chain(Chain(1.0, 200.0 * share, T, 100.0), false, out_W);
}

void steady_jacobian(double share, const double* T, double* values) {
  const Assembly& assembly = steady_assembly();
  const Chain chain(1.0, 200.0 * share, T, 100.0);
  assembly.passive(T, values);
  junction_slopes(assembly, chain, values);
  for (int k = 0; k < 2; ++k) {
    values[assembly.diagonal(cells_a + k)] -= chain.drawn_slope[k][k];
    values[assembly.at(converter, cells_a + k)] += 0.04 * chain.drawn_slope[k][k];
  }
}

}  // namespace tileflux::bench
