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

/// Steps grow with the time since the switch: what a switch sets off dies out at every rate, the fast ones first.
constexpr double growth = 0.15;
/// And are at most this share of the trajectory, for what moves in the surroundings.
constexpr double longest_share = 1.0 / 60.0;

}  // namespace

void TrajectoryRecorder::add(const solvers::Step& step) {
  if (fresh_) {
    pieces_.push_back({system_.mode(), {step.begin_s}, {}, {}});
    pieces_.back().x.emplace_back(step.begin_state.begin(), step.begin_state.end());
    pieces_.back().rate.emplace_back(step.begin_rate.begin(), step.begin_rate.end());
    fresh_ = false;
  }
  TrajectoryPiece& piece = pieces_.back();
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

Trajectory::Trajectory(tile::TileSystem& system, std::vector<TrajectoryPiece> pieces)
    : size_(system.size()), pieces_(std::move(pieces)) {
  for (int i = 0; i < size_; ++i) {
    if (!system.differential()[static_cast<std::size_t>(i)]) massless_.push_back(i);
  }
  const tile::Mode before = system.mode();
  for (std::size_t piece = 0; piece < pieces_.size(); ++piece) {
    system.set_mode(pieces_[piece].mode);
    begin_jacobian_.push_back(dense_jacobian(system, pieces_[piece].x.front(), pieces_[piece].begin_s()));
    lay_out(system, piece);
  }
  system.set_mode(before);
}

void Trajectory::lay_out(tile::TileSystem& system, std::size_t number) {
  const TrajectoryPiece& piece = pieces_[number];
  const double longest_s = longest_share * (pieces_.back().end_s() - pieces_.front().begin_s());
  const Radau& radau = Radau::instance();
  for (std::size_t k = 0; k + 1 < piece.time_s.size();) {
    const double begin_s = piece.time_s[k];
    const double wanted_s = std::min(longest_s, growth * (begin_s - piece.begin_s()));
    std::size_t next = k + 1;
    while (next + 1 < piece.time_s.size() && piece.time_s[next] - begin_s < wanted_s) ++next;
    Step step{number, begin_s, piece.time_s[next] - begin_s, static_cast<int>(stages_.size()), nullptr, {}};
    for (int i = 0; i < 3; ++i) {
      Stage stage{number, begin_s + radau.node[i] * step.length_s, radau.a(2, i) * step.length_s, {}, {}};
      between_ends(piece, stage.time_s, stage.x, stage.rate);
      stages_.push_back(std::move(stage));
    }
    make_equations(system, step);
    steps_.push_back(std::move(step));
    k = next;
  }
}

/// Rows of stage i: J_i s_i - C_i sum_j (A^-1)_ij (s_j - s_begin) / h = -F_p,i.
void Trajectory::make_equations(tile::TileSystem& system, Step& step) {
  const Radau& radau = Radau::instance();
  const solvers::Pattern& pattern = system.pattern();
  std::vector<Eigen::Triplet<double>> entries;
  std::vector<double> values(static_cast<std::size_t>(pattern.nonzeros()));
  step.capacity.resize(size_, 3);
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
      step.capacity(row, i) = capacity[static_cast<std::size_t>(row)];
      if (capacity[static_cast<std::size_t>(row)] == 0.0) continue;
      for (int j = 0; j < 3; ++j) {
        entries.emplace_back(i * size_ + row, j * size_ + row,
                             -capacity[static_cast<std::size_t>(row)] * radau.inverse(i, j) / step.length_s);
      }
    }
  }
  Eigen::SparseMatrix<double> matrix(3 * size_, 3 * size_);
  matrix.setFromTriplets(entries.begin(), entries.end());
  step.equations = std::make_shared<Eigen::SparseLU<Eigen::SparseMatrix<double>>>(matrix);
  if (step.equations->info() != Eigen::Success)
    throw Error(Code::transient_failed, "the linearised equations along the trajectory have no one solution");
}

Eigen::VectorXd Trajectory::with_massless(const Eigen::VectorXd& slopes, std::size_t piece, const Source& source) const {
  if (massless_.empty()) return slopes;
  Eigen::VectorXd all = slopes;
  all(massless_).setZero();
  const Eigen::MatrixXd& jacobian = begin_jacobian_[piece];
  const Eigen::VectorXd known = jacobian * all + source(-1, piece);
  const Eigen::MatrixXd inner = jacobian(massless_, massless_);
  all(massless_) = -inner.partialPivLu().solve(Eigen::VectorXd(known(massless_)));
  return all;
}

Trajectory::Reading Trajectory::carry(const Eigen::VectorXd& begin, const Source& source, const Jump& jump,
                                      const std::vector<Instant>& instants,
                                      const std::vector<Eigen::RowVectorXd>& row) const {
  const Radau& radau = Radau::instance();
  Reading reading;
  reading.at.resize(instants.size());
  Eigen::VectorXd slopes = begin;
  std::size_t piece = static_cast<std::size_t>(-1);
  for (std::size_t n = 0; n < steps_.size(); ++n) {
    const Step& step = steps_[n];
    if (step.piece != piece) {
      piece = step.piece;
      jump(piece, slopes);
      slopes = with_massless(slopes, piece, source);
      for (std::size_t k = 0; k < instants.size(); ++k) {
        if (instants[k].piece == piece && instants[k].where == Instant::Where::begin) reading.at[k] = slopes;
      }
    }
    Eigen::VectorXd right(3 * size_);
    for (int i = 0; i < 3; ++i) {
      const double into = radau.inverse.row(i).sum() / step.length_s;
      right.segment(i * size_, size_) =
          -source(step.stage + i, piece) - into * step.capacity.col(i).cwiseProduct(slopes);
    }
    const Eigen::VectorXd found = step.equations->solve(right);
    const Eigen::Map<const Eigen::MatrixXd> at_stages(found.data(), size_, 3);
    for (int i = 0; i < 3 && !row.empty(); ++i) {
      const auto stage = static_cast<std::size_t>(step.stage + i);
      reading.integral += stages_[stage].weight_s * row[stage].dot(at_stages.col(i));
    }
    const bool last = n + 1 == steps_.size() || steps_[n + 1].piece != piece;
    for (std::size_t k = 0; k < instants.size(); ++k) {
      const Instant& instant = instants[k];
      if (instant.piece != piece) continue;
      if (instant.where == Instant::Where::end && last) reading.at[k] = at_stages.col(2);
      const double u = (instant.time_s - step.begin_s) / step.length_s;
      if (instant.where != Instant::Where::inside || u < 0.0 || u > 1.0) continue;
      // Through the step's begin and its three stages.
      const std::array<double, 4> node{0.0, radau.node[0], radau.node[1], 1.0};
      reading.at[k] = Eigen::VectorXd::Zero(size_);
      for (std::size_t a = 0; a < 4; ++a) {
        double share = 1.0;
        for (std::size_t b = 0; b < 4; ++b) share *= a == b ? 1.0 : (u - node[b]) / (node[a] - node[b]);
        reading.at[k] += share * (a == 0 ? slopes : Eigen::VectorXd(at_stages.col(static_cast<Eigen::Index>(a) - 1)));
      }
    }
    slopes = at_stages.col(2);
  }
  reading.end = slopes;
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

}  // namespace tileflux::studies
