#pragma once
/// What the study of gains is put together from.

#include <Eigen/Core>
#include <optional>
#include <string>
#include <vector>

#include "studies/steady_slopes.h"
#include "tileflux/studies/gains.h"

namespace tileflux::studies {

/// The steady answers of a case and how they follow an input.
class SteadyAnswers {
 public:
  explicit SteadyAnswers(const tile::Case& description, bool temperatures = false);

  /// Slopes in the order of `outputs`; then, if wanted, of the temperature of every node beam off, and beam on.
  Eigen::VectorXd along(Moved& moved) const;

  tile::TileSystem system;
  Balance balance;
  std::optional<ContinuousRating> rating;
  std::vector<GainOutput> outputs;  ///< light, margins beam off, margins beam on, rating; as far as there is a beam

 private:
  void find_rating();
  void list_outputs();

  std::optional<SteadySlopes> off_, on_, at_rating_;
  Eigen::VectorXd over_drive_;       ///< slopes at the rating over the drive
  Eigen::Index rating_margin_ = -1;  ///< of the limit that binds the rating
};

/// Throws on what is a fault of the program and no answer about an input.
void require_users_error(const Error& error);

/// A surface that could be larger or smaller.
struct RadiatorInput {
  std::string surface;
  GainInput input;
};
/// Surfaces that send infrared to space and meet no sunlight.
std::vector<RadiatorInput> radiator_inputs(const tile::Case& description);

GainRadiator radiator_of(const tile::Case& description, const std::string& surface,
                         std::optional<double> areal_mass_kg_per_m2);

/// A conversion step as an input, with how much of the input one point of efficiency is.
struct StepInput {
  GainInput input;
  double efficiency = 0.0, per_point = 0.0;
};
/// Of the operating point with the beam on; steps that the tile has not are left out.
std::vector<StepInput> conversion_steps(const tile::Case& description, const Balance& balance);

/// The nearest values of an input at which regime or binding limit change.
void find_regime_ends(const GainInput& input, InputGains& gains);

std::vector<LaserChoice> laser_choices(const tile::Case& description, const Gains& gains, const GainOptions& options);

}  // namespace tileflux::studies
