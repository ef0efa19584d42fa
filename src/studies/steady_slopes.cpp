#include "studies/steady_slopes.h"

#include "studies/linear.h"

namespace tileflux::studies {

double temperature_slope(const tile::TileSystem& system, network::NodeId id, std::span<const double> x) {
  const int place = system.network().unknown_of(id);
  if (place < 0) return 0.0;
  const network::Node& node = system.network().node(id);
  if (node.kind != network::NodeKind::melting) return 1.0;
  return node.melting.temperature_K(variable<1>(x[static_cast<std::size_t>(place)], 0)).derivatives()[0];
}

Eigen::VectorXd margin_slopes(const tile::TileSystem& system, std::span<const double> x, const Margin& margin) {
  Eigen::VectorXd slopes = Eigen::VectorXd::Zero(system.size());
  const auto add = [&](const std::string& name, double share) {
    const network::NodeId id = system.network().find(name);
    const int place = system.network().unknown_of(id);
    if (place >= 0) slopes[place] += share * temperature_slope(system, id, x);
  };
  const double towards = margin.upper ? -1.0 : 1.0;
  if (margin.kind == LimitKind::temperature) add(margin.node, towards);
  if (margin.kind != LimitKind::difference && margin.kind != LimitKind::gradient) return slopes;
  const double a_K = system.network().temperature_K(system.network().find(margin.node), x);
  const double b_K = system.network().temperature_K(system.network().find(margin.other), x);
  // A gradient is a difference over a distance.
  const double scale = a_K != b_K ? margin.value / std::abs(a_K - b_K) : 0.0;
  add(margin.node, towards * (a_K > b_K ? scale : -scale));
  add(margin.other, towards * (a_K > b_K ? -scale : scale));
  return slopes;
}

SteadySlopes::SteadySlopes(tile::TileSystem& system, std::vector<double> x, ModeOf mode_of, bool temperatures)
    : system_(system), x_(std::move(x)), mode_of_(std::move(mode_of)) {
  system_.set_mode(mode_of_(system_.description()));
  const std::vector<Margin> all = margins_at(system_, x_);
  margins_ = all.size();
  nodes_ = temperatures ? static_cast<std::size_t>(system_.network().node_count()) : 0;
  Eigen::MatrixXd slopes = Eigen::MatrixXd::Zero(system_.size(), static_cast<Eigen::Index>(1 + margins_ + nodes_));
  const std::vector<double> light = system_.light_slopes(0.0, x_);
  slopes.col(0) = Eigen::Map<const Eigen::VectorXd>(light.data(), system_.size());
  for (std::size_t i = 0; i < margins_; ++i)
    slopes.col(static_cast<Eigen::Index>(i) + 1) = margin_slopes(system_, x_, all[i]);
  for (std::size_t id = 0; id < nodes_; ++id) {
    const auto node = static_cast<network::NodeId>(id);
    const int place = system_.network().unknown_of(node);
    if (place >= 0) slopes(place, static_cast<Eigen::Index>(1 + margins_ + id)) = temperature_slope(system_, node, x_);
  }
  const Eigen::MatrixXd transposed = dense_jacobian(system_, x_).transpose();
  adjoint_ = transposed.partialPivLu().solve(slopes);
}

Eigen::VectorXd SteadySlopes::parts(tile::TileSystem& system, const tile::Mode& mode) const {
  system.set_mode(mode);
  const std::size_t unknowns = x_.size();
  Eigen::VectorXd all(static_cast<Eigen::Index>(unknowns + 1 + margins_ + nodes_));
  const std::vector<double> no_rate(unknowns, 0.0);
  system.residual(0.0, x_, no_rate, std::span(all.data(), unknowns));
  all[static_cast<Eigen::Index>(unknowns)] = system.chain_flows(x_).light_out;
  const std::vector<Margin> margins = margins_at(system, x_);
  if (margins.size() != margins_) throw Error(Code::internal, "moving the input changes which limits there are");
  for (std::size_t i = 0; i < margins_; ++i) all[static_cast<Eigen::Index>(unknowns + 1 + i)] = margins[i].margin;
  for (std::size_t id = 0; id < nodes_; ++id)
    all[static_cast<Eigen::Index>(unknowns + 1 + margins_ + id)] =
        system.network().temperature_K(static_cast<network::NodeId>(id), x_);
  return all;
}

Eigen::VectorXd SteadySlopes::total(const Eigen::VectorXd& explicit_slopes) const {
  const Eigen::Index unknowns = system_.size();
  return explicit_slopes.tail(explicit_slopes.size() - unknowns) - adjoint_.transpose() * explicit_slopes.head(unknowns);
}

Eigen::VectorXd SteadySlopes::along(Moved& moved) const {
  return total(moved.slope_of(
      [&](tile::TileSystem& system) { return parts(system, mode_of_(system.description())); }));
}

Eigen::VectorXd SteadySlopes::along_drive() const {
  tile::Mode mode = mode_of_(system_.description());
  const auto at = [&](double drive) {
    mode.drive = drive;
    return parts(system_, mode);
  };
  constexpr double step = 2e-6;
  const double drive = mode.drive;
  const Eigen::VectorXd slopes = total(slope_over(at, drive, step));
  system_.set_mode(mode_of_(system_.description()));
  return slopes;
}

}  // namespace tileflux::studies
