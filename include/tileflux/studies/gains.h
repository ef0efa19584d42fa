#pragma once
/// What a little more of every input buys: exact derivatives of what a tile gives, and where their regime ends.
///
/// A state x that solves F(x, p) = 0 follows an input p by dx/dp = -(dF/dx)^-1 dF/dp, with the exact Jacobian dF/dx of
/// the laws. dF/dp, and what a case file makes of p before any state is sought, is explicit (see studies/moved.h).
/// A cycle that repeats follows by the linearised equations carried through the cycle (see studies/cycle_slopes.h).

#include <Eigen/Core>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "tileflux/studies/balance.h"
#include "tileflux/studies/sweep.h"

namespace tileflux::studies {

/// Something with a number that a tile depends on, and the case with another one.
struct GainInput {
  std::string name;
  std::string unit;  ///< SI
  double value = 0.0;
  double least = 0.0, most = 0.0;  ///< where its regimes may be sought; both are allowed values
  CaseAt case_at;
  /// By how much of the value the equations are moved to see what they make of it. More where the case computes with
  /// quadratures (orbits), whose last digits are noise.
  double step_share = usual_step_share;
  static constexpr double usual_step_share = 2e-6, step_share_of_quadratures = 2e-4;
};

/// What is gained.
struct GainOutput {
  enum class Kind {
    light,          ///< usable laser light, W
    margin,         ///< of one limit in one of the steady states, in the unit of the limit
    radiator_area,  ///< of the chosen radiator, with the temperature that binds held where it is, m2
    rating,         ///< the continuous rating, share of rated drive
    duty,           ///< the sustainable duty at the period of the case
    duty_light,     ///< mean light at that duty, W
    run_margin,     ///< of one limit over the run of the case, in the unit of the limit
    run_light       ///< mean light over the run, W
  };
  Kind kind = Kind::light;
  std::string unit;
  double value = 0.0;          ///< at present
  bool beam = false;           ///< of a margin: in which state
  std::optional<Margin> limit;  ///< of a margin; of rating and duty what binds them
};

/// Where an input, alone, takes the tile into another regime or to another binding limit.
struct RegimeEnd {
  double value = 0.0;  ///< of the input
  Crossing::Kind kind = Crossing::Kind::regime;
  std::string from, to;  ///< coming from the present value
};

struct InputGains {
  std::string name, unit;
  double value = 0.0;
  std::vector<std::optional<double>> slopes;  ///< d(output)/d(input) in SI, in the order of Gains::outputs
  std::string why_none;                       ///< if the input cannot be moved
  std::optional<RegimeEnd> below, above;      ///< the nearest ends; none within what was looked at
  bool ends_sought = false;

  /// What a little more is: one per cent of the value; of a temperature 1 K, of an angle 1 degree. None of nothing.
  std::optional<double> portion() const;
  /// What that much more buys. None where there is no slope or no portion.
  std::optional<double> bought(std::size_t output) const;
};

/// The radiator whose area is asked for.
struct GainRadiator {
  std::string surface;
  double area_m2 = 0.0;  ///< of all faces
  std::optional<double> areal_mass_kg_per_m2;
  std::string mass_of;  ///< from what the areal mass was taken, or why there is none
};

/// Mass per area that radiates, of all faces together: of the sheet if it is a fin, else of the part that it lies on if
/// a mass is stated.
std::optional<double> areal_mass_kg_per_m2(const tile::Case& description, const std::string& surface);

/// One step from sunlight to usable light, and what one point (0.01) of efficiency more in it buys.
struct ConversionStep {
  std::string name;         ///< cells, conditioning, laser, optics
  double efficiency = 0.0;  ///< at the operating point with the beam on; of the cells the reference efficiency
  double light_W = 0.0;     ///< usable light
  std::optional<double> temperature_K;  ///< change at the node of the binding temperature limit: negative is cooler
  std::optional<double> area_m2, mass_kg;  ///< of the radiator at that temperature held
  std::optional<double> rating, duty;
};

/// The tile with lasers of another wall-plug efficiency, all else the same.
struct LaserChoice {
  double efficiency = 0.0;    ///< light of the lasers over their input at the steady point with the beam on
  double light_factor = 1.0;  ///< that gives it; see devices::LaserBank
  std::optional<Diagnostic> trouble;  ///< set: nothing below holds
  bool present = false;               ///< the lasers as the case has them
  double usable_light_W = 0.0, usable_drive = 0.0;
  Regime regime = Regime::beam_off;
  std::optional<StateMargin> binding;
  double junction_K = 0.0;  ///< the hottest one, beam on
  double cells_K = 0.0;     ///< beam on; 0 without cells
  std::optional<double> rating;
  /// Of the radiator for which the commanded drive just meets every limit; 0: it is not needed for that. None: no area
  /// does.
  std::optional<double> area_m2;
  std::optional<double> duty, duty_light_W;
};

struct GainOptions {
  std::string radiator;  ///< surface; empty: see Gains::radiator
  std::optional<double> areal_mass_kg_per_m2;
  bool run = false;                        ///< margins and mean light over the run of the case too
  bool duty = true;                        ///< sustainable duty too, where the case has a period
  std::vector<double> laser_efficiencies;  ///< to be compared, besides the present one
  int regime_ends = 12;                    ///< for how many inputs, best first, the ends of the regime are sought
  std::function<bool(double share)> progress;  ///< told the share done; false ends the study with what it has
};

struct Gains {
  Balance balance;
  std::optional<StateMargin> binding, next;  ///< over both states, as in a sweep
  std::vector<GainOutput> outputs;
  /// The surface that sees no Sun and of whose area one per cent buys the binding margin most. None: no temperature
  /// binds, or no surface helps.
  std::optional<GainRadiator> radiator;
  std::string run_note;            ///< why there are no derivatives over the run, if they were asked for
  std::string duty_note;           ///< why there are no derivatives of the duty, if there are none
  std::vector<InputGains> inputs;  ///< those that anything follows, in the order given
  std::vector<std::string> without_effect;
  std::vector<ConversionStep> steps;
  std::vector<LaserChoice> lasers;
  bool interrupted = false;

  /// Index of the first output of a kind, or none.
  std::optional<std::size_t> output(GainOutput::Kind kind) const;
  /// Index of the margin of a limit in a state.
  std::optional<std::size_t> margin(const StateMargin& limit) const;
  /// Inputs by falling size of what a portion of each buys of an output.
  std::vector<std::size_t> ranked(std::size_t output) const;
};

/// Throws what balance throws.
Gains gains(const tile::Case& description, const std::vector<GainInput>& inputs, const GainOptions& options = {});

/// Derivatives of the steady answers alone, for studies that need many at once.
struct SteadyGains {
  Balance balance;
  std::vector<GainOutput> outputs;  ///< light, margins beam off, margins beam on (rates left out)
  /// outputs x inputs, in SI; a column of NaN: the input cannot be moved.
  Eigen::MatrixXd slopes;
};
SteadyGains steady_gains(const tile::Case& description, const std::vector<GainInput>& inputs);

}  // namespace tileflux::studies
