#pragma once
/// Properties of solids, surface finishes and cells, each value with its validity, source and uncertainty.

#include <optional>
#include <string>
#include <vector>

#include "tileflux/base/property_table.h"
#include "tileflux/input/definition.h"
#include "tileflux/input/record.h"

namespace tileflux::materials {

/// A property with its pedigree. `basis`: published (the document itself was read), transcribed (a transcription or
/// secondary source was read), memory (no source seen; re-check before relying on it).
struct Property {
  PropertyTable table;
  std::string source;
  std::string basis;
  std::string uncertainty;  ///< such as `5 %`, or `unknown`
  std::string note;
};

/// Density in kg/m3, heat capacity in J/(kg K), conductivity in W/(m K).
struct Solid {
  std::string name, title;
  Property density, heat_capacity, conductivity;
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

/// All entries that a case can name.
struct Library {
  std::vector<Solid> solids;
  std::vector<Surface> surfaces;
  std::vector<CellType> cells;

  const Solid* solid(const std::string& name) const;
  const Surface* surface(const std::string& name) const;
  const CellType* cell(const std::string& name) const;

  std::vector<std::string> solid_names() const;
  std::vector<std::string> surface_names() const;
  std::vector<std::string> cell_names() const;
};

/// What an entry of each kind says. The same sections serve the files of a library and entries defined within a case.
input::Section solid_section();
input::Section surface_section();
input::Section cell_section();

/// The definition of a library file: `tileflux_materials: 1` and any of `solids`, `surfaces`, `cells`.
input::Section library_file_section();

/// Adds the entries of a record that has `solids`, `surfaces`, `cells` by name. A name that is taken is a finding
/// (name_taken), a table that does not rise too (table_not_rising), one that does not span `valid` likewise
/// (table_shape).
void add_entries(const input::Record& record, const input::Document& document, Library& library,
                 std::vector<Diagnostic>& findings);

/// Reads every *.yaml file of a directory, in the order of names. Throws Error with all findings.
Library read_library(const std::string& directory);

}  // namespace tileflux::materials
