#pragma once
/// Profiles of margins: how far a prediction must stay from a limit, each number with where it comes from.

#include <optional>
#include <string>
#include <vector>

#include "tileflux/materials/library.h"

namespace tileflux::tile {

/// A number of a profile. Its pedigree has no uncertainty; its basis may also be `practice`: common practice, for which
/// no source is claimed. `source` names the document with its clause.
struct PolicyNumber : materials::Pedigree {
  double value = 0.0;
};

/// What is asked of parts so cold that less margin is enough.
struct ColdUncertainty : materials::Pedigree {
  struct Row {
    double up_to_K = 0.0;  ///< calculated temperature at or below which it holds
    double uncertainty_K = 0.0;
  };
  std::vector<Row> rows;  ///< by rising temperature
};

struct Policy {
  std::string name;  ///< of the file, without its ending
  std::string title;
  std::string file;
  /// Added to a calculated temperature of parts under passive control, after and before a balance test has corrected
  /// the model; kelvin. Either both stand, or `sigmas`.
  std::optional<PolicyNumber> tested, untested;
  std::optional<ColdUncertainty> tested_cold;
  /// Added instead: so many standard deviations of the calculated temperature, from what is known of the inputs.
  std::optional<PolicyNumber> sigmas;
  std::optional<PolicyNumber> active;         ///< added where a controlled heater holds the part; kelvin; none: 0
  std::optional<PolicyNumber> acceptance;     ///< from a predicted temperature to the acceptance limit; kelvin
  std::optional<PolicyNumber> qualification;  ///< from there to the qualification limit; kelvin
  std::optional<PolicyNumber> power_reserve;  ///< of controlled heaters, installed over needed power less one
  std::optional<PolicyNumber> heater_duty;    ///< largest share of time that a controlled heater is on
  std::optional<PolicyNumber> radiator_area;  ///< on top of what is computed, before a balance test; a share
  std::optional<PolicyNumber> bounds;         ///< standard deviations that stand for the ends of a normal law

  /// Kelvins that go on top of a passive part's calculated temperature; 0 with `sigmas`. The table for cold parts
  /// counts after a test only: it has no other column.
  double uncertainty_K(bool is_tested, double calculated_K) const;
  /// Standard deviations that stand for the ends of a normal law: 3 where the profile does not say.
  double bound_sigmas() const { return bounds ? bounds->value : 3.0; }
};

/// The definition of a profile's file: `tileflux_policy: 1`, `title`, and the numbers.
input::Section policy_section();

/// Reads one profile. Throws Error with all findings; table_not_rising where the cold table asks for more the colder it
/// is.
Policy read_policy(const std::string& file);

/// The profiles (*.yaml) of a directory by name, in order. Throws Error(file_unreadable).
std::vector<std::string> policy_names(const std::string& directory);

/// The profile of that name. Throws Error: name_unknown with the nearest spelling, and what read_policy throws.
Policy policy_named(const std::string& directory, const std::string& name);

}  // namespace tileflux::tile
