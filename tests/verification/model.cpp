#include "verification/model.h"

#include <Eigen/Dense>
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "tileflux/base/constants.h"
#include "tileflux/solvers/transient.h"
#include "tileflux/studies/run.h"

namespace tileflux::verification {

Model::Model() {
  description.title = "verification";
  description.sun.irradiance_at_1AU_W_per_m2 = 0.0;
  description.space_K = 0.0;
  description.accuracy = {1e-11, 1e-9};
}

Model& Model::store(const std::string& part, double capacity_J_per_K, double start_K) {
  tile::Part added;
  added.name = part;
  added.capacity_J_per_K = PropertyTable(capacity_J_per_K);
  added.start_K = start_K;
  description.parts.push_back(std::move(added));
  return *this;
}

Model& Model::massless(const std::string& part) {
  tile::Part added;
  added.name = part;
  description.parts.push_back(std::move(added));
  return *this;
}

Model& Model::fixed(const std::string& part, double temperature_K) {
  tile::Part added;
  added.name = part;
  added.fixed_K = temperature_K;
  description.parts.push_back(std::move(added));
  return *this;
}

Model& Model::join(const std::string& a, const std::string& b, double conductance_W_per_K) {
  tile::Join added;
  added.a = a;
  added.b = b;
  added.conductance_W_per_K = conductance_W_per_K;
  description.joins.push_back(std::move(added));
  return *this;
}

Model& Model::infrared(const std::string& a, const std::string& b, double exchange_area_m2) {
  description.radiation.push_back({a, b, exchange_area_m2});
  return *this;
}

Model& Model::radiate(const std::string& part, double area_m2, double emittance) {
  tile::Surface added;
  added.name = part + " face " + std::to_string(description.surfaces.size());
  added.node = part;
  added.area_m2 = area_m2;
  added.emittance = emittance;
  description.surfaces.push_back(std::move(added));
  return *this;
}

Model& Model::sunlit(const std::string& part, double area_m2, double absorptance, double emittance) {
  radiate(part, area_m2, emittance);
  description.surfaces.back().absorptance = absorptance;
  description.surfaces.back().facing = tile::Surface::Facing::front;
  return *this;
}

Model& Model::heat(const std::string& part, double power_W) {
  tile::Load added;
  added.node = part;
  added.power_W = power_W;
  description.loads.push_back(std::move(added));
  return *this;
}

Model& Model::sun(double irradiance_W_per_m2, double tilt_rad) {
  description.sun.irradiance_at_1AU_W_per_m2 = irradiance_W_per_m2;
  description.sun.tilt_rad = tilt_rad;
  return *this;
}

Model& Model::space(double temperature_K) {
  description.space_K = temperature_K;
  return *this;
}

Steady::Steady(const tile::Case& description) : system_(description), point_(studies::balance(system_).beam_off) {}

double Steady::temperature_K(const std::string& node) const {
  return system_.network().temperature_K(system_.network().find(node), point_.x);
}

double Steady::flow_W(const std::string& a, const std::string& b) const {
  const network::NodeId from = system_.network().find(a);
  const network::NodeId to = system_.network().find(b);
  double sum_W = 0.0;
  for (const network::Flow& flow : system_.network().flows(point_.x)) {
    if (flow.from == from && flow.to == to) sum_W += flow.power_W;
    if (flow.from == to && flow.to == from) sum_W -= flow.power_W;
  }
  return sum_W;
}

After::After(const Model& model, double duration_s)
    : system_([&] {
        tile::Case description = model.description;
        description.run = {duration_s, duration_s};
        return description;
      }()),
      x_(studies::run(system_, nullptr).final_x) {}

double After::temperature_K(const std::string& node) const { return system_.network().temperature_K(system_.network().find(node), x_); }

namespace {

/// Waits for the first limit that is broken.
class FirstBroken : public studies::RunSink {
 public:
  void row(const studies::RunRow&) override {}
  void event(const studies::RunEvent& event) override {
    if (event.what == "limit_broken" && time_s < 0.0) time_s = event.time_s;
  }
  double time_s = -1.0;
};

}  // namespace

double crossing_s(const Model& model, const std::string& node, double temperature_K, double longest_s) {
  tile::Case description = model.description;
  description.run = {longest_s, longest_s};
  tile::Limit limit;
  limit.node = node;
  const auto part = std::find_if(description.parts.begin(), description.parts.end(), [&](const tile::Part& p) { return p.name == node; });
  (part->start_K.value() < temperature_K ? limit.below_K : limit.above_K) = temperature_K;
  description.limits.push_back(limit);
  tile::TileSystem system(description);
  FirstBroken sink;
  studies::RunOptions options;
  options.stop_requested = [&] { return sink.time_s >= 0.0; };
  studies::run(system, &sink, options);
  if (sink.time_s < 0.0) throw std::runtime_error(node + " does not pass the temperature in time");
  return sink.time_s;
}

std::vector<double> decay_rates(const Model& model) {
  const tile::TileSystem system(model.description);
  const std::vector<double> x = system.stated_start();
  const std::vector<double> still(x.size(), 0.0);
  std::vector<double> values(static_cast<std::size_t>(system.pattern().nonzeros()));
  system.jacobian(0.0, x, still, 0.0, values);
  const std::vector<double> capacity = solvers::rate_coefficients(system, 0.0, x);
  Eigen::MatrixXd rates = Eigen::MatrixXd::Zero(system.size(), system.size());
  for (int column = 0; column < system.size(); ++column) {
    for (int k = system.pattern().column_start[static_cast<std::size_t>(column)]; k < system.pattern().column_start[static_cast<std::size_t>(column) + 1]; ++k) {
      const int row = system.pattern().row[static_cast<std::size_t>(k)];
      rates(row, column) = -values[static_cast<std::size_t>(k)] / capacity[static_cast<std::size_t>(row)];
    }
  }
  const Eigen::VectorXd eigenvalues = Eigen::EigenSolver<Eigen::MatrixXd>(rates, false).eigenvalues().real();
  std::vector<double> sorted(eigenvalues.begin(), eigenvalues.end());
  std::sort(sorted.begin(), sorted.end());
  return sorted;
}

Limit limit_of(const std::function<double(int)>& on_grid, int coarsest, int grids) {
  std::vector<double> column;
  for (int g = 0; g < grids; ++g) column.push_back(on_grid(coarsest << g));
  Limit limit;
  const std::size_t last = column.size() - 1;
  limit.observed_order = std::log2(std::abs((column[last - 1] - column[last - 2]) / (column[last] - column[last - 1])));
  for (double weight = 4.0; column.size() > 1; weight *= 4.0) {
    for (std::size_t i = 0; i + 1 < column.size(); ++i) column[i] = column[i + 1] + (column[i + 1] - column[i]) / (weight - 1.0);
    column.pop_back();
  }
  limit.value = column[0];
  return limit;
}

double sigma_ratio(double sigma_of_source_W_per_m2_K4) { return sigma_of_source_W_per_m2_K4 / stefan_boltzmann_W_per_m2_K4; }

}  // namespace tileflux::verification
