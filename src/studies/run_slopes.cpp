#include "studies/run_slopes.h"

#include <cmath>
#include <limits>

#include "studies/linear.h"
#include "studies/modes.h"
#include "studies/steady_slopes.h"
#include "tileflux/studies/run.h"

namespace tileflux::studies {

namespace {

constexpr double not_known = std::numeric_limits<double>::quiet_NaN();

std::string reason_against(const tile::Case& description, const RunResult& run) {
  if (!description.failures.empty()) return "something breaks during the run";
  if (description.ageing) return "the tile wears during the run";
  if (description.campaign) return "a campaign says when the beam is on";
  if (run.trips > 0) return "a trip ends the beam at a temperature, and inputs move that instant";
  if (!run.heaters.empty()) return "thermostats switch at temperatures, and inputs move these instants";
  if (description.battery) return "a battery switches at charges, and inputs move these instants";
  return "";
}

/// The time of an edge of a pattern: number `turn` of those at which it goes on, or off.
double edge_s(const tile::TimePattern& pattern, double turn, bool on) {
  return pattern.first_s + turn * pattern.every_s + (on ? 0.0 : pattern.on_s);
}

}  // namespace

RunSlopes::RunSlopes(const tile::Case& description) : system_(description), duration_s_(description.run.duration_s) {
  tile::TileSystem runner(description);
  TrajectoryRecorder recorder(runner);
  RunOptions options;
  options.observer = [&](const solvers::Step& step) { recorder.add(step); };
  const RunResult run = studies::run(runner, nullptr, options);
  why_not_ = reason_against(description, run);
  mean_light_W_ = run.mean_light_W;
  for (const Margin& margin : run.margins) {
    const bool followed = margin.kind == LimitKind::temperature || margin.kind == LimitKind::difference ||
                          margin.kind == LimitKind::gradient;
    if (followed) margins_.push_back(margin);
  }
  if (!why_not_.empty()) return;
  Trajectory::Layout layout;
  layout.growth = 0.25;
  layout.longest_share = 1.0 / 500.0;
  layout.shortest_share = std::min(1e-6, 1e-3 / static_cast<double>(run.counts.restarts + 1));
  layout.keep_equations = false;
  trajectory_.emplace(system_, cut_at_corners(system_, recorder.take()), layout);
  for (const Margin& margin : margins_) worst_.push_back(worst_instant(system_, *trajectory_, margin));
}

tile::Mode RunSlopes::mode_of(std::size_t piece, const tile::Case& description) const {
  tile::Mode mode = trajectory_->pieces()[piece].mode;
  if (description.beam) mode.drive = description.beam->drive;
  return mode;
}

Eigen::VectorXd RunSlopes::begin_slopes(Moved& moved) {
  using From = tile::Start::From;
  const tile::Start& start = system_.description().start;
  if (start.from == From::temperature) {
    return moved.slope_of([](tile::TileSystem& system) {
      const std::vector<double> begin = starting_state(system);
      return Eigen::VectorXd(Eigen::Map<const Eigen::VectorXd>(begin.data(), system.size()));
    });
  }
  const bool beam = start.from == From::beam_on_balance;
  system_.set_mode(steady_mode(system_.description(), beam, true));
  const std::vector<double> x = operating_point(system_).x;
  const Eigen::MatrixXd jacobian = dense_jacobian(system_, x);
  const std::vector<double> no_rate(x.size(), 0.0);
  const Eigen::VectorXd source = moved.slope_of([&](tile::TileSystem& system) {
    system.set_mode(steady_mode(system.description(), beam, true));
    Eigen::VectorXd residual(system.size());
    system.residual(0.0, x, no_rate, std::span(residual.data(), x.size()));
    return residual;
  });
  return -jacobian.partialPivLu().solve(source);
}

double RunSlopes::motion_of(std::size_t piece, Moved& moved) const {
  if (piece == 0) return 0.0;
  const tile::Mode &before = trajectory_->pieces()[piece - 1].mode, &after = trajectory_->pieces()[piece].mode;
  const double time_s = trajectory_->pieces()[piece].begin_s();
  std::optional<double> motion;
  const auto add = [&](const tile::TimePattern& pattern, bool on, const auto& pattern_of) {
    const double turn = std::round((time_s - edge_s(pattern, 0.0, on)) / pattern.every_s);
    const double moves = moved.slope_of([&](tile::TileSystem& system) {
      return Eigen::VectorXd::Constant(1, edge_s(pattern_of(system.description()), turn, on));
    })[0];
    motion = !motion || *motion == moves ? moves : not_known;
  };
  const tile::Case& description = system_.description();
  if (before.beam != after.beam)
    add(*description.beam->pattern, after.beam, [](const tile::Case& one) { return *one.beam->pattern; });
  for (std::size_t i = 0; i < after.pattern_share.size(); ++i) {
    if (before.pattern_share[i] == after.pattern_share[i]) continue;
    add(description.loads[i].pattern, after.pattern_share[i] > 0.0,
        [i](const tile::Case& one) { return one.loads[i].pattern; });
  }
  return motion.value_or(0.0);
}

double RunSlopes::light_at(std::size_t piece, bool begin) {
  const TrajectoryPiece& at = trajectory_->pieces()[piece];
  system_.set_mode(at.mode);
  return system_.chain_flows(begin ? at.begin_s() : at.end_s(), begin ? at.x.front() : at.x.back()).light_out;
}

Eigen::MatrixXd RunSlopes::along(std::vector<Moved>& moved, const std::function<bool(double)>& go_on) {
  const auto count = static_cast<Eigen::Index>(moved.size());
  const auto& pieces = trajectory_->pieces();
  const auto& stages = trajectory_->stages();
  const Eigen::Index size = system_.size();
  Eigen::MatrixXd begin(size, count), motions(static_cast<Eigen::Index>(pieces.size()), count);
  for (Eigen::Index m = 0; m < count; ++m) {
    Moved& one = moved[static_cast<std::size_t>(m)];
    begin.col(m) = begin_slopes(one);
    for (std::size_t p = 0; p < pieces.size(); ++p) motions(static_cast<Eigen::Index>(p), m) = motion_of(p, one);
  }
  std::vector<Eigen::RowVectorXd> light_row;
  for (const Trajectory::Stage& stage : stages) {
    system_.set_mode(pieces[stage.piece].mode);
    const std::vector<double> slopes = system_.light_slopes(stage.time_s, stage.x);
    light_row.emplace_back(Eigen::Map<const Eigen::RowVectorXd>(slopes.data(), size));
  }
  Eigen::RowVectorXd light_J = Eigen::RowVectorXd::Zero(count);
  std::size_t entered = static_cast<std::size_t>(-1);
  bool wanted = true;
  const auto source = [&](int stage, std::size_t piece) -> Eigen::MatrixXd {
    Eigen::MatrixXd all(size, count);
    if (piece != entered && go_on) wanted = wanted && go_on(pieces[piece].begin_s() / duration_s_);
    const TrajectoryPiece& at = pieces[piece];
    const auto number = static_cast<std::size_t>(stage);
    const double time_s = stage >= 0 ? stages[number].time_s : at.begin_s();
    const std::vector<double>& x = stage >= 0 ? stages[number].x : at.x.front();
    const std::vector<double>& rate = stage >= 0 ? stages[number].rate : at.rate.front();
    if (!wanted) return Eigen::MatrixXd::Zero(size, count);
    for (Eigen::Index m = 0; m < count; ++m) {
      Moved& one = moved[static_cast<std::size_t>(m)];
      if (piece != entered)
        one.for_each([&](tile::TileSystem& system) { system.set_mode(mode_of(piece, system.description())); });
      const Eigen::VectorXd parts = one.slope_of([&](tile::TileSystem& system) {
        Eigen::VectorXd both(size + 1);
        system.residual(time_s, x, rate, std::span(both.data(), static_cast<std::size_t>(size)));
        both[size] = at.mode.beam ? system.chain_flows(time_s, x).light_out : 0.0;
        return both;
      });
      all.col(m) = parts.head(size);
      if (stage >= 0) light_J[m] += stages[number].weight_s * parts[size];
    }
    entered = piece;
    return all;
  };
  const auto jump = [&](std::size_t piece, Eigen::MatrixXd& slopes) {
    if (piece == 0) return;
    for (Eigen::Index i = 0; i < size; ++i) {
      if (!system_.differential()[static_cast<std::size_t>(i)]) continue;
      const double fall = pieces[piece - 1].rate.back()[static_cast<std::size_t>(i)] -
                          pieces[piece].rate.front()[static_cast<std::size_t>(i)];
      slopes.row(i) += fall * motions.row(static_cast<Eigen::Index>(piece));
    }
  };
  const Trajectory::Reading reading = trajectory_->carry(system_, begin, source, jump, worst_, light_row);
  light_J += reading.integral;
  for (std::size_t piece = 1; piece < pieces.size(); ++piece)
    light_J += (light_at(piece - 1, false) - light_at(piece, true)) * motions.row(static_cast<Eigen::Index>(piece));

  Eigen::MatrixXd all(static_cast<Eigen::Index>(margins_.size()) + 1, count);
  if (!wanted) return Eigen::MatrixXd::Constant(all.rows(), count, not_known);
  all.row(0) = light_J / duration_s_;
  for (std::size_t k = 0; k < margins_.size(); ++k) {
    const auto [x, rate] = trajectory_->state_at(worst_[k]);
    Eigen::MatrixXd at = reading.at[k];
    const std::size_t edge = worst_[k].piece + (worst_[k].where == Instant::Where::end ? 1 : 0);
    if (worst_[k].where != Instant::Where::inside && edge < pieces.size())
      at += Eigen::Map<const Eigen::VectorXd>(rate.data(), size) * motions.row(static_cast<Eigen::Index>(edge));
    all.row(static_cast<Eigen::Index>(k) + 1) = margin_slopes(system_, x, margins_[k]).transpose() * at;
    for (Eigen::Index m = 0; m < count; ++m) {
      // What the input makes of the limit itself.
      all(static_cast<Eigen::Index>(k) + 1, m) += moved[static_cast<std::size_t>(m)].slope_of([&](tile::TileSystem& system) {
        double margin = 0.0;
        for (const Margin& one : margins_at(system, x)) {
          if (same_limit(one, margins_[k])) margin = one.margin;
        }
        return Eigen::VectorXd::Constant(1, margin);
      })[0];
    }
  }
  return all;
}

}  // namespace tileflux::studies
