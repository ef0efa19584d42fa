/// The linearised map of a cycle that was run.

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <map>
#include <unsupported/Eigen/MatrixFunctions>

#include "studies/cycle.h"
#include "studies/linear.h"

namespace tileflux::studies {

namespace {

/// How much a reduced Jacobian differs from another one, as a share of what each unknown sees: rows count against their
/// own rates, and rates slower than the piece against its length.
double change_of(const Eigen::MatrixXd& now, const Eigen::MatrixXd& first, double length_s) {
  double most = 0.0;
  for (Eigen::Index i = 0; i < now.rows(); ++i) {
    const double scale = first.row(i).cwiseAbs().maxCoeff() + 1.0 / length_s;
    most = std::max(most, (now.row(i) - first.row(i)).cwiseAbs().maxCoeff() / scale);
  }
  return most;
}

/// Goes along a cycle's trace and multiplies up its map.
class Linearisation {
 public:
  Linearisation(tile::TileSystem& system, const CycleTrace& trace, const std::vector<std::size_t>& stored,
                double coarseness)
      : system_(system), trace_(trace), coarseness_(coarseness) {
    for (std::size_t i = 0, k = 0; i < static_cast<std::size_t>(system.size()); ++i) {
      if (!system.differential()[i]) continue;
      if (std::find(stored.begin(), stored.end(), i) != stored.end()) kept_.push_back(static_cast<int>(k));
      stored_.push_back(static_cast<int>(i));
      ++k;
    }
    const auto size = static_cast<Eigen::Index>(kept_.size());
    map_ = Eigen::MatrixXd::Identity(size, size);
  }

  /// False: more pieces than are worth it.
  bool go(int most_pieces) {
    std::size_t next_switch = 0;
    for (std::size_t s = 0; s <= trace_.stretches.size(); ++s) {
      while (next_switch < trace_.switches.size() && trace_.switches[next_switch].after == s) {
        flush();
        jump(trace_.switches[next_switch++]);
      }
      if (s < trace_.stretches.size()) add(trace_.stretches[s]);
      if (pieces_ > most_pieces) return false;
    }
    flush();
    return true;
  }

  const Eigen::MatrixXd& map() const { return map_; }
  /// Largest rate times its time, summed up: scaling and squaring loses as many digits as this has.
  double span() const { return span_; }

 private:
  Eigen::MatrixXd rates(std::size_t mode, double time_s, const std::vector<double>& x) {
    if (mode != mode_) system_.set_mode(trace_.modes[mode]);
    mode_ = mode;
    return reduced_rates(system_, x, time_s)(kept_, kept_);
  }

  void add(const CycleTrace::Stretch& stretch) {
    const Eigen::MatrixXd rate = rates(stretch.mode, stretch.begin_s + 0.5 * stretch.length_s, stretch.x);
    if (length_s_ > 0.0 && change_of(rate, first_, length_s_ + stretch.length_s) > coarseness_) flush();
    if (length_s_ == 0.0) {
      first_ = rate;
      sum_ = Eigen::MatrixXd::Zero(rate.rows(), rate.cols());
    }
    sum_ += stretch.length_s * rate;
    length_s_ += stretch.length_s;
  }

  void flush() {
    if (length_s_ <= 0.0) return;
    map_ = sum_.exp() * map_;
    span_ += sum_.cwiseAbs().colwise().sum().maxCoeff();
    length_s_ = 0.0;
    ++pieces_;
  }

  /// A disturbance d before the switch moves its time by t = -(n d) / (n f_before); after it, it is
  /// d - (f_after - f_before) t. A trip that ends after its minimum moves by as much as it began.
  void jump(const CycleTrace::Switch& made) {
    Eigen::RowVectorXd time_row;
    if (made.node >= 0) {
      if (!decided_by(made, time_row)) return;
      for (const std::size_t limit : made.tripped) trip_time_[limit] = time_row;
    } else {
      for (const std::size_t limit : made.returned) {
        const auto found = trip_time_.find(limit);
        if (found != trip_time_.end()) time_row = found->second;
      }
      if (time_row.size() == 0) return;
    }
    for (std::size_t k = 0; k < kept_.size(); ++k) {
      const auto i = static_cast<std::size_t>(stored_[static_cast<std::size_t>(kept_[k])]);
      map_.row(static_cast<Eigen::Index>(k)) -= (made.rate_after[i] - made.rate_before[i]) * time_row;
    }
  }

  /// The row that turns a disturbance at the cycle's begin into a shift of the switch. False: it only just touches.
  bool decided_by(const CycleTrace::Switch& made, Eigen::RowVectorXd& time_row) {
    const int place = system_.network().unknown_of(made.node);
    if (place < 0) return false;
    Eigen::RowVectorXd slope = Eigen::RowVectorXd::Zero(static_cast<Eigen::Index>(kept_.size()));
    if (mode_ != made.mode) system_.set_mode(trace_.modes[made.mode]);
    mode_ = made.mode;
    if (system_.differential()[static_cast<std::size_t>(place)]) {
      for (std::size_t k = 0; k < kept_.size(); ++k) {
        if (stored_[static_cast<std::size_t>(kept_[k])] == place) slope[static_cast<Eigen::Index>(k)] = 1.0;
      }
    } else {
      slope = massless_slopes(system_, made.x, made.time_s, place)(kept_);
    }
    double speed = 0.0;
    for (std::size_t k = 0; k < kept_.size(); ++k) {
      const auto i = static_cast<std::size_t>(stored_[static_cast<std::size_t>(kept_[k])]);
      speed += slope[static_cast<Eigen::Index>(k)] * made.rate_before[i];
    }
    if (speed == 0.0) return false;
    time_row = -(slope * map_) / speed;
    return true;
  }

  tile::TileSystem& system_;
  const CycleTrace& trace_;
  double coarseness_;
  std::vector<int> kept_;    ///< of the stored unknowns those that the map is about
  std::vector<int> stored_;  ///< all unknowns that store
  Eigen::MatrixXd map_, first_, sum_;
  double length_s_ = 0.0, span_ = 0.0;
  int pieces_ = 0;
  std::size_t mode_ = static_cast<std::size_t>(-1);
  std::map<std::size_t, Eigen::RowVectorXd> trip_time_;
};

}  // namespace

Eigen::MatrixXd CycleMap::linearised(const Cycle& cycle) {
  const tile::Mode before = system_.mode();
  // A few per cent of each row's rates within a piece; doubled until the pieces are few enough.
  double coarseness = 0.05;
  constexpr int most_pieces = 100;
  const int most = most_pieces + 2 * static_cast<int>(cycle.trace.modes.size());
  for (;; coarseness *= 2.0) {
    Linearisation linearisation(system_, cycle.trace, stored_, coarseness);
    if (!linearisation.go(most)) continue;
    system_.set_mode(before);
    constexpr double digits = 1e-14;
    linear_round_off_ = digits * (1.0 + linearisation.span());
    return linearisation.map();
  }
}

}  // namespace tileflux::studies
