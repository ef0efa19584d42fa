#pragma once
/// How the states along a trajectory follow what they depend on: the linearised equations, carried along it.
///
/// With F(t, x, x', p) = 0 along x(t), the slopes s = dx/dp solve F_x s + F_x' s' + F_p = 0, with the exact F_x. They
/// are carried by the three-stage Radau IIA method of order 5 (Hairer & Wanner 1996, Solving Ordinary Differential
/// Equations II, section IV.5), which damps what is stiff and takes massless unknowns as they are.

#include <Eigen/Core>
#include <Eigen/SparseLU>
#include <functional>
#include <memory>
#include <vector>

#include "tileflux/solvers/transient.h"
#include "tileflux/studies/limits.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::studies {

/// A stretch of time without switches, as the solver went through it.
struct TrajectoryPiece {
  tile::Mode mode;
  std::vector<double> time_s;  ///< of both ends and of every step between
  std::vector<std::vector<double>> x, rate;
  bool ends_in_corner = false;  ///< see cut_at_corners

  double begin_s() const { return time_s.front(); }
  double end_s() const { return time_s.back(); }
};

/// Writes down the steps of a solver as pieces: one ends where the mode of the system changes, and at edges of what
/// moves in the surroundings, which an input may move.
class TrajectoryRecorder {
 public:
  explicit TrajectoryRecorder(const tile::TileSystem& system) : system_(system) {}
  /// Steps come in order, with the system in the mode of each.
  void add(const solvers::Step& step);
  std::vector<TrajectoryPiece> take() { return std::move(pieces_); }

 private:
  const tile::TileSystem& system_;
  std::vector<TrajectoryPiece> pieces_;
};

/// An instant of a trajectory at which something is looked at.
struct Instant {
  enum class Where { begin, inside, end };
  std::size_t piece = 0;
  Where where = Where::inside;  ///< of the piece
  double time_s = 0.0;
};

/// A trajectory, laid out in steps and their stages, with everything that is linear in slopes made ready.
class Trajectory {
 public:
  struct Stage {
    std::size_t piece;
    double time_s;
    double weight_s;  ///< in an integral over time
    std::vector<double> x, rate;
  };

  /// How finely it is laid out.
  struct Layout {
    double growth = 0.15;          ///< of steps with the time since a corner: what it sets off dies out at every rate
    double longest_share = 0.01;   ///< of the trajectory: for what moves in the surroundings
    double shortest_share = 1e-6;  ///< the method damps what is faster
    bool keep_equations = true;    ///< false for a long one that is gone along once
  };
  Trajectory(tile::TileSystem& system, std::vector<TrajectoryPiece> pieces, const Layout& layout);
  Trajectory(tile::TileSystem& system, std::vector<TrajectoryPiece> pieces)
      : Trajectory(system, std::move(pieces), Layout()) {}

  const std::vector<TrajectoryPiece>& pieces() const { return pieces_; }
  const std::vector<Stage>& stages() const { return stages_; }
  int size() const { return size_; }

  /// F_p at a stage, or at the begin of a piece (for its massless unknowns): `stage` is -1 there. One column per input.
  using Source = std::function<Eigen::MatrixXd(int stage, std::size_t piece)>;
  /// Slopes of the stored unknowns just after a switch, from those just before; of piece 0 at the very begin.
  using Jump = std::function<void(std::size_t piece, Eigen::MatrixXd& slopes)>;

  struct Reading {
    std::vector<Eigen::MatrixXd> at;  ///< per instant asked for: slopes of all unknowns, a column per input
    Eigen::MatrixXd end;              ///< at the end of the last piece
    Eigen::RowVectorXd integral;      ///< of row(stage) times slopes over time
  };
  /// Carries slopes from `begin` (massless entries do not count). `row` may be empty.
  Reading carry(tile::TileSystem& system, const Eigen::MatrixXd& begin, const Source& source, const Jump& jump,
                const std::vector<Instant>& instants, const std::vector<Eigen::RowVectorXd>& row) const;

  /// State and rate at an instant.
  std::pair<std::vector<double>, std::vector<double>> state_at(const Instant& instant) const;

 private:
  struct Step {
    std::size_t piece;
    double begin_s, length_s;
    int stage;  ///< the first of three
  };
  /// The linear equations of one step.
  struct Equations {
    Eigen::SparseLU<Eigen::SparseMatrix<double>> matrix;
    Eigen::MatrixXd capacity;  ///< unknowns x stages: what multiplies the rate
  };
  void lay_out(std::size_t piece);
  void make_equations(tile::TileSystem& system, const Step& step, Equations& equations) const;
  const Equations& equations_of(tile::TileSystem& system, std::size_t step, Equations& room) const;
  Eigen::MatrixXd with_massless(const Eigen::MatrixXd& slopes, std::size_t piece, const Source& source) const;
  void read(const Step& step, bool last, const Eigen::MatrixXd& begin, const Eigen::MatrixXd& found,
            const std::vector<Instant>& instants, Reading& reading) const;

  int size_ = 0;
  Layout layout_;
  std::vector<TrajectoryPiece> pieces_;
  std::vector<Stage> stages_;
  std::vector<Step> steps_;
  std::vector<std::shared_ptr<Equations>> kept_;  ///< per step, of a short trajectory that is carried along often
  std::vector<int> massless_;
  std::vector<Eigen::MatrixXd> begin_jacobian_;  ///< per piece
};

/// Pieces cut where something goes from one of its laws to another: the lasers are given all they ask for, or not; a
/// heat capacity comes to the next row of its table; a store begins or ends to melt. Nothing jumps there, but what
/// follows an input does so in another way.
std::vector<TrajectoryPiece> cut_at_corners(tile::TileSystem& system, std::vector<TrajectoryPiece> pieces);

/// The instant at which a quantity of piece, time and state is largest.
using ValueAlong = std::function<double(std::size_t piece, double time_s, const std::vector<double>& x)>;
Instant largest_instant(const Trajectory& trajectory, const ValueAlong& value);

/// The instant of the smallest margin of a limit on a temperature, a difference or a gradient.
Instant worst_instant(const tile::TileSystem& system, const Trajectory& trajectory, const Margin& limit);

/// The cubic through both ends of a step and their rates, at a share of it: value and rate.
void between_ends(const TrajectoryPiece& piece, double time_s, std::vector<double>& x, std::vector<double>& rate);

}  // namespace tileflux::studies
