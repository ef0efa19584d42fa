#pragma once
/// One cycle of beam, loads and surroundings from a state, and the linearised map that it makes.

#include <Eigen/Core>
#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "studies/controller.h"
#include "studies/extremes.h"
#include "studies/tile_integrands.h"
#include "tileflux/solvers/transient.h"
#include "tileflux/studies/periodic.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::studies {

/// The way that a cycle went, as far as its linearised map needs it.
struct CycleTrace {
  /// A stretch of time in one mode, with the state in its middle.
  struct Stretch {
    double begin_s = 0.0, length_s = 0.0;
    std::vector<double> x;
    std::size_t mode = 0;
  };
  /// A switch between two stretches. Where a temperature decides its time, a disturbance moves that time.
  struct Switch {
    std::size_t after = 0;                       ///< number of stretches before it
    network::NodeId node = -1;                   ///< whose temperature decides; -1: the clock
    std::vector<std::size_t> tripped, returned;  ///< limits whose trips began or ended
    std::vector<double> x;                       ///< state
    std::size_t mode = 0;                        ///< before it
    double time_s = 0.0;
    std::vector<double> rate_before, rate_after;
  };
  std::vector<tile::Mode> modes;
  std::vector<Stretch> stretches;
  std::vector<Switch> switches;
};

/// One cycle as it went.
struct Cycle {
  std::vector<double> begin_x;                ///< just after its first switch
  std::vector<double> end_x;                  ///< just before the first switch of the next one
  ControlState begin_controls, end_controls;  ///< times of return count from the cycle's begin and end
  std::vector<TemperatureRange> ranges, lit_ranges;
  std::vector<Peak> peaks;
  EnergyBooks books;
  double heaters_J = 0.0;
  double lasers_asked_J = 0.0, lasers_given_J = 0.0;
  std::vector<double> age_change;
  std::optional<BatteryUse> battery;
  long switchings = 0, trips = 0;
  bool chatter = false;  ///< given up after `most_switchings`: nothing but counts and traces holds
  CycleTrace trace;
};

class CycleMap {
 public:
  CycleMap(tile::TileSystem& system, const CycleSettings& settings);

  /// Tolerances are `finer` times those of the case; 10 at first, for the map is differenced against itself.
  void set_finer(double finer) { finer_ = finer; }
  double finer() const { return finer_; }
  solvers::TransientOptions options() const;

  /// Carries a state and what controls remember through one cycle.
  Cycle operator()(const std::vector<double>& begin_x, const ControlState& controls);

  /// Told every step of every cycle, with the system in the mode of the step.
  void set_observer(std::function<void(const solvers::Step&)> observer) { observer_ = std::move(observer); }

  /// Everything off, nothing tripped.
  ControlState no_memory() const;

  /// The unknowns that the map is about: all that store, without the charge of a battery at rest.
  const std::vector<std::size_t>& stored() const { return stored_; }
  bool has_charge() const { return settings_.battery_acts && system_.description().battery.has_value(); }

  /// d(end)/d(begin) of the stored unknowns: exponentials of the reduced Jacobian, averaged over pieces in which it
  /// changes little, and jumps where a disturbance moves the time of a switch (Leine & Nijmeijer 2004, Dynamics and
  /// Bifurcations of Non-Smooth Mechanical Systems, chapter 7; from memory).
  Eigen::MatrixXd linearised(const Cycle& cycle);
  /// What the entries of the last linearised map are wrong by from round-off: squarings lose digits.
  double linear_round_off() const { return linear_round_off_; }

  /// Throws Error(ledger_open) if the books of a cycle do not close to 1e-6 of what passes in it.
  void require_closed(const Cycle& cycle) const;
  bool closes(const Cycle& cycle) const;

  int count() const { return count_; }

 private:
  class Runner;
  ControlSettings control_settings() const;

  tile::TileSystem& system_;
  CycleSettings settings_;
  double finer_ = 10.0;
  double power_scale_W_ = 0.0;
  TileIntegrands integrands_;
  std::vector<std::size_t> stored_;
  std::function<void(const solvers::Step&)> observer_;
  double linear_round_off_ = 0.0;
  int count_ = 0;
};

}  // namespace tileflux::studies
