#include "studies/trajectory.h"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>

#include "studies/linear.h"

namespace tileflux::studies {

namespace {

const double root6 = std::sqrt(6.0);

/// Nodes and coefficients of Radau IIA with three stages (Hairer & Wanner, table IV.5.6).
struct Radau {
  Eigen::Vector3d node;
  Eigen::Matrix3d a, inverse;

  Radau() {
    node << (4.0 - root6) / 10.0, (4.0 + root6) / 10.0, 1.0;
    a << (88.0 - 7.0 * root6) / 360.0, (296.0 - 169.0 * root6) / 1800.0, (-2.0 + 3.0 * root6) / 225.0,
        (296.0 + 169.0 * root6) / 1800.0, (88.0 + 7.0 * root6) / 360.0, (-2.0 - 3.0 * root6) / 225.0,
        (16.0 - root6) / 36.0, (16.0 + root6) / 36.0, 1.0 / 9.0;
    inverse = a.inverse();
  }
  static const Radau& instance() {
    static const Radau method;
    return method;
  }
};

}  // namespace

namespace {

/// Points inside a step, so that cubics between them are as good as its continuous solution. That is a polynomial of the
/// fourth degree, whose slope the rule of five points gives exactly.
void add_inside(const solvers::Step& step, TrajectoryPiece& piece) {
  constexpr int parts = 4;
  const double length_s = step.end_s - step.begin_s, apart_s = length_s / 16.0;
  const std::size_t size = step.begin_state.size();
  std::array<std::vector<double>, 4> around;
  for (std::vector<double>& state : around) state.resize(size);
  for (int k = 1; k < parts; ++k) {
    const double time_s = step.begin_s + length_s * k / parts;
    std::vector<double> x(size), rate(size);
    step.at(time_s, x);
    for (int place = 0; place < 4; ++place)
      step.at(time_s + (place < 2 ? place - 2 : place - 1) * apart_s, around[static_cast<std::size_t>(place)]);
    for (std::size_t i = 0; i < size; ++i)
      rate[i] = (around[0][i] - around[3][i] + 8.0 * (around[2][i] - around[1][i])) / (12.0 * apart_s);
    piece.time_s.push_back(time_s);
    piece.x.push_back(std::move(x));
    piece.rate.push_back(std::move(rate));
  }
}

}  // namespace

void TrajectoryRecorder::add(const solvers::Step& step) {
  // After an edge the solver begins with steps of next to no length: only the first of them begins a piece.
  constexpr double same_s = 1e-6;
  const tile::Mode& mode = system_.mode();
  const bool edge = !pieces_.empty() && mode.surroundings == tile::Mode::Surroundings::moving && system_.sky_moves() &&
                    step.begin_s > pieces_.back().begin_s() + 2.0 * same_s &&
                    system_.next_sky_edge_s(step.begin_s - same_s) <= step.begin_s + same_s;
  if (pieces_.empty() || edge || !(mode == pieces_.back().mode)) {
    if (!pieces_.empty()) pieces_.back().ends_in_corner = edge;
    pieces_.push_back({mode, {step.begin_s}, {}, {}});
    pieces_.back().x.emplace_back(step.begin_state.begin(), step.begin_state.end());
    pieces_.back().rate.emplace_back(step.begin_rate.begin(), step.begin_rate.end());
  }
  TrajectoryPiece& piece = pieces_.back();
  add_inside(step, piece);
  piece.time_s.push_back(step.end_s);
  piece.x.emplace_back(step.end_state.begin(), step.end_state.end());
  piece.rate.emplace_back(step.end_rate.begin(), step.end_rate.end());
}

void between_ends(const TrajectoryPiece& piece, double time_s, std::vector<double>& x, std::vector<double>& rate) {
  const auto above = std::upper_bound(piece.time_s.begin() + 1, piece.time_s.end() - 1, time_s);
  const auto high = static_cast<std::size_t>(above - piece.time_s.begin()), low = high - 1;
  const double length_s = piece.time_s[high] - piece.time_s[low];
  const double u = (time_s - piece.time_s[low]) / length_s;
  const std::size_t size = piece.x[low].size();
  x.resize(size);
  rate.resize(size);
  for (std::size_t i = 0; i < size; ++i) {
    const double a = piece.x[low][i], b = piece.x[high][i];
    const double da = length_s * piece.rate[low][i], db = length_s * piece.rate[high][i];
    const double c2 = 3.0 * (b - a) - 2.0 * da - db, c3 = 2.0 * (a - b) + da + db;
    x[i] = a + u * (da + u * (c2 + u * c3));
    rate[i] = (da + u * (2.0 * c2 + 3.0 * u * c3)) / length_s;
  }
}

namespace {

/// Which of their laws the power chain and the nodes follow at an instant: counts and flags, in one order.
std::vector<int> laws_at(const tile::TileSystem& system, double time_s, const std::vector<double>& x) {
  const devices::ChainFlows<double> flows = system.chain_flows(time_s, x);
  std::vector<int> laws{flows.sun_limited ? 1 : 0, flows.housekeeping_short ? 1 : 0, flows.battery_power > 0.0 ? 1 : 0,
                        flows.battery_power < 0.0 ? 1 : 0, flows.throttle < 1.0 ? 1 : 0, flows.throttle <= 0.0 ? 1 : 0,
                        flows.exhausted_groups};
  for (int i = 0; i < system.network().unknown_count(); ++i) {
    const network::Node& node = system.network().node(system.network().node_of_unknown(i));
    const double value = x[static_cast<std::size_t>(i)];
    if (node.kind == network::NodeKind::melting) {
      laws.push_back(value <= node.melting.solidus_K() ? 0 : value < node.melting.molten_unknown() ? 1 : 2);
    } else {
      const std::vector<double>& rows = node.capacity_J_per_K.temperatures_K();
      laws.push_back(static_cast<int>(std::upper_bound(rows.begin(), rows.end(), value) - rows.begin()));
    }
  }
  return laws;
}

/// The last instant between two neighbouring points of a piece at which the laws of the first of them still hold.
double corner_between(const tile::TileSystem& system, const TrajectoryPiece& piece, std::size_t first) {
  std::vector<double> x, rate;
  const std::vector<int> laws = laws_at(system, piece.time_s[first], piece.x[first]);
  double low_s = piece.time_s[first], high_s = piece.time_s[first + 1];
  for (int i = 0; i < 50; ++i) {
    const double middle_s = 0.5 * (low_s + high_s);
    between_ends(piece, middle_s, x, rate);
    (laws_at(system, middle_s, x) == laws ? low_s : high_s) = middle_s;
  }
  return low_s;
}

void append(TrajectoryPiece& piece, double time_s, std::vector<double> x, std::vector<double> rate) {
  piece.time_s.push_back(time_s);
  piece.x.push_back(std::move(x));
  piece.rate.push_back(std::move(rate));
}

}  // namespace

std::vector<TrajectoryPiece> cut_at_corners(tile::TileSystem& system, std::vector<TrajectoryPiece> pieces) {
  const tile::Mode before = system.mode();
  std::vector<TrajectoryPiece> cut;
  std::vector<double> x, rate;
  for (const TrajectoryPiece& piece : pieces) {
    system.set_mode(piece.mode);
    TrajectoryPiece open{piece.mode, {}, {}, {}};
    append(open, piece.time_s[0], piece.x[0], piece.rate[0]);
    for (std::size_t k = 1; k < piece.time_s.size(); ++k) {
      const double low_s = piece.time_s[k - 1], high_s = piece.time_s[k];
      if (laws_at(system, low_s, piece.x[k - 1]) != laws_at(system, high_s, piece.x[k])) {
        const double corner_s = corner_between(system, piece, k - 1);
        if (corner_s > low_s && corner_s < high_s) {
          between_ends(piece, corner_s, x, rate);
          append(open, corner_s, x, rate);
          open.ends_in_corner = true;
          cut.push_back(std::move(open));
          open = {piece.mode, {}, {}, {}};
          append(open, corner_s, x, rate);
        }
      }
      append(open, high_s, piece.x[k], piece.rate[k]);
    }
    open.ends_in_corner = piece.ends_in_corner;
    cut.push_back(std::move(open));
  }
  system.set_mode(before);
  return cut;
}

Trajectory::Trajectory(tile::TileSystem& system, std::vector<TrajectoryPiece> pieces, const Layout& layout)
    : size_(system.size()), layout_(layout), pieces_(std::move(pieces)) {
  for (int i = 0; i < size_; ++i) {
    if (!system.differential()[static_cast<std::size_t>(i)]) massless_.push_back(i);
  }
  const tile::Mode before = system.mode();
  for (std::size_t piece = 0; piece < pieces_.size(); ++piece) {
    system.set_mode(pieces_[piece].mode);
    begin_jacobian_.push_back(dense_jacobian(system, pieces_[piece].x.front(), pieces_[piece].begin_s()));
    lay_out(piece);
  }
  if (layout_.keep_equations) {
    for (const Step& step : steps_) {
      system.set_mode(pieces_[step.piece].mode);
      kept_.push_back(std::make_shared<Equations>());
      make_equations(system, step, *kept_.back());
    }
  }
  system.set_mode(before);
}

void Trajectory::lay_out(std::size_t number) {
  const TrajectoryPiece& piece = pieces_[number];
  const double whole_s = pieces_.back().end_s() - pieces_.front().begin_s();
  const double shortest_s = layout_.shortest_share * whole_s, longest_s = layout_.longest_share * whole_s;
  const Radau& radau = Radau::instance();
  for (double begin_s = piece.begin_s(); begin_s < piece.end_s();) {
    const double left_s = piece.end_s() - begin_s;
    double length_s = std::clamp(layout_.growth * (begin_s - piece.begin_s()), shortest_s, longest_s);
    // An input moves a corner: towards it steps get smaller too.
    if (piece.ends_in_corner) length_s = std::min(length_s, std::max(0.5 * left_s, shortest_s));
    constexpr double rest = 1.3;  // no last step that is next to nothing
    const bool last = left_s < rest * length_s;
    if (last) length_s = left_s;
    steps_.push_back({number, begin_s, length_s, static_cast<int>(stages_.size())});
    for (int i = 0; i < 3; ++i) {
      Stage stage{number, begin_s + radau.node[i] * length_s, radau.a(2, i) * length_s, {}, {}};
      between_ends(piece, stage.time_s, stage.x, stage.rate);
      stages_.push_back(std::move(stage));
    }
    begin_s = last ? piece.end_s() : begin_s + length_s;
  }
}

/// Rows of stage i: J_i s_i - C_i sum_j (A^-1)_ij (s_j - s_begin) / h = -F_p,i.
void Trajectory::make_equations(tile::TileSystem& system, const Step& step, Equations& equations) const {
  const Radau& radau = Radau::instance();
  const solvers::Pattern& pattern = system.pattern();
  std::vector<Eigen::Triplet<double>> entries;
  std::vector<double> values(static_cast<std::size_t>(pattern.nonzeros()));
  equations.capacity.resize(size_, 3);
  for (int i = 0; i < 3; ++i) {
    const Stage& stage = stages_[static_cast<std::size_t>(step.stage + i)];
    system.jacobian(stage.time_s, stage.x, stage.rate, 0.0, values);
    for (int column = 0; column < size_; ++column) {
      for (int k = pattern.column_start[static_cast<std::size_t>(column)];
           k < pattern.column_start[static_cast<std::size_t>(column) + 1]; ++k) {
        entries.emplace_back(i * size_ + pattern.row[static_cast<std::size_t>(k)], i * size_ + column,
                             values[static_cast<std::size_t>(k)]);
      }
    }
    const std::vector<double> capacity = solvers::rate_coefficients(system, stage.time_s, stage.x);
    for (int row = 0; row < size_; ++row) {
      equations.capacity(row, i) = capacity[static_cast<std::size_t>(row)];
      if (capacity[static_cast<std::size_t>(row)] == 0.0) continue;
      for (int j = 0; j < 3; ++j) {
        entries.emplace_back(i * size_ + row, j * size_ + row,
                             -capacity[static_cast<std::size_t>(row)] * radau.inverse(i, j) / step.length_s);
      }
    }
  }
  Eigen::SparseMatrix<double> matrix(3 * size_, 3 * size_);
  matrix.setFromTriplets(entries.begin(), entries.end());
  equations.matrix.compute(matrix);
  if (equations.matrix.info() != Eigen::Success)
    throw Error(Code::transient_failed, "the linearised equations along the trajectory have no one solution");
}

const Trajectory::Equations& Trajectory::equations_of(tile::TileSystem& system, std::size_t step, Equations& room) const {
  if (!kept_.empty()) return *kept_[step];
  make_equations(system, steps_[step], room);
  return room;
}

Eigen::MatrixXd Trajectory::with_massless(const Eigen::MatrixXd& slopes, std::size_t piece, const Source& source) const {
  if (massless_.empty()) return slopes;
  Eigen::MatrixXd all = slopes;
  all(massless_, Eigen::all).setZero();
  const Eigen::MatrixXd& jacobian = begin_jacobian_[piece];
  const Eigen::MatrixXd known = jacobian * all + source(-1, piece);
  const Eigen::MatrixXd inner = jacobian(massless_, massless_);
  all(massless_, Eigen::all) = -inner.partialPivLu().solve(Eigen::MatrixXd(known(massless_, Eigen::all)));
  return all;
}

/// What instants within a step, or at its end if that ends its piece, have of the slopes at its begin and stages.
void Trajectory::read(const Step& step, bool last, const Eigen::MatrixXd& begin, const Eigen::MatrixXd& found,
                      const std::vector<Instant>& instants, Reading& reading) const {
  const Radau& radau = Radau::instance();
  for (std::size_t k = 0; k < instants.size(); ++k) {
    const Instant& instant = instants[k];
    if (instant.piece != step.piece) continue;
    if (instant.where == Instant::Where::end && last) reading.at[k] = found.bottomRows(size_);
    const double u = (instant.time_s - step.begin_s) / step.length_s;
    if (instant.where != Instant::Where::inside || u < 0.0 || u > 1.0) continue;
    const std::array<double, 4> node{0.0, radau.node[0], radau.node[1], 1.0};
    reading.at[k] = Eigen::MatrixXd::Zero(size_, begin.cols());
    for (std::size_t a = 0; a < node.size(); ++a) {
      double share = 1.0;
      for (std::size_t b = 0; b < node.size(); ++b) share *= a == b ? 1.0 : (u - node[b]) / (node[a] - node[b]);
      if (a == 0)
        reading.at[k] += share * begin;
      else
        reading.at[k] += share * found.middleRows((static_cast<Eigen::Index>(a) - 1) * size_, size_);
    }
  }
}

Trajectory::Reading Trajectory::carry(tile::TileSystem& system, const Eigen::MatrixXd& begin, const Source& source,
                                      const Jump& jump, const std::vector<Instant>& instants,
                                      const std::vector<Eigen::RowVectorXd>& row) const {
  const Radau& radau = Radau::instance();
  const tile::Mode before = system.mode();
  Reading reading;
  reading.at.resize(instants.size());
  reading.integral = Eigen::RowVectorXd::Zero(begin.cols());
  Eigen::MatrixXd slopes = begin, right(3 * size_, begin.cols());
  Equations room;
  std::size_t piece = static_cast<std::size_t>(-1);
  for (std::size_t n = 0; n < steps_.size(); ++n) {
    const Step& step = steps_[n];
    if (step.piece != piece) {
      piece = step.piece;
      system.set_mode(pieces_[piece].mode);
      jump(piece, slopes);
      slopes = with_massless(slopes, piece, source);
      for (std::size_t k = 0; k < instants.size(); ++k) {
        if (instants[k].piece == piece && instants[k].where == Instant::Where::begin) reading.at[k] = slopes;
      }
    }
    const Equations& equations = equations_of(system, n, room);
    for (int i = 0; i < 3; ++i) {
      const double into = radau.inverse.row(i).sum() / step.length_s;
      right.middleRows(i * size_, size_) =
          -source(step.stage + i, piece) - into * (equations.capacity.col(i).asDiagonal() * slopes);
    }
    const Eigen::MatrixXd found = equations.matrix.solve(right);
    for (int i = 0; i < 3 && !row.empty(); ++i) {
      const auto stage = static_cast<std::size_t>(step.stage + i);
      reading.integral += stages_[stage].weight_s * (row[stage] * found.middleRows(i * size_, size_));
    }
    read(step, n + 1 == steps_.size() || steps_[n + 1].piece != piece, slopes, found, instants, reading);
    slopes = found.bottomRows(size_);
  }
  reading.end = slopes;
  system.set_mode(before);
  return reading;
}

std::pair<std::vector<double>, std::vector<double>> Trajectory::state_at(const Instant& instant) const {
  const TrajectoryPiece& piece = pieces_[instant.piece];
  if (instant.where == Instant::Where::begin) return {piece.x.front(), piece.rate.front()};
  if (instant.where == Instant::Where::end) return {piece.x.back(), piece.rate.back()};
  std::pair<std::vector<double>, std::vector<double>> found;
  between_ends(piece, instant.time_s, found.first, found.second);
  return found;
}

Instant worst_instant(const tile::TileSystem& system, const Trajectory& trajectory, const Margin& limit) {
  const network::NodeId a = system.network().find(limit.node);
  const network::NodeId b = limit.other.empty() ? -1 : system.network().find(limit.other);
  return largest_instant(trajectory, [&](std::size_t, double, const std::vector<double>& x) {
    const double a_K = system.network().temperature_K(a, x);
    const double here_K = b < 0 ? a_K : std::abs(a_K - system.network().temperature_K(b, x));
    return limit.upper ? here_K : -here_K;
  });
}

Instant largest_instant(const Trajectory& trajectory, const ValueAlong& value) {
  // The worst of all points, and between it and its neighbours the turn of the cubic through them.
  Instant worst;
  double most = -HUGE_VAL;
  std::size_t point = 0;
  for (std::size_t n = 0; n < trajectory.pieces().size(); ++n) {
    const TrajectoryPiece& piece = trajectory.pieces()[n];
    for (std::size_t k = 0; k < piece.x.size(); ++k) {
      const double here = value(n, piece.time_s[k], piece.x[k]);
      if (here <= most) continue;
      most = here;
      point = k;
      const auto where = k == 0                     ? Instant::Where::begin
                         : k + 1 == piece.x.size() ? Instant::Where::end
                                                    : Instant::Where::inside;
      worst = {n, where, piece.time_s[k]};
    }
  }
  const TrajectoryPiece& piece = trajectory.pieces()[worst.piece];
  for (std::size_t low = point > 0 ? point - 1 : 0; low <= point && low + 1 < piece.time_s.size(); ++low) {
    double from_s = piece.time_s[low], to_s = piece.time_s[low + 1];
    const double width_s = 1e-6 * (to_s - from_s);
    const auto slope = [&](double time_s) {
      const auto at = [&](double t) {
        return value(worst.piece, t, trajectory.state_at({worst.piece, Instant::Where::inside, t}).first);
      };
      return at(time_s + width_s) - at(time_s - width_s);
    };
    from_s += width_s;
    to_s -= width_s;
    if (!(slope(from_s) > 0.0 && slope(to_s) < 0.0)) continue;
    constexpr int halvings = 40;
    for (int i = 0; i < halvings; ++i) (slope(0.5 * (from_s + to_s)) > 0.0 ? from_s : to_s) = 0.5 * (from_s + to_s);
    return {worst.piece, Instant::Where::inside, 0.5 * (from_s + to_s)};
  }
  return worst;
}

}  // namespace tileflux::studies
