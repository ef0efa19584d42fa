#pragma once
/// Properties of solids, melting media, heat-pipe fluids, surface finishes, cells and bodies of the solar system, each
/// value with its source and uncertainty.

#include <optional>
#include <string>
#include <vector>

#include "tileflux/base/property_table.h"
#include "tileflux/input/definition.h"
#include "tileflux/input/record.h"

namespace tileflux::materials {

/// Where a value comes from. `basis`: published (the document itself was read), transcribed (a transcription or
/// secondary source was read), memory (no source seen; re-check before relying on it).
struct Pedigree {
  std::string source;
  std::string basis;
  std::string uncertainty;  ///< such as `5 %`, or `unknown`
  std::string note;
};

/// A property of temperature.
struct Property : Pedigree {
  PropertyTable table;
};

/// One number that belongs to no range of temperature: a melting point, a latent heat.
struct Fact : Pedigree {
  double value = 0.0;
};

/// Density in kg/m3, heat capacity in J/(kg K), conductivity in W/(m K).
struct Solid {
  std::string name, title;
  Property density, heat_capacity, conductivity;
};

/// Density in kg/m3, heat capacity in J/(kg K), conductivity in W/(m K) of one phase.
struct Phase {
  Property density, heat_capacity, conductivity;
};

/// A medium that stores heat by melting. Temperatures in K, latent heat in J/kg.
struct Medium {
  static constexpr double width_of_a_point_K = 0.1;  ///< taken where the source gives a melting point

  std::string name, title;
  Fact melting_temperature, latent_heat;
  std::optional<Fact> melting_range;  ///< width in K over which it melts, around the melting temperature
  Phase solid, liquid;

  double melting_range_K() const { return melting_range ? melting_range->value : width_of_a_point_K; }
};

/// Surface tension in N/m, density in kg/m3, heat of evaporation in J/kg, dynamic viscosity in Pa s of a liquid in
/// equilibrium with its vapour.
struct SaturatedLiquid {
  Property surface_tension, density, latent_heat, viscosity;
};

/// A working fluid of heat pipes. Temperatures in K.
struct Fluid {
  std::string name, title;
  Fact freezing_temperature, critical_temperature;
  Fact usable_from, usable_to;            ///< where pipes with this fluid are used; the two share one pedigree
  std::optional<SaturatedLiquid> liquid;  ///< where the merit follows from these
  std::optional<Pedigree> merit_source;   ///< where it is given as such

  /// Transport factor of the liquid, density x latent heat x surface tension / viscosity in W/m2 (S. W. Chi, Heat Pipe
  /// Theory and Practice, 1976): as given, or formed at the temperatures of the four tables that all four cover. Zero
  /// at the freezing and at the critical temperature and beyond; straight lines between, so that the stretch next to
  /// these ends, where no source speaks, is low rather than high.
  PropertyTable merit;

  /// Merit over its highest value. A transport capability stated at one temperature holds at another in proportion:
  /// capability(T) = stated x relative_merit.value(T) / relative_merit.value(T of the statement).
  PropertyTable relative_merit;
};

/// Solar absorptance and infrared hemispherical emittance, 0..1.
struct SurfaceValues {
  Property absorptance, emittance;
};
struct Surface {
  std::string name, title;
  SurfaceValues begin;
  std::optional<SurfaceValues> end;
  std::string end_after;  ///< what the end-of-life values stand for
};

/// Efficiency 0..1 at the reference temperature (K), slope in 1/K relative, remaining factor at end of life.
struct CellType {
  std::string name, title;
  Property efficiency, reference_temperature, slope;
  std::optional<Property> remaining;
  std::string end_after;
};

/// A value with what is taken for hot and cold cases, where known; the three each have their own pedigree.
struct CaseValues {
  Fact mean;
  std::optional<Fact> hot, cold;
};

/// A planet, moon or airless body. Radius and semi-major axis of its way around the Sun in m, gravitational parameter
/// in m3/s2, exitances in W/m2. A moon goes around the Sun with its planet.
struct Body {
  std::string name, title;
  Fact radius, gravitational_parameter, sun_distance, sun_eccentricity;
  CaseValues albedo;                   ///< Bond albedo, 0..1
  std::optional<CaseValues> infrared;  ///< exitance where it is the same everywhere
  std::optional<Fact> night_infrared;  ///< exitance of the night side, where infrared follows the Sun
};

/// All entries that a case can name.
struct Library {
  std::vector<Solid> solids;
  std::vector<Medium> media;
  std::vector<Fluid> fluids;
  std::vector<Surface> surfaces;
  std::vector<CellType> cells;
  std::vector<Body> bodies;

  const Solid* solid(const std::string& name) const;
  const Medium* medium(const std::string& name) const;
  const Fluid* fluid(const std::string& name) const;
  const Surface* surface(const std::string& name) const;
  const CellType* cell(const std::string& name) const;
  const Body* body(const std::string& name) const;

  std::vector<std::string> solid_names() const;
  std::vector<std::string> medium_names() const;
  std::vector<std::string> fluid_names() const;
  std::vector<std::string> surface_names() const;
  std::vector<std::string> cell_names() const;
  std::vector<std::string> body_names() const;
};

/// What an entry of each kind says. The same sections serve the files of a library and, but for bodies, entries defined
/// within a case.
input::Section solid_section();
input::Section medium_section();
input::Section fluid_section();
input::Section surface_section();
input::Section cell_section();
input::Section body_section();

/// The definition of a library file: `tileflux_materials: 1` and any of `solids`, `media`, `fluids`, `surfaces`,
/// `cells`, `bodies`.
input::Section library_file_section();

/// Adds the entries of a record that has these kinds by name. A name that is taken within its kind is a finding
/// (name_taken), a table that does not rise too (table_not_rising), one that does not span `valid` likewise
/// (table_shape). So are a fluid's temperatures that are not in order (table_not_rising), a merit that is not zero at
/// the freezing and the critical temperature or whose four properties share no temperature (table_shape).
void add_entries(const input::Record& record, const input::Document& document, Library& library,
                 std::vector<Diagnostic>& findings);

/// The same for `bodies`, which a case does not define by itself. Hot and cold values that do not lie on either side of
/// the mean are findings (table_not_rising).
void add_bodies(const input::Record& record, const input::Document& document, Library& library,
                std::vector<Diagnostic>& findings);

/// Reads every *.yaml file of a directory, in the order of names. Throws Error with all findings.
Library read_library(const std::string& directory);

}  // namespace tileflux::materials
