#pragma once
/// Cases built in C++ for checks, and what is read off the product's studies of them.

#include <functional>
#include <string>
#include <vector>

#include "tileflux/studies/balance.h"
#include "tileflux/tile/case.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::verification {

/// A case that grows by parts. It begins dark, before space at 0 K, with transient tolerances tight enough for eight digits.
class Model {
 public:
  Model();

  Model& store(const std::string& part, double capacity_J_per_K, double start_K);
  Model& massless(const std::string& part);
  Model& fixed(const std::string& part, double temperature_K);
  Model& join(const std::string& a, const std::string& b, double conductance_W_per_K);
  Model& infrared(const std::string& a, const std::string& b, double exchange_area_m2);
  Model& radiate(const std::string& part, double area_m2, double emittance = 1.0);
  Model& sunlit(const std::string& part, double area_m2, double absorptance, double emittance);
  Model& heat(const std::string& part, double power_W);
  Model& sun(double irradiance_W_per_m2, double tilt_rad = 0.0);
  Model& space(double temperature_K);

  tile::Case description;
};

/// A steady state found by studies::balance.
class Steady {
 public:
  explicit Steady(const Model& model) : Steady(model.description) {}
  explicit Steady(const tile::Case& description);

  double temperature_K(const std::string& node) const;
  /// Heat from a to b over all their common paths.
  double flow_W(const std::string& a, const std::string& b) const;
  const tile::Ledger& ledger() const { return point_.ledger; }
  const studies::OperatingPoint& point() const { return point_; }
  const tile::TileSystem& system() const { return system_; }

 private:
  tile::TileSystem system_;
  studies::OperatingPoint point_;
};

/// Temperatures after a run, by node.
class After {
 public:
  After(const Model& model, double duration_s);
  double temperature_K(const std::string& node) const;

 private:
  tile::TileSystem system_;
  std::vector<double> x_;
};

/// The time at which a node passes a temperature, as the event that `run` locates for a limit there. Throws if it does not
/// within `longest_s`. The node's starting temperature says from which side.
double crossing_s(const Model& model, const std::string& node, double temperature_K, double longest_s);

/// Decay rates of the linearised tile in 1/s, slowest first: eigenvalues of the system's own Jacobian over its heat
/// capacities. Every unknown must have one.
std::vector<double> decay_rates(const Model& model);

/// A quantity on a series of grids, each twice as fine as the one before, and its limit under an error of even powers of
/// the spacing (Richardson 1911).
struct Limit {
  double value = 0.0;
  double observed_order = 0.0;  ///< from the three finest grids
};
Limit limit_of(const std::function<double(int)>& on_grid, int coarsest, int grids = 4);

/// Order of convergence that the product's second-order ladders must show, and how far from 2 the three finest may be.
inline constexpr double expected_order = 2.0;
inline constexpr double order_within = 0.1;

/// Ratio of the Stefan-Boltzmann constant a source uses to the product's: areas times this give the source's heat.
double sigma_ratio(double sigma_of_source_W_per_m2_K4);

}  // namespace tileflux::verification
